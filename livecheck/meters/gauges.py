"""What a row of meters says: words, a scale, how near the limit."""

from __future__ import annotations

from typing import Final

import msgspec

from livecheck.meters.channels import STATES, Channel, Sort
from livecheck.meters.sample import Sample

NEAR_CELSIUS: Final = 10.0
"""Below a limit, from which on a temperature is shown as near it (assumed)."""

FULL_SCALE: Final = {
    Sort.TEMPERATURE: 110.0,
    Sort.FAN: 6000.0,
    Sort.POWER: 60.0,
    Sort.FREQUENCY: 5000.0,
    Sort.VOLTS: 20.0,
    Sort.AMPERES: 5.0,
    Sort.CHARGE: 100.0,
    Sort.LOAD: 100.0,
}
"""Ends of the scales in the channels' units; the largest value seen stretches them."""


class Gauge(msgspec.Struct, frozen=True, kw_only=True):
    """One meter of one moment."""

    channel: int
    """Index of its channel, for its history."""
    name: str
    text: str
    """The value with its unit, or ``not read``; ``power``/``NO POWER`` for an adapter."""
    share: float | None
    """0 … 1 of the scale; None: nothing to draw a bar of."""
    limit: float | None
    """0 … 1: where on the scale the limit stands."""
    state: str
    """``ordinary``, ``near``, ``over`` or ``lost``: how loud it should look."""


def gauges(
    channels: tuple[Channel, ...],
    sample: Sample,
    sorts: tuple[Sort, ...] = tuple(Sort),
    most_seen: dict[int, float] | None = None,
) -> tuple[Gauge, ...]:
    """The meters of the given sorts, in the order of the sorts.

    ``most_seen``: channel index -> largest value so far, kept by the caller.
    """
    rows = [
        (sorts.index(channel.sort), index, channel)
        for index, channel in enumerate(channels)
        if channel.sort in sorts
    ]
    return tuple(
        _gauge(index, channel, sample.values[index], (most_seen or {}).get(index))
        for _, index, channel in sorted(rows, key=lambda row: row[:2])
    )


def _gauge(index: int, channel: Channel, value: float | None, most: float | None) -> Gauge:
    scale = FULL_SCALE.get(channel.sort)
    if scale is not None:
        scale = max(scale, most or 0.0, abs(value or 0.0), channel.limit or 0.0)
    return Gauge(
        channel=index,
        name=channel.name,
        text=_text(channel, value),
        share=None if value is None or not scale else min(1.0, abs(value) / scale),
        limit=channel.limit / scale if channel.limit and scale else None,
        state=_state(channel, value),
    )


def _text(channel: Channel, value: float | None) -> str:
    if value is None:
        return "not read"
    if channel.sort is Sort.ADAPTER:
        return "power" if value else "NO POWER"
    if channel.sort is Sort.STATUS:
        return STATES[round(value) + 1].lower()
    digits = {Sort.VOLTS: 2, Sort.AMPERES: 2, Sort.POWER: 1}.get(channel.sort, 0)
    return f"{value:.{digits}f} {channel.unit}"


def _state(channel: Channel, value: float | None) -> str:
    if value is None:
        return "ordinary"
    if channel.sort is Sort.ADAPTER and not value:
        return "lost"
    if channel.limit is None or channel.sort is not Sort.TEMPERATURE:
        return "ordinary"
    if value >= channel.limit:
        return "over"
    return "near" if value >= channel.limit - NEAR_CELSIUS else "ordinary"
