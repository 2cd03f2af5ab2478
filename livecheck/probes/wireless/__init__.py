"""Wireless and Bluetooth: how far a card came, and what it receives."""
