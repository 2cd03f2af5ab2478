"""The stick pulled and plugged in again, by a real kernel: nothing lost, and all by itself.

Three starts serve all tests here, which go on from one another: a machine with memory for the
system, its next start, and a machine without. Pulling is QEMU's ``device_del``, which no guest
can hold up.
"""

from __future__ import annotations

import random
import re
import shutil
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

import pytest

pytest.importorskip("qemu.qmp", reason="qemu.qmp is not installed")
from livecheck.casefile import CaseFolder
from livecheck.recorder import openings
from livecheck.records import Outcome
from tests.virtual_laptop import acpi, shell
from tests.virtual_laptop.guest import Guest
from tests.virtual_laptop.stick import Stick

pytestmark = pytest.mark.boot

SECONDS: Final = 900
PORTS: Final = 8
RUNS: Final = "ls /media/shopdrive/livecheck-cases/*/runs/*/run.json 2>/dev/null"
KNOWN: Final = "Nothing else: start run"
"""What Enter does where the machine was here before."""
MOUNTED_WITHIN: Final = 5.0
"""Seconds from the kernel's first word of a stick to its mount: by the guest's clock or, where
other work takes the emulated processors away, by the processor time that QEMU had; the least of
three, which other work can but lengthen."""


class Bench:
    """A started machine, its shell, and the stick's port."""

    def __init__(self, stick: Stick, folder: Path, mib: int, more: Sequence[str] = ()) -> None:
        self.stick = stick
        (folder / "page").write_bytes(bytes(4096))
        page = acpi.Page(folder / "page", 0)
        self.guest = Guest([*_command(self.stick, folder, mib), *more], folder, page)
        self.shell = shell.Shell(self.guest)
        self.sticks = 1

    def pull(self) -> None:
        self.guest.tell("device_del", id=f"plug{self.sticks}")

    def plug(self, stick: Stick) -> None:
        """At another port."""
        self.sticks += 1
        node, port = f"stick{self.sticks}", str((self.sticks - 1) % PORTS + 1)
        file = {"driver": "file", "filename": str(stick.file)}
        self.guest.tell("blockdev-add", **{"driver": "raw", "node-name": node, "file": file})
        self.guest.tell(
            "device_add", driver="usb-storage", bus="xhci.0", port=port, drive=node,
            id=f"plug{self.sticks}", serial=f"STICK{self.sticks}",
        )  # fmt: skip

    def plug_timed(self) -> float:
        """Plugs the stick in again; returns how long it took until it was mounted."""
        worked = self.guest.worked()
        self.plug(self.stick)
        self.guest.until(lambda: self.mounted() != "", 60, "the shop drive")
        return min(self.took(), self.guest.worked() - worked)

    def run(self, words: str) -> str:
        """A command's output, without the line as typed and the mark of its end."""
        said = self.shell.run(words, 120).splitlines()
        return "\n".join(line for line in said[1:] if "over-" not in line)

    def begin_run(self) -> None:
        """From the first screen, until the run was saved for the first time."""
        self._either("What is wrong with it?", KNOWN)
        before = self.run(RUNS)
        self.guest.press("ret")
        if self._either("NOW", KNOWN) == KNOWN:
            self.guest.press("ret")
        self.guest.wait_for("NOW", 240)
        self.guest.until(lambda: self.run(RUNS) != before, 240, "the run's first save", every=1.0)

    def to_start(self) -> None:
        """From a verdict to the first screen; a machine that is known is left unasked."""
        self.guest.press("r")
        if self._either("What is wrong with it?", KNOWN) == KNOWN:
            self.guest.press("esc")
        self.guest.wait_for("What is wrong with it?", 60)

    def _either(self, *words: str) -> str:
        """Which of these the screen shows first."""
        self.guest.until(lambda: any(_shown(self, one) for one in words), SECONDS, f"{words}")
        return next((one for one in words if _shown(self, one)), words[0])

    def mounted(self) -> str:
        """The shop drive's device; empty: there is none."""
        return self.run("findmnt -no SOURCE /media/shopdrive").strip()

    def newest(self) -> str:
        """The data partition of the stick plugged in last; "none" before there is one."""
        serial = f"usb-QEMU_QEMU_HARDDISK_STICK{self.sticks}-0:0-part1"
        return self.run(f"realpath -e /dev/disk/by-id/{serial} || echo none").strip()

    def took(self) -> float:
        """Seconds from the kernel's first word of the last stick to its mount."""
        seen = re.findall(r"\[ *(\d+\.\d+)\] usb \S+ new ", self.run("dmesg | grep 'USB device'"))
        unit = f"shop-drive@{self.mounted().removeprefix('/dev/')}"
        done = self.run(f"systemctl show -P ActiveEnterTimestampMonotonic {unit}")
        return int(done) / 1e6 - float(seen[-1])


def _command(stick: Stick, folder: Path, mib: int) -> list[str]:
    return [
        "qemu-system-x86_64", "-nodefaults", "-display", "none", "-vga", "std",
        "-net", "none", "-machine", "q35,accel=tcg", "-cpu", "max", "-smp", "2", "-m", str(mib),
        "-kernel", str(stick.kernel), "-initrd", str(stick.initrd),
        "-append", f"{stick.options()} livecheck.shell=ttyS1",
        "-device", f"qemu-xhci,id=xhci,p2={PORTS},p3={PORTS}", "-drive", stick.drive(),
        "-device", "usb-storage,bus=xhci.0,port=1,drive=stick,id=plug1,serial=STICK1",
        # By its board: the stick is another at each port, and no part of it.
        "-smbios", "type=2,serial=BRD-24000117", *shell.options(folder),
    ]  # fmt: skip


def _bench(stick: Stick, folder: Path, mib: int) -> Iterator[Bench]:
    bench = Bench(stick, folder, mib)
    with bench.guest:
        # Where the machine is known, the first screen may give way before it is looked at.
        bench._either("Cases are kept in /media/shopdrive", "Known here")
        bench.shell.ready(SECONDS)
        bench.run("bind 'set enable-bracketed-paste off'; PS1=; export SYSTEMD_PAGER=")
        yield bench


@pytest.fixture(scope="module")
def bench(image: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    """2 GiB of memory."""
    folder = tmp_path_factory.mktemp("large")
    yield from _bench(Stick(image, folder), folder, 2048)


@pytest.fixture
def again(bench: Bench, tmp_path: Path) -> Iterator[Bench]:
    """The same machine switched off and started anew from its first stick."""
    bench.guest.cut()
    yield from _bench(bench.stick, tmp_path, 2048)


@pytest.fixture
def small(image: Path, tmp_path: Path) -> Iterator[Bench]:
    """1 GiB of memory."""
    yield from _bench(Stick(image, tmp_path), tmp_path, 1024)


def test_the_system_goes_into_memory(bench: Bench) -> None:
    """It is said on the screen, and the mounted loop device goes on with the copy."""
    bench.guest.wait_for("The stick may be pulled", SECONDS)
    assert "livecheck-system" in bench.run("cat /sys/block/loop*/loop/backing_file")


def test_pulled_on_the_first_screen_and_plugged_in_again(bench: Bench) -> None:
    """The lost drive is said and let go; programs not used before start; it comes back."""
    bench.pull()
    bench.guest.wait_for("SHOP DRIVE LOST", 60)
    assert bench.mounted() == "" == bench.run("findmnt -no SOURCE /run/live/medium").strip()
    bench.run("echo 3 >/proc/sys/vm/drop_caches")
    assert "42" in bench.run("python3 -c 'import sqlite3, xml.dom.minidom; print(6 * 7)'")
    assert "usage" in bench.run("sfdisk --help; lspci --help 2>&1").lower()
    took = [bench.plug_timed()]
    while min(took) > MOUNTED_WITHIN and len(took) < 3:
        bench.guest.until(lambda: not _shown(bench, "SHOP DRIVE LOST"), 60, "the alarm's end")
        bench.pull()
        bench.guest.wait_for("SHOP DRIVE LOST", 60)
        took.append(bench.plug_timed())
    print(f"mounted after {took} s")
    assert min(took) <= MOUNTED_WITHIN
    bench.guest.until(lambda: not _shown(bench, "SHOP DRIVE LOST"), 60, "the end of the alarm")


def test_pulled_in_a_run_that_goes_on(bench: Bench, tmp_path: Path) -> None:
    """The drive comes back while probes run: the run ends in its case, whole."""
    bench.begin_run()
    bench.pull()
    bench.guest.wait_for("SHOP DRIVE LOST", 60)
    bench.plug(bench.stick)
    bench.guest.until(lambda: not _shown(bench, "SHOP DRIVE LOST"), 60, "the end of the alarm")
    bench.guest.press("x")
    bench.guest.wait_for("Evidence", SECONDS)
    bench.run("sync")
    (case,) = bench.stick.copy_cases(tmp_path)
    (run,) = CaseFolder(case).load().runs
    assert run.stopped
    record = openings.read(CaseFolder(case).run_file(run.number).parent)
    assert record is not None and record.closing is not None and record.closing.how == "done"


def test_pulled_at_ten_random_instants(bench: Bench, tmp_path: Path) -> None:
    """Five with no run and five in one run, for a second or for longer than the console takes
    to notice: the drive is mounted each time, and every run ends in its case, whole."""
    instants = random.Random(24)
    bench.to_start()
    for in_run in (False, True):
        if in_run:
            bench.begin_run()
        for _ in range(5):
            time.sleep(instants.uniform(0, 15))
            bench.pull()
            time.sleep(instants.uniform(1, 10))
            bench.plug(bench.stick)
            bench.guest.until(lambda: bench.mounted() == bench.newest(), 60, "the shop drive")
    bench.guest.until(lambda: not _shown(bench, "SHOP DRIVE LOST"), 60, "the end of the alarm")
    # On a fast machine it has come to its end by itself.
    if not _shown(bench, "Evidence"):
        bench.guest.press("x")
    bench.guest.wait_for("Evidence", SECONDS)
    bench.run("sync")
    (case,) = bench.stick.copy_cases(tmp_path)
    loaded = CaseFolder(case).load()
    assert [run.stopped or run.finished for run in loaded.runs] == [True, True]
    assert loaded.damaged == ()


def test_pulled_as_a_run_begins(bench: Bench, tmp_path: Path) -> None:
    """Before its first save: it goes on, and is saved by its end on the drive that is back. What
    all those pulls left in the kernel's log accuses nothing."""
    bench.guest.press("r")
    bench.guest.wait_for(KNOWN, 60)
    bench.guest.press("ret")
    bench.pull()
    bench.guest.wait_for("SHOP DRIVE LOST", 60)
    bench.plug(bench.stick)
    bench.guest.until(lambda: not _shown(bench, "SHOP DRIVE LOST"), 60, "the end of the alarm")
    bench.guest.until(lambda: not _shown(bench, " 0 of "), 240, "the first probe's end")
    bench.guest.press("x")
    bench.guest.wait_for("Evidence", SECONDS)
    bench.run("sync")
    (case,) = bench.stick.copy_cases(tmp_path)
    runs = CaseFolder(case).load().runs
    assert [run.stopped or run.finished for run in runs] == [True, True, True]
    failed = [r for run in runs for r in run.readings if r.outcome is Outcome.FAILED]
    assert [(r.at, r.says, r.details) for r in failed if r.check.startswith("kernel.")] == []


def test_another_prepared_stick_takes_what_was_kept(bench: Bench, image: Path) -> None:
    """The run ended with no drive there: it is said where it is, and goes onto the next."""
    other = bench.guest.folder / "other"
    other.mkdir()
    second = Stick(image, other)
    bench.guest.press("r")
    bench.begin_run()
    bench.pull()
    bench.guest.wait_for("SHOP DRIVE LOST", 60)
    bench.guest.press("x")
    bench.guest.wait_for("THE RUN IS NOT ON THE SHOP DRIVE", 240)
    bench.plug(second)
    bench.guest.wait_for("Evidence", SECONDS)
    bench.run("sync")
    (case,) = second.copy_cases(other / "cases")
    assert [run.stopped for run in CaseFolder(case).load().runs] == [True]


def test_a_case_opened_with_no_drive_there_goes_onto_the_next(
    bench: Bench, image: Path, tmp_path: Path
) -> None:
    """Pulled before a run, plugged in after it: the case in memory is brought over."""
    bench.to_start()
    bench.pull()
    bench.guest.wait_for("SHOP DRIVE LOST", 60)
    bench.guest.press("t")
    bench.guest.type("V77\n")
    bench.guest.press("ret")
    bench.guest.wait_for("NOW", 240)
    time.sleep(10)
    bench.guest.press("x")
    bench.guest.wait_for("Evidence", SECONDS)
    third = Stick(image, tmp_path)
    bench.plug(third)
    bench.guest.wait_for("Saved on the shop drive", 120)
    bench.run("sync")
    (case,) = third.copy_cases(tmp_path / "cases")
    assert CaseFolder(case).case().ticket == "V77"


def test_the_next_start_goes_on(again: Bench) -> None:
    """The case on the stick that was pulled is known, with the run that was cut off by it."""
    lines = again.guest.wait_for("Known here", SECONDS)
    assert any("runs so far: 4" in line for line in lines), lines


def test_with_1_gib_the_stick_must_stay(small: Bench) -> None:
    """It is said; pulled all the same in a run, the console says what is lost and does not end."""
    small.guest.wait_for("The stick must stay in", SECONDS)
    said = small.run("cat /run/livecheck/stick")
    assert "too little" in said
    shutil.copyfile(small.guest.folder / "screen.ppm", small.guest.folder / "stays.ppm")
    small.pull()
    small.guest.wait_for("SHOP DRIVE LOST", 120)
    small.guest.press("f1")
    small.guest.wait_for("Choose what the customer complains of", 60)


def _shown(bench: Bench, words: str) -> bool:
    return any(words in line for line in bench.guest.lines())
