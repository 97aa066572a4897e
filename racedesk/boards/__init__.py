"""The director's table and the board on the wall."""
