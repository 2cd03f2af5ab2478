"""What can be looked at without anything being decided: a screen each."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import msgspec

from livecheck.console.evidence_lines import Proof
from livecheck.console.judged_case import JudgedCase
from livecheck.partssheet import PartsSheet
from livecheck.records import Reading


class EvidenceView(msgspec.Struct, frozen=True):
    """What stands behind a line."""

    line: str
    proofs: tuple[Proof, ...]


class ReadingView(msgspec.Struct, frozen=True):
    """One reading, whole."""

    where: str
    reading: Reading


class StepView(msgspec.Struct, frozen=True):
    """The next step of a case."""

    case: JudgedCase


class TreeView(msgspec.Struct, frozen=True):
    """The tree of parts and places."""

    case: JudgedCase


class PartsView(msgspec.Struct, frozen=True):
    """What to order by."""

    sheets: tuple[PartsSheet, ...]


class BigView(msgspec.Struct, frozen=True):
    """A few words, looked up anew while they are shown."""

    words: Callable[[], Sequence[str]]


class HelpView(msgspec.Struct, frozen=True):
    """What a screen is for, and its keys."""

    where: str
    screen: str | None
    focused: str | None
    keys: tuple[str, ...]


class Notice(msgspec.Struct, frozen=True):
    """Something to know."""

    title: str
    says: tuple[str, ...]


View = EvidenceView | ReadingView | StepView | TreeView | PartsView | BigView | HelpView | Notice
