"""Watching a jack live: the kernel is asked every hundredth of a second, and listened to.

Reading ``online`` of an ACPI adapter asks the firmware anew each time (drivers/acpi/ac.c),
so a loss is seen although the firmware tells of none. How fast the firmware itself notices
is its own affair: embedded controllers smooth the plug over some ten milliseconds (common
practice, no source). What they hide nobody can count from here.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from typing import Final

import msgspec

from livecheck.flex.counter import Counter, FlexResult, Loss
from livecheck.host import Host, Unreadable, number, text
from livecheck.listening import EventHost, UdevEvents

EVERY_SECONDS: Final = 0.01
"""Between two looks, the time a look takes not counted."""
SHOW_SECONDS: Final = 0.05
"""Between two reports of what has not changed."""


class Supply(msgspec.Struct, frozen=True):
    """A jack that tells whether power comes in."""

    name: str
    path: str
    kind: str
    """``Mains`` or ``USB``."""
    online: bool


class Look(msgspec.Struct, frozen=True, kw_only=True):
    """What a screen shows of one moment."""

    seconds: float
    """Since the watch began."""
    supply: str
    lost: bool
    changed: bool
    """True: power came or went just now."""
    count: int
    losses: tuple[Loss, ...]
    longest_gap: float
    result: Callable[[str | None], FlexResult]
    """The result so far; takes what the technician calls the adapter."""


def supplies(host: Host) -> tuple[Supply, ...]:
    """Every jack of this machine, those with power first."""
    found = []
    for listed in host.udev("power_supply"):
        kind = text(host, f"{listed.path}/type") or ""
        online = number(host, f"{listed.path}/online")
        own = text(host, f"{listed.path}/scope") != "Device"
        if own and kind != "Battery" and online is not None:
            found.append(Supply(listed.name, listed.path, kind, bool(online)))
    return tuple(sorted(found, key=lambda s: not s.online))


def watch(
    host: Host,
    supply: Supply,
    seconds: float | None = None,
    stopped: Callable[[], bool] = lambda: False,
    every: float = EVERY_SECONDS,
) -> Iterator[Look]:
    """Looks at one jack, at every change and some twenty times a second; blocks between.

    Ends after ``seconds`` (None: never) or when stopped.
    """
    counter = Counter(supply.name)
    begun = shown = host.clock()
    path = f"{supply.path}/online"
    with contextlib.closing(_listen(host)) as events:
        while not stopped():
            changed = False
            for fed in events.take(supply.name):
                changed |= counter.told(host.clock(), fed)
            changed |= counter.look(host.clock(), _online(host, path))
            now = host.clock()
            if changed or now - shown >= SHOW_SECONDS:
                shown = now
                yield _look(counter, now - begun, changed)
            if seconds is not None and now - begun >= seconds:
                break
            host.wait(every)
    yield _look(counter, host.clock() - begun, False)


def _look(counter: Counter, seconds: float, changed: bool) -> Look:
    so_far = counter.result()
    return Look(
        seconds=seconds,
        supply=so_far.supply,
        lost=counter.lost,
        changed=changed,
        count=so_far.count,
        losses=so_far.losses,
        longest_gap=so_far.longest_gap,
        result=counter.result,
    )


def _online(host: Host, path: str) -> bool | None:
    try:
        return host.read(path).strip() != b"0"
    except Unreadable:
        return None


class _Events:
    """Changes the firmware tells of; none where the host cannot be listened to."""

    def __init__(self, events: UdevEvents | None) -> None:
        self._events = events

    def take(self, supply: str) -> list[bool]:
        """Whether power came in, for each change of this jack since the last call."""
        if self._events is None:
            return []
        told = [p for name, p in self._events.new() if name == supply]
        return [p["POWER_SUPPLY_ONLINE"] != "0" for p in told if "POWER_SUPPLY_ONLINE" in p]

    def close(self) -> None:
        """Stop listening."""
        if self._events is not None:
            self._events.close()


def _listen(host: Host) -> _Events:
    if not isinstance(host, EventHost):
        return _Events(None)
    try:
        return _Events(host.udev_events("power_supply"))
    except Unreadable:
        return _Events(None)
