"""Run heats: the clock, track calls, laps, and the board on the wall."""
