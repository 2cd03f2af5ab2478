"""Machines from round the corner (``corner.py``): what each of them shows the kernel, in files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from tests.testbeds import devices, laptops, stories
from tests.testbeds.bed import Bed, Content, Node
from tests.testbeds.smartctl import Drive

from tests.bench_stories import fresh_beds  # isort: skip
from tests.bench_stories.fresh_beds import _with_hands  # isort: skip
from tests.bench_stories.odd_beds import _changed, _said  # isort: skip

TWIN = Drive("Ostrevar N4 512GB", "OSN512K7799", "3.1.7", 512 * laptops.GB, nvme=True, hours=6011)
BOUGHT = Drive("Ostrevar N5 500GB", "OSN500NEW31", "1.0.2", 500 * laptops.GB, nvme=True, hours=1)
TABLE = "/sys/firmware/dmi/tables/DMI"


def _battery(bed: Bed, files: Mapping[str, Content]) -> Bed:
    return _changed(bed, "power_supply", files, "BAT0")


# --- Two machines of one model


def first_twin() -> Bed:
    """Its drive has lost data."""
    return stories.drive_1()


def first_twin_mended() -> Bed:
    """The same machine with a drive that was bought for it."""
    return stories.with_drive(BOUGHT, ())


def second_twin() -> Bed:
    """The same model: its drive is sound, and its battery has lost two thirds."""
    bed = stories.with_drive(TWIN, ())
    extra = {**bed.extra, **laptops.tables("TW14-4209", 0x4209,
                                           [stories.WLAN_SLOT, stories.DRIVE_SLOT])}  # fmt: skip
    own = _changed(replace(bed, extra=extra), "ieee80211", {"macaddress": "02:5e:a1:00:42:99"})
    return _battery(own, {"energy_full": "16100000", "energy_now": "15900000", "capacity": "99",
                          "cycle_count": "1402", "serial_number": "0519",
                          "status": "Full"})  # fmt: skip


def second_twin_mended() -> Bed:
    """The same with a new battery."""
    return _battery(second_twin(), {"energy_full": "50300000", "energy_now": "31000000",
                                    "capacity": "62", "cycle_count": "1", "serial_number": "2311",
                                    "status": "Charging", "power_now": "30000000"})  # fmt: skip


# --- Back after three weeks


def empty_and_old() -> Bed:
    """Its battery holds a third of what it was made for."""
    return _battery(laptops.ahci(), {"energy_full": "15200000", "energy_now": "3100000",
                                     "capacity": "20", "cycle_count": "1240", "status": "Charging",
                                     "power_now": "12000000"})  # fmt: skip


def young() -> Bed:
    """A new battery that charges."""
    return _battery(laptops.ahci(), {"energy_full": "50100000", "energy_now": "31000000",
                                     "capacity": "62", "cycle_count": "1", "serial_number": "2290",
                                     "status": "Charging", "power_now": "29000000"})  # fmt: skip


def young_and_unfed() -> Bed:
    """Three weeks later: the adapter is plugged in, and nothing of it arrives."""
    away = _changed(young(), "power_supply", {"online": "0"}, "/AC")
    return _battery(away, {"status": "Discharging", "capacity": "31", "cycle_count": "9",
                           "energy_now": "15500000", "power_now": "9900000"})  # fmt: skip


def young_and_fed() -> Bed:
    """The same on the shop's adapter."""
    return _battery(young(), {"capacity": "33", "energy_now": "16500000", "cycle_count": "9"})


# --- A drive in a USB case


def cased_drive() -> Bed:
    """The customer's pictures in a USB case: its drive cannot read some of them."""
    bed = fresh_beds.hands()
    case = devices.usb("1-1", "152d:0578", (8, 6, 0x50), "Portable case", "PC-3110")
    outer = Drive("OSTREVAR S3 480GB", "OSV480PICS1", "V2.10", 480 * laptops.GB)
    disk = f"{devices.ROOT}/0000:00:14.0/usb1/1-1/1-1:1.0/host4/target4:0:0/4:0:0:0"
    nodes = (
        *(replace(n, files={**n.files, "removable": "removable"})
          if n.properties.get("DEVTYPE") == "usb_device" else n for n in case),
        Node("scsi", disk, {"vendor": "OSTREVAR", "model": "S3 480GB", "type": "0", "rev": "0204"},
             {"DEVTYPE": "scsi_device"}),
        Node("block", f"{disk}/block/sdb",
             {"size": str(outer.size // 512), "removable": "0", "ro": "0",
              "queue/rotational": "0"},
             {"DEVTYPE": "disk", "DEVNAME": "/dev/sdb", "MAJOR": "8", "MINOR": "16",
              "ID_BUS": "usb"}, node=True),
    )  # fmt: skip
    lines = [(20.0, 6, "usb 1-1: new high-speed USB device number 5 using xhci_hcd"),
             (20.4, 6, "usb-storage 1-1:1.0: USB Mass Storage device detected"),
             (20.5, 6, "scsi host4: usb-storage 1-1:1.0"),
             (21.0, 6, "sd 4:0:0:0: [sdb] Attached SCSI disk")]  # fmt: skip
    for n, sector in enumerate((204800, 204808, 81920000)):
        at = 60.0 + 9 * n
        lines += [
            (at, 6, "sd 4:0:0:0: [sdb] tag#0 FAILED Result: hostbyte=DID_OK "
                    "driverbyte=DRIVER_OK cmd_age=4s"),
            (at + 0.01, 6, "sd 4:0:0:0: [sdb] tag#0 Sense Key : Medium Error [current] "),
            (at + 0.02, 6, "sd 4:0:0:0: [sdb] tag#0 Add. Sense: Unrecovered read error"),
            (at + 0.03, 3, f"critical medium error, dev sdb, sector {sector} op 0x0:(READ) flags "
                           "0x80700 phys_seg 1 prio class 2"),
        ]  # fmt: skip
    return _said(replace(bed, nodes=(*bed.nodes, *nodes)), lines)


def without_case() -> Bed:
    """The machine alone."""
    return fresh_beds.hands()


# --- A spare battery that is bad itself


def _refuses(serial: str, cycles: int) -> Bed:
    return _battery(laptops.ahci(), {"status": "Not charging", "capacity": "7", "power_now": "0",
                                     "energy_now": "3000000", "serial_number": serial,
                                     "cycle_count": str(cycles)})  # fmt: skip


def own_refuses() -> Bed:
    """The customer's battery is not charged."""
    return _refuses("0417", 640)


def spare_refuses() -> Bed:
    """The shop's battery, long in a drawer, is not charged either."""
    return _refuses("BENCH4", 12)


def spare_takes() -> Bed:
    """The shop's second one is charged in the same bay, by the same adapter."""
    return _battery(laptops.ahci(), {"status": "Charging", "capacity": "51",
                                     "power_now": "30000000", "energy_now": "22000000",
                                     "serial_number": "BENCH5", "cycle_count": "14"})  # fmt: skip


# --- The clock, and what goes with it


def clock_and_cells() -> Bed:
    """The clock begins anew at each start, and the battery has lost more than half."""
    return _battery(fresh_beds.clock_2019(), {"energy_full": "18800000", "energy_now": "18500000",
                                              "capacity": "98", "cycle_count": "990"})  # fmt: skip


def clock_kept() -> Bed:
    """A new coin cell; the battery is the old one."""
    return _battery(fresh_beds.clock_right(), {"energy_full": "18800000", "energy_now": "18500000",
                                               "capacity": "98", "cycle_count": "990"})  # fmt: skip


# --- Thin, nothing of it comes out; slow on battery


def thin_and_worn() -> Bed:
    """A thin machine without a fan; its battery holds a third, and it runs on it."""
    away = _changed(fresh_beds.thin(), "power_supply", {"online": "0", "voltage_now": "0",
                    "current_now": "0"}, "ucsi")  # fmt: skip
    return _battery(away, {"energy_full": "16600000", "energy_now": "6100000", "capacity": "37",
                           "status": "Discharging", "power_now": "19000000",
                           "cycle_count": "1377"})  # fmt: skip


def thin_and_young() -> Bed:
    """The same with a battery of its maker's."""
    return _battery(fresh_beds.thin(), {"energy_full": "50000000", "energy_now": "30000000",
                                        "capacity": "60", "status": "Charging",
                                        "power_now": "25000000", "cycle_count": "0",
                                        "serial_number": "2301"})  # fmt: skip


def on_its_adapter() -> Bed:
    """A sound machine, fed."""
    return fresh_beds.hands()


def on_its_battery() -> Bed:
    """The same machine, unplugged: nothing fails."""
    away = _changed(fresh_beds.hands(), "power_supply", {"online": "0", "voltage_now": "0",
                    "current_now": "0"}, "ucsi")  # fmt: skip
    return _battery(away, {"status": "Discharging", "power_now": "8100000", "capacity": "88",
                           "energy_now": "42700000"})  # fmt: skip


def wet_keys() -> Bed:
    """A machine with all that hands try."""
    return _with_hands(laptops.ahci())
