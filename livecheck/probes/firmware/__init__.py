"""The firmware: its tables, its clock, its settings."""
