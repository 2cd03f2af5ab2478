"""Invented laptops: described once, replayed in Python or laid out in an umockdev test bed."""
