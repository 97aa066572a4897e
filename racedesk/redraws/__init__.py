"""Draw the heats left of a night again: what was run stays, and everybody sees what changes before it is accepted."""
