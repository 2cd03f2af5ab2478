"""What a shop chose for itself: ``shop.toml`` at the top of the shop drive."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import msgspec

from livecheck import guarded
from livecheck.casefile import atomic
from livecheck.records import DamagedRecord

FILE: Final = "shop.toml"


class Priors(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Table ``[priors]``."""

    outcomes: bool = True
    """Whether confirmed outcomes move the prior weights."""


class Settings(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The whole file."""

    priors: Priors = Priors()


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
    )
    file = root / FILE
    atomic.save(file, text.encode())
    return file
