"""What was done to the machine as a whole, as the technician told it."""

from __future__ import annotations

from livecheck.records.base import Record


class Told(Record, frozen=True, kw_only=True, tag_field="told"):
    """Base of all answers."""


class FirmwareFlashed(Told, frozen=True, kw_only=True, tag="firmware flashed"):
    """The board's firmware was written again."""


class AllPowerAway(Told, frozen=True, kw_only=True, tag="all power away"):
    """Adapter and battery were off for a while: a controller that hung starts anew."""


class LookedInside(Told, frozen=True, kw_only=True, tag="looked inside"):
    """The cover was off, and what spilled, touches, burnt or sits loose was looked for."""


class BoardReplaced(Told, frozen=True, kw_only=True, tag="board replaced"):
    """Another mainboard is in from this run on."""
