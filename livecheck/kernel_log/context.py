"""What a line means by the lines around it.

A failed command's result names no port; a SCSI hardware error is judged by the additional
sense behind it; the block layer calls a locked drive's refusal a medium error; the head of a
firmware error record says how grave its sections are.
"""

from __future__ import annotations

import bisect
import math
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Final

import msgspec

from livecheck.kernel_log import ata, machine_check, mmc, scsi, usb_host, words
from livecheck.records import KernelEvent

NEAR_SECONDS: Final = 2.0
"""Lines of one report are not further apart than this (assumed)."""


class _Times:
    """When which device said something: a flood of lines is not searched for each of them."""

    def __init__(self, said: Iterable[tuple[str | None, float]]) -> None:
        self._by_device: dict[str | None, list[float]] = {}
        for device, seconds in sorted(said, key=lambda one: one[1]):
            self._by_device.setdefault(device, []).append(seconds)

    def near(self, device: str | None, seconds: float) -> bool:
        """Whether the device said it in the report that a moment belongs to."""
        times = self._by_device.get(device, [])
        at = bisect.bisect_right(times, seconds - NEAR_SECONDS)
        return at < len(times) and times[at] < seconds + NEAR_SECONDS


def judge(found: Sequence[KernelEvent]) -> tuple[KernelEvent, ...]:
    """The events again, each judged with those around it."""
    steps: tuple[Callable[[Sequence[KernelEvent]], Iterator[KernelEvent]], ...] = (
        _ports,
        _overdue,
        _aborted,
        _chips,
        _sense,
        _refused,
        _stopped,
        _pulled,
        _came_up,
        _being_set_up,
        _records,
    )
    for step in steps:
        found = tuple(step(found))
    return tuple(found)


def _ports(found: Sequence[KernelEvent]) -> Iterator[KernelEvent]:
    """What names no device speaks of the port, or the disk, that spoke last."""
    last: dict[str, KernelEvent] = {}
    for event in found:
        before = last.get(event.subsystem)
        if event.subsystem not in ("ata", "block"):
            yield event
        elif event.device is None and before and event.seconds - before.seconds < NEAR_SECONDS:
            yield msgspec.structs.replace(event, device=before.device)
        else:
            last[event.subsystem] = event
            yield event


def _overdue(found: Sequence[KernelEvent]) -> Iterator[KernelEvent]:
    """A port is stopped for an overdue command; where its own line is not in the log, this one
    says so."""
    told = _Times(
        (e.device, e.seconds)
        for e in found
        if e.subsystem == "ata" and " Emask 0x" in e.raw and e.serious
    )
    for event in found:
        alone = event.says == ata.FROZEN and not told.near(event.device, event.seconds)
        yield msgspec.structs.replace(event, serious=True) if alone else event


def _aborted(found: Sequence[KernelEvent]) -> Iterator[KernelEvent]:
    """A drive may abort a command it never knew, or a read while it is locked; a write of data
    that it took before and aborts now is lost."""
    failed = [e for e in found if e.subsystem == "ata" and e.says.startswith(ata.FAILED)]
    writes = _Times((e.device, e.seconds) for e in failed if _WRITE.match(e.says))
    others = _Times((e.device, e.seconds) for e in failed if not _WRITE.match(e.says))
    for event in found:
        lost = (
            event.says == ata.ABORTED
            and writes.near(event.device, event.seconds)
            and not others.near(event.device, event.seconds)
        )
        yield msgspec.structs.replace(event, serious=True) if lost else event


_WRITE: Final = re.compile(rf"{ata.FAILED}WRITE (?:FPDMA|DMA|MULTIPLE|SECTOR)")


def _chips(found: Sequence[KernelEvent]) -> Iterator[KernelEvent]:
    """What names a graphics driver alone speaks of its chip, where the log knows of one only."""
    chips: dict[str, set[str]] = {}
    for event in found:
        driver, _, rest = event.raw.partition(" ")
        if event.subsystem == "graphics" and event.device and rest.startswith(event.device):
            chips.setdefault(driver, set()).add(event.device)
    for event in found:
        own = chips.get(event.device or "", set()) if event.subsystem == "graphics" else set()
        yield msgspec.structs.replace(event, device=min(own)) if len(own) == 1 else event


def _sense(found: Sequence[KernelEvent]) -> Iterator[KernelEvent]:
    """Of a hardware error the next additional sense of its device says what it means; of a
    command that was aborted, whether the drive is locked."""
    judged: list[KernelEvent] = []
    further: dict[str | None, KernelEvent] = {}
    for event in reversed(found):
        more = (
            further.get(event.device) if event.says in (scsi.HARDWARE_ERROR, scsi.ABORTED) else None
        )
        if more is None or more.seconds - event.seconds > NEAR_SECONDS:
            judged.append(event)
        elif event.says == scsi.ABORTED:
            refused = more.says.startswith(words.LOCKED)
            own = msgspec.structs.replace(event, says=more.says, serious=more.serious)
            judged.append(own if refused else event)
        else:
            judged.append(msgspec.structs.replace(event, layer=more.layer, serious=more.serious))
        if "Add. Sense: " in event.raw:
            further[event.device] = event
    yield from reversed(judged)


def _refused(found: Sequence[KernelEvent]) -> Iterator[KernelEvent]:
    """A drive of whose failed commands every one was refused for a lock has lost nothing."""
    statuses: dict[tuple[str, str], set[bool]] = {}
    for event in found:
        status = _STATUSES.get(event.subsystem)
        if status is not None and status in event.raw and event.device:
            own = statuses.setdefault((event.subsystem, event.device), set())
            own.add(words.LOCKED in event.says)
    refused = [own for own, some in statuses.items() if some == {True}]
    locked = {device for _, device in refused}
    behind_scsi = {device for bus, device in refused if bus == "scsi"}
    for event in found:
        lost = event.layer == words.MEDIUM and event.device in locked
        # The block layer knows less of a SCSI disk, and calls it neither.
        lost |= event.layer == words.OTHER and event.serious and event.device in behind_scsi
        if event.subsystem == "block" and lost:
            yield msgspec.structs.replace(
                event, layer=words.PROTOCOL, serious=False, says=words.LOCKED
            )
        else:
            yield event


_STATUSES: Final = {"nvme": " / sc 0x", "scsi": "Add. Sense: "}


def _stopped(found: Sequence[KernelEvent]) -> Iterator[KernelEvent]:
    """What a machine check stopped is no second fault beside the check itself."""
    checks = _Times(
        (None, e.seconds) for e in found if e.says.startswith(machine_check.CHECK) and e.serious
    )
    for event in found:
        if event.says == machine_check.STOPPED and checks.near(None, event.seconds):
            yield msgspec.structs.replace(event, serious=False)
        else:
            yield event


def _pulled(found: Sequence[KernelEvent]) -> Iterator[KernelEvent]:
    """The link of a slot whose card is gone in the same moment went down with it."""
    empty = _Times((e.device, e.seconds) for e in found if "Card not present" in e.raw)
    for event in found:
        down = event.serious and event.subsystem == "pcie" and "Link Down" in event.raw
        if down and empty.near(event.device, event.seconds):
            yield msgspec.structs.replace(event, serious=False)
        else:
            yield event


SET_UP_SECONDS: Final = 10.0
"""The kernel tries slower modes of a card for some seconds (assumed; drivers/mmc/core/core.c)."""


def _came_up(found: Sequence[KernelEvent]) -> Iterator[KernelEvent]:
    """A card that was set up at a later try, and then kept quiet, has failed nothing."""
    cards = {e.device: e.seconds for e in found if mmc.CAME_UP.search(e.raw)}
    later = {e.device for e in found if e.serious and e.seconds > cards.get(e.device, math.inf)}
    for event in found:
        waited = cards.get(event.device, math.inf) - event.seconds
        tried = mmc.BEING_SET_UP.search(event.raw) is not None and event.device not in later
        if event.serious and tried and 0 <= waited < SET_UP_SECONDS:
            yield msgspec.structs.replace(event, serious=False)
        else:
            yield event


COMMAND_SECONDS: Final = 6.0
"""The controller waits 5 s for a command (drivers/usb/host/xhci.h, XHCI_CMD_DEFAULT_TIMEOUT)."""

_USB_DEVICE: Final = re.compile(r"\d+-[\d.]+(?:-port\d+)?|usb\d+-port\d+")


def _being_set_up(found: Sequence[KernelEvent]) -> Iterator[KernelEvent]:
    """A controller that waits in vain for a device names none: it is the one that spoke last.

    Where the controller itself has stopped, no device is to blame.
    """
    stopped = any(e.subsystem == "usb" and e.layer == words.HOST_BUS and e.serious for e in found)
    last: KernelEvent | None = None
    for event in found:
        if event.subsystem == "usb" and _USB_DEVICE.fullmatch(event.device or ""):
            last = event
        waited = event.says == usb_host.NO_ANSWER and not stopped
        if waited and last is not None and event.seconds - last.seconds < COMMAND_SECONDS:
            yield msgspec.structs.replace(event, device=last.device)
        else:
            yield event


def _records(found: Sequence[KernelEvent]) -> Iterator[KernelEvent]:
    grave: bool | None = None
    for index, event in enumerate(found):
        if event.says.startswith(machine_check.SEVERITY):
            grave = event.says.removeprefix(machine_check.SEVERITY) in machine_check.GRAVE
        if event.says.startswith(machine_check.SECTION):
            serious = event.serious if grave is None else grave or event.serious
            device = _subject(found, index + 1)
            yield msgspec.structs.replace(event, serious=serious, device=device or event.device)
        else:
            yield event


def _subject(found: Sequence[KernelEvent], first: int) -> str | None:
    """The device or module that the lines of a section name."""
    for event in map(found.__getitem__, range(first, len(found))):
        if event.says.startswith((machine_check.SECTION, machine_check.SEVERITY)):
            return None
        if event.device is not None and event.says == machine_check.NAMES:
            return event.device
    return None
