"""Kernel messages of known meaning give the expected layer and device (kernel_lines.py)."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from livecheck import kernel_log
from livecheck.host import KernelMessage
from livecheck.kernel_log import words
from livecheck.kmsg import parse_kmsg
from livecheck.records import Device, Inventory, KernelEvent, Part, Place
from tests.kernel_lines import ALL


def _message(text: str, priority: int = 3, device: str | None = None) -> KernelMessage:
    return KernelMessage(12.5, priority, text, device)


@pytest.mark.parametrize(("line", "layer", "device", "serious"), ALL)
def test_line(line: str, layer: str, device: str | None, serious: bool) -> None:
    """Each line gives one event with the layer its source means by it."""
    (event,) = kernel_log.events([_message(line)])
    assert (event.layer, event.device, event.serious) == (layer, device, serious)
    assert event.raw == line
    assert event.seconds == 12.5
    assert event.says != kernel_log.UNKNOWN


@pytest.mark.parametrize(
    ("blame", "mask", "layer", "serious"),
    [
        ("host bus error", 0x20, "host bus", True),
        ("ATA bus error", 0x10, "link", True),
        ("timeout", 0x4, "timeout", True),
        ("HSM violation", 0x2, "protocol", True),
        ("media error", 0x9, "medium", True),
        ("internal error", 0x40, "other", True),
        ("device error", 0x1, "protocol", False),
        ("invalid argument", 0x80, "protocol", False),
    ],
)
def test_kernels_own_blame(blame: str, mask: int, layer: str, serious: bool) -> None:
    """The word of ata_err_string() decides, on a second line of the same message."""
    command = "ata4.00: cmd 60/08:00:00:08:00/00:00:00:00:00/40 tag 0 ncq dma 4096 in"
    result = f"         res 41/40:00:00:08:00/00:00:00:00:00/40 Emask {mask:#x} ({blame}) <F>"
    record = f"3,100,12500000,-;{command}\\x0a{result}".encode()
    first, second = kernel_log.events(tuple(parse_kmsg(iter([record]))))
    assert (first.serious, first.device) == (False, "ata4.00")
    assert (second.layer, second.device, second.serious) == (layer, "ata4.00", serious)


def test_mask_priority() -> None:
    """Of several bits the kernel names host bus > ATA bus > timeout > ... (libata-eh.c)."""
    assert words.blame_of_mask(0x3F) == ("host bus", "host bus error")
    assert words.blame_of_mask(0x1D) == ("link", "ATA bus error")
    assert words.blame_of_mask(0x0D) == ("timeout", "timeout")
    assert words.blame_of_mask(0x09) == ("medium", "media error")
    assert words.blame_of_mask(0) is None


def test_unknown_lines_are_kept_not_guessed() -> None:
    """A warning of a known subsystem that no rule knows is kept as other; small talk is not."""
    found = kernel_log.events(
        [
            _message("ata7.00: something never seen before", 4),
            _message("ata7.00: something never seen before", 6),
            _message("audit: type=1400", 4),
        ]
    )
    assert [(e.layer, e.device, e.serious) for e in found] == [("other", "ata7.00", False)]
    assert kernel_log.unknown(found) == found


def test_device_by_kernels_own_tag() -> None:
    """Where the line names no device, the record's DEVICE= does (Documentation/ABI dev-kmsg)."""
    (event,) = kernel_log.events([_message("amdgpu: GPU reset begin!", 3, "+pci:0000:04:00.0")])
    assert event.device == "0000:04:00.0"


def _inventory() -> Inventory:
    return Inventory(
        places=(
            Place(id="ata:0000:00:17.0:3", kind="sata-port", name="SATA port 3"),
            Place(id="usb:1-4", kind="usb-port", name="USB port 1-4"),
            Place(id="slot:0000:00:1c.0", kind="pcie-slot", name="slot"),
        ),
        parts=(
            Part(id="drive:X1", kind="drive", name="a drive", place="ata:0000:00:17.0:3"),
            Part(id="drive:N1", kind="drive", name="an NVMe", place="slot:0000:00:1c.0"),
        ),
        devices=(
            Device(subsystem="block", name="sda", path="/sys/a", component="drive:X1"),
            Device(subsystem="scsi", name="2:0:0:0", path="/sys/b", component="drive:X1"),
            Device(
                subsystem="ata_port", name="ata3", path="/sys/c", component="ata:0000:00:17.0:3"
            ),
            Device(subsystem="nvme", name="nvme0", path="/sys/d", component="drive:N1"),
            Device(subsystem="pci", name="0000:01:00.0", path="/sys/e", component="drive:N1"),
        ),
    )


@pytest.mark.parametrize(
    ("device", "component"),
    [
        ("ata3.00", "drive:X1"),
        ("ata3", "drive:X1"),
        ("sda", "drive:X1"),
        ("sda2", "drive:X1"),
        ("2:0:0:0", "drive:X1"),
        ("nvme0", "drive:N1"),
        ("nvme0n1", "drive:N1"),
        ("0000:01:00.0", "drive:N1"),
        ("1-4", "usb:1-4"),
        ("usb1-port4", "usb:1-4"),
        ("ata9.00", None),
        ("nvme7", None),
        (None, None),
    ],
)
def test_attach(device: str | None, component: str | None) -> None:
    """The kernel's names lead to the part, else to the place that stays."""
    event = KernelEvent(seconds=1, layer="link", device=device, says="x", raw="x")
    assert kernel_log.attach([event], _inventory())[0].component == component


def _mutations() -> st.SearchStrategy[str]:
    lines = st.sampled_from([case[0] for case in ALL])
    cut = st.tuples(lines, st.integers(0, 200), st.integers(0, 200)).map(
        lambda t: t[0][: t[1]] + t[0][t[2] :]
    )
    noise = st.tuples(lines, st.integers(0, 200), st.text(max_size=40)).map(
        lambda t: t[0][: t[1]] + t[2] + t[0][t[1] :]
    )
    joined = st.tuples(lines, lines).map("".join)
    return st.one_of(cut, noise, joined, st.text(max_size=300))


@settings(max_examples=600, deadline=None)
@given(st.lists(_mutations(), max_size=4))
def test_never_raises(lines: list[str]) -> None:
    """Whatever a line holds, an event has a known layer and the line it came from."""
    for event in kernel_log.attach(
        kernel_log.events([_message(line) for line in lines]), _inventory()
    ):
        assert event.layer in words.LAYERS
        assert any(event.raw in line for line in lines)


def _long_lines() -> Iterator[str]:
    for line in (case[0] for case in ALL):
        yield line.split(":")[0] + ": " + "9" * 100_000
        yield line + " " * 100_000


def test_long_lines_are_cut() -> None:
    """A line of 100,000 characters costs no more than one of the kernel's longest."""
    for line in _long_lines():
        for event in kernel_log.events([_message(line)]):
            assert len(event.raw) <= kernel_log.LONGEST
