"""The worksheet and guided checks in the language that is spoken, for a screen.

Beside ``worded``, which guided checks themselves use.
"""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from livecheck.diagnosis.worksheet_table import Worksheet
from livecheck.guided.rows import GuidedTable, GuideOffer, GuideRow
from livecheck.worded import slug, table_word


def worded_sheet(sheet: Worksheet) -> Worksheet:
    """The worksheet in the language that is spoken; its choices stay as they are saved."""
    return msgspec.structs.replace(sheet, step=tuple(
        msgspec.structs.replace(step, title=table_word(f"measure.{step.name}", step.title),
                                do=table_word(f"measure-do.{step.name}", step.do))
        for step in sheet.step
    ))  # fmt: skip


def measure_choice(choice: str) -> str:
    """An answer of the worksheet as it is read."""
    return table_word(f"measure-choice.{slug(choice)}", choice)


def sheet_words(sheet: Worksheet) -> Iterator[tuple[str, str]]:
    """Every word of the worksheet that a screen shows, as ``table_words``."""
    for step in sheet.step:
        yield from ((f"measure.{step.name}", step.title), (f"measure-do.{step.name}", step.do))
        yield from ((f"measure-choice.{slug(choice)}", choice) for choice in step.choices)


def worded_row(row: GuideRow) -> GuideRow:
    """What a guided check says to do and asks, and names that the shop may give places; its title
    and what it says of what it found are a record's.
    """
    lines = (table_word(f"guide.{row.name}.line-{n}", said) for n, said in enumerate(row.lines))
    asks = table_word(f"guide.{row.name}.asks", row.asks)
    calls = (table_word(f"guide.{row.name}.call-{n}", said) for n, said in enumerate(row.calls))
    return msgspec.structs.replace(row, lines=tuple(lines), asks=asks, calls=tuple(calls))


def guide_title(offer: GuideOffer) -> str:
    """What a check that is offered is called."""
    own = table_word(f"guide.{offer.row.name}.title", offer.row.title)
    return f"{own} ({offer.targets[0].name})" if offer.row.each else own


def guide_words(table: GuidedTable) -> Iterator[tuple[str, str]]:
    """Every word of the guided checks' table that a screen shows, as ``table_words``."""
    for row in table.check:
        yield f"guide.{row.name}.title", row.title
        yield from ((f"guide.{row.name}.line-{n}", said) for n, said in enumerate(row.lines))
        yield from ((f"guide.{row.name}.call-{n}", said) for n, said in enumerate(row.calls))
        if row.asks:
            yield f"guide.{row.name}.asks", row.asks
