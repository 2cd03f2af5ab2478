"""Status codes in the kernel's messages: each with the layer its own definition speaks of.

Names and numbers of host bytes: Linux include/scsi/scsi_status.h, whose comments say what each
is for. NVMe's statuses: NVM Express Base Specification 2.0, 3.3.3.2 "Status Field Definition",
worded as Linux drivers/nvme/host/constants.c does (both from memory).
"""

from __future__ import annotations

import pytest

from livecheck import kernel_log
from livecheck.host import KernelMessage
from livecheck.kernel_log import nvme, scsi

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
