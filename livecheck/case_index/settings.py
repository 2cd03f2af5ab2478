"""What a shop chose for itself: ``shop.toml`` at the top of the shop drive."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

import msgspec

from livecheck import guarded
from livecheck.near import near_miss
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


KNOWN: Final = tuple(
    name for table in (Settings, Priors, ShopFacts) for name in table.__struct_fields__
)
"""Names of its tables and settings."""


class BrokenSettings(Exception):
    """The file cannot be used; says where and why."""


def read_settings(root: Path) -> Settings:
    """The shop's settings; those of a shop without a file. Raises BrokenSettings."""
    file = root / FILE
    try:
        return msgspec.convert(guarded.toml(file), Settings)
    except FileNotFoundError:
        return Settings()
    except msgspec.ValidationError as error:
        unknown = re.search("unknown field `([^`]*)`", str(error))
        meant = near_miss(unknown[1], KNOWN).removeprefix("; ") if unknown else ""
        raise BrokenSettings(f"{file}: {error}" + (f" ({meant})" if meant else "")) from error
    except (OSError, DamagedRecord) as error:
        raise BrokenSettings(f"{file}: {error}") from error
