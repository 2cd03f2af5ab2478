"""What the kept events of a Windows log mean, and at which component of this machine."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

import msgspec

from livecheck import kernel_log
from livecheck.host import KernelMessage
from livecheck.kernel_log import machine_check, pcie, words
from livecheck.records import Controller, Inventory, KernelEvent, Part
from livecheck.records.windows_events import END, WindowsEvent
from livecheck.windows_log import cper
from livecheck.windows_log.kept import Kept

ONE_START: Final = 600.0
"""Seconds within which a start has told how the one before it ended (assumed: the crash is
reported once the desktop is up)."""

_CODE: Final = "BugcheckCode"
_STATUS: Final = "BugcheckParameter2"
"""Of 0x7A and 0x77 the status of input and output (Microsoft, "Bug Check Code Reference")."""
_PRESSED: Final = ("PowerButtonTimestamp", "LongPowerButtonPressDetected")
_ASLEEP: Final = "SleepInProgress"
_HARDWARE_ERROR: Final = "mce: [Hardware Error]: "


class Meaning:
    """The rows, and the parts they may speak of."""

    def __init__(self, rows: Mapping[str, WindowsEvent], inventory: Inventory) -> None:
        self.rows = rows
        self._inventory = inventory
        self._decoded: dict[tuple[str, ...], tuple[KernelEvent, ...]] = {}
        """A link that is always repaired tells the same thousands of times."""
        drives = [p for p in inventory.parts if p.kind == "drive" and p.usb is None]
        self._only = {
            "drive": _only(drives),
            "nvme": _only([p for p in drives if p.nvme is not None]),
            "sata": _only([p for p in drives if p.nvme is None and p.scsi is not None]),
            "graphics": _only(
                [c for c in inventory.controllers if c.kind == "display-controller"]
            ),
        }  # fmt: skip

    def events(self, kept: Sequence[Kept]) -> tuple[KernelEvent, ...]:
        """In the order of time."""
        ends = [one for one in kept if self.rows[one.row].subsystem == END]
        found = [self._end(group) for group in _joined(ends)]
        for one in kept:
            row = self.rows[one.row]
            if row.raw:
                found += self._reported(one, row)
            elif row.subsystem != END:
                found.append(self._event(one, row))
        return tuple(sorted(found, key=lambda event: event.seconds))

    def _event(self, one: Kept, row: WindowsEvent, says: str = "") -> KernelEvent:
        number = one.figures.get("disk")
        # Disks are numbered as they are found: of several nobody knows which is which.
        where = "drive" if row.at == "disk" and not number else row.at
        return KernelEvent(
            seconds=one.seconds,
            layer=row.layer,
            device=None if number is None else f"Harddisk{number}",
            says=says or row.says,
            raw=_raw(one, self.rows[one.row]),
            subsystem=row.subsystem,
            component=self._only.get(where),
            serious=row.serious,
        )

    # --- How a start ended

    def _end(self, group: Sequence[Kept]) -> KernelEvent:
        """Kernel-Power 41, EventLog 6008 and the crash's report speak of one end."""
        told = max(group, key=lambda one: (bool(one.figures.get(_CODE)), len(one.figures)))
        code = told.figures.get(_CODE)
        if code:
            row = self._stop(code, told.figures.get(_STATUS, 0) & 0xFFFFFFFF)
            says = f"the machine stopped itself with code {code:#x}"
            return self._event(told, row, f"{says}: {row.says}" if row.codes else says)
        if any(told.figures.get(name) for name in _PRESSED):
            return self._event(told, self.rows["end.key-held"])
        asleep = told.figures.get(_ASLEEP)
        return self._event(told, self.rows["end.asleep" if asleep else "end.lost"])

    def _stop(self, code: int, status: int) -> WindowsEvent:
        rows = [row for row in self.rows.values() if code in row.codes]
        exact = [row for row in rows if status in row.statuses]
        plain = [row for row in rows if not row.statuses]
        return next(iter((*exact, *plain)), self.rows["stop.other"])

    # --- What the hardware reported

    def _reported(self, one: Kept, row: WindowsEvent) -> list[KernelEvent]:
        """As the kernel's own log would have told it."""
        lines = tuple(_lines(one))
        if lines not in self._decoded:
            said = [KernelMessage(0.0, 2, _HARDWARE_ERROR + line) for line in lines]
            self._decoded[lines] = kernel_log.attach(kernel_log.events(said), self._inventory)
        return [
            msgspec.structs.replace(_corrected(event), seconds=one.seconds, raw=_raw(one, row))
            for event in self._decoded[lines]
            if event.says.startswith((machine_check.CHECK, machine_check.SECTION))
        ] or [self._event(one, row)]


def _lines(one: Kept) -> Iterator[str]:
    status = one.figures.get("MciStat")
    if status:
        processor, bank = (one.figures.get(name, 0) for name in ("ApicId", "MCABank"))
        yield f"CPU {processor}: Machine Check: 0 Bank {bank}: {status & (1 << 64) - 1:016x}"
    else:
        yield from cper.lines(one.raw)


def _corrected(event: KernelEvent) -> KernelEvent:
    """A link's error that was corrected is counted where the kernel's own are."""
    if event.layer != words.LINK or event.serious:
        return event
    says = f"PCI Express link, {pcie.CORRECTED}"
    return msgspec.structs.replace(event, subsystem="pcie", says=says)


def _joined(ends: Sequence[Kept]) -> Iterator[list[Kept]]:
    """Those that one start told; a second of the same kind is another start's."""
    group: list[Kept] = []
    for one in sorted(ends, key=lambda one: one.seconds):
        again = any(other.row == one.row for other in group)
        if group and (again or one.seconds - group[0].seconds > ONE_START):
            yield group
            group = []
        group.append(one)
    if group:
        yield group


def _only(found: Sequence[Part | Controller]) -> str | None:
    return found[0].id if len(found) == 1 else None


def _raw(one: Kept, row: WindowsEvent) -> str:
    figures = itertools.islice(one.figures.items(), 8)
    told = ", ".join(f"{name} {figure:#x}" for name, figure in figures if figure)
    return f"{row.providers[0]} {one.id}" + (f": {told}" if told else "")
