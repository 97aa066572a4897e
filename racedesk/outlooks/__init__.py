"""What fits before closing time."""
