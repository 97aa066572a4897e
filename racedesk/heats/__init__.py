"""Draw heats, show them, print them."""
