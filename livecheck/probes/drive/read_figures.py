"""The figures of a read test as lines of text, and back: a reading keeps text only.

``lines`` writes them into the details of ``storage.read-slow``; ``parse`` reads them for
the report's charts. Lines it does not know are passed over. Pure.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from livecheck.probes.drive.read_stats import BadRange, Statistics, bucket_seconds
from livecheck.records import Record

SHARES: Final = (0.5, 0.9, 0.99, 0.999)


class Figures(Record, frozen=True, kw_only=True):
    """What a read test measured."""

    start: int = 0
    length: int = 0
    """The span that was read or sampled, in bytes."""
    bytes: int = 0
    requests: int = 0
    bytes_per_second: float | None = None
    percentiles: tuple[tuple[float, float], ...] = ()
    """Percent of requests, and the milliseconds they stayed within."""
    histogram: tuple[tuple[float, int], ...] = ()
    """Upper edge in milliseconds (edges a quarter octave apart), and requests; empty ones left
    out."""
    medians: tuple[float | None, ...] = ()
    """Milliseconds by 64th of the span; None: nothing was read there."""
    longest: tuple[float | None, ...] = ()
    bad: tuple[BadRange, ...] = ()


def lines(stats: Statistics) -> tuple[str, ...]:
    """The figures of a test, a line each."""
    times = [(share, stats.percentile(share)) for share in SHARES]
    speed = stats.bytes_per_second
    regions = range(len(stats.regions))
    counts = [(bucket_seconds(i), n) for i, n in enumerate(stats.histogram) if n]
    return (
        "latency ms: " + ", ".join(f"p{100 * s:g} {t * 1000:.3g}" for s, t in times if t),
        f"mean speed: {speed / 1e6:.0f} MB/s" if speed else "mean speed: not known",
        f"read: {stats.bytes} bytes in {stats.requests} requests",
        f"span: {stats.length} bytes from byte {stats.start}",
        "requests by ms: " + ", ".join(f"{edge * 1000:.4g} {n}" for edge, n in counts),
        "median ms by 64th of the span: " + _row([stats.percentile(0.5, r) for r in regions]),
        "longest ms by 64th of the span: " + _row([stats.longest(r) for r in regions]),
        *bad_lines(stats),
    )


def _row(values: Sequence[float | None]) -> str:
    return " ".join("-" if v is None else f"{v * 1000:.3g}" for v in values)


MOST_RANGES: Final = 50


def bad_lines(stats: Statistics) -> tuple[str, ...]:
    """The places that could not be read, or not at once, a line each."""
    return tuple(_bad_line(found) for found in stats.bad[:MOST_RANGES])


def _bad_line(found: BadRange) -> str:
    if found.recovered:
        return f"at byte {found.offset}: {found.bytes} bytes, came at try {found.tries}"
    if not found.exact:
        return f"at byte {found.offset}: somewhere in {found.bytes} bytes, search broken off"
    return f"at byte {found.offset}: {found.bytes} bytes, tried {found.tries} times"


_BAD: Final = re.compile(
    r"at byte (\d+): (somewhere in )?(\d+) bytes(?:, (?:(came) at try|tried) (\d+)(?: times)?)?"
)
_NUMBER: Final = r"(\d+(?:\.\d+)?(?:e[+-]?\d+)?)"


def parse(details: Sequence[str]) -> Figures | None:
    """The figures of a reading's details; None when there are none."""
    by_name = dict(line.partition(": ")[::2] for line in details)
    if "latency ms" not in by_name:
        return None
    span = re.match(r"(\d+) bytes from byte (\d+)", by_name.get("span", ""))
    read = re.match(r"(\d+) bytes in (\d+) requests", by_name.get("read", ""))
    speed = re.match(rf"{_NUMBER} MB/s", by_name.get("mean speed", ""))
    counts = re.findall(rf"{_NUMBER} (\d+)(?:,|$)", by_name.get("requests by ms", ""))
    times = re.findall(rf"p{_NUMBER} {_NUMBER}", by_name["latency ms"])
    return Figures(
        start=int(span[2]) if span else 0,
        length=int(span[1]) if span else 0,
        bytes=int(read[1]) if read else 0,
        requests=int(read[2]) if read else 0,
        bytes_per_second=float(speed[1]) * 1e6 if speed else None,
        percentiles=tuple((float(share), float(ms)) for share, ms in times),
        histogram=tuple((float(ms), int(number)) for ms, number in counts),
        medians=_parsed_row(by_name.get("median ms by 64th of the span", "")),
        longest=_parsed_row(by_name.get("longest ms by 64th of the span", "")),
        bad=tuple(found for line in details if (found := bad_range(line)) is not None),
    )


def _parsed_row(row: str) -> tuple[float | None, ...]:
    return tuple(float(word) if re.fullmatch(_NUMBER, word) else None for word in row.split()[:64])


def bad_range(line: str) -> BadRange | None:
    """The place a line tells of; None for other lines."""
    match = _BAD.fullmatch(line.removesuffix(", search broken off"))
    if match is None:
        return None
    return BadRange(
        offset=int(match[1]),
        bytes=int(match[3]),
        tries=int(match[5] or 1),
        recovered=match[4] is not None,
        exact=match[2] is None,
    )
