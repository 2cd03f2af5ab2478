"""What a shop chose for itself: ``shop.toml`` at the top of the shop drive."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import msgspec

from livecheck import guarded
from livecheck.records import DamagedRecord
from livecheck.records.shop import ShopFacts

FILE: Final = "shop.toml"


class Priors(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Table ``[priors]``."""

    outcomes: bool = True
    """Whether what was learned of confirmed cases is used."""


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
