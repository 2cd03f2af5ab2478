"""A bench's first hour with somebody who has not read the manual, written before it was played.

What is wanted after each line is what a technician would expect of it: common practice, no
source. He mistypes, goes on in the wrong order, forgets to tell, and contradicts himself.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import msgspec

from tests.bench_stories import fresh_beds as fresh
from tests.bench_stories import odd_beds as odd
from tests.bench_stories.habits import sheet
from tests.bench_stories.stories import GOOD_ADAPTER, GOOD_JACK, ROUND
from tests.testbeds import laptops, stories
from tests.testbeds.bed import Bed


class Line(msgspec.Struct, frozen=True, kw_only=True):
    """One line typed. CASE stands for the folder of the first case."""

    words: tuple[str, ...]
    bed: Callable[[], Bed] | None = None
    sheet: str = ""
    status: tuple[int, ...] = (0,)
    finds: tuple[str, ...] = ()
    """Each with | between words of which one will do."""
    lacks: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    """Units that must not be named as settled by the case after this line."""
    cases: int = 1
    """How many there are on the drive after it."""


class Hour(msgspec.Struct, frozen=True, kw_only=True):
    """One machine, or two, in the hands of a beginner."""

    name: str
    lines: tuple[Line, ...]
    unmet: str = ""


def ran(complaint: str, *words: str, ticket: str = "4711") -> tuple[str, ...]:
    return ("run", "--complaint", complaint, "--ticket", ticket, *words)


REFUSED: Final = (2, 3)
ANY: Final = (0, 1)
BOARD: Final = ("mainboard",)
ALL: Final = (
    Hour(
        name="report, locate, parts and outcome before any run",
        lines=(
            *(
                Line(words=words, status=REFUSED, finds=("no case|no such case|not a case",),
                     lacks=("Traceback", "Errno"), cases=0)
                for words in (("report", "4711"), ("locate", "4711"), ("parts", "4711"),
                              ("outcome", "4711", "--unit", "drive", "--proved", "yes"),
                              ("note", "4711", "customer calls at five"), ("tree", "4711"))
            ),
            Line(words=ran("slow"), bed=stories.drive_1, finds=("drive", "CAUTION")),
            Line(words=("report", "4711"), finds=("report",)),
        ),
    ),
    Hour(
        name="hand-over asked for at once",
        lines=(
            Line(words=("hand-over", "--ticket", "4711", "--no-guided"), bed=stories.drive_1,
                 status=(1, 2, 3), finds=("not signed off|no case|no open case",),
                 lacks=("Traceback",), cases=0),
            Line(words=ran("slow"), bed=stories.drive_1, finds=("Next: ",)),
            Line(words=("hand-over", "CASE", "--no-guided"), bed=stories.drive_1, status=(1,),
                 finds=("not signed off", "drive")),
        ),
    ),
    Hour(
        name="wrong complaint first and the right one later",
        lines=(
            Line(words=ran("not-charging"), bed=stories.drive_1, finds=("drive",),
                 lacks=("Next: replace: battery", "Next: replace: adapter"), never=BOARD),
            Line(words=ran("slow"), bed=stories.drive_1,
                 finds=("drive", "CAUTION: The customer's data"),
                 lacks=("Next: replace: battery",), never=("mainboard", "battery", "adapter")),
        ),
    ),
    Hour(
        name="a complaint in words of his own",
        lines=(
            Line(words=ran("slw"), bed=stories.drive_1, status=(2,), finds=("slow",), cases=0),
            Line(words=ran("wont start"), bed=stories.drive_1, status=(2,),
                 finds=("no-power", "no-picture"), cases=0),
        ),
    ),
    Hour(
        name="a ticket used again for another machine",
        lines=(
            Line(words=ran("slow"), bed=stories.drive_1, finds=("drive",)),
            Line(words=ran("slow"), bed=odd.other_machine, status=REFUSED,
                 finds=("--same-machine",)),
            Line(words=ran("slow", ticket="4712"), bed=odd.other_machine, cases=2, never=BOARD),
        ),
    ),
    Hour(
        name="one machine under two tickets",
        lines=(
            Line(words=ran("slow"), bed=stories.drive_1, finds=("drive",)),
            Line(words=ran("slow", ticket="4799"), bed=stories.drive_1, finds=("4711",), cases=2),
        ),
    ),
    Hour(
        name="a spare never told of",
        unmet="it looks like the part that was ordered: it is told, and bars nothing",
        lines=(
            Line(words=ran("slow"), bed=stories.drive_1, finds=("drive",)),
            Line(words=ran("slow"), bed=stories.drive_2, finds=("swapped|another drive|drive",),
                 lacks=("Next: replace: mainboard",), never=BOARD),
            Line(words=("hand-over", "CASE", "--no-guided"), bed=stories.drive_2, status=(1,),
                 finds=("not signed off",)),
        ),
    ),
    Hour(
        name="answers that the machine contradicts",
        lines=(
            Line(words=ran("not-charging", "--told", "handed=adapter and bag"),
                 bed=odd.clock_lost, finds=("Next: |No fault|no fault",), never=BOARD),
            Line(words=ran("no-power"), bed=laptops.ahci, status=(0, 2),
                 finds=("starts|runs|no-power|switched on",), lacks=("Next: replace: mainboard",),
                 never=BOARD),
            Line(words=ran("no-power"),
                 sheet=sheet(ROUND, f'{GOOD_ADAPTER}{GOOD_JACK}signs-of-life = "no"\n'),
                 status=(0, 2), lacks=("Next: replace: mainboard",), never=BOARD),
        ),
    ),
    Hour(
        name="reseated what is not there",
        lines=(
            Line(words=ran("part-missing"), bed=stories.contact_1, finds=("wireless",)),
            Line(words=ran("part-missing", "--reseated", "slot:0000:00:1c.9"),
                 bed=stories.contact_1, status=REFUSED, finds=("slot:0000:00:1c.0",)),
            Line(words=ran("part-missing", "--reseated", "the wifi"), bed=stories.contact_1,
                 status=REFUSED, finds=("slot:",)),
            Line(words=ran("part-missing", "--reseated", "slot:0000:00:1c.0"),
                 bed=stories.contact_2, lacks=("Next: replace",), never=BOARD),
        ),
    ),
    Hour(
        name="told of a cure that did not hold",
        lines=(
            Line(words=ran("part-missing"), bed=stories.contact_1, finds=("wireless",)),
            Line(words=ran("part-missing", "--reseated", "slot:0000:00:1c.0"),
                 bed=stories.contact_2, never=BOARD),
            Line(words=("outcome", "CASE", "--unit", "slot:0000:00:1c.0", "--proved", "yes"),
                 finds=("closed|recorded|kept",)),
            Line(words=("run", "--complaint", "part-missing", "--case", "CASE"),
                 bed=stories.contact_1, status=REFUSED, finds=("closed",)),
            Line(words=ran("part-missing"), bed=stories.contact_1, finds=("wireless",),
                 lacks=("the repair is proven",), never=("mainboard",), cases=2),
        ),
    ),
    Hour(
        name="takes out both runs and wants the report",
        lines=(
            Line(words=ran("slow"), bed=stories.drive_1),
            Line(words=ran("slow"), bed=stories.drive_1),
            Line(words=("take-out", "CASE", "1", "--why", "it was another laptop")),
            Line(words=("take-out", "CASE", "2", "--why", "it was another laptop"), status=ANY),
            Line(words=("report", "CASE"), status=(0, 1, 2), lacks=("Traceback",),
                 never=("mainboard", "drive", "battery")),
            Line(words=("hand-over", "CASE", "--no-guided"), bed=laptops.ahci,
                 status=(1, 2, 3), lacks=("Traceback",)),
        ),
    ),
    Hour(
        name="words of commands taken from elsewhere",
        lines=(
            Line(words=("scan",), status=(2,), finds=("livecheck --help",), cases=0),
            Line(words=("help",), status=(0, 2), finds=("livecheck --help|commands:",), cases=0),
            Line(words=("run", "slow"), status=(2,), finds=("--complaint",), cases=0),
            Line(words=("report",), status=(2,), finds=("CASE",), cases=0),
            Line(words=ran("intake", "--told", "when=always"), bed=fresh.hands,
                 finds=("Next: |ound",), never=("mainboard", "drive", "battery")),
        ),
    ),
)  # fmt: skip
