"""Which components a case has, which of them were where in each run, and whom a check accuses.

Pure functions over records, and over nothing else. Read in this order: ``ids`` (which
component), ``configuration`` and ``history`` (what was where, run by run), ``graph`` (all
that could be at fault), ``paths`` (what lies between a place of measurement and the
mainboard), ``blame`` (who could make a check fail).
"""
