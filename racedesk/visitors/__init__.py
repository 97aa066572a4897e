"""What people come for without signing in: the club's front page, and a driver's own page of the night."""
