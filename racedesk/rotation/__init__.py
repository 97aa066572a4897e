"""Who races in which lane in which heat: draws, their balance, marshal rosters and checks. Plain Python."""
