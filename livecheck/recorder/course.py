"""A record thinned to what a chart can show: means of equal stretches, peaks kept. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from livecheck.meters import Channel, Sample, Sort
from livecheck.records import Course, Line

MOST_POINTS: Final = 240
DRAWN: Final = (
    Sort.TEMPERATURE,
    Sort.POWER,
    Sort.FREQUENCY,
    Sort.FAN,
    Sort.VOLTS,
    Sort.CHARGE,
    Sort.ADAPTER,
)
_PEAKS: Final = {Sort.TEMPERATURE: max, Sort.POWER: max, Sort.ADAPTER: min, Sort.VOLTS: min}
"""What must not be lost to thinning; the rest is averaged."""


def course(
    channels: tuple[Channel, ...], samples: Sequence[Sample], most: int = MOST_POINTS
) -> Course | None:
    """The course of a run in at most so many points; None without two samples."""
    if len(samples) < 2:
        return None
    begun, end = samples[0].seconds, samples[-1].seconds
    count = min(most, len(samples))
    bins: list[list[Sample]] = [[] for _ in range(count)]
    each = max((end - begun) / count, 1e-9)
    for sample in samples:
        bins[min(count - 1, int((sample.seconds - begun) / each))].append(sample)
    bins = [b for b in bins if b]
    lines = []
    for index, channel in enumerate(channels):
        if channel.sort not in DRAWN:
            continue
        values = tuple(_value(channel.sort, [s.values[index] for s in b]) for b in bins)
        if any(v is not None for v in values):
            lines.append(
                Line(
                    name=channel.name,
                    sort=channel.sort.value,
                    unit=channel.unit,
                    values=values,
                    limit=channel.limit,
                )
            )
    seconds = tuple(round(b[-1].seconds - begun, 1) for b in bins)
    return Course(seconds=seconds, lines=tuple(lines), steps=_steps(samples))


def _value(sort: Sort, values: Sequence[float | None]) -> float | None:
    known = [v for v in values if v is not None]
    if not known:
        return None
    peak = _PEAKS.get(sort)
    return peak(known) if peak is not None else round(sum(known) / len(known), 2)


def _steps(samples: Sequence[Sample]) -> tuple[tuple[float, str], ...]:
    found: list[tuple[float, str]] = []
    for sample in samples:
        if sample.step and (not found or found[-1][1] != sample.step):
            found.append((round(sample.seconds - samples[0].seconds, 1), sample.step))
    return tuple(found)
