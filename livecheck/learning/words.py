"""What was learned, in words: by how many cases, with what effect, each figure."""

from __future__ import annotations

from collections.abc import Sequence

from livecheck.learning.fit import EVERY
from livecheck.learning.lessons import ALARM, SHOWS, STATE
from livecheck.records import Knowledge, Learned, LearnedTables
from livecheck.wording import clean, figure, kind_title, moment, text


def learned_text(tables: LearnedTables, knowledge: Knowledge) -> str:
    """What was learned, by how many cases, how past cases would have been judged, each figure."""
    held = tables.held_out
    lines = [
        text("learned.cases", n=len(tables.cases), time=moment(tables.made)),
        text(
            "learned.verdicts",
            n=held.cases,
            before=held.right_before,
            after=held.right_after,
            mended=held.mended,
            spoilt=held.spoilt,
        ),
        text(
            "learned.score",
            before=_written(f"{held.log_before:.3f}"),
            after=_written(f"{held.log_after:.3f}"),
            gain=_written(f"{held.log_after - held.log_before:+.3f}"),
            error=_written(f"{held.standard_error:.3f}"),
        ),
        "",
        text(
            "learned.formula",
            cases=figure(knowledge.model.table_cases.value),
            looks=figure(knowledge.model.table_looks.value),
        ),
        "",
        f"{text('learned.figure'):60}{text('learned.found'):>9}{text('learned.expected'):>10}"
        f"{text('learned.counted'):>9}{text('learned.factor'):>8}",
    ]
    lines += [
        f"{learned_name(row, knowledge):60}"
        + _written(f"{row.found:9.1f}{row.expected:10.1f}{row.cases:9.1f}{row.factor:8.2f}")
        for row in most_moved(tables.learned)
    ]
    return "\n".join(clean(line) for line in lines)


def _written(figures: str) -> str:
    return figures.replace(".", text("number.decimal"))


def most_moved(rows: Sequence[Learned]) -> list[Learned]:
    """The figures, those that moved farthest first."""
    return sorted(rows, key=lambda row: -max(row.factor, 1.0 / row.factor))


def learned_name(row: Learned, knowledge: Knowledge) -> str:
    """Which figure it is."""
    if row.name == EVERY:
        return text("learned.every-shows" if row.table == SHOWS else "learned.every-alarm")
    if row.table == SHOWS:
        return text("learned.shows", name=row.name)
    if row.table == ALARM:
        return text("learned.alarm", name=row.name)
    states = knowledge.model.hidden_states
    known = row.table == STATE and row.name in states
    title = states[row.name].title if known else kind_title(row.name, knowledge)
    return text("learned.usual", name=title)
