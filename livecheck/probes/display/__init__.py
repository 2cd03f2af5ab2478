"""Probes of the screen: its light, its link, what it says of itself."""
