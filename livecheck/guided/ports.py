"""USB ports and card slots: the same known-good thing into each, one after another.

A port is told by what the kernel says once the thing sits in it: the speed it came up
at, over-current events of that port, kernel messages of errors and resets, and whether
it fell off again. A thing that is slow everywhere says nothing about a port; one that is
slow at one port, and fast at another, does.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import msgspec

from livecheck.guided.ending import YES_NO, Basis, ended, reading, skipped
from livecheck.guided.events import Answered, Event, Skip
from livecheck.guided.one_check import OneCheck
from livecheck.guided.rows import GuideOffer, GuideTarget
from livecheck.guided.sights import CardSeen, UsbSeen, UsbSight
from livecheck.guided.steps import DONE, NO, YES, Choice, GuideStep, Watch
from livecheck.records import Knowledge, NotTested, Outcome, Reading
from livecheck.wording import text

FAST: Final = 5000.0
"""Mbit/s from which a link runs over the fast contacts of a socket (USB 3)."""
END: Final = Choice(value=DONE, title="No more sockets", key="e")


class Port(msgspec.Struct):
    """What was seen at one port since the check began."""

    seen: UsbSight | None = None
    since: float | None = None
    """When the thing came; None: nothing in it now."""
    speed: float = 0.0
    comings: int = 0
    over_current: int = 0
    messages: list[str] = []


class Ports:
    """Follows what comes and goes at the machine's own sockets."""

    def __init__(self, offer: GuideOffer, knowledge: Knowledge) -> None:
        self._row, self._targets = offer.row, {t.component: t for t in offer.targets}
        limits = knowledge.checks[self._row.becomes].limits
        self._settle, self._flaps = limits["settle_seconds"], limits["comings"]
        self._ports = {place: Port() for place in self._targets}
        self._before: frozenset[str] | None = None
        self._counts: Mapping[str, int] = {}
        self._asking = False
        self._called: dict[str, str] = {}
        self._now = 0.0
        self._step = self._plugging()

    def start(self) -> GuideStep:
        """Every socket still to do."""
        return self._step

    def feed(self, event: Event) -> GuideStep:
        """Something plugged or pulled, an answer, time."""
        if self._step.done:
            return self._step
        if isinstance(event, Skip):
            self._step = self._end(None, event)
        elif isinstance(event, UsbSeen):
            self._see(event)
        elif isinstance(event, Answered):
            self._answered(event.value)
        return self._step

    def _answered(self, value: str) -> None:
        if value == DONE and not self._asking:
            self._asking = bool(self._open())
            self._step = self._question() if self._asking else self._end(None)
        elif self._asking and value in (YES, NO):
            self._step = self._end(value)
        elif not self._asking and value in self._row.calls and (place := self._nameless()):
            self._called[place] = value
            self._step = self._plugging()

    # --- What is seen

    def _see(self, event: UsbSeen) -> None:
        self._now = event.seconds
        now = {d.place: d for d in event.devices if d.place in self._ports}
        if self._before is None:
            # What sat there from the start is no part of the check until it is pulled.
            self._before, self._counts = frozenset(now), dict(event.over_current)
        self._before &= frozenset(now)
        for place, port in self._ports.items():
            port.over_current = event.over_current.get(place, 0) - self._counts.get(place, 0)
            self._sight(port, None if place in self._before else now.get(place))
        for place, line in event.messages:
            if place in self._ports:
                self._ports[place].messages.append(line)
        if not self._asking:
            self._step = self._plugging()

    def _sight(self, port: Port, sight: UsbSight | None) -> None:
        if sight is None:
            port.since = None
            return
        if port.since is None:
            port.since = self._now
            port.comings += 1
        port.seen = sight
        port.speed = max(port.speed, sight.speed or 0.0)

    def _settled(self, port: Port) -> bool:
        return port.seen is not None and (
            port.since is None or self._now - port.since >= self._settle
        )

    def _open(self) -> list[GuideTarget]:
        return [t for place, t in self._targets.items() if self._ports[place].seen is None]

    # --- Names

    def _nameless(self) -> str | None:
        """The socket that the thing sits in now, where nobody named it yet."""
        there = (p for p, port in self._ports.items() if port.since is not None)
        return next((p for p in there if not self._targets[p].called and p not in self._called),
                    None)  # fmt: skip

    def _name(self, target: GuideTarget) -> str:
        return self._called.get(target.component, target.name)

    def _calls(self) -> tuple[Choice, ...]:
        """Names for it; none is given twice."""
        if self._nameless() is None:
            return ()
        taken = {*self._called.values(), *(t.name for t in self._targets.values())}
        return tuple(
            Choice(value=name, title=text("guide-says.it-is", name=name), key=str(number))
            for number, name in enumerate(self._row.calls, start=1)
            if name not in taken
        )

    # --- Steps

    def _plugging(self) -> GuideStep:
        lines = list(self._row.lines)
        for place, target in self._targets.items():
            port = self._ports[place]
            if port.seen is None:
                said = text("guide-says.not-yet")
            elif not self._settled(port):
                said = text("guide-says.leave-it")
            else:
                said = text("guide-says.seen", speed=f"{port.speed:g}")
            lines.append(f"{self._name(target)}: {said}")
        done = sum(self._settled(p) for p in self._ports.values())
        return GuideStep(
            lines=tuple(lines),
            progress=done / len(self._ports),
            choices=(END, *self._calls()),
            watch=(Watch(kind="usb"),),
            tick=0.5,
        )

    def _question(self) -> GuideStep:
        names = ", ".join(map(self._name, self._open()))
        return GuideStep(
            lines=(text("guide-says.nothing-came", names=names),),
            question=self._row.asks,
            choices=YES_NO,
        )

    def _end(self, dead: str | None, skip: Skip | None = None) -> GuideStep:
        readings = [self._reading(p) for p in self._targets if self._ports[p].seen is not None]
        bad = [p for p in self._targets if self._ports[p].seen is None and self._faults(p)]
        readings += [self._reading(place) for place in bad]
        silent = [t for t in self._open() if t.component not in bad]
        missed: list[NotTested] = []
        if skip is not None:
            missed += skipped(self._row, silent, skip)
        elif dead == YES and silent:
            readings.append(self._dead(silent))
        else:
            why = "no socket of the case leads there, or none was tried"
            missed += skipped(self._row, silent, Skip(why=why))
        return msgspec.structs.replace(
            ended(*readings, not_tested=missed), called=dict(self._called)
        )

    def _faults(self, place: str) -> list[str]:
        port = self._ports[place]
        faults = []
        if port.over_current > 0:
            faults.append(f"it drew too much current {port.over_current} times")
        if port.comings >= self._flaps:
            faults.append(f"what was in it came and went {port.comings} times")
        if port.messages:
            faults.append(f"the kernel complained: {port.messages[0]}")
        if port.seen is not None and self._slow(place):
            faults.append(f"it ran at {port.speed:g} Mbit/s only, elsewhere at {self._best():g}")
        return faults

    def _best(self) -> float:
        return max(p.speed for p in self._ports.values())

    def _slow(self, place: str) -> bool:
        """Slower than the same thing elsewhere, at a socket that has the fast contacts."""
        port = self._ports[place]
        same = {(p.seen.usb_id, p.seen.serial) for p in self._ports.values() if p.seen is not None}
        target = self._targets[place].place
        fast = target is not None and (target.port_max_mbps or 0) >= FAST
        return fast and len(same) == 1 and port.speed < FAST <= self._best()

    def _reading(self, place: str) -> Reading:
        row, target, port = self._row, self._targets[place], self._ports[place]
        faults = self._faults(place)
        says = row.passed.format(name=self._name(target), speed=f"{port.speed:g}")
        if faults:
            says = row.failed.format(name=self._name(target), faults="; ".join(faults))
        details = list(port.messages)
        if port.seen is not None:
            details.insert(0, f"plugged in: {port.seen.title or port.seen.usb_id}")
        return reading(
            row,
            target,
            Outcome.FAILED if faults else Outcome.PASSED,
            says,
            Basis(value=port.speed or None, unit="Mbit/s", details=details),
        )

    def _dead(self, silent: list[GuideTarget]) -> Reading:
        """Which socket is which is known only while one is left."""
        row, first = self._row, silent[0]
        if len(silent) == 1:
            says = row.failed.format(name=first.name, faults="nothing came when it was used")
            return reading(row, first, Outcome.FAILED, says, Basis(value=0.0, unit="Mbit/s",
                           by="answered"))  # fmt: skip
        controllers = {(t.place.controller if t.place else None) or "machine" for t in silent}
        at = controllers.pop() if len(controllers) == 1 else "machine"
        names = ", ".join(t.name for t in silent)
        whole = GuideTarget(component=at, name=f"One of {names}")
        says = row.failed.format(name=whole.name, faults="nothing came when it was used")
        return reading(
            row, whole, Outcome.FAILED, says, Basis(value=0.0, unit="Mbit/s", by="answered")
        )


class Cards(OneCheck):
    """A known-good card into the slot; passes as soon as the kernel sees it with its size."""

    def __init__(self, offer: GuideOffer, knowledge: Knowledge) -> None:
        super().__init__(offer, knowledge)
        self._before: frozenset[tuple[str, str, str]] | None = None
        self._step = GuideStep(
            lines=self._row.lines,
            choices=(Choice(value=NO, title="It is in, and nothing comes", key="n"),),
            watch=(Watch(kind="card"),),
            tick=0.5,
        )

    def _on(self, event: Event) -> None:
        row, target = self._row, self._target
        if isinstance(event, CardSeen):
            own = frozenset(card for card in event.cards if card[0] == target.component)
            self._before = own if self._before is None else self._before & own
            new = [card for card in own - self._before if card[2]]
            if new:
                says = row.passed.format(name=new[0][1], size=new[0][2])
                self._step = ended(reading(row, target, Outcome.PASSED, says, Basis(value=new[0][2],
                                           unit="bytes")))  # fmt: skip
        elif isinstance(event, Answered) and event.value == NO:
            self._step = ended(
                reading(row, target, Outcome.FAILED, row.failed, Basis(value=NO, by="answered"))
            )
