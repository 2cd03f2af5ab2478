"""Kernel messages as readings: at which component, failed or passed, counted as incidents."""

from __future__ import annotations

from collections.abc import Sequence

from livecheck import kernel_log, knowledge
from livecheck.host import KernelMessage, Unreadable
from livecheck.probes import Context
from livecheck.probes.kernel import messages
from livecheck.records import Device, Inventory, NotTested, Outcome, Part, Place, Reading
from tests.inventory.fake_host import FakeHost

INVENTORY = Inventory(
    places=(Place(id="ata:b:1", kind="sata-port", name="port 1"),),
    parts=(
        Part(id="drive:A", kind="drive", name="a", place="ata:b:1"),
        Part(id="drive:B", kind="drive", name="b", place="ata:b:2"),
    ),
    devices=(
        Device(subsystem="ata_port", name="ata1", path="/p", component="ata:b:1"),
        Device(subsystem="block", name="sda", path="/b", component="drive:A"),
        Device(subsystem="usb", name="1-4", path="/u", component="usb-device:C"),
    ),
)


class _Mute(FakeHost):
    def kernel_log(self) -> tuple[KernelMessage, ...]:
        raise Unreadable("/dev/kmsg", 1)


def _probe(lines: Sequence[tuple[float, str]], host: FakeHost | None = None) -> list[object]:
    logged = [KernelMessage(seconds, 3, line) for seconds, line in lines]
    events = kernel_log.attach(kernel_log.events(logged), INVENTORY)
    context = Context(
        host=host or FakeHost(), inventory=INVENTORY, events=events, knowledge=knowledge.load()
    )
    return list(messages.probe(context))


def _readings(lines: Sequence[tuple[float, str]]) -> dict[str, Reading]:
    found = [one for one in _probe(lines) if isinstance(one, Reading)]
    return {f"{one.check} {one.at}": one for one in found}


def test_events_fail_at_their_drive_and_pass_at_the_other() -> None:
    """A link error at ata1 is the business of the drive there; the other drive passes."""
    found = _readings([(5.0, "ata1: SError: { UnrecovData BadCRC }")])
    assert found["kernel.storage-link drive:A"].outcome is Outcome.FAILED
    assert found["kernel.storage-link drive:B"].outcome is Outcome.PASSED
    assert found["kernel.storage-medium drive:A"].outcome is Outcome.PASSED


def test_a_burst_is_one_incident() -> None:
    """Four lines of one error report are one incident, the same two seconds later another."""
    burst = [
        (5.0, "ata1.00: exception Emask 0x10 SAct 0x0 SErr 0x400100 action 0x6 frozen"),
        (5.0, "ata1.00: irq_stat 0x08000000, interface fatal error"),
        (5.1, "ata1: SError: { UnrecovData Handshk }"),
        (5.2, "ata1.00: error: { ICRC ABRT }"),
    ]
    again = [(seconds + 2.5, line) for seconds, line in burst]
    assert _readings(burst)["kernel.storage-link drive:A"].value == 1
    assert _readings([*burst, *again])["kernel.storage-link drive:A"].value == 2


def test_one_reset_is_no_fault_and_three_are() -> None:
    """A USB device is reset at every wake-up; again and again it is a fault."""
    line = "usb 1-4: reset high-speed USB device number 3 using xhci_hcd"
    assert "kernel.usb usb-device:C" not in _readings([(1.0, line)])
    found = _readings([(1.0, line), (9.0, line), (20.0, line)])
    assert found["kernel.usb usb-device:C"].outcome is Outcome.FAILED


def test_unknown_and_unplaced_lines_are_told() -> None:
    """Lines that lead nowhere are shown with their number and judge nothing."""
    found = _readings([(1.0, "ata9.00: error: { UNC }"), (2.0, "ata9.00: never seen before")])
    for check in ("kernel.unplaced", "kernel.unknown"):
        assert found[f"{check} machine"].outcome is Outcome.NOT_JUDGED
        assert found[f"{check} machine"].value == 1


def test_an_unreadable_log_is_not_a_clean_one() -> None:
    """Without the log nothing passes."""
    (only,) = _probe([], _Mute())
    assert isinstance(only, NotTested)
    assert "root" in only.why
