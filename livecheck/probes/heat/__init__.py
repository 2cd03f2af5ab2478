"""Temperatures, fans, throttling: at rest and under a load."""
