"""What a shop's confirmed cases taught: worked out, kept as one file on the drive, taken back."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from livecheck import guarded
from livecheck.casefile import atomic
from livecheck.learning.fit import fit
from livecheck.learning.held_out import held_out
from livecheck.learning.lessons import Lesson, Taught, lesson
from livecheck.records import Knowledge, LearnedTables, NotJudged, decode, encode
from livecheck.wording import text

FILE: Final = "learned.json"


def lessons(
    knowledge: Knowledge, taught: Sequence[Taught]
) -> tuple[list[tuple[Taught, Lesson]], tuple[str, ...]]:
    """The cases that have something to say, and a sentence for each that has not."""
    cases: list[tuple[Taught, Lesson]] = []
    left_out: list[str] = []
    for one in taught:
        try:
            said = lesson(one, knowledge)
        except Exception as error:
            left_out.append(str(NotJudged(one.proved.case, error)))
            continue
        if said is None:
            left_out.append(text("learned.unknown", case=one.proved.case))
        else:
            cases.append((one, said))
    return cases, tuple(left_out)


def work_out(
    knowledge: Knowledge, cases: Sequence[tuple[Taught, Lesson]], now: str
) -> LearnedTables | None:
    """What these cases teach, and how past cases would have been judged; None: too few."""
    found = held_out(knowledge, cases)
    if found is None:
        return None
    return LearnedTables(
        made=now,
        cases=tuple(one.proved.case for one, _ in cases),
        learned=fit(knowledge, [said for _, said in cases]),
        held_out=found,
    )


def read(root: Path) -> LearnedTables | None:
    """What is in use; None where nothing is. Raises DamagedRecord and OSError."""
    try:
        return decode(guarded.read(root / FILE), LearnedTables)
    except FileNotFoundError:
        return None


def use(root: Path, tables: LearnedTables) -> None:
    """Judge by these from now on. Raises OSError."""
    atomic.save(root / FILE, encode(tables))


def undo(root: Path) -> None:
    """Judge by the tables as they were before anything was learned. Raises OSError."""
    atomic.remove(root / FILE)
