"""What a read test measured, as figures for charts and as lines for a reading's details. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from livecheck.probes.drive.read_stats import Statistics, bucket_seconds
from livecheck.records import BadRange, ReadFigures

SHARES: Final = (0.5, 0.9, 0.99, 0.999)

MAX_RANGES: Final = 50
"""Bad ranges a record keeps; a drive may have thousands."""


def figures(stats: Statistics) -> ReadFigures:
    """Everything a test measured; times to four digits, since buckets are 19 % wide."""
    regions = range(len(stats.regions))
    shares = [(share, stats.percentile(share)) for share in SHARES]
    return ReadFigures(
        start=stats.start,
        length=stats.length,
        bytes=stats.bytes,
        requests=stats.requests,
        bytes_per_second=stats.bytes_per_second,
        percentiles=tuple((100 * share, _milliseconds(t)) for share, t in shares if t),
        histogram=tuple(
            (_milliseconds(bucket_seconds(i)), number)
            for i, number in enumerate(stats.histogram)
            if number
        ),
        medians=tuple(_known(stats.percentile(0.5, region)) for region in regions),
        longest=tuple(_known(stats.longest(region)) for region in regions),
        bad=bad_ranges(stats),
    )


def bad_ranges(stats: Statistics) -> tuple[BadRange, ...]:
    """The places that could not be read, or not at once."""
    return tuple(stats.bad[:MAX_RANGES])


def _milliseconds(seconds: float) -> float:
    return float(f"{seconds * 1000:.4g}")


def _known(seconds: float | None) -> float | None:
    return None if seconds is None else _milliseconds(seconds)


def lines(found: ReadFigures) -> tuple[str, ...]:
    """The figures of a whole test, a line each."""
    speed = found.bytes_per_second
    return (
        "latency ms: " + ", ".join(f"p{share:g} {ms:.3g}" for share, ms in found.percentiles),
        f"mean speed: {speed / 1e6:.0f} MB/s" if speed else "mean speed: not known",
        f"read: {found.bytes} bytes in {found.requests} requests",
        f"span: {found.length} bytes from byte {found.start}",
        "requests by ms: " + ", ".join(f"{ms:.4g} {number}" for ms, number in found.histogram),
        "median ms by 64th of the span: " + _row(found.medians),
        "longest ms by 64th of the span: " + _row(found.longest),
        *bad_lines(found),
    )


def _row(values: Sequence[float | None]) -> str:
    return " ".join("-" if v is None else f"{v:.3g}" for v in values)


def bad_lines(found: ReadFigures) -> tuple[str, ...]:
    """The places that could not be read, or not at once, a line each."""
    return tuple(_bad_line(one) for one in found.bad)


def _bad_line(found: BadRange) -> str:
    if found.recovered:
        return f"at byte {found.offset}: {found.bytes} bytes, came at try {found.tries}"
    if not found.exact:
        return f"at byte {found.offset}: somewhere in {found.bytes} bytes, search broken off"
    return f"at byte {found.offset}: {found.bytes} bytes, tried {found.tries} times"
