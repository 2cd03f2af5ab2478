"""Status codes in the kernel's messages: each with the layer its own definition speaks of.

Names and numbers of host bytes: Linux include/scsi/scsi_status.h, whose comments say what each
is for. NVMe's statuses: NVM Express Base Specification 2.0, 3.3.3.2 "Status Field Definition",
worded as Linux drivers/nvme/host/constants.c does (both from memory). Bits of libata's error mask:
Linux include/linux/libata.h, enum ata_completion_errors; of SError: include/linux/ata.h, SERR_*.
Numbers of errors: Python's errno, which is the C library's; EPROBE_DEFER: include/linux/errno.h.
Block statuses: block/blk-core.c, blk_errors.
"""

from __future__ import annotations

import errno

import pytest

from livecheck import kernel_log
from livecheck.host import KernelMessage
from livecheck.kernel_log import block, errnos, nvme, registers, scsi

HOST_BYTES = [
    ("DID_OK", "other", False),
    ("DID_NO_CONNECT", "link", True),
    ("DID_BUS_BUSY", "other", False),
    ("DID_TIME_OUT", "timeout", True),
    ("DID_BAD_TARGET", "link", True),
    ("DID_ABORT", "other", False),
    ("DID_PARITY", "link", True),
    ("DID_ERROR", "protocol", True),
    ("DID_RESET", "link", False),
    ("DID_BAD_INTR", "host bus", True),
    ("DID_PASSTHROUGH", "other", False),
    ("DID_SOFT_ERROR", "protocol", False),
    ("DID_IMM_RETRY", "other", False),
    ("DID_REQUEUE", "other", False),
    ("DID_TRANSPORT_DISRUPTED", "link", True),
    ("DID_TRANSPORT_FAILFAST", "link", True),
]
"""In the order of their numbers, from 0."""

NVME = [
    (0x0, 0x04, "Data Transfer Error", "host bus", True),
    (0x0, 0x05, "Commands Aborted due to Power Loss Notification", "protocol", True),
    (0x0, 0x06, "Internal Error", "protocol", True),
    (0x0, 0x07, "Command Abort Requested", "timeout", False),
    (0x0, 0x08, "Command Aborted due to SQ Deletion", "timeout", False),
    (0x0, 0x15, "Operation Denied", "protocol", False),
    (0x0, 0x20, "Namespace is Write Protected", "protocol", False),
    (0x0, 0x22, "Transient Transport Error", "link", True),
    (0x0, 0x82, "Namespace Not Ready", "timeout", True),
    (0x2, 0x80, "Write Fault", "medium", True),
    (0x2, 0x81, "Unrecovered Read Error", "medium", True),
    (0x2, 0x82, "End-to-end Guard Check Error", "link", True),
    (0x2, 0x83, "End-to-end Application Tag Check Error", "link", True),
    (0x2, 0x84, "End-to-end Reference Tag Check Error", "link", True),
    (0x2, 0x85, "Compare Failure", "protocol", False),
    (0x2, 0x86, "Access Denied", "protocol", False),
    (0x2, 0x87, "Deallocated or Unwritten Logical Block", "other", False),
    (0x2, 0x88, "End-to-End Storage Tag Check Error", "link", True),
    (0x3, 0x70, "Host Pathing Error", "link", True),
    (0x3, 0x71, "Host Aborted Command", "timeout", False),
]


def _judged(line: str) -> tuple[str, bool]:
    (event,) = kernel_log.events([KernelMessage(seconds=1.0, priority=3, text=line)])
    return event.layer, event.serious


@pytest.mark.parametrize(("number", "row"), list(enumerate(HOST_BYTES)))
def test_a_host_byte_by_name_and_by_number(number: int, row: tuple[str, str, bool]) -> None:
    name, layer, serious = row
    for byte in (name, f"{number:#04x}"):
        line = f"sd 0:0:0:0: [sda] tag#0 FAILED Result: hostbyte={byte} driverbyte=DRIVER_OK"
        assert _judged(line) == (layer, serious)


@pytest.mark.parametrize(("kind", "code", "words", "layer", "serious"), NVME)
def test_a_status_of_nvme(kind: int, code: int, words: str, layer: str, serious: bool) -> None:
    line = f"nvme0n1: Read(0x2) @ LBA 0, 8 blocks, {words} (sct {kind:#x} / sc {code:#x}) "
    assert _judged(line) == (layer, serious)


def test_no_status_is_missing_from_the_tests() -> None:
    """A row more in the program needs one here."""
    assert len(NVME) == len(nvme._STATUS) and len(HOST_BYTES) == len(scsi._HOST_BYTES)


@pytest.mark.parametrize(
    ("kind", "layer", "serious"),
    [
        (0, "protocol", False),
        (1, "protocol", False),
        (2, "medium", True),
        (3, "link", True),
        (7, "protocol", False),
    ],
)
def test_a_status_of_nvme_that_nobody_listed(kind: int, layer: str, serious: bool) -> None:
    """By its kind alone: a command that was refused, the medium, the path, the maker's own."""
    line = f"nvme0n1: Read(0x2) @ LBA 0, 8 blocks, Unknown (sct {kind:#x} / sc 0x5e) "
    assert _judged(line) == (layer, serious)


MASK = ("protocol", "protocol", "timeout", "medium", "link", "host bus", "other", "protocol", None,
        None, "protocol")  # fmt: skip
"""AC_ERR_DEV, HSM, TIMEOUT, MEDIA, ATA_BUS, HOST_BUS, SYSTEM, INVALID, OTHER, NODEV_HINT, NCQ."""


def test_each_bit_of_libatas_error_mask() -> None:
    for bit, layer in enumerate(MASK):
        found = registers.blame_of_mask(1 << bit)
        assert (found[0] if found else None) == layer, bit
    assert registers.blame_of_mask(0) is None


SERR = {
    1 << 0: "RecovData", 1 << 1: "RecovComm", 1 << 8: "UnrecovData", 1 << 9: "Persist",
    1 << 10: "Proto", 1 << 11: "HostInt", 1 << 16: "PHYRdyChg", 1 << 17: "PHYInt",
    1 << 18: "CommWake", 1 << 19: "10B8B", 1 << 20: "Dispar", 1 << 21: "BadCRC",
    1 << 22: "Handshk", 1 << 23: "LinkSeq", 1 << 24: "TrStaTrns", 1 << 25: "UnrecFIS",
    1 << 26: "DevExch",
}  # fmt: skip


def test_each_bit_of_serror() -> None:
    for bit in range(32):
        named = SERR.get(1 << bit)
        assert registers.bits(1 << bit, registers.S_ERROR) == ((named,) if named else ())


def test_errors_that_a_driver_meets_before_it_asks_its_device() -> None:
    names = ("EPERM", "ENOENT", "EAGAIN", "ENOMEM", "EBUSY", "EEXIST", "EINVAL", "ENOSPC", "ENOSYS",
             "EOPNOTSUPP")  # fmt: skip
    assert {getattr(errno, name) for name in names} | {517} == errnos.SET_UP


BLOCK = [
    ("critical medium", "medium", True), ("critical target", "protocol", True),
    ("critical nexus", "protocol", True), ("reservation conflict", "protocol", False),
    ("operation not supported", "other", False), ("timeout", "timeout", True),
    ("recoverable transport", "link", True), ("transport", "link", True),
    ("protection", "link", True), ("device offline", "timeout", True),
    ("command duration limit", "timeout", False), ("duration limit exceeded", "timeout", False),
    ("critical space allocation", "other", False), ("kernel resource", "other", False),
    ("device resource", "other", False), ("I/O", "other", True),
]  # fmt: skip


@pytest.mark.parametrize(("words", "layer", "serious"), BLOCK)
def test_a_status_of_the_block_layer(words: str, layer: str, serious: bool) -> None:
    """With the name of the function before it, as Linux wrote it once, and without; a loop
    device's is no drive's."""
    line = f"{words} error, dev {{}}, sector 2048 op 0x0:(READ) flags 0x0 phys_seg 1 prio class 2"
    for before in ("", "blk_update_request: "):
        assert _judged(before + line.format("sda")) == (layer, serious)
        assert _judged(before + line.format("loop7")) == (layer, False)
    assert len(BLOCK) == len(block._ERRORS)


SENSE = [
    ("Medium Error", "medium", True), ("Hardware Error", "medium", True),
    ("Aborted Command", "protocol", True), ("Recovered Error", "medium", False),
    ("Not Ready", "other", False), ("Illegal Request", "other", False),
    ("Unit Attention", "other", False), ("No Sense", "other", False),
    ("Data Protect", "other", False), ("Blank Check", "medium", False),
]  # fmt: skip


@pytest.mark.parametrize(("key", "layer", "serious"), SENSE)
def test_a_sense_key(key: str, layer: str, serious: bool) -> None:
    """SPC-4, 4.5.6, worded as Linux drivers/scsi/constants.c does (from memory)."""
    assert _judged(f"sd 0:0:0:0: [sda] tag#0 Sense Key : {key} [current] ") == (layer, serious)
    assert len(SENSE) == len(registers.SENSE_KEYS)


@pytest.mark.parametrize(("later", "device"), [(0.0, "ata3.00"), (1.9, "ata3.00"), (2.1, None)])
def test_a_line_that_names_no_port(later: float, device: str | None) -> None:
    """It is of the port that spoke last, in one report (kernel_log.context, NEAR_SECONDS)."""
    lines = ((10.0, "ata3.00: failed command: READ DMA EXT"),
             (10.0 + later, "         res 51/40:00:ff/00:00/00 Emask 0x9 (media error)"),
             (11.0, "sd 2:0:0:0: [sda] Attached SCSI disk"))  # fmt: skip
    _, found, *_ = kernel_log.events([KernelMessage(s, 3, text) for s, text in lines])
    assert (found.device, found.layer) == (device, "medium")
