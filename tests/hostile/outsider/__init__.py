"""Attacks by somebody outside: what each one does and what must hold stands in ``attacks.toml``."""
