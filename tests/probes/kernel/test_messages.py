"""Kernel messages as readings: at which component, failed or passed, counted as incidents."""

from __future__ import annotations

from collections.abc import Sequence

from livecheck import kernel_log, knowledge
from livecheck.host import KernelMessage, Unreadable
from livecheck.probes import Context
from livecheck.probes.kernel import messages
from livecheck.probes.kernel.checks import MANY_CORRECTED
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
        Device(subsystem="usb", name="usb1", path="/r", component="pci:usb"),
        Device(subsystem="pci", name="0000:00:1c.0", path="/c", component="slot:c"),
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


def test_silence_does_not_pass_where_lines_could_not_be_placed() -> None:
    """A medium error of a drive that is gone might be any drive's."""
    found = _readings([(1.0, "ata9.00: error: { UNC }")])
    reading = found["kernel.storage-medium drive:A"]
    assert reading.outcome is Outcome.NOT_JUDGED
    assert "not there" in (reading.why_not or "")
    assert found["kernel.storage-link drive:A"].outcome is Outcome.PASSED


def test_silence_does_not_pass_where_lines_are_not_known() -> None:
    """What livecheck cannot read at a drive leaves that drive's questions open."""
    found = _readings([(1.0, "ata1.00: never seen before")])
    assert found["kernel.storage-medium drive:A"].outcome is Outcome.NOT_JUDGED
    assert found["kernel.storage-medium drive:B"].outcome is Outcome.PASSED


def test_one_silent_log_is_two_witnesses_not_five() -> None:
    """That nothing timed out, fell off its bus or lost step is the same silence again."""
    found = _readings([])
    assert {key for key in found if key.endswith("drive:A")} == {
        "kernel.storage-medium drive:A",
        "kernel.storage-link drive:A",
    }


def test_incidents_and_their_time_stand_in_the_reading() -> None:
    """Three failures in eight minutes are not one: the count is the value, the time is told."""
    line = "ata1.00: error: { UNC }"
    reading = _readings([(10.0, line), (200.0, line), (490.0, line)])[
        "kernel.storage-medium drive:A"
    ]
    assert (reading.value, reading.unit) == (3, "incidents")
    assert "3 times in 480 s" in reading.says


def test_ports_that_switch_off_together_blame_none_of_them() -> None:
    """A device that shorts the supply of all ports (kernel: over-current at each of them)."""
    lines = [(5.0 + n / 10, f"usb usb1-port{n}: over-current condition") for n in (4, 5, 6)]
    found = {k: r for k, r in _readings(lines).items() if k.startswith("kernel.usb-power")}
    (reading,) = found.values()
    assert (reading.outcome, reading.value, reading.unit) == (Outcome.NOT_JUDGED, 3, "ports")
    (alone,) = [r for k, r in _readings(lines[:1]).items() if k.startswith("kernel.usb-power")]
    assert (alone.outcome, alone.at) == (Outcome.FAILED, "usb-device:C")


def test_corrected_errors_of_a_link_are_told_and_not_judged() -> None:
    """Documentation/PCI/pcieaer-howto.rst: corrected errors lose no information."""
    line = (
        "pcieport 0000:00:1c.0: PCIe Bus Error: severity=Corrected, type=Physical Layer, "
        "(Receiver ID)"
    )
    found = _readings([(float(n), line) for n in range(20)])
    corrected = [r for r in found.values() if r.check == "kernel.pcie-corrected"]
    assert [(r.outcome, r.value) for r in corrected] == [(Outcome.NOT_JUDGED, 20)]
    assert not [r for r in found.values() if r.outcome is Outcome.FAILED]


def test_the_embedded_controller_may_be_late_once() -> None:
    """Seen on sound machines at waking up; again and again it is a fault."""
    line = "ACPI Error: AE_TIME, Returned by Handler for [EmbeddedControl] (20201113/evregion-294)"
    once = _readings([(20776.7, line)])["kernel.embedded-controller machine"]
    often = _readings([(float(n * 60), line) for n in range(3)])
    assert once.outcome is Outcome.NOT_JUDGED
    assert often["kernel.embedded-controller machine"].outcome is Outcome.FAILED


def test_a_machine_check_is_read_by_what_it_reports() -> None:
    """Intel SDM: code 0x0151 is a cache of the processor, 0x009f the memory controller."""
    line = "mce: [Hardware Error]: CPU 1: Machine Check: 0 Bank 2: %s"
    cache = _readings([(1.0, line % "b000000000000151")])
    memory = _readings([(1.0, line % "9c0000400001009f")])
    assert cache["kernel.processor-check machine"].outcome is Outcome.FAILED
    assert cache["kernel.machine-check machine"].outcome is Outcome.PASSED
    assert memory["kernel.machine-check machine"].outcome is Outcome.FAILED
    assert "kernel.processor-check machine" not in memory


def test_a_cache_that_repairs_a_word_is_no_fault_until_it_does_so_often() -> None:
    """Bit 61 clear: corrected (Intel SDM, IA32_MCi_STATUS); memory counts from the first on."""
    line = "mce: [Hardware Error]: CPU 1: Machine Check: 0 Bank 2: 9000000000000151"
    once = _readings([(1.0, line)])
    often = _readings([(60.0 * minute, line) for minute in range(MANY_CORRECTED)])
    assert "kernel.processor-check machine" not in once
    assert once["kernel.processor-corrected machine"].outcome is Outcome.NOT_JUDGED
    assert often["kernel.processor-corrected machine"].outcome is Outcome.FAILED


def test_memory_is_told_from_the_caches_on_amd() -> None:
    """mce_amd.c: a memory controller's ECC error has the code of the level behind all caches."""
    head = "[Hardware Error]: CPU:1 (17:1:1) MC17_STATUS[Over|CE|MiscV|AddrV|-|SyndV|%s|-|-|-]: "
    found = _readings([(1.0, head % "CECC" + "0xdc2040000000011b")])
    assert found["kernel.machine-check machine"].outcome is Outcome.FAILED


def test_what_the_firmware_notes_of_itself_accuses_nothing() -> None:
    """UEFI, Common Platform Error Record: the sections say what a record speaks of."""
    lines = [
        "BERT: Error records from previous boot:",
        "[Hardware Error]: event severity: fatal",
        "[Hardware Error]:   section_type: Firmware Error Record Reference",
    ]
    found = _readings([(1.0, line) for line in lines])
    assert found["kernel.machine-check machine"].outcome is Outcome.PASSED


def test_a_processor_that_stood_still_is_weighed_apart_from_crashes() -> None:
    """Documentation/admin-guide/lockup-watchdogs.rst: whatever keeps it from scheduling."""
    found = _readings([(1.0, "watchdog: BUG: soft lockup - CPU#3 stuck for 22s! [x:1]")])
    assert found["kernel.stall machine"].outcome is Outcome.FAILED
    assert "kernel.crash machine" not in found


def test_a_crash_of_the_kernel_is_a_failure_of_the_machine() -> None:
    """Wrong addresses in the kernel: bad memory's usual face, and others'."""
    line = "BUG: unable to handle page fault for address: ffffb0f2c0d2d000"
    found = _readings([(1.0, line)])
    assert found["kernel.crash machine"].outcome is Outcome.FAILED


def test_what_follows_a_time_out_is_no_second_fault() -> None:
    """One incident of a public thread: a command times out, then the drive is out of step."""
    found = _readings(
        [
            (49.9, "ata1.00: qc timeout (cmd 0xec)"),
            (49.98, "ata1.00: revalidation failed (errno=-5)"),
            (300.0, "ata1.00: revalidation failed (errno=-5)"),
        ]
    )
    assert found["kernel.storage-timeout drive:A"].value == 1
    late = found["kernel.storage-protocol drive:A"]
    assert (late.outcome, late.value) == (Outcome.FAILED, 1)
