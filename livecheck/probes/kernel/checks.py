"""Which kernel messages each check counts, and where their absence says something."""

from __future__ import annotations

import math
import re
from typing import Final, NamedTuple

from livecheck.kernel_log import acpi, ata, board, crashes, inputs, machine_check, scsi
from livecheck.kernel_log.words import LOCKED
from livecheck.records import KernelEvent

ANY_LAYER: Final = frozenset(
    {"link", "timeout", "protocol", "host bus", "medium", "power", "firmware", "thermal", "other"}
)


class KernelCheck(NamedTuple):
    """Which events a check counts, and at which kinds of component it can pass."""

    check: str
    subsystems: frozenset[str]
    layers: frozenset[str] = ANY_LAYER
    kinds: frozenset[str] = frozenset()
    """Kinds of component at which silence is a passed check; none: silence says nothing.

    One silent log is one witness: of the five questions about a drive only two are passed by it.
    """
    whole_machine: bool = False
    """True: events are counted for the machine, not for the component they name."""
    about: re.Pattern[str] | None = None
    """What an event must say to be counted; None: whatever it says."""
    at_least: float = 1
    """Incidents below which it is no failure: it is told and not judged."""
    serious: bool = True
    """False: it counts what is no sign of a fault by itself."""
    why_few: str = "so few in one start are no fault yet"

    def counts(self, event: KernelEvent) -> bool:
        told = self.about is None or self.about.search(event.says) is not None
        meant = event.subsystem in self.subsystems and event.layer in self.layers
        return meant and told and event.serious is self.serious


def _of(*names: str) -> frozenset[str]:
    return frozenset(names)


DISKS: Final = _of("ata", "scsi", "block", "nvme")
MANY_CORRECTED: Final = 5
"""Incidents of errors that the processor repaired, in one start, that are no chance any more
(assumed)."""

_DRIVES: Final = _of("drive", "optical-drive")
_INSIDE: Final = "|".join(sorted(machine_check.INSIDE, key=len, reverse=True))
_INSIDE_PROCESSOR: Final = re.compile(
    rf"^(?:{machine_check.CHECK}.*?, (?:{_INSIDE}) \(|{machine_check.SECTION}.*processor)"
)

CHECKS: Final = (
    KernelCheck("kernel.storage-medium", DISKS, _of("medium"), _DRIVES),
    KernelCheck("kernel.storage-link", DISKS, _of("link"), _DRIVES),
    KernelCheck("kernel.storage-timeout", DISKS, _of("timeout")),
    KernelCheck("kernel.storage-host-bus", DISKS, _of("host bus")),
    KernelCheck("kernel.storage-protocol", DISKS, _of("protocol", "other")),
    KernelCheck("kernel.storage-locked", DISKS, about=re.compile(re.escape(LOCKED)), serious=False),
    KernelCheck(
        "kernel.storage-restless",
        DISKS,
        _of("link"),
        about=re.compile(re.escape(ata.CHANGED)),
        serious=False,
    ),
    KernelCheck(
        "kernel.disc",
        DISKS,
        about=re.compile(re.escape(scsi.OF_A_DISC)),
        at_least=math.inf,
        serious=False,
        why_few="the disc in the drive could not be read",
    ),
    KernelCheck("kernel.mmc", _of("mmc"), ANY_LAYER, _of("sd-card")),
    KernelCheck(
        "kernel.pcie",
        # Records of the firmware and NMIs of a bus error: of the device that they name.
        _of("pcie", "machine check"),
        _of("link", "protocol", "timeout", "host bus", "power"),
        _of("wireless-card", "expansion-card", "network-adapter"),
    ),
    KernelCheck(
        "kernel.usb", _of("usb"), _of("link", "timeout", "protocol"), _of("usb-device", "camera")
    ),
    KernelCheck("kernel.usb-host", _of("usb"), _of("host bus"), _of("usb-controller")),
    KernelCheck(
        "kernel.wireless",
        _of("wireless"),
        _of("protocol", "timeout", "host bus", "link"),
        _of("wireless-card"),
    ),
    KernelCheck(
        "kernel.graphics",
        _of("graphics"),
        _of("graphics", "host bus"),
        _of("display-controller"),
    ),
    KernelCheck(
        "kernel.processor-check",
        _of("machine check"),
        _of("machine check"),
        whole_machine=True,
        about=_INSIDE_PROCESSOR,
    ),
    KernelCheck(
        "kernel.processor-corrected",
        _of("machine check"),
        _of("machine check"),
        whole_machine=True,
        about=_INSIDE_PROCESSOR,
        at_least=MANY_CORRECTED,
        serious=False,
        why_few="the processor repaired them; so few in one start are no fault yet",
    ),
    KernelCheck(
        "kernel.machine-check",
        _of("machine check"),
        _of("machine check"),
        _of("machine"),
        True,
        # Whatever is not inside the processor: memory, buses, records without a kind.
        re.compile(rf"^(?!{_INSIDE_PROCESSOR.pattern[1:]})"),
    ),
    KernelCheck("kernel.thermal", _of("thermal"), _of("thermal"), _of("machine"), True),
    KernelCheck("kernel.firmware", _of("firmware"), _of("firmware"), _of("machine"), True),
    KernelCheck(
        "kernel.crash",
        _of(crashes.KERNEL),
        _of("other"),
        whole_machine=True,
        about=re.compile(rf"^(?!{re.escape(crashes.STALL)})"),
    ),
    KernelCheck(
        "kernel.stall",
        _of(crashes.KERNEL),
        _of("other"),
        whole_machine=True,
        about=re.compile(re.escape(crashes.STALL)),
    ),
    KernelCheck(
        "kernel.restart",
        _of("restart"),
        whole_machine=True,
        at_least=3,
        why_few="a battery that ran empty and a plug that was pulled end a start so, too",
    ),
    KernelCheck(
        "kernel.noted",
        _of("noted"),
        whole_machine=True,
        at_least=math.inf,
        serious=False,
        why_few="by itself it is no sign of a part at fault",
    ),
    KernelCheck(
        "kernel.embedded-controller",
        _of(acpi.CONTROLLER),
        _of("timeout"),
        whole_machine=True,
        at_least=3,
    ),
    KernelCheck("kernel.input", _of(inputs.INPUT, inputs.SCREEN, "i2c")),
    KernelCheck(
        "kernel.device",
        _of(board.TPM, board.USB_C, board.SOUND, board.NETWORK, board.DRIVER, board.SLEEP),
    ),
)
