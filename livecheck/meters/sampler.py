"""Reading every channel, again and again, at little cost."""

from __future__ import annotations

from typing import Final

from livecheck import host as hosts
from livecheck.host import Host, Unreadable
from livecheck.inventory import sensors
from livecheck.meters import channels as table
from livecheck.meters.channels import STATES, Channel, Sort
from livecheck.meters.energy import watts
from livecheck.meters.sample import Sample

SLOW_SORTS: Final = frozenset({Sort.CHARGE, Sort.ERRORS, Sort.THROTTLE})
SLOW_EVERY: Final = 5
"""Samples between two reads of what changes slowly: an embedded controller takes its time."""


class Sampler:
    """A machine's channels and the last readings of its counters."""

    def __init__(self, host: Host, found: tuple[Channel, ...] | None = None) -> None:
        self._host = host
        self.channels = table.find(host) if found is None else found
        self._energy: dict[str, tuple[float, float]] = {}
        self._idle: tuple[float, float] | None = None
        self._slow: dict[str, float | None] = {}
        self._taken = 0
        self._cores = max(1, sum(n[3:].isdigit() for n in host.names(table.CPUS) if n[:3] == "cpu"))

    def take(self, step: str = "", wall: float | None = None) -> Sample:
        """Read every channel now. Never raises."""
        values = tuple(self._value(channel) for channel in self.channels)
        self._taken += 1
        return Sample(seconds=self._host.clock(), values=values, step=step, wall=wall)

    def temperatures(self) -> list[tuple[Channel, float]]:
        """The temperatures alone, now: for looking at trip points often."""
        found = [(c, self._number(c)) for c in self.channels if c.sort is Sort.TEMPERATURE]
        return [(channel, value) for channel, value in found if value is not None]

    def _value(self, channel: Channel) -> float | None:
        if channel.wrap is not None:
            return self._power(channel)
        if channel.sort is Sort.LOAD:
            return self._load()
        if channel.sort in SLOW_SORTS and self._taken % SLOW_EVERY:
            return self._slow.get(channel.key)
        value = self._status(channel) if channel.sort is Sort.STATUS else self._number(channel)
        if channel.sort in SLOW_SORTS:
            self._slow[channel.key] = value
        return value

    def _number(self, channel: Channel) -> float | None:
        counted = hosts.number(self._host, channel.source)
        if counted is None:
            return None
        value = counted * channel.scale
        low, high = sensors.PLAUSIBLE
        if channel.sort is Sort.TEMPERATURE and not low <= value < high:
            return None
        return round(value, 3)

    def _status(self, channel: Channel) -> float | None:
        word = hosts.text(self._host, channel.source) or ""
        return STATES.index(word) - 1.0 if word in STATES else None

    def _power(self, channel: Channel) -> float | None:
        """Mean power since the last look; None at the first."""
        counted = hosts.number(self._host, channel.source)
        if counted is None:
            return None
        now = self._host.clock(), counted * channel.scale
        before = self._energy.get(channel.key)
        self._energy[channel.key] = now
        if before is None or channel.wrap is None:
            return None
        power = watts(before[1], now[1], channel.wrap, now[0] - before[0])
        return None if power is None else round(power, 3)

    def _load(self) -> float | None:
        """Share of the processors' time that was not idle since the last look, in percent.

        /proc/uptime: seconds up, and idle seconds summed over the processors (proc(5)).
        """
        try:
            up, idle = map(float, self._host.read(table.UPTIME).split()[:2])
        except (Unreadable, ValueError):
            return None
        before, self._idle = self._idle, (up, idle)
        if before is None or up <= before[0]:
            return None
        share = 1 - (idle - before[1]) / (up - before[0]) / self._cores
        return round(100 * min(1.0, max(0.0, share)), 1)
