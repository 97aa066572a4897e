"""From laps to placings, from placings to points, from points to a season. No Django here."""
