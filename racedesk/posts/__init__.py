"""Who may stand at marshal posts, and who was not there: what draws of all kinds must know."""
