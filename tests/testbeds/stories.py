"""The demonstration's three cases, run by run. Every maker, model and number is invented."""

from __future__ import annotations

from dataclasses import replace

from tests.inventory import smbios_builder as smbios
from tests.testbeds import devices, laptops
from tests.testbeds.bed import Bed, Content, Node
from tests.testbeds.smartctl import Drive

Log = tuple[tuple[float, int, str], ...]

CRC, CRC_IN_COMMANDS = 0x00B, 0x001
"""SATA phy event counters: data that reached the drive damaged, and commands failed by it."""

DRIVE_A = Drive("OSTREVAR S3 480GB", "OSV480C19PL", "V2.10", 480 * laptops.GB)
DRIVE_B = Drive("OSTREVAR S3 120GB", "OSV120BENCH3", "V2.08", 120 * laptops.GB, hours=310)
NVME_BAD = Drive(
    "Ostrevar N4 512GB", "OSN512K7731", "3.1.7", 512 * laptops.GB, nvme=True,
    media_errors=37, error_entries=37, used_percent=41, hours=11874,
)  # fmt: skip
NVME_GOOD = Drive(
    "Ostrevar N4 256GB", "OSN256BENCH1", "3.1.7", 256 * laptops.GB, nvme=True, hours=95
)

WLAN_SLOT = smbios.slot("M.2 WLAN", 4, 0, 0x1C << 3, handle=0x0A)
DRIVE_SLOT = smbios.slot("M.2 SSD", 4, 0, 0x1D << 3, handle=0x0B)


def _machine(serial: str, number: int) -> dict[str, Content]:
    return {
        **laptops.tables(serial, number, [WLAN_SLOT, DRIVE_SLOT]),
        "/usr/share/hwdata/pci.ids": laptops.CLASS_NAMES,
    }


def _card() -> tuple[Node, ...]:
    return (
        devices.root_port(laptops.WLAN_PORT, 1, 4, True, (2.5, 1)),
        *devices.wireless(laptops.WLAN_PORT, laptops.MAC),
    )


def _link_errors(port: int, serror: str = "{ 10B8B BadCRC }") -> Log:
    """What libata logs when frames arrive damaged (SErr bits 19 and 21)."""
    lines: list[tuple[float, int, str]] = []
    for start in (41.2, 44.8, 63.1, 88.7):
        drive = f"ata{port}.00"
        lines += [
            (start, 3, f"{drive}: exception Emask 0x10 SAct 0x0 SErr 0x280000 action 0x6 frozen"),
            (start + 0.001, 3, f"{drive}: irq_stat 0x08000000, interface fatal error"),
            (start + 0.002, 3, f"ata{port}: SError: {serror}"),
            (start + 0.003, 3, f"{drive}: failed command: READ DMA EXT"),
            (start + 0.004, 3, f"{drive}: error: {{ ICRC ABRT }}"),
            (start + 0.005, 6, f"ata{port}: hard resetting link"),
            (start + 0.4, 6, f"ata{port}: SATA link up 6.0 Gbps (SStatus 133 SControl 300)"),
        ]
    return tuple(lines)


# --- The port is at fault, and the battery is worn


def two_bays(drive: Drive, bay: int, log: Log) -> Bed:
    """One drive in bay 1 or 2; the other bay is empty."""
    up = {bay: "6.0 Gbps"}
    return Bed(
        nodes=(
            *devices.board(),
            *laptops.usb_nodes(bluetooth=True),
            devices.sata_controller(),
            *devices.sata_port(bay, drive, "sda"),
            *devices.sata_port(3 - bay),
            *_card(),
            devices.mains(),
            devices.battery(21.4, 50.0, 731, "0288"),
            *devices.heat(),
        ),
        extra=_machine("TW14-4101", 0x4101),
        log=(*laptops.link_log(up, [3 - bay]), *log),
        drives={"sda": drive},
        radios=devices.RADIOS,
    )


def port_1() -> Bed:
    """The customer's drive in bay 1: its link fails."""
    seen = replace(DRIVE_A, raw={199: 63}, phy={CRC_IN_COMMANDS: 4, CRC: 22})
    return two_bays(seen, 1, _link_errors(1))


def port_2() -> Bed:
    """A known-good drive in bay 1: its link fails alike."""
    seen = replace(DRIVE_B, raw={199: 18}, phy={CRC_IN_COMMANDS: 3, CRC: 18})
    return two_bays(seen, 1, _link_errors(1))


def port_3() -> Bed:
    """The customer's drive in bay 2: it works; its old count stays and does not rise."""
    return two_bays(replace(DRIVE_A, raw={199: 63}, phy={CRC_IN_COMMANDS: 0, CRC: 0}), 2, ())


# --- The drive is at fault


def with_drive(drive: Drive, log: Log) -> Bed:
    return Bed(
        nodes=(
            *devices.board(),
            *laptops.usb_nodes(bluetooth=True),
            devices.root_port(laptops.DRIVE_PORT, 2, 9, True, (8.0, 4)),
            *devices.nvme(laptops.DRIVE_PORT, drive),
            *_card(),
            devices.usb_c_supply(),
            devices.battery(46.9, 50.0, 118, "0512"),
            *devices.heat(),
        ),
        extra=_machine("TW14-4202", 0x4202),
        log=log,
        drives={"nvme0n1": drive, "nvme0": drive},
        radios=devices.RADIOS,
    )


def drive_1() -> Bed:
    """The customer's drive has lost data."""
    lines = [
        (33.0 + n, 3, f"critical medium error, dev nvme0n1, sector {sector} op 0x0:(READ) "
                      "flags 0x80700 phys_seg 4 prio class 2")
        for n, sector in enumerate((81920, 81928, 10485760))
    ]  # fmt: skip
    return with_drive(NVME_BAD, tuple(lines))


def drive_2() -> Bed:
    """A known-good drive in its slot."""
    return with_drive(NVME_GOOD, ())


# --- A contact is at fault


def _contact(card: tuple[Node, ...], bluetooth: bool) -> Bed:
    drive = replace(DRIVE_A, serial="OSV480D22QX")
    return Bed(
        nodes=(
            *devices.board(),
            *laptops.usb_nodes(bluetooth),
            devices.sata_controller(),
            *devices.sata_port(1, drive, "sda"),
            *card,
            devices.mains(),
            devices.battery(44.2, 50.0, 240, "0691"),
            *devices.heat(),
        ),
        extra=_machine("TW14-4303", 0x4303),
        log=laptops.link_log({1: "6.0 Gbps"}),
        drives={"sda": drive},
        radios=devices.RADIOS,
    )


def contact_1() -> Bed:
    """The slot senses the card; nothing answers."""
    return _contact((devices.root_port(laptops.WLAN_PORT, 1, 4, True, None),), bluetooth=False)


def contact_2() -> Bed:
    """The same card, taken out and put back."""
    return _contact(_card(), bluetooth=True)


RUNS = {
    "port-1": port_1,
    "port-2": port_2,
    "port-3": port_3,
    "drive-1": drive_1,
    "drive-2": drive_2,
    "contact-1": contact_1,
    "contact-2": contact_2,
}
