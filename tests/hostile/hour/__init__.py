"""Fifteen attacks of somebody who has an hour: the list stands in ``attacks.toml``."""
