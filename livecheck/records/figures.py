"""Figures of a reading that charts draw: typed, beside the sentences a person reads."""

from __future__ import annotations

from livecheck.records.base import Record


class BadRange(Record, frozen=True, kw_only=True):
    """A stretch of a drive that could not be read, or not at once."""

    offset: int
    """First byte."""
    bytes: int
    tries: int = 1
    """How often its first sector was asked for."""
    recovered: bool = False
    """True: the last of the tries brought the data."""
    exact: bool = True
    """False: the search was broken off; something in here cannot be read."""


class ReadFigures(Record, frozen=True, kw_only=True, tag_field="of", tag="read test"):
    """What a read test of a drive or a disc measured."""

    start: int = 0
    """First byte of the span that was read or sampled."""
    length: int = 0
    """Bytes of that span."""
    bytes: int = 0
    """Bytes that were read."""
    requests: int = 0
    bytes_per_second: float | None = None
    """Mean speed of the answered requests; None: none was answered."""
    percentiles: tuple[tuple[float, float], ...] = ()
    """Percent of requests, and the milliseconds they stayed within."""
    histogram: tuple[tuple[float, int], ...] = ()
    """Upper edge in milliseconds (edges a quarter octave apart), and requests; empty ones left
    out."""
    medians: tuple[float | None, ...] = ()
    """Milliseconds of the typical request by 64th of the span; None: nothing was read there."""
    longest: tuple[float | None, ...] = ()
    """Milliseconds of the longest request by 64th of the span."""
    bad: tuple[BadRange, ...] = ()


Figures = ReadFigures
"""Whatever a reading may carry; a union once there is a second kind."""
