"""Starts counted: the plan, what is judged, and the notes on the drive."""
