"""Inputs and attacks by the million: which were thrown, and what did not hold.

Coverage guides it: one input in ``TRACED`` is run under a trace of the lines it reaches, and
what reaches a new one joins the corpus it is drawn from. The dice are seeded, so a find comes
again with the same figures on the command line.
"""

from __future__ import annotations

import contextlib
import random
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from types import FrameType
from typing import Any, Final

import msgspec

import livecheck
from tests.hostile import drives, relatives
from tests.hostile.attacks import attack
from tests.hostile.mutate import mutated
from tests.hostile.targets import Target, targets

SECONDS: Final = 5.0
"""Of processor time for one input or one attack's commands; more is a hang."""
WAITING_SECONDS: Final = 60.0
"""By the clock, that of other programs left out: what waits uses no processor."""
TRACED: Final = 16
MOST_KEPT: Final = 400
PACKAGE: Final = str(Path(livecheck.__file__).parent)


class Find(msgspec.Struct, frozen=True):
    """Something that did not hold."""

    where: str
    what: str
    """Exception and the last lines of livecheck it passed."""
    input: str = ""


class Figures(msgspec.Struct):
    """What a campaign came to."""

    seed: int
    inputs: Counter[str] = msgspec.field(default_factory=Counter)
    """By parser; ``related runs`` are cases put to the engine."""
    refused: int = 0
    attacks: int = 0
    longest: float = 0.0
    """Seconds of processor time of the longest of all."""
    seconds: float = 0.0
    lines: int = 0
    """Lines of livecheck that traced inputs reached."""
    finds: list[Find] = msgspec.field(default_factory=list)


class _TooLong(BaseException):
    """No answer in time; no handler of the program under test may take it for its own."""


def _held_up() -> float:
    """Seconds this process was ready to run and others ran (Linux, sched-stats.rst)."""
    return int(Path("/proc/self/schedstat").read_text().split()[1]) / 1e9


@contextlib.contextmanager
def _clock() -> Iterator[None]:
    before = _held_up()

    def late(number: int, frame: FrameType | None) -> None:
        nonlocal before
        held_up, before = _held_up() - before, _held_up()
        if number == signal.SIGALRM and held_up > WAITING_SECONDS / 2:
            signal.setitimer(signal.ITIMER_REAL, WAITING_SECONDS)
            return
        by = f"{WAITING_SECONDS:g} s" if number == signal.SIGALRM else f"{SECONDS:g} s of processor"
        raise _TooLong(f"no answer in {by}")

    signal.signal(signal.SIGPROF, late)
    signal.signal(signal.SIGALRM, late)
    signal.setitimer(signal.ITIMER_PROF, SECONDS)
    signal.setitimer(signal.ITIMER_REAL, WAITING_SECONDS)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.setitimer(signal.ITIMER_REAL, 0)


class Campaign:
    """Throws what it is told to and counts."""

    def __init__(self, seed: int) -> None:
        self.figures = Figures(seed)
        self._dice = random.Random(seed)
        self._lines: set[tuple[str, int]] = set()
        self._seen: set[str] = set()

    def parsers(self, inputs: int, only: str = "") -> None:
        """So many inputs over all parsers, or over those with ``only`` in their names."""
        chosen = [target for target in targets() if only in target.name]
        corpora = {target.name: list(target.corpus) for target in chosen}
        everything = [data for target in chosen for data in target.corpus]
        shares = [target.share for target in chosen]
        for number in range(inputs):
            (target,) = self._dice.choices(chosen, shares)
            corpus = corpora[target.name]
            data = mutated(self._dice.choice(corpus), self._dice, everything)
            new = self._throw(target, data, traced=number % TRACED == 0)
            if new and len(corpus) < MOST_KEPT:
                corpus.append(data)

    def related(self, cases: int) -> None:
        """So many cases of related runs through the engine, and all that is said of them."""
        bases = relatives.bases()
        for _ in range(cases):
            runs = relatives.related(self._dice.choice(bases), self._dice)
            self.figures.inputs["related runs"] += 1
            self._guarded("related runs", partial(relatives.judged, runs), repr(runs))

    def drives(self, attacks: int) -> None:
        """So many attacks on shop drives."""
        with tempfile.TemporaryDirectory(prefix="livecheck-hostile-") as folder:
            template, scratch = Path(folder) / "template", Path(folder) / "scratch"
            scratch.mkdir()
            drives.drive(template)
            for number in range(attacks):
                dice = random.Random(f"{self.figures.seed} {number}")
                work = partial(attack, template, scratch, dice)
                self._guarded("shop drive", work, f"attack {number}")
                self.figures.attacks += 1

    def _throw(self, target: Target, data: bytes, traced: bool) -> bool:
        self.figures.inputs[target.name] += 1
        before = len(self._lines)

        def work() -> None:
            try:
                target.work(data)
            except target.refuses:
                self.figures.refused += 1

        if traced:
            sys.settrace(self._trace)
        try:
            self._guarded(target.name, work, data.hex())
        finally:
            sys.settrace(None)
        self.figures.lines = len(self._lines)
        return len(self._lines) > before

    def _guarded(self, where: str, work: Callable[[], object], given: str) -> None:
        begun = time.process_time()
        try:
            with _clock():
                work()
        except _TooLong as late:
            self._found(where, str(late), given)
        except Exception as error:
            self._found(where, _told(error), given)
        self.figures.longest = max(self.figures.longest, time.process_time() - begun)

    def _found(self, where: str, what: str, given: str) -> None:
        if what not in self._seen:
            self._seen.add(what)
            self.figures.finds.append(Find(where, what, given[:20_000]))

    def _trace(self, frame: FrameType, event: str, argument: object) -> Any:
        name = frame.f_code.co_filename
        if not name.startswith(PACKAGE):
            return None
        self._lines.add((name, frame.f_lineno))
        return self._trace


def _told(error: Exception) -> str:
    frames = traceback.extract_tb(error.__traceback__)
    ours = [f for f in frames if f.filename.startswith(PACKAGE)][-2:]
    way = " > ".join(f"{f.filename[len(PACKAGE) + 1 :]}:{f.lineno} {f.name}" for f in ours)
    return f"{type(error).__name__}: {str(error)[:120]!r} at {way}"
