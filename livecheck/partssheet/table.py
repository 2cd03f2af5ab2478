"""The table of units: ``shared/parts.toml``."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from functools import cache
from importlib import resources
from typing import Final

import msgspec

from livecheck.worded import slug, table_word

OTHER: Final = "other"


class Trait(msgspec.Struct, frozen=True, forbid_unknown_fields=True, rename={"of": "from"}):
    """One trait to match by."""

    label: str
    ask: str
    """What to do where no run knows it."""
    must: bool = False
    of: tuple[str, ...] = ()
    """Where a run may have read it, in the order they are tried."""
    unit: str | None = None
    unit_from: str | None = msgspec.field(default=None, name="unit-from")


class Unit(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One kind of unit."""

    traits: tuple[Trait, ...]
    warnings: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    """Names in shared/cautions.toml."""


@cache
def units() -> dict[str, Unit]:
    """Every kind of unit of the table, with ``other`` for the rest."""
    text = resources.files("livecheck.shared").joinpath("parts.toml").read_text("utf-8")
    return msgspec.convert(tomllib.loads(text), dict[str, Unit])


def worded(kind: str) -> Unit:
    """The same in the language that is spoken."""
    own = kind if kind in units() else OTHER
    rows = unit(kind)
    traits = tuple(
        msgspec.structs.replace(
            trait,
            label=table_word(_label(trait), trait.label),
            ask=table_word(_ask(own, trait), trait.ask),
        )
        for trait in rows.traits
    )
    warnings = tuple(
        table_word(f"part-warning.{own}.{number}", said)
        for number, said in enumerate(rows.warnings)
    )
    return msgspec.structs.replace(rows, traits=traits, warnings=warnings)


def part_words() -> Iterator[tuple[str, str]]:
    """Every word of the table: its key in a catalogue, and its English."""
    for kind, rows in units().items():
        for number, said in enumerate(rows.warnings):
            yield f"part-warning.{kind}.{number}", said
        for trait in rows.traits:
            yield from ((_label(trait), trait.label), (_ask(kind, trait), trait.ask))


def _label(trait: Trait) -> str:
    """Where a catalogue has what a trait is called."""
    return f"trait.{slug(trait.label)}"


def _ask(kind: str, trait: Trait) -> str:
    """Where it has what to do for it, with this kind of unit."""
    return f"trait-ask.{kind}.{slug(trait.label)}"


def unit(kind: str) -> Unit:
    """The rows for a kind of unit."""
    return units().get(kind) or units()[OTHER]
