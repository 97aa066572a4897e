"""Choose a draw, see how fair it is, and let those into it whom the director decides about."""
