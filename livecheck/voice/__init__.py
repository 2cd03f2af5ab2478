"""What is said, beeped and blinked where nobody can look at a screen."""
