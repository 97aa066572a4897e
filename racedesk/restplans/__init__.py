"""What is left of a night that has begun, and how it can be driven: planned, not yet decided."""
