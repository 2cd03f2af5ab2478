"""Running probes: each in a process of its own, with a deadline.

A probe that hangs, crashes or meets a device that lies costs its reading and
nothing else. The caller must be single-threaded, since probes are forked: the
console therefore runs a session as a child process of its own.

What a probe yielded before it ended badly is kept.
"""

from __future__ import annotations

import os
import selectors
import sys
import time
from collections.abc import Callable, Sequence
from typing import Final

import msgspec

from livecheck.capture import Observations
from livecheck.probes import Context, Probe, Progress
from livecheck.probes.child import NotTestedSent, ProbeEnd, ReadingSent
from livecheck.probes.control import NONE, Control
from livecheck.probes.process import GRACE_SECONDS, ProbeProcess
from livecheck.records import Inventory, NotTested, ProbeRun, Reading

LOOK_SECONDS: Final = 0.1
"""Between two looks at deadlines and at what the technician asks for."""


class Event(msgspec.Struct, frozen=True, kw_only=True):
    """One thing to show while probes run."""

    kind: str
    """``started``, ``progress``, ``reading``, ``not tested`` or ``ended``."""
    probe: str
    title: str
    progress: Progress | None = None
    reading: Reading | None = None
    where: str = ""
    """What the reading is of, by its name; empty: the machine as a whole."""
    not_tested: NotTested | None = None
    ended: ProbeRun | None = None


class Results(msgspec.Struct, frozen=True):
    """What all probes gave, in the order of the registry."""

    readings: tuple[Reading, ...]
    not_tested: tuple[NotTested, ...]
    probes: tuple[ProbeRun, ...]
    scopes: dict[str, Observations]
    """What recording hosts saw in the probes' processes."""


def run(
    probes: Sequence[Probe],
    context: Context,
    on_event: Callable[[Event], None] = lambda event: None,
    stopped: Callable[[], bool] = lambda: False,
    control: Control = NONE,
) -> Results:
    """Run probes: the passive ones side by side, then the others one after another.

    ``stopped`` and ``control`` are asked some ten times a second. While a pause is wanted
    no further probe begins, and those that can rest do; a skip is for the active probe
    that runs, and does nothing while the passive ones do.
    """
    group = _Group(context, on_event, stopped)
    group.work([p for p in probes if p.passive], NONE)
    for probe in (p for p in probes if not p.passive):
        while control.paused() and not stopped():
            time.sleep(0.1)
        group.work([probe], control)
    order = {probe.name: index for index, probe in enumerate(probes)}
    children = sorted(group.finished, key=lambda child: order[child[0].probe.name])
    return Results(
        readings=tuple(r for child, ended in children for r in child.all_readings(ended)),
        not_tested=tuple(n for child, _ in children for n in child.not_tested),
        probes=tuple(ended for _, ended in children),
        scopes={k: v for child, _ in children if child.end for k, v in child.end.scopes.items()},
    )


class _Group:
    """Runs probes side by side, group after group, and keeps what became of each."""

    def __init__(
        self, context: Context, on_event: Callable[[Event], None], stopped: Callable[[], bool]
    ) -> None:
        self._context, self._on_event, self._stopped = context, on_event, stopped
        self.finished: list[tuple[ProbeProcess, ProbeRun]] = []

    def work(self, probes: Sequence[Probe], control: Control) -> None:
        """Begin these probes together and follow them until the last has ended."""
        self._selector = selectors.DefaultSelector()
        for probe in probes:
            if self._stopped():
                break
            # Flushed, lest the child flush a copy of what the parent has in its buffers.
            sys.stdout.flush()
            child = ProbeProcess(probe, self._context)
            self._selector.register(child.pipe, selectors.EVENT_READ, child)
            self._tell(child, "started")
        while self._selector.get_map():
            for key, _ in self._selector.select(timeout=LOOK_SECONDS):
                self._receive(key.data)
            now, paused, skip = time.monotonic(), control.paused(), control.skip()
            for key in list(self._selector.get_map().values()):
                key.data.pause(paused, now)
                if skip:
                    key.data.skip()
                self._watch(key.data, now)
        self._selector.close()

    def _receive(self, child: ProbeProcess) -> None:
        messages = child.take()
        if messages is None:
            self._finish(child)
            return
        for message in messages:
            if isinstance(message, ReadingSent):
                reading = child.cut_short(message.value)
                child.readings.append(reading)
                where = _called(reading.at, self._context.inventory)
                self._tell(child, "reading", reading=reading, where=where)
            elif isinstance(message, NotTestedSent):
                child.not_tested.append(message.value)
                self._tell(child, "not tested", not_tested=message.value)
            elif isinstance(message, ProbeEnd):
                child.end = message
                # A thread stuck in the kernel keeps the process, and its pipe, from going away.
                child.deadline = time.monotonic() + GRACE_SECONDS
            else:
                self._tell(child, "progress", progress=message)

    def _watch(self, child: ProbeProcess, now: float) -> None:
        if self._stopped() and child.given_up is None:
            child.press("stopped")
        elif now >= child.deadline and not child.press("did not answer"):
            # Stuck in the kernel on a dead device: it is left behind, the run goes on.
            self._finish(child)

    def _finish(self, child: ProbeProcess) -> None:
        self._selector.unregister(child.pipe)
        os.close(child.pipe)
        child.writer.close()
        ended = child.verdict(child.reap())
        self.finished.append((child, ended))
        self._tell(child, "ended", ended=ended)

    def _tell(self, child: ProbeProcess, kind: str, **news: object) -> None:
        probe = child.probe
        blank = Event(kind=kind, probe=probe.name, title=probe.title)
        self._on_event(msgspec.structs.replace(blank, **news))


def _called(component: str, inventory: Inventory) -> str:
    names = {place.id: place.name for place in inventory.places}
    return (names | {part.id: part.name for part in inventory.parts}).get(component, "")
