"""What the kernel logged."""
