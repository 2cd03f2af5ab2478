"""The table of units: ``shared/parts.toml``."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources
from typing import Final

import msgspec

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


def unit(kind: str) -> Unit:
    """The rows for a kind of unit."""
    return units().get(kind) or units()[OTHER]
