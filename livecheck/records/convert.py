"""Records of schema 1 read as those of today: the one place that knows how they looked.

It works on decoded JSON, before anything is typed. Nothing is dropped: what an old record
says and nobody understands any more stays in it as a ``Remark``. Readings of schema 1 kept
their figures as sentences, so charts have nothing to draw of them.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import msgspec

from livecheck.records import convert_inventory
from livecheck.records.answer_words import placed, understood
from livecheck.records.answers import Answer
from livecheck.records.machine import Inventory

OLDEST: Final = 1

Fields = dict[str, Any]
"""A record as decoded JSON."""


def converted(fields: Fields, kind: str) -> Fields:
    """The fields of a record of this kind, written by schema 1, as schema 2 has them.

    Raises msgspec.ValidationError for what schema 1 could not have written.
    """
    change = _CHANGES.get(kind)
    return change(fields) if change is not None else fields


def _run(fields: Fields) -> Fields:
    found = convert_inventory.inventory(fields.get("inventory", {}))
    inventory = msgspec.convert(found, Inventory)
    answers = msgspec.convert(fields.get("answers", []), list[dict[str, str]])
    return {
        **_place_named(fields),
        "inventory": found,
        "answers": [_answer(answer, inventory) for answer in answers],
    }


def _summary(fields: Fields) -> Fields:
    runs = msgspec.convert(fields.get("runs", []), list[Fields])
    return {**fields, "runs": [_place_named(run) for run in runs]}


def _place_named(fields: Fields) -> Fields:
    """A run in a machine of the shop was called ``elsewhere``."""
    return {**fields, "in_known_good_machine": fields.get("elsewhere", False)}


def _answer(fields: dict[str, str], inventory: Inventory) -> Any:
    """An answer was two texts: what it was about, and the technician's or livecheck's words."""
    answer: Answer = understood(fields.get("about", ""), fields.get("says", ""))
    return msgspec.to_builtins(placed(answer, inventory))


_CHANGES: Final[dict[str, Callable[[Fields], Fields]]] = {"Run": _run, "Summary": _summary}
"""Name of a kind of record -> what changed in it; the others changed in their number only."""
