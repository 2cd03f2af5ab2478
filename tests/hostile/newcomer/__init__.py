"""Attacks by somebody who had not seen the others: sixty, listed before the first was run."""
