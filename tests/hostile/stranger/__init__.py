"""Attacks by a stranger: what each one does and what must hold stands in ``attacks.toml``."""
