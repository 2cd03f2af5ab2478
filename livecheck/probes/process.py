"""The runner's side of one probe's process: its pipe, its deadline, its end."""

from __future__ import annotations

import contextlib
import os
import signal
import time
from collections.abc import Iterator
from typing import Final

import msgspec

from livecheck import framed
from livecheck.probes import Context, Probe
from livecheck.probes.child import DECODER, Message, ProbeEnd, live
from livecheck.probes.control import ControlReader, ControlWriter
from livecheck.records import NotTested, Outcome, ProbeRun, Reading

GRACE_SECONDS: Final = 2.0
"""Between asking a probe to end and killing it."""
BY_TECHNICIAN: Final = ("stopped", "skipped")
"""Why a probe is given up, where it is not to blame."""


class ProbeProcess:
    """The parent's side of one probe."""

    def __init__(self, probe: Probe, context: Context) -> None:
        self.probe = probe
        self.readings: list[Reading] = []
        self.not_tested: list[NotTested] = []
        self.end: ProbeEnd | None = None
        self.begun = time.monotonic()
        self.deadline = self.begun + _allowed(probe, context)
        self.given_up: str | None = None
        self.forced = False
        self.garbled = 0
        """Messages of it that could not be read."""
        self._joiner = framed.Joiner()
        self._looked = self.begun
        self.pipe, child_end = os.pipe()
        hearing, telling = os.pipe()
        self.pid = os.fork()
        if self.pid == 0:
            os.close(self.pipe)
            os.close(telling)
            heard = msgspec.structs.replace(context, control=ControlReader(hearing))
            live(probe, heard, child_end)
        os.close(child_end)
        os.close(hearing)
        self.writer = ControlWriter(telling)
        # Both sides set the group, so that it exists whoever comes first.
        with contextlib.suppress(PermissionError, ProcessLookupError):
            os.setpgid(self.pid, self.pid)

    def take(self) -> Iterator[Message] | None:
        """Messages that have come in; None once the probe closed its end."""
        data = os.read(self.pipe, 1 << 16)
        if not data:
            return None
        return self._read(data)

    def _read(self, data: bytes) -> Iterator[Message]:
        for body in self._joiner.feed(data):
            try:
                yield DECODER.decode(body)
            except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
                self.garbled += 1

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
        """Exit status, or None when the process cannot be ended. What it started ends too."""
        with contextlib.suppress(ProcessLookupError, PermissionError):
            os.killpg(self.pid, signal.SIGKILL)
        for _ in range(20):
            pid, status = os.waitpid(self.pid, os.WNOHANG)
            if pid:
                return os.waitstatus_to_exitcode(status)
            time.sleep(0.02)
        return None

    def cut_short(self, reading: Reading) -> Reading:
        """What a probe says once it was told to end: not enough was looked at to have passed."""
        if self.given_up not in BY_TECHNICIAN or reading.outcome is not Outcome.PASSED:
            return reading
        seconds = time.monotonic() - self.begun
        why = f"{self.given_up} by the technician after {seconds:.0f} s"
        return msgspec.structs.replace(reading, outcome=Outcome.NOT_JUDGED, why_not=why)

    def verdict(self, status: int | None) -> ProbeRun:
        """How it went. ``status``: its exit status, None where it cannot be ended."""
        seconds = time.monotonic() - self.begun
        if self.given_up in BY_TECHNICIAN:
            how = "stopped"
            says = f"{self.given_up} by the technician; what it had read is kept"
        elif self.garbled:
            how, says = "died", f"sent what could not be read ({self.garbled} times)"
        elif self.end is not None and not self.end.died:
            how, says = "done", ""
        elif self.given_up is not None:
            how, says = "did not answer", f"did not answer in {seconds:.0f} s"
        elif self.end is not None:
            how, says = "died", self.end.says
        else:
            name = (
                signal.Signals(-status).name if status is not None and status < 0 else f"{status}"
            )
            how, says = "died", f"its process ended by itself ({name})"
        return ProbeRun(probe=self.probe.name, seconds=round(seconds, 3), ended=how, says=says)

    def all_readings(self, ended: ProbeRun) -> list[Reading]:
        """What it read; one that ended badly leaves a reading of that too."""
        if ended.ended in ("done", "stopped"):
            return self.readings
        title = self.probe.title
        lost = Reading(
            check="probe.answers",
            at="machine",
            outcome=Outcome.NOT_JUDGED,
            value=self.probe.name,
            source="livecheck",
            says=f"The probe “{title}” {ended.says}.",
            why_not=ended.says,
        )
        return [*self.readings, lost]


def _allowed(probe: Probe, context: Context) -> float:
    long = context.depth != "quick" or context.span is not None
    if long and probe.full_deadline is not None:
        return probe.full_deadline
    return probe.deadline
