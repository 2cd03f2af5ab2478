"""Tests of what the bootable image is built from. Those that boot it are marked boot."""
