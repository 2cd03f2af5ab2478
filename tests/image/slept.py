"""A started virtual laptop that sleeps, restarts and is cut off, and what its cases hold then."""

from __future__ import annotations

import time
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from livecheck.casefile import CaseFolder
from livecheck.records import Outcome, Run
from tests.image.test_pulled import SECONDS
from tests.virtual_laptop import acpi, shell
from tests.virtual_laptop.guest import Guest
from tests.virtual_laptop.stick import Stick

OTHER: Final = "OTHER01"
"""Serial number of a drive in another port than the stick's."""


class Laptop:
    """One start from the stick by hand, with its shell; restarts of its own go on in it."""

    def __init__(self, stick: Stick, folder: Path, more: Sequence[str] = ()) -> None:
        self.stick, self.folder = stick, folder
        folder.mkdir(exist_ok=True)
        (folder / "page").write_bytes(bytes(4096))
        self.guest = Guest([*command(stick, folder), *more], folder, acpi.Page(folder / "page", 0))
        self.shell = shell.Shell(self.guest)

    def ready(self) -> None:
        """Until the shop drive is mounted."""
        self.shell.ready(SECONDS)
        self.shell.run("until findmnt /media/shopdrive >/dev/null; do sleep 1; done", SECONDS)

    def state(self) -> str:
        """``running``, ``suspended``, ``shutdown``: QEMU's own word for it (QMP RunState)."""
        return str(self.guest.tell("query-status")["status"])

    def until(self, state: str, seconds: float = SECONDS) -> None:
        self.guest.until(lambda: self.state() == state, seconds, f"the state {state}")

    def run_of(self, ticket: str, to: Path) -> Run:
        """The one run of the case with this ticket."""
        self.shell.run("sync", 60)
        cases = [CaseFolder(case) for case in self.stick.copy_cases(to)]
        (run,) = next(one for one in cases if one.case().ticket == ticket).load().runs
        return run


def command(stick: Stick, folder: Path) -> list[str]:
    """A laptop with the stick in one port and a drive in another, known by its board."""
    other = folder / "other.img"
    with other.open("wb") as file:
        file.truncate(64 << 20)
    return [
        "qemu-system-x86_64", "-nodefaults", "-display", "none", "-vga", "std",
        "-net", "none", "-machine", "q35,accel=tcg", "-cpu", "max", "-smp", "2", "-m", "2048",
        "-kernel", str(stick.kernel), "-initrd", str(stick.initrd),
        "-append", f"{stick.options()} livecheck.shell=ttyS1",
        "-device", "qemu-xhci,id=xhci,p2=4,p3=4", "-drive", stick.drive(),
        "-device", "usb-storage,bus=xhci.0,port=1,drive=stick,serial=STICK1",
        "-drive", f"if=none,id=other,file={other},format=raw",
        "-device", f"usb-storage,bus=xhci.0,port=2,drive=other,id=other,serial={OTHER}",
        "-smbios", "type=2,serial=BRD-24000117", *shell.options(folder),
    ]  # fmt: skip


def failed(run: Run, *subjects: str) -> list[str]:
    """Checks of these subjects that failed, and where."""
    return [
        f"{one.check} {one.at}"
        for one in run.readings
        if one.outcome is Outcome.FAILED and one.check.split(".")[0] in subjects
    ]


def outcome(run: Run, check: str) -> list[str]:
    """What one check says of the machine."""
    return [one.outcome.value for one in run.readings if one.check == check]


def rest(seconds: float) -> None:
    """What a hand at the bench takes."""
    time.sleep(seconds)
