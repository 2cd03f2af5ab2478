"""Faults as objects. ``at`` is a part's name or a place: that decides what it follows."""

from __future__ import annotations

import msgspec

from tests.virtual_laptop.laptop import Laptop


class Fault(msgspec.Struct, frozen=True, kw_only=True):
    at: str
    gone_from: int | None = None
    """Number of the start from which it is no more, as a bad contact after reseating."""

    def place(self, laptop: Laptop) -> str | None:
        """Where it shows as the laptop is fitted now; None: its part lies on the bench."""
        for place, part in laptop.fitted.items():
            if self.at in (place, part.name):
                return place
        return None


class Unreadable(Fault, frozen=True, kw_only=True):
    """Reads of these sectors fail. Behind AHCI the drive aborts; behind NVMe it is a
    media error (see the kernel's messages: sct 0x2, sc 0x81)."""

    sectors: tuple[int, ...]


class Stalls(Fault, frozen=True, kw_only=True):
    """The drive serves so few bytes a second that it seems to stand still."""

    bytes_per_second: int = 512


class Critical(Fault, frozen=True, kw_only=True):
    """The drive's own critical warning (NVM Express base specification, SMART log, byte 0)."""

    warning: int = 4


class NothingAnswers(Fault, frozen=True, kw_only=True):
    """The slot senses a card, and every read of it gives ones."""


class StuckBit(Fault, frozen=True, kw_only=True):
    """One bit of a module, or of whatever module sits in that slot, is always set.

    It is so at several rows, as where a column of a chip is damaged: a system that runs
    never has all of its memory free to be tested.
    """

    offsets_mib: tuple[int, ...] = (260, 390, 520, 650, 780)
    bit: int = 5


class NoSupply(Fault, frozen=True, kw_only=True):
    """The adapter does not feed the machine."""


class NoCharge(Fault, frozen=True, kw_only=True):
    """The battery takes no charge though the adapter feeds the machine."""


class Worn(Fault, frozen=True, kw_only=True):
    """The battery holds this share of what it was made for."""

    share: float = 0.3


class RunsHot(Fault, frozen=True, kw_only=True):
    """Heat is not led away: lasting load drives the temperature past the critical point.

    The invented machine's firmware sets that at 110 °C.
    """

    idle: float = 58.0
    loaded: float = 112.0


class SwitchesOff(Fault, frozen=True, kw_only=True):
    """The board drops its power so many seconds after the named words come out."""

    at: str = "board"
    after: str = ": done"
    seconds: float = 20.0

    def place(self, laptop: Laptop) -> str | None:
        return self.at


class WrongClock(Fault, frozen=True, kw_only=True):
    start: str = "2009-01-01T00:00:00"


class BadChecksum(Fault, frozen=True, kw_only=True):
    """One ACPI table's bytes do not add up to nought."""
