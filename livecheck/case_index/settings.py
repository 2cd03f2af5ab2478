"""What a shop chose for itself: ``shop.toml`` at the top of the shop drive."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import msgspec

from livecheck import guarded
from livecheck.casefile import atomic
from livecheck.records import DamagedRecord
from livecheck.records.shop import ShopFacts

FILE: Final = "shop.toml"


class Priors(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Table ``[priors]``."""

    outcomes: bool = True
    """Whether confirmed outcomes move the prior weights."""


class Settings(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The whole file."""

    priors: Priors = Priors()
    shop: ShopFacts = ShopFacts()


class BrokenSettings(Exception):
    """The file cannot be used; says where and why."""


def read_settings(root: Path) -> Settings:
    """The shop's settings; those of a shop without a file. Raises BrokenSettings."""
    file = root / FILE
    try:
        return msgspec.convert(guarded.toml(file), Settings)
    except FileNotFoundError:
        return Settings()
    except (OSError, DamagedRecord, msgspec.ValidationError) as error:
        raise BrokenSettings(f"{file}: {error}") from error


def save_settings(root: Path, settings: Settings) -> Path:
    """Save the settings; returns the file. Raises OSError."""
    learn = "true" if settings.priors.outcomes else "false"
    text = (
        "# livecheck: what this shop chose.\n\n[priors]\n"
        "# Whether confirmed outcomes (livecheck outcome) move the prior weights.\n"
        f"outcomes = {learn}\n"
        f"{_shop(settings.shop)}"
    )
    file = root / FILE
    atomic.save(file, text.encode())
    return file


def _shop(facts: ShopFacts) -> str:
    """Table ``[shop]`` as it is written; nothing where nothing was told."""
    if facts == ShopFacts():
        return ""
    told = {name: getattr(facts, name) for name in facts.__struct_fields__}
    prices = told.pop("prices")
    lines = [f"{name} = {_toml(value)}" for name, value in told.items() if value not in (None, "")]
    lines += ["", "[shop.prices]", *(f"{_toml(k)} = {_toml(v)}" for k, v in prices.items())]
    return "\n".join(["", "[shop]", *lines, ""])


def _toml(value: object) -> str:
    """A string, number, yes or no, or a list of strings; JSON writes all of them as TOML does."""
    return msgspec.json.encode(value).decode()
