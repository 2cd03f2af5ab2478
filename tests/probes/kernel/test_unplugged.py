"""What the kernel says of the bench's own stick when a hand pulls it accuses nothing.

The screen says that the stick may be pulled. Lines as Linux 6.12 wrote them in the virtual
laptop, and by drivers/usb/core/hub.c, drivers/scsi/sd.c (sd_shutdown flushes what is gone
already), scsi_logging.c and block/blk-core.c for a pull in the middle of a write.
"""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from livecheck import kernel_log, knowledge
from livecheck.host import KernelMessage
from livecheck.probes import Context
from livecheck.probes.kernel import messages
from livecheck.records import Device, Inventory, Outcome, Part, Reading
from tests.inventory.fake_host import FakeHost

Lines = Sequence[tuple[float, str]]
PULLED: Lines = (
    (137.05, "usb 2-1: USB disconnect, device number 2"),
    (137.27, "sd 6:0:0:0: [sdb] Synchronizing SCSI cache"),
    (137.28, "sd 6:0:0:0: [sdb] Synchronize Cache(10) failed: "
             "Result: hostbyte=DID_NO_CONNECT driverbyte=DRIVER_OK"),
    (140.37, "FAT-fs (sdb1): unable to read boot sector to mark fs as dirty"),
)  # fmt: skip
WRITING: Lines = (
    (136.9, "sd 6:0:0:0: [sdb] tag#0 FAILED Result: hostbyte=DID_ERROR driverbyte=DRIVER_OK"),
    (137.0, "I/O error, dev sdb, sector 2048 op 0x1:(WRITE) flags 0x800 phys_seg 1 prio class 2"),
    *PULLED,
    (141.0, "device offline error, dev sdb, sector 4096 op 0x1:(WRITE) flags 0x800 phys_seg 1"),
)  # fmt: skip
MEDIUM = "critical medium error, dev sdb, sector 4096 op 0x0:(READ) flags 0x0 phys_seg 1"
INTERNAL = Part(id="drive:A", kind="drive", name="a", place="ata:b:1")
STICK = Part(id="drive:S", kind="drive", name="s", place="usb:2-2", bench_own=True)


def _readings(lines: Lines, *parts: Part) -> dict[str, Reading]:
    devices = [Device(subsystem="block", name="sda", path="/a", component="drive:A")]
    if len(parts) > 1:
        devices.append(Device(subsystem="block", name="sdb", path="/s", component=parts[1].id))
    found = Inventory(parts=parts, devices=tuple(devices))
    logged = [KernelMessage(seconds, 3, line) for seconds, line in lines]
    events = kernel_log.attach(kernel_log.events(logged), found)
    context = Context(host=FakeHost(), inventory=found, events=events, knowledge=knowledge.load())
    told = [one for one in messages.probe(context) if isinstance(one, Reading)]
    return {f"{one.check} {one.at}": one for one in told}


def _failed(lines: Lines, *parts: Part) -> set[str]:
    found = _readings(lines, *parts)
    return {name for name, one in found.items() if one.outcome is Outcome.FAILED}


@pytest.mark.parametrize("lines", [PULLED, WRITING])
def test_a_pulled_stick_accuses_neither_port_nor_stick(lines: Lines) -> None:
    """Nor does it pass: a contact that let go would look the same."""
    assert _failed(lines, INTERNAL, STICK) == set()
    found = _readings(lines, INTERNAL, STICK)
    link = found["kernel.storage-link drive:S"]
    assert (link.outcome, link.value) == (Outcome.NOT_JUDGED, 1)
    assert "pulled" in (link.why_not or "") and link.details
    assert found["kernel.storage-link drive:A"].outcome is Outcome.PASSED


def test_what_the_stick_says_at_other_times_counts() -> None:
    """A port that damages transfers is found by the stick in it, pulled before or not."""
    later = (400.0, "sd 6:0:0:0: [sdb] tag#0 FAILED Result: hostbyte=DID_NO_CONNECT")
    assert _failed((*PULLED, later), INTERNAL, STICK) == {"kernel.storage-link drive:S"}
    bad = (138.0, MEDIUM)
    assert _failed((*PULLED, bad), INTERNAL, STICK) == {"kernel.storage-medium drive:S"}


def test_a_drive_of_the_customers_that_lets_go_counts() -> None:
    """Nobody was told that it may be pulled."""
    theirs = Part(id="drive:U", kind="drive", name="u", place="usb:2-2")
    assert "kernel.storage-link drive:U" in _failed(PULLED, INTERNAL, theirs)


def test_with_the_stick_still_out_the_other_drives_pass() -> None:
    """The lines name a drive that is no longer there; what left a USB port is no drive inside."""
    found = _readings(PULLED, INTERNAL)
    assert found["kernel.storage-link drive:A"].outcome is Outcome.PASSED
    assert found["kernel.unplaced machine"].outcome is Outcome.NOT_JUDGED
    unplugged = [line for line in PULLED if "disconnect" not in line[1]]
    open_yet = _readings(unplugged, INTERNAL)["kernel.storage-link drive:A"]
    assert open_yet.outcome is Outcome.NOT_JUDGED
