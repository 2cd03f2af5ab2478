"""What a read test found, in a fixed amount of memory. Pure."""

from __future__ import annotations

import math
from typing import Final

from livecheck.records import BadRange

REGIONS: Final = 64
FINEST_SECONDS: Final = 1e-5
STEPS_PER_OCTAVE: Final = 4
BUCKETS: Final = 24 * STEPS_PER_OCTAVE
"""10 µs to about 168 s in steps of a quarter octave (19 %)."""
RANGES_KEPT: Final = 1000

SLOW_FACTOR: Final = 4.0
"""A region is slow when its typical request takes this many times that of the whole drive
(assumed: a disk's inner tracks take about twice as long as its outer ones)."""


def bucket(seconds: float) -> int:
    """Index of the bucket a latency falls in."""
    if seconds <= FINEST_SECONDS:
        return 0
    return min(BUCKETS - 1, int(math.log2(seconds / FINEST_SECONDS) * STEPS_PER_OCTAVE))


def bucket_seconds(index: int) -> float:
    """Upper edge of a bucket, in seconds."""
    return FINEST_SECONDS * math.exp2((index + 1) / STEPS_PER_OCTAVE)


class Statistics:
    """Latencies by bucket, whole and by region of the span; unreadable ranges."""

    def __init__(self, start: int, length: int) -> None:
        self.start, self.length = start, max(1, length)
        self.regions = [[0] * BUCKETS for _ in range(REGIONS)]
        self.requests = 0
        self.bytes = 0
        self.seconds = 0.0
        self.worst = (0.0, 0)
        """Longest request: seconds, offset."""
        self.late = 0
        self.bad: list[BadRange] = []
        self.bad_bytes = 0
        self.recovered_bytes = 0
        """Bytes that came only when asked for again; not among the bad ones."""

    def add(self, offset: int, size: int, seconds: float, late_after: float) -> None:
        """A request that was answered. The first may wake the drive and is never late."""
        self.regions[self.region(offset)][bucket(seconds)] += 1
        if self.requests and seconds >= late_after:
            self.late += 1
        self.requests += 1
        self.bytes += size
        self.seconds += seconds
        self.worst = max(self.worst, (seconds, offset))

    def add_bad(self, found: BadRange) -> None:
        """A stretch that could not be read; joins the one before it where they touch."""
        if found.recovered:
            self.recovered_bytes += found.bytes
        else:
            self.bad_bytes += found.bytes
        last = self.bad[-1] if self.bad else None
        if last is not None and last.recovered == found.recovered and (
            last.offset + last.bytes == found.offset
        ):  # fmt: skip
            self.bad[-1] = BadRange(
                offset=last.offset,
                bytes=last.bytes + found.bytes,
                tries=max(last.tries, found.tries),
                recovered=last.recovered,
                exact=last.exact and found.exact,
            )
        elif len(self.bad) < RANGES_KEPT:
            self.bad.append(found)

    def longest(self, region: int) -> float | None:
        """Latency in seconds no request of a region took longer than (bucket's upper edge)."""
        return self.percentile(1.0, region)

    @property
    def histogram(self) -> tuple[int, ...]:
        """Requests of the whole span by bucket."""
        return tuple(sum(row[index] for row in self.regions) for index in range(BUCKETS))

    def region(self, offset: int) -> int:
        """Index of the region an offset lies in."""
        return min(REGIONS - 1, max(0, (offset - self.start) * REGIONS // self.length))

    def percentile(self, share: float, region: int | None = None) -> float | None:
        """Latency in seconds that this share of requests stayed within (bucket's upper edge)."""
        counts = self.histogram if region is None else self.regions[region]
        total = sum(counts)
        if not total:
            return None
        reached = 0
        for index, number in enumerate(counts):
            reached += number
            if reached >= share * total:
                return bucket_seconds(index)
        return bucket_seconds(BUCKETS - 1)

    def slow_regions(self, at_least_seconds: float) -> tuple[int, ...]:
        """Regions whose typical request is far slower than the drive's."""
        typical = self.percentile(0.5)
        if typical is None:
            return ()
        limit = max(at_least_seconds, SLOW_FACTOR * typical)
        middles = [(self.percentile(0.5, region), region) for region in range(REGIONS)]
        return tuple(region for middle, region in middles if middle and middle >= limit)

    @property
    def bytes_per_second(self) -> float | None:
        """Mean speed of the answered requests."""
        return self.bytes / self.seconds if self.seconds else None
