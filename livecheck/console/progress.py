"""How far a run is, from its events: pure, so that it can be told without a screen."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Final

import msgspec

from livecheck.console.answers import probe_title
from livecheck.console.drawings import bar
from livecheck.languages import ENGLISH, spoken
from livecheck.probes import Probe, Progress
from livecheck.probes.runner import Event
from livecheck.records import Outcome, Reading
from livecheck.wording import clean, text

MOST_FINDINGS: Final = 200
"""Kept for the screen; the record keeps all."""
BAR_WIDTH: Final = 24
STATE_WIDTH: Final = 23
COUNT_WIDTH: Final = 20


def in_words(event: Event, called: Mapping[str, str]) -> Event:
    """An event of a run in the language that is spoken. ``called``: names of components in it."""
    from livecheck.found_words import reworded
    from livecheck.worded_runs import worded_reading

    if spoken() == ENGLISH:
        return event
    told = msgspec.structs.replace(event, where=called.get(event.where, event.where))
    if (reading := event.reading) is not None:
        return msgspec.structs.replace(told, reading=worded_reading(reading, called))
    if (now := event.progress) is not None:
        now = msgspec.structs.replace(now, says=reworded(now.says, called))
    return msgspec.structs.replace(told, progress=now)


class _Line:
    """One probe."""

    def __init__(self, probe: Probe) -> None:
        self.probe = probe
        self.state = "waiting"
        self.words = ""
        self.progress: Progress | None = None
        self.begun = 0.0
        self.read = 0
        self.failed = 0


class RunProgress:
    """The state of a run."""

    def __init__(
        self,
        probes: Sequence[Probe],
        lasted: Mapping[str, float],
        depth: str,
        clock: Callable[[], float],
    ) -> None:
        self._lines = {probe.name: _Line(probe) for probe in probes}
        self._lasted = dict(lasted)
        self._depth = depth
        self._clock = clock
        self._begun = clock()
        self._note = ""
        self._paused = False
        self.failed: list[tuple[str, Reading]] = []
        """What was found, the newest last: where, by its name, and the reading."""
        self._counts = dict.fromkeys(Outcome, 0)

    def take(self, event: Event) -> None:
        """One event; those of probes that are not shown are left out."""
        line = self._lines.get(event.probe)
        if line is None:
            return
        if event.kind == "started":
            line.state, line.progress, line.begun = "running", None, self._clock()
            line.read = line.failed = 0
        elif event.progress is not None:
            line.progress = event.progress
            line.state = "paused" if event.progress.paused else "running"
        elif event.ended is not None:
            line.state = event.ended.ended
            digits = 1 if event.ended.seconds < 100 else 0
            took = f"{event.ended.seconds:.{digits}f}".replace(".", text("number.decimal"))
            line.words = f"{_state_title(line.state)} ({took} s)"
        elif event.reading is not None:
            self._read(line, event.reading, event.where)

    def _read(self, line: _Line, reading: Reading, where: str) -> None:
        line.read += 1
        self._counts[reading.outcome] += 1
        if reading.outcome is Outcome.FAILED:
            line.failed += 1
            self.failed = [*self.failed, (where, reading)][-MOST_FINDINGS:]

    def note(self, says: str) -> None:
        """Something the technician asked for."""
        self._note = says

    def turn_pause(self) -> bool:
        """Rest or go on; returns whether it rests now."""
        self._paused = not self._paused
        self._note = text("running.paused") if self._paused else ""
        return self._paused

    def deepen(self) -> None:
        """Full depth from now on: what the last run took says nothing of it."""
        self._depth = "full"
        self._lasted = {}
        self._note = text("running.deepened")

    @property
    def running(self) -> list[_Line]:
        """Probes at work."""
        return [one for one in self._lines.values() if one.state in ("running", "paused")]

    def summary(self) -> list[str]:
        """What is tested now, the time, what was found."""
        now = [one for one in self.running if one.progress is not None] or self.running
        words = "; ".join(_now(one) for one in now[-2:]) or self._between()
        how = {outcome.value.replace(" ", "_"): n for outcome, n in self._counts.items()}
        found = text("running.counts", **how)
        told = {"now": words, "done": self._done(), "time": self._time(), "found": found}
        lines = [text(f"running.line-{what}", says=says) for what, says in told.items()]
        return [clean(line) for line in [*lines, *([self._note] if self._note else [])]]

    def _between(self) -> str:
        states = {one.state for one in self._lines.values()}
        if states == {"waiting"}:
            return text("running.looking")
        return text("running.between" if "waiting" in states else "running.all-ended")

    def told(self) -> str:
        """How far it is, to be said aloud."""
        now = "; ".join(_now(one) for one in self.running[-1:])
        done = sum(o.state not in ("waiting", "running", "paused") for o in self._lines.values())
        return text("voice.progress", now=f"{now}." if now else "", done=done,
                    of=len(self._lines), failed=self._counts[Outcome.FAILED],
                    time=self._time())  # fmt: skip

    def _done(self) -> str:
        """A bar over the whole run: a probe counts by what it says of itself, else when done."""
        ended, part = 0, 0.0
        for one in self._lines.values():
            ended += one.state not in ("waiting", "running", "paused")
            if one.state in ("running", "paused") and one.progress is not None:
                part += one.progress.done or 0.0
        many = len(self._lines)
        drawn = bar((ended + part) / many if many else 1.0, None, BAR_WIDTH)
        return text("running.probes", bar=drawn, ended=ended, of=many)

    def _time(self) -> str:
        so_far = span(self._clock() - self._begun)
        left, open_ends = self._left()
        if not self.running and not any(o.state == "waiting" for o in self._lines.values()):
            return text("running.judging", so_far=so_far)
        depth = text(f"running.depth-{self._depth}")
        if not open_ends:
            return text("running.about", so_far=so_far, left=span(left), depth=depth)
        most = span(sum(self._deadline(one) for one in open_ends) + left)
        return text("running.at-most", so_far=so_far, left=most, depth=depth)

    def _left(self) -> tuple[float, list[_Line]]:
        """Seconds that are known to be left, and the probes that say nothing of theirs."""
        seconds, open_ends = 0.0, []
        for one in self._lines.values():
            if one.state not in ("waiting", "running", "paused"):
                continue
            told = one.progress.seconds_left if one.progress is not None else None
            before = self._lasted.get(one.probe.name)
            passed = self._clock() - one.begun if one.state != "waiting" else 0.0
            if told is not None:
                seconds += told
            elif before is not None:
                seconds += max(0.0, before - passed)
            else:
                open_ends.append(one)
        passive = [one for one in open_ends if one.probe.passive]
        # They run side by side, so the longest of them is all there is to wait for.
        longest = max(passive, key=self._deadline, default=None)
        return seconds, [o for o in open_ends if not o.probe.passive or o is longest]

    def _deadline(self, one: _Line) -> float:
        full = one.probe.full_deadline
        return full if self._depth != "quick" and full is not None else one.probe.deadline

    def table(self, width: int) -> list[str]:
        """A line for each probe, none wider than ``width`` cells."""
        name = max(16, width - STATE_WIDTH - COUNT_WIDTH)
        rows = []
        for one in self._lines.values():
            state = _state(one)
            rows.append(
                f"{_cut(probe_title(one.probe), name)}{_cut(state, STATE_WIDTH)}{_count(one)}"
            )
        return [row[:width].rstrip() for row in rows]

    @property
    def busiest(self) -> int:
        """Line of the table that matters now."""
        states = [one.state for one in self._lines.values()]
        busy = [i for i, state in enumerate(states) if state in ("running", "paused")]
        return busy[-1] if busy else 0

    def big(self) -> list[str]:
        """A few words to be read from afar."""
        done = sum(
            one.state not in ("waiting", "running", "paused") for one in self._lines.values()
        )
        now = self.running[-1:] if self.running else []
        share = now[0].progress.done if now and now[0].progress else None
        going = f"{share:.0%}" if share is not None else text("running.big-running")
        head = text("running.big-paused") if self._paused else going
        return [head, text("running.big-done", done=done, of=len(self._lines)),
                text("running.big-failed", n=self._counts[Outcome.FAILED])]  # fmt: skip


def span(seconds: float) -> str:
    """A time as one waits for it: ``12 s``, ``3 min``, ``2 h 5 min``."""
    if seconds < 90:
        return f"{round(seconds)} s"
    if seconds < 5400:
        return f"{round(seconds / 60)} min"
    hours, minutes = divmod(round(seconds / 60), 60)
    return f"{hours} h {minutes} min" if minutes else f"{hours} h"


def _now(one: _Line) -> str:
    if one.progress is None:
        return probe_title(one.probe)
    left = one.progress.seconds_left
    share = f" {one.progress.done:.0%}" if one.progress.done is not None else ""
    rest = text("running.left", left=span(left)) if left is not None else ""
    return f"{probe_title(one.probe)}: {one.progress.says}{share}{rest}"


def _state(one: _Line) -> str:
    if one.state not in ("running", "paused"):
        return one.words or _state_title(one.state)
    if one.progress is None or one.progress.done is None:
        return _state_title(one.state)
    left = one.progress.seconds_left
    told = f"{one.progress.done:.0%}"
    if one.state == "paused":
        return f"{_state_title(one.state)} {told}"
    told += text("running.left", left=span(left)) if left is not None else ""
    named = f"{_state_title(one.state)} {told}"
    return named if len(named) < STATE_WIDTH else told


def _state_title(state: str) -> str:
    return text(f"running.state-{state.replace(' ', '-')}")


def _count(one: _Line) -> str:
    if one.state == "waiting":
        return ""
    failed = text("running.and-failed", n=one.failed) if one.failed else ""
    return text("running.read", n=one.read) + failed


def _cut(words: str, width: int) -> str:
    shown = clean(words)
    return f"{shown[: width - 1]:<{width}}"
