"""The commands of the command line, a module a subject; each has ``add``."""
