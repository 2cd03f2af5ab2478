"""Running probes: each in a process of its own, with a deadline.

A probe that hangs, crashes or meets a device that lies costs its reading and
nothing else. The caller must be single-threaded, since probes are forked: the
console therefore runs a session as a child process of its own.

What a probe yielded before it ended badly is kept.
"""

from __future__ import annotations

import contextlib
import importlib
import os
import selectors
import signal
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from typing import Final

import msgspec

from livecheck import framed
from livecheck.capture import Observations, RecordingHost
from livecheck.probes import Context, Probe, ProbeFunction, Progress, Yield
from livecheck.probes.control import NONE, Control, ControlReader, ControlWriter
from livecheck.records import NotTested, Outcome, ProbeRun, Reading

GRACE_SECONDS: Final = 2.0
"""Between asking a probe to end and killing it."""
BY_TECHNICIAN: Final = ("stopped", "skipped")
"""Why a probe is given up, where it is not to blame."""


class Event(msgspec.Struct, frozen=True, kw_only=True):
    """One thing to show while probes run."""

    kind: str
    """``started``, ``progress``, ``reading``, ``not tested`` or ``ended``."""
    probe: str
    title: str
    progress: Progress | None = None
    reading: Reading | None = None
    not_tested: NotTested | None = None
    ended: ProbeRun | None = None


class Results(msgspec.Struct, frozen=True):
    """What all probes gave, in the order of the registry."""

    readings: tuple[Reading, ...]
    not_tested: tuple[NotTested, ...]
    probes: tuple[ProbeRun, ...]
    scopes: dict[str, Observations]
    """What recording hosts saw in the probes' processes."""


class _Reading(msgspec.Struct, frozen=True, tag="reading"):
    value: Reading


class _NotTested(msgspec.Struct, frozen=True, tag="not tested"):
    value: NotTested


class _End(msgspec.Struct, frozen=True, tag="end"):
    says: str
    died: bool
    scopes: dict[str, Observations]


_Message = _Reading | _NotTested | Progress | _End
_DECODER: Final = msgspec.msgpack.Decoder(_Message)


class _Child:
    """The parent's side of one probe."""

    def __init__(self, probe: Probe, context: Context) -> None:
        self.probe = probe
        self.readings: list[Reading] = []
        self.not_tested: list[NotTested] = []
        self.end: _End | None = None
        self.begun = time.monotonic()
        self.deadline = self.begun + _allowed(probe, context)
        self.given_up: str | None = None
        self.forced = False
        self._joiner = framed.Joiner()
        self._looked = self.begun
        self.pipe, child_end = os.pipe()
        hearing, telling = os.pipe()
        self.pid = os.fork()
        if self.pid == 0:
            os.close(self.pipe)
            os.close(telling)
            heard = msgspec.structs.replace(context, control=ControlReader(hearing))
            _child_main(probe, heard, child_end)
        os.close(child_end)
        os.close(hearing)
        self.writer = ControlWriter(telling)
        # Both sides set the group, so that it exists whoever comes first.
        with contextlib.suppress(PermissionError, ProcessLookupError):
            os.setpgid(self.pid, self.pid)

    def take(self) -> Iterator[_Message] | None:
        """Messages that have come in; None once the probe closed its end."""
        data = os.read(self.pipe, 1 << 16)
        if not data:
            return None
        return map(_DECODER.decode, self._joiner.feed(data))

    def pause(self, wanted: bool, now: float) -> None:
        """Let a probe that can rest do so; resting costs nothing of its time."""
        if self.probe.supports_control and self.given_up is None:
            self.writer.pause(wanted)
            if wanted:
                self.deadline += now - self._looked
        self._looked = now

    def skip(self) -> None:
        """Leave out what it is at, or all of it where it cannot tell one from another."""
        if self.probe.supports_control:
            self.writer.skip()
        else:
            self.press("skipped")

    def press(self, reason: str) -> bool:
        """One step further: ask, then force. False: forced already, and still not gone."""
        if self.forced:
            return False
        first = self.given_up is None
        self.given_up = self.given_up or reason
        self.forced = not first
        self.deadline = time.monotonic() + GRACE_SECONDS
        with contextlib.suppress(ProcessLookupError, PermissionError):
            os.killpg(self.pid, signal.SIGTERM if first else signal.SIGKILL)
        return True

    def reap(self) -> int | None:
        """Exit status, or None when the process cannot be ended."""
        for _ in range(20):
            pid, status = os.waitpid(self.pid, os.WNOHANG)
            if pid:
                return os.waitstatus_to_exitcode(status)
            time.sleep(0.02)
        return None


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
    that runs, and falls flat while the passive ones do.
    """
    children = _run_group([p for p in probes if p.passive], context, on_event, stopped, NONE)
    for probe in (p for p in probes if not p.passive):
        while control.paused() and not stopped():
            time.sleep(0.1)
        children += _run_group([probe], context, on_event, stopped, control)
    order = {probe.name: index for index, probe in enumerate(probes)}
    children.sort(key=lambda child: order[child[0].probe.name])
    return Results(
        readings=tuple(r for child, ended in children for r in _all_readings(child, ended)),
        not_tested=tuple(n for child, _ in children for n in child.not_tested),
        probes=tuple(ended for _, ended in children),
        scopes={k: v for child, _ in children if child.end for k, v in child.end.scopes.items()},
    )


def _run_group(
    probes: Sequence[Probe],
    context: Context,
    on_event: Callable[[Event], None],
    stopped: Callable[[], bool],
    control: Control,
) -> list[tuple[_Child, ProbeRun]]:
    selector = selectors.DefaultSelector()
    finished: list[tuple[_Child, ProbeRun]] = []
    for probe in probes:
        if stopped():
            break
        # Flushed, lest the child flush a copy of what the parent has in its buffers.
        sys.stdout.flush()
        child = _Child(probe, context)
        selector.register(child.pipe, selectors.EVENT_READ, child)
        on_event(Event(kind="started", probe=probe.name, title=probe.title))
    while selector.get_map():
        for key, _ in selector.select(timeout=0.1):
            _receive(key.data, selector, finished, on_event)
        now, paused, skip = time.monotonic(), control.paused(), control.skip()
        for key in list(selector.get_map().values()):
            key.data.pause(paused, now)
            if skip:
                key.data.skip()
            _watch(key.data, now, stopped(), selector, finished, on_event)
    selector.close()
    return finished


def _receive(
    child: _Child,
    selector: selectors.BaseSelector,
    finished: list[tuple[_Child, ProbeRun]],
    on_event: Callable[[Event], None],
) -> None:
    messages = child.take()
    if messages is None:
        _finish(child, selector, finished, on_event)
        return
    probe = child.probe
    for message in messages:
        if isinstance(message, _Reading):
            reading = _cut_short(message.value, child)
            child.readings.append(reading)
            event = Event(kind="reading", probe=probe.name, title=probe.title, reading=reading)
        elif isinstance(message, _NotTested):
            child.not_tested.append(message.value)
            event = Event(
                kind="not tested", probe=probe.name, title=probe.title, not_tested=message.value
            )
        elif isinstance(message, Progress):
            event = Event(kind="progress", probe=probe.name, title=probe.title, progress=message)
        else:
            child.end = message
            # A thread stuck in the kernel keeps the process, and its pipe, from going away.
            child.deadline = time.monotonic() + GRACE_SECONDS
            continue
        on_event(event)


def _cut_short(reading: Reading, child: _Child) -> Reading:
    """What a probe says once it was told to end: not enough was looked at to have passed."""
    if child.given_up not in BY_TECHNICIAN or reading.outcome is not Outcome.PASSED:
        return reading
    seconds = time.monotonic() - child.begun
    why = f"{child.given_up} by the technician after {seconds:.0f} s"
    return msgspec.structs.replace(reading, outcome=Outcome.NOT_JUDGED, why_not=why)


def _watch(
    child: _Child,
    now: float,
    stop: bool,
    selector: selectors.BaseSelector,
    finished: list[tuple[_Child, ProbeRun]],
    on_event: Callable[[Event], None],
) -> None:
    if stop and child.given_up is None:
        child.press("stopped")
    elif now >= child.deadline and not child.press("did not answer"):
        # Stuck in the kernel on a dead device: it is left behind, the run goes on.
        _finish(child, selector, finished, on_event)


def _finish(
    child: _Child,
    selector: selectors.BaseSelector,
    finished: list[tuple[_Child, ProbeRun]],
    on_event: Callable[[Event], None],
) -> None:
    selector.unregister(child.pipe)
    os.close(child.pipe)
    child.writer.close()
    status = child.reap()
    ended = _verdict(child, status)
    finished.append((child, ended))
    on_event(Event(kind="ended", probe=child.probe.name, title=child.probe.title, ended=ended))


def _verdict(child: _Child, status: int | None) -> ProbeRun:
    seconds = time.monotonic() - child.begun
    if child.given_up in BY_TECHNICIAN:
        how = "stopped"
        says = f"{child.given_up} by the technician; what it had read is kept"
    elif child.end is not None and not child.end.died:
        how, says = "done", ""
    elif child.given_up is not None:
        how, says = "did not answer", f"did not answer in {seconds:.0f} s"
    elif child.end is not None:
        how, says = "died", child.end.says
    else:
        name = signal.Signals(-status).name if status is not None and status < 0 else f"{status}"
        how, says = "died", f"its process ended by itself ({name})"
    return ProbeRun(probe=child.probe.name, seconds=round(seconds, 3), ended=how, says=says)


def _all_readings(child: _Child, ended: ProbeRun) -> list[Reading]:
    if ended.ended in ("done", "stopped"):
        return child.readings
    title = child.probe.title
    lost = Reading(
        check="probe.answers",
        at="machine",
        outcome=Outcome.NOT_JUDGED,
        value=child.probe.name,
        source="livecheck",
        says=f"The probe “{title}” {ended.says}.",
        why_not=ended.says,
    )
    return [*child.readings, lost]


def _allowed(probe: Probe, context: Context) -> float:
    long = context.depth != "quick" or context.span is not None
    if long and probe.full_deadline is not None:
        return probe.full_deadline
    return probe.deadline


def _child_main(probe: Probe, context: Context, pipe: int) -> None:
    """The child's whole life; never returns."""
    code = 1
    try:
        os.setpgid(0, 0)
        # A probe's stray output must not reach the console's screen or a pipe of results.
        silent = os.open(os.devnull, os.O_RDWR)
        for descriptor in (0, 1, 2):
            os.dup2(silent, descriptor)
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        signal.signal(signal.SIGTERM, signal.SIG_DFL)
        _send(pipe, _work(probe, context, pipe))
        code = 0
    finally:
        os._exit(code)


def _work(probe: Probe, context: Context, pipe: int) -> _End:
    host = context.host.scope(f"probe:{probe.name}")
    scoped = msgspec.structs.replace(context, host=host)
    module, _, name = probe.function.partition(":")
    died, says = False, ""
    try:
        function: ProbeFunction = getattr(importlib.import_module(module), name)
        for item in function(scoped):
            _send(pipe, _wrap(item))
    except Exception as error:
        # The process boundary: whatever went wrong in a probe is a value from here on.
        died, says = True, f"failed with {type(error).__name__}: {error}"
    scopes = host.scopes if isinstance(host, RecordingHost) else {}
    mine = {k: v for k, v in scopes.items() if k.startswith(f"probe:{probe.name}")}
    return _End(says=says, died=died, scopes=mine)


def _wrap(item: Yield) -> _Message:
    if isinstance(item, Reading):
        return _Reading(item)
    if isinstance(item, NotTested):
        return _NotTested(item)
    return item


def _send(pipe: int, message: _Message) -> None:
    framed.send(pipe, msgspec.msgpack.encode(message))
