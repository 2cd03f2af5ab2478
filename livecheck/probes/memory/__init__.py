"""Memory: its modules, its error counts, march tests over it."""
