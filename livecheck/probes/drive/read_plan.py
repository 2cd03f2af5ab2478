"""Which parts of a drive a read test reads, in which order. Pure; flat in the drive's size."""

from __future__ import annotations

import random
from typing import Final

from livecheck.records import Record

ALIGN: Final = 4096
"""Requests start and end on multiples of this: the largest sector in use."""
SEQUENTIAL_BYTES: Final = 4 << 20
SAMPLE_BYTES: Final = 1 << 20
SAMPLES: Final = 384
RANDOM_BYTES: Final = 4096
RANDOM_READS: Final = 256


class ReadPlan(Record, frozen=True, kw_only=True):
    """A read test: request ``i`` is computed, never stored."""

    size: int
    """Bytes of the drive."""
    start: int = 0
    length: int
    """The span to be read or sampled."""
    sampled: bool
    samples: int = SAMPLES
    """Most samples of a sampled plan."""
    random_reads: int = RANDOM_READS

    def __len__(self) -> int:
        if self.length <= 0:
            return 0
        if self.sampled:
            return min(self.samples, -(-self.length // SAMPLE_BYTES)) + self.random_reads
        return -(-self.length // SEQUENTIAL_BYTES)

    def request(self, index: int) -> tuple[int, int]:
        """(offset, bytes) of request ``index``."""
        end = self.start + self.length
        if not self.sampled:
            offset = self.start + index * SEQUENTIAL_BYTES
            return offset, min(SEQUENTIAL_BYTES, end - offset)
        samples = len(self) - self.random_reads
        if index < samples:
            size = min(SAMPLE_BYTES, self.length)
            last = self.length - size
            offset = last * index // max(1, samples - 1) // ALIGN * ALIGN
            return self.start + offset, size
        size = min(RANDOM_BYTES, self.length)
        # Seeded by its number: the same places in every run, so that runs compare.
        slots = max(1, self.length // ALIGN)
        return self.start + random.Random(index).randrange(slots) * ALIGN, size

    @property
    def bytes(self) -> int:
        """Bytes the whole plan reads."""
        if not self.sampled:
            return self.length
        samples = len(self) - self.random_reads
        return samples * min(SAMPLE_BYTES, self.length) + self.random_reads * RANDOM_BYTES


def plan(size: int, depth: str, start: int = 0, length: int | None = None) -> ReadPlan:
    """Quick: samples over the whole span and random reads. Full: every byte once, in order.

    ``start`` and ``length`` name a range, which is read whole at any depth. A tail
    smaller than ALIGN is left out.
    """
    start = start // ALIGN * ALIGN
    span = max(0, (size - start) // ALIGN * ALIGN)
    if length is not None:
        span = min(span, -(-length // ALIGN) * ALIGN)
    whole = depth != "quick" or length is not None
    return ReadPlan(size=size, start=start, length=span, sampled=not whole)
