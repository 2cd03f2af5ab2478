"""The storage probe on an invented inventory: who answers, what cannot be asked, link speed."""

from __future__ import annotations

import subprocess
from collections.abc import Sequence
from pathlib import Path

import msgspec
import pytest

from livecheck import knowledge
from livecheck.host import CommandResult
from livecheck.probes import Context
from livecheck.probes.drive import health
from livecheck.records import (
    BlockFacts,
    Device,
    Inventory,
    NotTested,
    NvmeFacts,
    Outcome,
    Part,
    Place,
    Presence,
    Reading,
)
from tests.inventory.fake_host import FakeHost
from tests.loops import loop_device

PORT = Place(
    id="ata:b:1",
    kind="sata-port",
    name="SATA port 1",
    presence=Presence.SEEN,
    port_max_gbps=6.0,
)
EMPTY = Place(id="ata:b:2", kind="sata-port", name="SATA port 2", presence=Presence.NOTHING_ANSWERS)
DRIVE = Part(
    id="drive:A",
    kind="drive",
    name="a drive",
    place=PORT.id,
    block="sda",
    scsi="0:0:0:0",
)
BLOCK = Device(
    subsystem="block",
    name="sda",
    path="/sys/block/sda",
    component=DRIVE.id,
    facts=BlockFacts(size_bytes=10**9),
)
GENERIC = {"/sys/bus/scsi/devices/0:0:0:0/scsi_generic/sg3/dev": "21:3\n"}


def _speed(gbps: int) -> dict[str, object]:
    return {"string": f"{gbps}.0 Gb/s", "units_per_second": gbps * 10, "bits_per_unit": 10**8}


class _Asked(FakeHost):
    """Answers smartctl for a sound SATA drive whose link runs at ``gbps``."""

    def __init__(self, gbps: int = 6, as_root: bool = True) -> None:
        super().__init__(GENERIC, as_root=as_root)
        self.gbps = gbps
        self.asked: list[tuple[str, ...]] = []

    def command(self, argv: Sequence[str], deadline: float) -> CommandResult:
        self.asked.append(tuple(argv))
        node = argv[-1]
        if "test" in argv:
            return CommandResult(0, f"x\n{node}: Device of type 'sat' [ATA] opened\n".encode(), b"")
        full = {
            "smartctl": {"exit_status": 0, "output": ["SMART support is: Available", ""]},
            "smart_support": {"available": True},
            "smart_status": {"passed": True},
            "interface_speed": {"max": _speed(6), "current": _speed(self.gbps)},
        }
        return CommandResult(0, msgspec.json.encode(full), b"")


def _probe(host: FakeHost, inventory: Inventory) -> dict[str, Reading | NotTested]:
    context = Context(host=host, inventory=inventory, events=(), knowledge=knowledge.load())
    found: dict[str, Reading | NotTested] = {}
    for one in health.probe(context):
        if isinstance(one, Reading):
            found[f"{one.check} {one.at}"] = one
        elif isinstance(one, NotTested):
            found[one.what] = one
    return found


def _outcome(found: dict[str, Reading | NotTested], key: str) -> Outcome:
    reading = found[key]
    assert isinstance(reading, Reading)
    return reading.outcome


WHOLE = Inventory(places=(PORT, EMPTY), parts=(DRIVE,), devices=(BLOCK,))


def test_a_sound_drive_passes_and_a_port_that_senses_one_in_vain_fails() -> None:
    """The drive passes; the other port fails on its own, with no drive to blame yet."""
    found = _probe(_Asked(), WHOLE)
    for check in ("answers", "health", "link-speed"):
        assert _outcome(found, f"storage.{check} drive:A") is Outcome.PASSED
    assert _outcome(found, "storage.port-answers ata:b:2") is Outcome.FAILED


@pytest.mark.parametrize(
    ("gbps", "port_max", "outcome"),
    [
        (6, 6.0, Outcome.PASSED),
        (3, 6.0, Outcome.FAILED),
        (3, 3.0, Outcome.PASSED),
        (3, None, Outcome.NOT_JUDGED),
    ],
)
def test_a_sata_link_is_slow_only_against_both_ends(
    gbps: int, port_max: float | None, outcome: Outcome
) -> None:
    """A link is slow only against what drive and port both can."""
    port = msgspec.structs.replace(PORT, port_max_gbps=port_max)
    found = _probe(_Asked(gbps), msgspec.structs.replace(WHOLE, places=(port,)))
    assert _outcome(found, "storage.link-speed drive:A") is outcome


def test_a_reading_names_the_source_it_came_from() -> None:
    """Drives are asked with smartctl; whether a disc is in is no answer of smartctl's."""
    optical = Part(
        id="optical-drive:O",
        kind="optical-drive",
        name="o",
        place=EMPTY.id,
        block="sr0",
    )
    host = _Asked()
    found = _probe(host, msgspec.structs.replace(WHOLE, parts=(DRIVE, optical)))
    sources = {key: one.source for key, one in found.items() if isinstance(one, Reading)}
    assert sources["storage.health drive:A"] == "smartctl"
    assert (
        sources["storage.answers drive:A"] == sources["storage.answers optical-drive:O"] == "sysfs"
    )
    assert sources["storage.medium optical-drive:O"] == "the drive's tray state and udev"
    assert not any("sr0" in word for argv in host.asked for word in argv)


def test_the_generic_node_is_asked_where_there_is_one() -> None:
    """Through it no block device is opened; a kernel without sg leaves the drive's own node."""
    for files, node in ((GENERIC, "/dev/sg3"), ({}, "/dev/sda")):
        host = _Asked()
        host.files = dict(files)
        _probe(host, WHOLE)
        assert host.asked
        assert {argv[-1] for argv in host.asked} == {node}


@pytest.mark.parametrize("kind", ["scsi", "sat"])
def test_smartctl_opens_for_reading_only(kind: str, tmp_path: Path) -> None:
    """The installed smartctl under strace, told that a block device is a SCSI or SATA drive."""
    log = tmp_path / "log"
    words = ["strace", "-f", "-o", str(log), "-e", "trace=open,openat", "smartctl"]
    with loop_device(tmp_path, 1 << 20) as loop:
        subprocess.run([*words, "-i", "-d", kind, loop], capture_output=True, check=False)
    opens = [line for line in log.read_text("utf-8").splitlines() if f'"{loop}"' in line]
    assert opens
    assert all("O_RDONLY" in line and "O_RDWR" not in line for line in opens)


def test_an_ordinary_user_is_told_why() -> None:
    """Without root no command is run, and the reading says what would help."""
    host = _Asked(as_root=False)
    reading = _probe(host, WHOLE)["storage.health drive:A"]
    assert isinstance(reading, Reading)
    assert reading.outcome is Outcome.NOT_JUDGED
    assert "root" in (reading.why_not or "")
    assert host.asked == []


@pytest.mark.parametrize(("size", "outcome"), [(0, Outcome.FAILED), (10**9, Outcome.PASSED)])
def test_a_drive_of_no_size_does_not_answer(size: int, outcome: Outcome) -> None:
    """A drive that reports zero bytes is on the bus and useless."""
    block = msgspec.structs.replace(BLOCK, facts=BlockFacts(size_bytes=size))
    found = _probe(_Asked(), msgspec.structs.replace(WHOLE, devices=(block,)))
    assert _outcome(found, "storage.answers drive:A") is outcome


def test_an_nvme_drive_the_kernel_gave_up_does_not_answer() -> None:
    """State ``dead`` (drivers/nvme/host/core.c) or no namespace: it does not answer."""
    drive = Part(id="drive:N", kind="drive", name="n", place="slot:x")
    nvme = Device(
        subsystem="nvme",
        name="nvme0",
        path="/sys/n",
        component=drive.id,
        facts=NvmeFacts(state="dead"),
    )
    pci = Device(
        subsystem="pci", name="0000:01:00.0", path="/sys/p", component=drive.id, driver="nvme"
    )
    for devices in ((nvme, pci), (pci,)):
        found = _probe(_Asked(), Inventory(parts=(drive,), devices=devices))
        assert _outcome(found, "storage.answers drive:N") is Outcome.FAILED
    undriven = msgspec.structs.replace(pci, driver=None)
    found = _probe(_Asked(), Inventory(parts=(drive,), devices=(undriven,)))
    assert _outcome(found, "storage.answers drive:N") is Outcome.NOT_JUDGED
