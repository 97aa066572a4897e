"""How fast nights go at a club, as their heat events tell."""
