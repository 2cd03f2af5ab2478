"""Probes of the screen."""
