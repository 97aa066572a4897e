"""From what happens in a heat to laps: the heat clock, part laps, plausibility. No Django here."""
