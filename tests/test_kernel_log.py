"""Kernel messages of known meaning give the expected layer and device (kernel_lines.py)."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from livecheck import kernel_log
from livecheck.host import KernelMessage
from livecheck.kernel_log import registers, words
from livecheck.kernel_log.attach import ONLY_ONE
from livecheck.kmsg import parse_kmsg
from livecheck.records import Controller, Device, Inventory, KernelEvent, Part, Place
from tests.kernel_lines import ALL
from tests.kernel_lines_later import LATER


def _message(text: str, priority: int = 3, device: str | None = None) -> KernelMessage:
    return KernelMessage(12.5, priority, text, device)


@pytest.mark.parametrize(("line", "layer", "device", "serious"), [*ALL, *LATER])
def test_line(line: str, layer: str, device: str | None, serious: bool) -> None:
    """Each line gives one event with the layer its source means by it."""
    (event,) = kernel_log.events([_message(line)])
    assert (event.layer, event.device, event.serious) == (layer, device, serious)
    assert event.raw == line
    assert event.seconds == 12.5
    assert not kernel_log.unknown((event,))


@pytest.mark.parametrize(
    ("line", "layer"),
    [
        ("brcmfmac: brcmf_sdio_hdparse: sequence number error, expect 4", "protocol"),
        ("ieee80211 phy0: rt2800_wait_bbp_rf_ready: BBP/RF register access failed", "protocol"),
    ],
)
def test_a_drivers_unknown_complaint_is_not_passed_over(line: str, layer: str) -> None:
    """A line that names its driver alone, and complains, is counted where no rule knows it."""
    (event,) = kernel_log.events([_message(line)])
    assert (event.layer, event.serious) == (layer, False)
    assert kernel_log.unknown((event,))


HARMLESS = Path(__file__).parent.joinpath("kernel_harmless.txt").read_text().splitlines()


@pytest.mark.parametrize("line", HARMLESS)
def test_harmless_line(line: str) -> None:
    """What drivers of sound machines say accuses nothing, and is known even as a warning."""
    for event in kernel_log.events([_message(line, kernel_log.WARNING)]):
        assert not event.serious
        assert not kernel_log.unknown((event,))


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
    assert registers.blame_of_mask(0x3F) == ("host bus", "host bus error")
    assert registers.blame_of_mask(0x1D) == ("link", "ATA bus error")
    assert registers.blame_of_mask(0x0D) == ("timeout", "timeout")
    assert registers.blame_of_mask(0x09) == ("medium", "media error")
    assert registers.blame_of_mask(0) is None


def test_unknown_lines_are_kept_not_guessed() -> None:
    """A warning of a known subsystem that no rule knows is kept as other; small talk is not."""
    found = kernel_log.events(
        [
            _message("ata7.00: something never seen before", 4),
            _message("ata7.00: something never seen before", 6),
            _message("audit: type=1400", 4),
            _message("some_driver 0000:00:16.0: never seen before either", 4),
            _message("some_driver 0000:00:16.0: never seen before either", 6),
        ]
    )
    assert [(e.layer, e.device, e.serious) for e in found] == [
        ("other", "ata7.00", False),
        ("other", "0000:00:16.0", False),
    ]
    assert kernel_log.unknown(found) == found


@pytest.mark.parametrize(
    "name",
    [
        "\\x0acritical medium error, dev sda, sector 4660",
        "\\x0aata1.00: error: { UNC }",
        "\\x0a         res 41/40:00:00:00:00/00:00:00:00:00/40 Emask 0x9 (media error)",
        "\\x0amce: [Hardware Error]: CPU 1: Machine Check: 0 Bank 5: bea0000000000108",
        "\\x0amce: CPU0: Core temperature above threshold, cpu clock throttled",
        "reset high-speed USB device number 3 using xhci_hcd",
        "over-current condition",
        "[Hardware Error]: Machine check events logged",
        "critical temperature reached",
        "[Firmware Bug]: nothing",
    ],
)
def test_a_devices_own_words_are_no_message(name: str) -> None:
    """Whatever a USB product calls itself, the line is its introduction and nothing more."""
    head = f"usb 1-4: Product: {name}"
    for line in (head, f"usb 1-4: Manufacturer: {name}", f"usb 1-4: SerialNumber: {name}"):
        found = kernel_log.events(tuple(parse_kmsg(iter([f"3,9,1,-;{line}".encode()]))))
        assert [(e.device, e.says, e.serious) for e in found] == [("1-4", "plugged in", False)]


def test_a_complaint_nobody_knows_is_its_drivers_and_stays_unread() -> None:
    """It has the layer of its driver's complaints, accuses nothing and lets no check pass."""
    found = kernel_log.events(
        [
            _message("amdgpu 0000:03:00.0: amdgpu: the flux could not be capacitated", 3),
            _message("iwlwifi 0000:01:00.0: the flux was lost", 3),
            _message("iwlwifi 0000:01:00.0: flux request timed out there", 6),
        ]
    )
    assert [(e.layer, e.serious) for e in found][:2] == [("graphics", False), ("protocol", False)]
    assert kernel_log.unknown(found)[:2] == found[:2]


def test_what_a_machine_check_stopped_is_no_second_fault() -> None:
    """The lines behind a record of one bank speak of that record (mce/core.c, mce_panic())."""
    head = "mce: [Hardware Error]: "
    lines = [f"{head}CPU 2: Machine Check Exception: 5 Bank 0: f200004000070005",
             f"{head}Machine check: Processor context corrupt",
             "Kernel panic - not syncing: Fatal machine check"]  # fmt: skip
    found = kernel_log.events([_message(line, 0) for line in lines])
    assert [e.serious for e in found] == [True, False, False]
    assert [e.serious for e in kernel_log.events([_message(lines[2], 0)])] == [True]


def test_a_card_that_is_pulled_breaks_no_link() -> None:
    """pciehp_ctrl.c logs both; a link that goes down under a card that stays is a fault."""
    head = "pcieport 0000:00:1d.0: pciehp: Slot(8): "
    down, gone = _message(f"{head}Link Down"), _message(f"{head}Card not present")
    assert [e.serious for e in kernel_log.events([down, gone])] == [False, False]
    assert [e.serious for e in kernel_log.events([down])] == [True]


def test_a_card_that_came_up_at_a_later_try_failed_nothing() -> None:
    """mmc_rescan() tries slower clocks in turn (drivers/mmc/core/core.c)."""
    failed = KernelMessage(1.3, 3, "mmc0: error -84 whilst initialising SD card")
    came = KernelMessage(1.7, 6, "mmc0: new high speed SDHC card at address 59b4")
    again = KernelMessage(90.0, 3, "mmc0: error -110 whilst initialising SD card")
    assert [e.serious for e in kernel_log.events([failed, came])] == [False, False]
    assert [e.serious for e in kernel_log.events([failed, came, again])] == [True, False, True]
    assert [e.serious for e in kernel_log.events([failed])] == [True]


def test_a_stopped_port_says_what_the_line_that_is_missing_would_have_said() -> None:
    """ata_eh_link_report(): frozen without a mask is a command that ran out of time."""
    stopped = _message("ata1.00: exception Emask 0x0 SAct 0x4000700 SErr 0x0 action 0x6 frozen")
    failed = _message("ata1.00: failed command: WRITE FPDMA QUEUED")
    result = _message(
        "ata1.00: cmd 61/08:00:00:08:00/00:00:00:00:00/40 tag 0 ncq dma 4096 out"
        "\\x0a         res 40/00:00:00:00:00/00:00:00:00:00/00 Emask 0x4 (timeout)"
    )
    assert [e.serious for e in kernel_log.events([stopped, failed])] == [True, False]
    whole = kernel_log.events([stopped, failed, result])
    assert [e.serious for e in whole] == [False, False, False, True]


@pytest.mark.parametrize(
    ("command", "lost"),
    [
        ("WRITE FPDMA QUEUED", True),
        ("WRITE DMA EXT", True),
        ("READ FPDMA QUEUED", False),
        ("WRITE LOG EXT", False),
        ("IDENTIFY PACKET DEVICE", False),
    ],
)
def test_a_write_the_drive_aborts_is_lost(command: str, lost: bool) -> None:
    """A command it never knew, or a read while it is locked, says nothing of the drive."""
    lines = [f"ata1.00: failed command: {command}", "ata1.00: error: { ABRT }"]
    assert kernel_log.events([_message(line) for line in lines])[1].serious is lost
    other = ["ata2.00: failed command: WRITE DMA", *lines[1:]]
    assert not kernel_log.events([_message(line) for line in other])[1].serious


def test_a_graphics_line_without_an_address_is_of_the_one_chip_of_its_driver() -> None:
    """``[drm:function [driver]]`` names the driver alone (drm_print.c, __drm_err())."""
    hung = _message("[drm:amdgpu_job_timedout [amdgpu]] *ERROR* ring gfx timeout, signaled seq=1")
    one, two = (_message(f"amdgpu 0000:0{bus}:00.0: amdgpu: GPU reset begin!") for bus in (3, 4))
    assert [e.device for e in kernel_log.events([hung, one])] == ["0000:03:00.0"] * 2
    assert kernel_log.events([hung, one, two])[0].device == "amdgpu"


def test_a_controller_that_waits_for_a_device_speaks_of_that_device() -> None:
    """xHCI_CMD_DEFAULT_TIMEOUT is 5 s; a dead controller's waiting is no device's fault."""
    waits = _message("xhci_hcd 0000:00:14.0: Timeout while waiting for setup device command")
    new = "usb 1-2: new full-speed USB device number 6 using xhci_hcd"
    told = KernelMessage(waits.seconds - 5.25, 6, new)
    long_ago = KernelMessage(waits.seconds - 8, 6, new)
    dead = _message("xhci_hcd 0000:00:14.0: xHCI host controller not responding, assume dead")
    assert kernel_log.events([told, waits])[-1].device == "1-2"
    for lines in ([waits], [long_ago, waits], [told, dead, waits]):
        assert kernel_log.events(lines)[-1].device == "0000:00:14.0"


def test_only_whole_messages_of_the_kernel_count() -> None:
    """A program that quotes the kernel has its own name before it."""
    for quoted in ("critical medium error, dev sda, sector 1", "ata1.00: error: { UNC }"):
        assert kernel_log.events([_message(f"smartd[1]: {quoted}", 4)]) == ()


def test_a_hardware_error_is_judged_by_its_additional_sense() -> None:
    """SPC: the key says that the device failed, the additional sense code says at what."""
    key = "sd 1:0:0:0: [sdb] tag#0 Sense Key : Hardware Error [current]"
    for more, layer, serious in (
        ("Timeout on logical unit", "timeout", True),
        ("Scsi parity error", "link", True),
        ("Internal target failure", "medium", True),
        ("No additional sense information", "other", False),
    ):
        sense = f"sd 1:0:0:0: [sdb] tag#0 Add. Sense: {more}"
        first, _ = kernel_log.events([_message(key), _message(sense)])
        assert (first.layer, first.serious) == (layer, serious), more
    (alone,) = kernel_log.events([_message(key)])
    assert (alone.layer, alone.serious) == ("medium", True)


def test_a_locked_drive_has_lost_no_sector() -> None:
    """NVMe status 2/86h is Access Denied; the block layer's word for it is a medium error."""
    block = "critical medium error, dev nvme0n1, sector 0 op 0x0:(READ) flags 0x0 phys_seg 1"
    denied = "nvme0n1: Read(0x2) @ LBA 0, 8 blocks, Access Denied (sct 0x2 / sc 0x86) DNR"
    lost = "nvme0n1: Read(0x2) @ LBA 0, 8 blocks, Unrecovered Read Error (sct 0x2 / sc 0x81) DNR"
    assert [e.serious for e in kernel_log.events([_message(block), _message(denied)])] == [
        False,
        False,
    ]
    (first, _, _) = kernel_log.events([_message(block), _message(denied), _message(lost)])
    assert (first.layer, first.serious) == ("medium", True)


def test_a_firmware_record_names_its_device_and_its_gravity() -> None:
    """UEFI CPER: the head's severity is its sections'; a PCIe section names a function."""
    lines = [
        "{1}[Hardware Error]: event severity: %s",
        "{1}[Hardware Error]:   section_type: PCIe error",
        "{1}[Hardware Error]:   port_type: 4, root port",
        "{1}[Hardware Error]:   device_id: 0000:00:1c.0",
    ]
    for severity, serious in (("corrected", False), ("fatal", True), ("recoverable", True)):
        messages = [_message(line.replace("%s", severity)) for line in lines]
        section = kernel_log.events(messages)[1]
        assert (section.layer, section.device, section.serious) == (
            "link",
            "0000:00:1c.0",
            serious,
        )


def test_device_by_kernels_own_tag() -> None:
    """Where the line names no device, the record's DEVICE= does (Documentation/ABI dev-kmsg)."""
    (event,) = kernel_log.events([_message("amdgpu: GPU reset begin!", 3, "+pci:0000:04:00.0")])
    assert event.device == "0000:04:00.0"


def test_a_graphics_chip_lost_before_its_driver_had_it_is_told_in_one_message() -> None:
    """The maker's driver writes three lines at once; /dev/kmsg escapes the breaks (as threads
    show them: NVIDIA/NVSentinel issue 155)."""
    text = (
        r"NVRM: The NVIDIA GPU 0000:b3:00.0\x0aNVRM: (PCI ID: 10de:26b5) installed in this system"
        r" has\x0aNVRM: fallen off the bus and is not responding to commands."
    )
    gone = kernel_log.events([_message(text)])[-1]
    assert (gone.layer, gone.device, gone.serious) == ("host bus", "0000:b3:00.0", True)


def test_what_hid_calls_a_device_is_looked_up_by_its_path() -> None:
    """``0018:06CB:CF00.0002`` is bus, maker, model and count (drivers/hid/hid-core.c)."""
    path = "/sys/devices/pci0000:00/0000:00:15.1/i2c-1/i2c-X:01/0018:06CB:CF00.0002/input/input9"
    pad = Device(
        subsystem="input", name="input9", path=path, component="touchpad@internal:touchpad"
    )
    line = "hid-generic 0018:06CB:CF00.0002: unexpected long global item"
    (event,) = kernel_log.events([_message(line)])
    assert kernel_log.attach([event], Inventory(devices=(pad,)))[0].component == pad.component


def test_the_keyboards_lines_are_not_the_pads_on_another_bus() -> None:
    """``serio1`` is what hangs there (drivers/input/serio/i8042.c); a pad on I2C is not meant."""
    on_i2c = Part(id="touchpad@internal:touchpad", kind="touchpad", name="pad", place="p")
    path = "/sys/devices/platform/i8042/serio1/input/input6"

    def given(name: str, *devices: Device) -> str | None:
        event = KernelEvent(
            seconds=1, layer="other", device=name, says="x", raw="x", subsystem="input"
        )
        found = kernel_log.attach([event], Inventory(parts=(on_i2c,), devices=devices))
        return found[0].component

    assert given("i8042") is None
    assert given("serio0") is None
    assert given("4-0015") == on_i2c.id
    pad = Device(subsystem="input", name="input6", path=path, component=on_i2c.id)
    assert given("serio1", pad) == on_i2c.id


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
        controllers=(Controller(id="pci:0000:00:1f.6", kind="network", name="wired network"),),
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
        ("01:00.0", "drive:N1"),
        ("0000:01:00", "drive:N1"),
        ("01:00.3", "drive:N1"),
        ("0000:00:1c.0", "drive:N1"),
        ("0000:00:1f.6", "pci:0000:00:1f.6"),
        ("0001:01:00.0", None),
        ("1-4", "usb:1-4"),
        ("usb1-port4", "usb:1-4"),
        ("1-4.2.1", "usb:1-4"),
        ("1-4.2-port1", "usb:1-4"),
        ("ata9.00", None),
        ("nvme7", None),
        (None, None),
    ],
)
def test_attach(device: str | None, component: str | None) -> None:
    """The kernel's names lead to the part, else to the place that stays."""
    event = KernelEvent(seconds=1, layer="link", device=device, says="x", raw="x")
    assert kernel_log.attach([event], _inventory())[0].component == component


def test_a_drivers_name_means_its_device_where_it_has_only_one() -> None:
    """``ath10k_pci``, ``xhci_hcd``: lines that name no device, by the driver bound to it."""

    def attached(*bound: tuple[str, str]) -> str | None:
        devices = tuple(
            Device(subsystem="pci", name=f"0000:0{n}:00.0", path=f"/sys/{n}", component=component,
                   driver=driver)
            for n, (driver, component) in enumerate(bound)
        )  # fmt: skip
        event = KernelEvent(seconds=1, layer="other", device="xhci_hcd", says="x", raw="x")
        found = kernel_log.attach([event], Inventory(devices=devices))
        return found[0].component

    assert attached(("xhci_hcd", "usb:a"), ("ahci", "sata:a")) == "usb:a"
    assert attached(("xhci_hcd", "usb:a"), ("xhci_hcd", "usb:b")) is None
    assert attached(("ahci", "sata:a")) is None


def test_a_touch_screens_trouble_is_not_the_pads() -> None:
    """A screen of which the inventory has nothing is not the machine's only touchpad."""
    pad = Part(id="touchpad:A", kind="touchpad", name="A", place="A")
    found = Inventory(parts=(pad,))
    lines = ("Goodix-TS i2c-GDIX1001:00: I2C transfer error: -110", "i2c_hid i2c-X: error -110")
    events = kernel_log.attach(kernel_log.events([_message(line) for line in lines]), found)
    assert [event.component for event in events] == [None, pad.id]


@pytest.mark.parametrize(("subsystem", "kind"), ONLY_ONE.items())
def test_where_there_is_one_only_it_is_meant(subsystem: str, kind: str) -> None:
    """Its driver's name is no device; of two neither is taken."""

    def attached(*names: str, device: str | None = "a-driver") -> str | None:
        parts = tuple(Part(id=f"{kind}:{name}", kind=kind, name=name, place=name) for name in names)
        event = KernelEvent(
            seconds=1, layer="other", subsystem=subsystem, device=device, says="x", raw="x"
        )
        return kernel_log.attach([event], Inventory(parts=parts))[0].component

    assert attached("A") == f"{kind}:A"
    assert attached("A", "B") is None and attached() is None
    of_the_whole_machine = None if subsystem == "machine check" else f"{kind}:A"
    assert attached("A", device=None) == of_the_whole_machine


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


@pytest.mark.parametrize("host", ["0xnvme", "0x", "0x01t", "0x99999999999999999999"])
def test_a_host_byte_that_is_no_number_is_an_event_all_the_same(host: str) -> None:
    line = f"sd 0:0:0:0: [sda] tag#0 FAILED Result: hostbyte={host} driverbyte=0x00"
    (event,) = kernel_log.events([_message(line)])
    assert (event.layer, event.serious) == (words.OTHER, False)
    assert host in event.says


def _long_lines() -> Iterator[str]:
    for line in (case[0] for case in ALL):
        yield line.split(":")[0] + ": " + "9" * 100_000
        yield line + " " * 100_000


def test_long_lines_are_cut() -> None:
    """A line of 100,000 characters costs no more than one of the kernel's longest."""
    for line in _long_lines():
        for event in kernel_log.events([_message(line)]):
            assert len(event.raw) <= kernel_log.LONGEST
