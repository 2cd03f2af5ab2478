"""A program of someone else at the bench: it plays the technician through files alone.

It writes the cases' records as JSON by the published format, asks ``livecheck locate CASE
--json`` what to do, does it to an invented machine and writes the next run. Nothing of
livecheck is imported, so it holds the contract, not the code: ``bench`` is the machine,
``player`` the technician. ``python -m tests.referee --cases 20 --seed 1`` plays and scores.
"""
