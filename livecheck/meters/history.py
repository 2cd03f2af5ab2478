"""The last while of samples, and how it is squeezed into the columns of a screen."""

from __future__ import annotations

from collections import deque

import msgspec

from livecheck.meters.channels import Channel
from livecheck.meters.sample import Sample


class Stretch(msgspec.Struct, frozen=True):
    """What a channel did in one stretch of time."""

    low: float
    high: float
    last: float


class History:
    """A ring of samples; the oldest fall out."""

    def __init__(self, channels: tuple[Channel, ...], most: int = 600) -> None:
        self.channels = channels
        self._samples: deque[Sample] = deque(maxlen=most)

    def add(self, sample: Sample) -> None:
        """Take in the newest sample."""
        self._samples.append(sample)

    @property
    def samples(self) -> tuple[Sample, ...]:
        """Everything that is kept, oldest first."""
        return tuple(self._samples)

    @property
    def last(self) -> Sample | None:
        """The newest sample."""
        return self._samples[-1] if self._samples else None

    def series(self, channel: int) -> list[tuple[float, float]]:
        """(seconds, value) of one channel, oldest first, gaps left out."""
        return [
            (s.seconds, value) for s in self._samples if (value := s.values[channel]) is not None
        ]

    def columns(self, channel: int, width: int, seconds: float) -> list[Stretch | None]:
        """One channel over the last ``seconds`` in ``width`` columns, newest at the right.

        None: nothing was read in that stretch. Every sample in it counts, so that a
        peak of one second is never lost to the squeeze.
        """
        last = self.last
        bins: list[list[float]] = [[] for _ in range(width)]
        if last is None or width < 1:
            return [None] * width
        each = seconds / width
        for when, value in self.series(channel):
            index = width - 1 - int((last.seconds - when) / each)
            if 0 <= index < width:
                bins[index].append(value)
        return [Stretch(min(b), max(b), b[-1]) if b else None for b in bins]
