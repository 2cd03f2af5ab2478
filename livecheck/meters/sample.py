"""One look at every channel."""

from __future__ import annotations

from livecheck.meters.channels import Channel, Sort
from livecheck.records import Record


class Sample(Record, frozen=True, kw_only=True):
    """One value a channel, in the order of the channels they were read from."""

    seconds: float
    """On a clock that never runs back."""
    values: tuple[float | None, ...]
    """None: could not be read this time."""
    step: str = ""
    """What the run was at: name of a probe, or of a phase of one."""
    wall: float | None = None
    """Seconds since 1970 by the machine's clock, which is shown and never trusted."""


def of_sort(
    channels: tuple[Channel, ...], sample: Sample, sort: Sort
) -> list[tuple[Channel, float]]:
    """The channels of one sort that have a value in this sample."""
    return [
        (channel, value)
        for channel, value in zip(channels, sample.values, strict=False)
        if channel.sort is sort and value is not None
    ]


def hottest(channels: tuple[Channel, ...], sample: Sample) -> tuple[Channel, float] | None:
    """The sensor nearest to its limit; without limits, the hottest one."""
    found = of_sort(channels, sample, Sort.TEMPERATURE)
    limited = [(c, v) for c, v in found if c.limit is not None]
    if limited:
        return min(limited, key=lambda cv: (cv[0].limit or 0.0) - cv[1])
    return max(found, key=lambda cv: cv[1], default=None)
