"""Drives: their health, reading them, the tests they make of themselves."""
