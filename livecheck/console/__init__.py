"""The console app: screens over the same functions the command line calls."""
