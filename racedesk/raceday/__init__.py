"""The day: where the night stands, when it ends, what needs somebody; the club's front page; a driver's own."""
