"""Screens on DisplayPort: registers, error counts, looks."""
