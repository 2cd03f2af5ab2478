"""Rows of ``shared/windows.toml``: which events of a Windows log speak of hardware."""

from __future__ import annotations

from typing import Final

from livecheck.records.base import Record

END: Final = "end"
"""Subsystem of rows that tell of a start that ended unasked: they are joined, one an end."""


class WindowsEvent(Record, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What an event of a provider means, or what a stop code does."""

    name: str
    subsystem: str
    """As of the kernel's messages (``livecheck.kernel_log``), whose checks count it."""
    source: str
    providers: tuple[str, ...] = ()
    ids: tuple[int, ...] = ()
    codes: tuple[int, ...] = ()
    """Stop codes that it speaks of; with ``statuses``: whose status of input and output is that."""
    statuses: tuple[int, ...] = ()
    layer: str = "other"
    says: str = ""
    serious: bool = True
    at: str = ""
    """Whom it names: ``disk`` by its number, ``drive``, ``sata`` or ``nvme`` the only such drive,
    ``graphics`` the only such chip; empty: the machine."""
    fields: tuple[str, ...] = ()
    """Named figures that are kept of it."""
    unless_zero: str = ""
    """The figure that says by a zero that nothing was amiss."""
    number: str = ""
    """Expression whose groups are figures kept out of its strings."""
    raw: bool = False
    """True: an error record of the firmware's form comes with it (``RawData``)."""
