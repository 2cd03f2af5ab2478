"""Restarting as planned: what is refused, what is ordered, what the next start finds on the drive.

Outside sources: rtcwake(8) for a cold start, systemctl(1) for a warm one, and UEFI 2.10, 3.3 with
Linux Documentation/filesystems/efivarfs.rst for the order of starts.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from pathlib import Path

import pytest

from livecheck import knowledge
from livecheck.cli import main
from livecheck.host import CommandResult
from livecheck.plan import Plan
from livecheck.records import Machine
from livecheck.starts import course, notes, planned
from livecheck.starts.planned import HowFar as How
from livecheck.starts.planned import StartsPlan
from tests.testbeds import laptops
from tests.testbeds.bed import BedHost

BOOTS = "/proc/sys/kernel/random/boot_id"
STICK = {"/run/livecheck/shop-drive": "looked", "/sys/class/rtc/rtc0/wakealarm": "",
         BOOTS: "b0", "/proc/uptime": "40.00 20.00"}  # fmt: skip
SCRIPT = Path("image-build/overlay/usr/lib/livecheck/shop-drive")


class Restarter(BedHost):
    """A laptop started from the stick; orders are kept, and nothing goes down."""

    def __init__(self, **more: str | bytes) -> None:
        bed = laptops.ahci()
        super().__init__(dataclasses.replace(bed, extra={**bed.extra, **STICK, **more}))
        self.orders: list[tuple[str, ...]] = []
        self.lost = False

    def command(self, argv: Sequence[str], deadline: float) -> CommandResult:
        if argv[0] not in ("systemctl", "rtcwake"):
            return super().command(argv, deadline)
        self.orders.append(tuple(argv))
        return CommandResult(0, b"", b"")

    def wait(self, seconds: float) -> None:
        pass


def _efi(current: int, *order: int) -> dict[str, bytes]:
    def numbers(*values: int) -> bytes:
        return b"\x06\0\0\0" + b"".join(value.to_bytes(2, "little") for value in values)

    return {f"{course.EFI}/BootCurrent-{course.GLOBAL}": numbers(current),
            f"{course.EFI}/BootOrder-{course.GLOBAL}": numbers(*order)}  # fmt: skip


def test_a_machine_that_would_start_something_else_is_not_restarted() -> None:
    """The stick was chosen by hand: by itself the installed system would start."""
    with pytest.raises(course.CannotStart, match="something else by itself"):
        course.ready(Restarter(**_efi(3, 0, 3)), 0)
    course.ready(Restarter(**_efi(3, 3, 0)), 0)
    course.ready(Restarter(), 0)


@pytest.mark.parametrize(
    ("lost", "cold", "words"),
    [("/run/livecheck/shop-drive", 0, "stick"), ("/sys/class/rtc/rtc0/wakealarm", 1, "by hand")],
)
def test_what_cannot_be_done_is_said(lost: str, cold: int, words: str) -> None:
    """Another system than the stick's, or a clock without an alarm."""
    host, bed = Restarter(), laptops.ahci()
    extra = {name: text for name, text in STICK.items() if name != lost}
    BedHost.__init__(host, dataclasses.replace(bed, extra={**bed.extra, **extra}))
    with pytest.raises(course.CannotStart, match=words):
        course.ready(host, cold)


def test_each_start_is_on_the_drive_before_it_is_ordered(tmp_path: Path) -> None:
    """And found there by the next one, of this machine alone."""
    host = Restarter()
    path, plan = course.begin(host, tmp_path, StartsPlan(warm=1, cold=1), Plan(ticket="T1"))
    assert plan.parts
    course.order(host, path, plan)
    found = notes.find(tmp_path, plan.machine)
    assert found is not None
    assert [start.how for start in found[1].starts] == [How.OPEN]
    assert notes.find(tmp_path, Machine(board_serial="another", product="other")) is None
    cold = planned.ordered(plan, planned.StartKind.WARM, 0.0)
    course.order(host, path, cold)
    assert host.orders == [("systemctl", "reboot"), ("rtcwake", "-m", "off", "-s", "60")]


def test_the_next_start_counts_it_and_a_second_plan_takes_its_place(tmp_path: Path) -> None:
    """By its own id, and with the parts it sees."""
    host = Restarter()
    path, plan = course.begin(host, tmp_path, StartsPlan(warm=1), Plan())
    course.order(host, path, plan)
    found = notes.find(tmp_path, plan.machine)
    assert found is not None
    counted = course.arrive(Restarter(**{BOOTS: "b1"}), tmp_path, *found)
    assert [(start.how, start.gone) for start in counted.starts] == [(How.CAME, ())]
    course.begin(host, tmp_path, StartsPlan(warm=2), Plan())
    assert len(list((tmp_path / notes.FOLDER).glob("*.json"))) == 1


def test_notes_of_other_machines_starts_are_none_of_this_one(tmp_path: Path) -> None:
    """One stick, two laptops; a line that was cut off tells nothing."""
    (tmp_path / notes.FOLDER).mkdir()
    lines = "b1 31.20 AAAA-1\nb2 30.00 bbbb-2\nb3 29.00 aaaa-1\nb4 2"
    (tmp_path / notes.FOLDER / notes.MOUNTED).write_text(lines)
    assert notes.mounted(tmp_path, Machine(uuid="aaaa-1")) == ("b1", "b3")


def test_a_plan_without_end_is_no_plan(tmp_path: Path) -> None:
    """A drive that others wrote to keeps no machine restarting for ever."""
    path = notes.new(tmp_path, StartsPlan(warm=1, machine=Machine(board_serial="B1")))
    plan = path.read_bytes()
    path.write_bytes(plan.replace(b'"warm": 1', b'"warm": 1000000'))
    assert notes.find(tmp_path, Machine(board_serial="B1")) is None


def test_what_will_happen_is_told_before() -> None:
    """How often, how long to wait by hand, and the key that stops it."""
    told = " ".join(course.explained(StartsPlan(warm=2, cold=3), knowledge.load()))
    assert "2 time(s) warm and 3 time(s) cold" in told
    assert "5 minutes" in told


def test_starts_counted_by_hand_become_a_run(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Where no alarm can, a hand does."""
    assert main(["starts", "--failed", "2", "--of", "10", "--shop", str(tmp_path)]) == 0
    assert "2 of 10 cold starts failed" in capsys.readouterr().out


def test_nobody_is_restarted_unasked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Without a terminal to ask at, --yes must say so; a count must make sense."""
    assert main(["starts", "--warm", "1", "--shop", str(tmp_path)]) == 2
    assert "--yes" in capsys.readouterr().err
    for words in (["--warm", "101"], [], ["--failed", "3", "--of", "2"], ["--failed", "1"]):
        assert main(["starts", *words, "--yes", "--shop", str(tmp_path)]) == 2


def test_nothing_goes_on_where_nothing_was_planned(tmp_path: Path) -> None:
    """Every start of a stick asks it."""
    assert main(["starts", "--go-on", "--shop", str(tmp_path)]) == 0
    assert not list(tmp_path.rglob("run.json"))
