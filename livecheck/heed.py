"""Cautions beside a step: one order for report, console and command line, the data first."""

from __future__ import annotations

from typing import Final

from livecheck.records import Caution, Knowledge, NextStep
from livecheck.wording import text

DATA: Final = "data"
"""What is lost cannot be bought again, so this one is read first."""


def cautions(step: NextStep, tables: Knowledge) -> tuple[Caution, ...]:
    """What to mind in a step."""
    names = sorted(step.cautions, key=lambda name: name != DATA)
    return tuple(_known(name, tables) for name in names)


def _known(name: str, tables: Knowledge) -> Caution:
    # A name without a text is still a warning, so it is shown rather than dropped.
    unknown = Caution(name=name, text=text("cautions.unknown", name=name), source="")
    return tables.cautions.get(name) or unknown
