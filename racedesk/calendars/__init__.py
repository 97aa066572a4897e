"""The nights of a club as a calendar to subscribe to."""
