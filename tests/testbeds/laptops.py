"""Three invented laptops for the test beds. Makers, models and serial numbers are nobody's."""

from __future__ import annotations

from collections.abc import Sequence

from tests.inventory import smbios_builder as smbios
from tests.testbeds import devices
from tests.testbeds.bed import Bed, Content, Node
from tests.testbeds.smartctl import Drive

GB = 10**9
BLUETOOTH = (0xE0, 0x01, 0x01)
VIDEO = (0x0E, 0x01, 0x00)

DISK = Drive("OSTREVAR S3 240GB", "OSV240A71X", "V2.10", 240 * GB)
OPTICAL = Drive("DVDRW OD-8", "", "1.02", 0)
NVME = Drive("Ostrevar N4 512GB", "OSN512K0042", "3.1.7", 512 * GB, nvme=True)
MAC = "02:5e:a1:00:42:17"

CLASS_NAMES = """\
C 01  Mass storage controller
\t06  SATA controller
\t08  Non-Volatile memory controller
C 02  Network controller
\t80  Network controller
C 03  Display controller
\t00  VGA compatible controller
C 04  Multimedia controller
\t03  Audio device
C 06  Bridge
\t00  Host bridge
\t04  PCI bridge
C 0c  Serial bus controller
\t03  USB controller
"""
"""The classes' lines of the PCI ID database: names that are nobody's brand."""

WLAN_PORT = "0000:00:1c.0"
DRIVE_PORT = "0000:00:1d.0"


def tables(serial: str, uuid_end: int, slots: Sequence[bytes] = ()) -> dict[str, Content]:
    """SMBIOS tables as the kernel hands them over, and the cover's facts beside them."""
    uuid = smbios.UUID[:-2] + uuid_end.to_bytes(2, "big")
    table = b"".join(
        (
            smbios.firmware(), smbios.system(uuid, serial), smbios.board(f"B{serial}"),
            smbios.chassis(), smbios.processor(), *slots, smbios.array(),
            smbios.memory(0x11, "DIMM A"), smbios.memory(0x12, "DIMM B", size=0, serial=""),
            smbios.array_range(0, (8 << 20) - 1), smbios.end(),
        )
    )  # fmt: skip
    return {
        "/sys/firmware/dmi/tables/DMI": table,
        "/sys/firmware/dmi/tables/smbios_entry_point": smbios.entry_point_64(table),
        "/sys/class/dmi/id/chassis_type": "10",
        "/proc/cpuinfo": "processor\t: 0\nmodel name\t: RW 8500U\n",
    }


def usb_nodes(bluetooth: bool) -> tuple[Node, ...]:
    """The USB tree: two sockets, a camera, and the Bluetooth half of a wireless card."""
    ports = {1: "hotplug", 2: "hotplug", 5: "hardwired", 7: "hardwired", 9: "not used"}
    return (
        *devices.hub_root(1, ports),
        *devices.usb("1-5", "0c45:6713", VIDEO, "Integrated camera"),
        *(devices.usb("1-7", "0cf3:e009", BLUETOOTH, "") if bluetooth else ()),
    )


def link_log(up: dict[int, str], down: Sequence[int] = ()) -> tuple[tuple[float, int, str], ...]:
    """What the kernel says of SATA links when it starts."""
    lines = [
        (1.1 + n / 10, 6, f"ata{n}: SATA link up {speed} (SStatus 133 SControl 300)")
        for n, speed in up.items()
    ]
    lines += [(1.1 + n / 10, 6, f"ata{n}: SATA link down (SStatus 0 SControl 300)") for n in down]
    return tuple(sorted(lines))


def ahci() -> Bed:
    """A laptop with a SATA drive, an optical drive, a battery and a wireless card."""
    wlan_slot = smbios.slot("M.2 WLAN", 4, 0, 0x1C << 3, handle=0x0A)
    return Bed(
        nodes=(
            *devices.board(),
            *usb_nodes(bluetooth=True),
            devices.sata_controller(),
            *devices.sata_port(1, DISK, "sda"),
            *devices.sata_port(2, OPTICAL, "sr0", optical=True),
            *devices.sata_port(3),
            devices.root_port(WLAN_PORT, 1, 4, True, (2.5, 1)),
            *devices.wireless(WLAN_PORT, MAC),
            devices.mains(),
            devices.battery(43.1, 50.0, 212, "0417"),
            *devices.heat(),
        ),
        extra=tables("TW14-1001", 0x1001, [wlan_slot]),
        log=link_log({1: "6.0 Gbps", 2: "1.5 Gbps"}, [3]),
        drives={"sda": DISK},
        radios=devices.RADIOS,
    )


def nvme() -> Bed:
    """A laptop with an NVMe drive that is charged over USB-C."""
    return Bed(
        nodes=(
            *devices.board(),
            *usb_nodes(bluetooth=True),
            devices.root_port(DRIVE_PORT, 2, 9, True, (8.0, 4)),
            *devices.nvme(DRIVE_PORT, NVME),
            devices.root_port(WLAN_PORT, 1, 4, True, (2.5, 1)),
            *devices.wireless(WLAN_PORT, MAC),
            devices.usb_c_supply(),
            devices.battery(48.6, 50.0, 61, "0933"),
            *devices.heat(),
        ),
        extra=tables("TW14-2002", 0x2002),
        log=((2.1, 6, "nvme nvme0: pci function 0000:02:00.0"),),
        drives={"nvme0n1": NVME, "nvme0": NVME},
        radios=devices.RADIOS,
    )


def missing_card() -> Bed:
    """A laptop whose wireless slot senses a card that does not answer."""
    wlan_slot = smbios.slot("M.2 WLAN", 4, 0, 0x1C << 3, handle=0x0A)
    return Bed(
        nodes=(
            *devices.board(),
            *usb_nodes(bluetooth=False),
            devices.sata_controller(),
            *devices.sata_port(1, DISK, "sda"),
            *devices.sata_port(2),
            devices.root_port(WLAN_PORT, 1, 4, True, None),
            devices.mains(),
            devices.battery(45.0, 50.0, 150, "0418"),
            *devices.heat(),
        ),
        extra=tables("TW14-3003", 0x3003, [wlan_slot]),
        log=link_log({1: "6.0 Gbps"}, [2]),
        drives={"sda": DISK},
    )


ALL = {"ahci": ahci, "nvme": nvme, "missing-card": missing_card}
