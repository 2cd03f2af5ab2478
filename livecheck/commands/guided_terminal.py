"""Guided checks on a plain terminal: lines out on standard error, answers in by the line."""

from __future__ import annotations

import select
import shutil
import sys
import textwrap
from collections.abc import Callable, Sequence
from typing import Final

import msgspec

from livecheck import wording
from livecheck.found_words import reworded
from livecheck.guided.bench import GuideBench
from livecheck.guided.drive import drive
from livecheck.guided.ending import left_out
from livecheck.guided.events import Answered, Event, Skip
from livecheck.guided.rows import GuidedTable, GuideOffer, GuideRow
from livecheck.guided.steps import Choice, GuideStep, Keys, ScreenPattern, Trace
from livecheck.guided.table import open_guide
from livecheck.guided.terminal_pictures import CLEAR, keyboard, paint, trace
from livecheck.host import Host
from livecheck.languages import ENGLISH, spoken
from livecheck.records import Knowledge, NotTested, Reading
from livecheck.worded import slug, table_word
from livecheck.worded_forms import guide_title, worded_row

WIDTH: Final = 79
WAIT: Final = 0.05
"""Seconds an answer is waited for before devices are looked at again."""
SKIP: Final = "s"
QUIT: Final = "q"

Found = tuple[tuple[Reading, ...], tuple[NotTested, ...], dict[str, str]]
"""Readings, what was left out, and what places are called."""


class Quit(Exception):
    """The technician wants no further check."""


def run(
    offers: Sequence[GuideOffer],
    table: GuidedTable,
    knowledge: Knowledge,
    host: Host,
    bench: GuideBench,
) -> Found:
    """All checks, one after another; every one of them can be left out, and so can the rest."""
    readings: list[Reading] = []
    missed: list[NotTested] = []
    called: dict[str, str] = {}
    told: set[str] = set()
    for number, offer in enumerate(offers):
        which = {"n": number + 1, "of": len(offers), "title": guide_title(offer)}
        _say("\n" + wording.clean(wording.text("printed.guided", **which)))
        for name in offer.row.cautions:
            if name not in told and name in knowledge.cautions:
                told.add(name)
                caution = wording.text("console.caution", says=knowledge.cautions[name].text)
                _say(textwrap.fill(caution, WIDTH))
        terminal = Terminal()
        try:
            asked = msgspec.structs.replace(offer, row=in_words(offer.row))
            step = drive(open_guide(asked, knowledge, table), host, bench, terminal)
        except Quit:
            for rest in offers[number:]:
                missed += left_out(rest)
            break
        readings += step.readings
        missed += step.not_tested
        called |= step.called
    return tuple(readings), tuple(missed), called


class Terminal:
    """What was shown last, so that only what is new is printed."""

    def __init__(self, say: Callable[[str], None] | None = None) -> None:
        self._said: tuple[str, ...] = ()
        self._asked: tuple[str | None, tuple[str, ...]] | None = None
        self._painted = False
        self._share = -1
        self._out = say or _say

    def show(self, step: GuideStep) -> None:
        """Print what changed."""
        if isinstance(step.picture, ScreenPattern):
            self._out(paint(step.picture, *shutil.get_terminal_size((80, 24))))
            self._painted = True
            return
        if self._painted:
            self._out(CLEAR)
            self._painted = False
        for line in step.lines:
            if line not in self._said:
                self._out(textwrap.fill(wording.clean(reworded(line)), WIDTH, initial_indent="  ",
                                        subsequent_indent="  "))  # fmt: skip
        self._said = step.lines
        self._picture(step)
        asked = (step.question, tuple(c.value for c in step.choices))
        if asked != self._asked and not step.done:
            self._asked = asked
            self._out(f"  {question(step)}")
        for one in step.readings:
            says = wording.clean(reworded(one.says or one.why_not or ""))
            self._out(f"  {wording.title(one.outcome)}: {says}")
        for missed in step.not_tested:
            why = wording.clean(reworded(missed.why))
            self._out(f"  {wording.text('printed.not-tested', why=why)}")

    def _picture(self, step: GuideStep) -> None:
        """A keyboard or pad again at every tenth of the way: a terminal only scrolls."""
        share = int((step.progress or 0.0) * 10)
        if share != self._share:
            self._share = share
            if isinstance(step.picture, Keys):
                self._out(keyboard(step.picture))
            elif isinstance(step.picture, Trace):
                self._out(trace(step.picture))

    def ask(self, step: GuideStep) -> Event | None:
        """An answer, where a line came in. Raises Quit, also at the end of input."""
        readable, _, _ = select.select([sys.stdin], [], [], WAIT)
        if not readable:
            return None
        line = sys.stdin.readline()
        if not line:
            raise Quit
        event = answer(step, line.strip().lower())
        if event is None:
            self._out(f"  {question(step)}")
        return event


def answer(step: GuideStep, words: str) -> Event | None:
    """The event of an answer as typed; None: it was not understood. Raises Quit."""
    if words in (SKIP, "skip"):
        return Skip()
    if words in (QUIT, "quit"):
        raise Quit
    for choice in step.choices:
        if words in (choice.key, choice.value, choice.title.lower(), _title(choice).lower()):
            return Answered(value=choice.value)
    # A lone return takes the only way on.
    if not words and len(step.choices) == 1:
        return Answered(value=step.choices[0].value)
    return None


def in_words(row: GuideRow) -> GuideRow:
    """What a check says to do and asks, in the language that is spoken; its title is a record's."""
    return row if spoken() == ENGLISH else worded_row(row)


def _title(choice: Choice) -> str:
    return table_word(f"guide-answer.{slug(choice.title)}", choice.title)


def question(step: GuideStep) -> str:
    """The question with its answers, and the way out that is always there."""
    ways = [f"{c.key} = {_title(c)}" for c in step.choices]
    ways += [f"{SKIP} = {wording.text('printed.leave-out')}",
             f"{QUIT} = {wording.text('printed.end-all')}"]  # fmt: skip
    return f"{step.question + ' ' if step.question else ''}[{' / '.join(ways)}]"


def _say(words: str) -> None:
    # Standard output is for the result, also when it is JSON.
    print(words, file=sys.stderr, flush=True)
