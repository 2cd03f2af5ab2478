"""What can happen in a story: records of it, without what plays them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import msgspec

from livecheck.records import Complaint
from tests.testbeds.bed import Bed

TICKET: Final = "4711"


class Measured(msgspec.Struct, frozen=True, kw_only=True):
    """The worksheet of a machine that does not start."""

    label: str
    answers: str
    """Lines of TOML, as a meter or an eye gave them."""
    words: tuple[str, ...] = ()
    finds: tuple[str, ...] = ()
    """What the verdict then says."""
    complaint: Complaint = Complaint.NO_POWER


class Looked(msgspec.Struct, frozen=True, kw_only=True):
    """A run of a machine that starts."""

    bed: Callable[[], Bed]
    words: tuple[str, ...] = ()
    finds: tuple[str, ...] = ()
    complaint: Complaint


class Handed(msgspec.Struct, frozen=True, kw_only=True):
    """The hand-over check."""

    bed: Callable[[], Bed]
    words: tuple[str, ...] = ()
    signed: bool = True
    finds: tuple[str, ...] = ()


class Proved(msgspec.Struct, frozen=True, kw_only=True):
    """What the repair proved; the case is closed."""

    unit: str


class Unmended(msgspec.Struct, frozen=True, kw_only=True):
    """It goes back as it is; the case is closed and proves nothing."""

    note: str


Happening = Measured | Looked | Handed | Proved | Unmended


class Story(msgspec.Struct, frozen=True, kw_only=True):
    """One machine, from the counter and back to it."""

    name: str
    truth: str
    """What was wrong, which nobody is told."""
    told: tuple[str, ...]
    """Lines of the intake sheet."""
    happens: tuple[Happening, ...]
    broken: str
    """What the customer's page says before the machine is handed over."""
    shop: str = ""
    """The shop's own facts: ``shop.toml``."""
