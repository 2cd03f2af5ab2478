"""Forty-six attacks of a fourth outsider: the list stands in ``attacks.toml``."""
