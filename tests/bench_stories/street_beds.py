"""Machines from the street (``street.py``): what each of them shows the kernel, in files."""

from __future__ import annotations

from dataclasses import replace

from tests.inventory import smbios_builder as smbios
from tests.testbeds import devices, laptops, stories
from tests.testbeds.bed import Bed
from tests.testbeds.screens import with_panel

from tests.bench_stories import fresh_beds  # isort: skip
from tests.bench_stories.fresh_beds import _with_hands  # isort: skip
from tests.bench_stories.odd_beds import _changed, _heat, _said  # isort: skip


def _sockets(left: str, right: str) -> Bed:
    """Two USB-C sockets that can be charged by; ``1``: an adapter feeds the machine there."""
    bed = _with_hands(laptops.nvme())
    (supply,) = (n for n in bed.nodes if "ucsi" in n.name)
    off = {"voltage_now": "0", "current_now": "0", "current_max": "0", "usb_type": "[C] PD PD_PPS"}
    both = tuple(
        replace(supply, path=f"{supply.path[:-1]}{n + 1}",
                files={**supply.files, "online": one, **({} if one == "1" else off)})
        for n, one in enumerate((left, right))
    )  # fmt: skip
    nodes = (*(n for n in bed.nodes if n is not supply), *both)
    fed = "1" in (left, right)
    files = {"status": "Charging" if fed else "Discharging", "capacity": "22",
             "power_now": "30000000" if fed else "9000000", "energy_now": "10700000"}  # fmt: skip
    return _changed(replace(bed, nodes=nodes), "power_supply", files, "BAT0")


def left_socket() -> Bed:
    """The adapter is in the left socket, and nothing of it arrives."""
    return _sockets("0", "0")


def right_socket() -> Bed:
    """The same adapter in the right one: 20 V, and the battery charges."""
    return _sockets("0", "1")


def both_sound() -> Bed:
    """The left socket was soldered anew: it feeds the machine."""
    return _sockets("1", "0")


def old_cells() -> Bed:
    """A battery of 1,310 cycles in a machine with all that hands try."""
    files = {"cycle_count": "1310", "energy_full": "27500000", "energy_now": "27500000"}
    return _changed(fresh_beds.hands(), "power_supply", files, "BAT0")


def new_cells() -> Bed:
    """Another battery, of this year."""
    files = {"cycle_count": "2", "energy_full": "49800000", "energy_now": "39000000",
             "capacity": "78", "status": "Charging", "power_now": "21000000",
             "serial_number": "2291"}  # fmt: skip
    return _changed(fresh_beds.hands(), "power_supply", files, "BAT0")


def loud_and_hot() -> Bed:
    """The fan at its full speed, 97 degrees, the clock is cut."""
    return _heat(97.0, 5600)


def clean() -> Bed:
    """The same fan and heatsink, without the dust."""
    return fresh_beds.new_cooling()


def key_off() -> Bed:
    """A key switched the radio off, in hardware and for all systems."""
    return _changed(fresh_beds.hands(), "rfkill", {"hard": "1", "soft": "1", "state": "2"})


def key_on() -> Bed:
    """The key was pressed again."""
    return fresh_beds.hands()


def drive_locked() -> Bed:
    """A flash drive whose owner locked it: each read is refused (NVM Express, 2/86h)."""
    lines = []
    for n, sector in enumerate((0, 8, 1000215208)):
        lines += [
            (3.0 + n, 3, f"nvme0n1: I/O Cmd(0x2) @ LBA {sector}, 8 blocks, I/O Error "
                         "(sct 0x2 / sc 0x86) DNR"),
            (3.1 + n, 3, f"I/O error, dev nvme0n1, sector {sector} op 0x0:(READ) flags 0x0 "
                         "phys_seg 1 prio class 2"),
        ]  # fmt: skip
    return _said(fresh_beds.hands(), lines)


def mixed_speeds() -> Bed:
    """A second-hand module of 2133 beside the machine's own of 3200: both run at 2133."""
    bed = fresh_beds.hands()
    table = b"".join((
        smbios.firmware(), smbios.system(smbios.UUID[:-2] + b"\x20\x07", "TW14-2007"),
        smbios.board("BTW14-2007"), smbios.chassis(), smbios.processor(), smbios.array(),
        smbios.memory(0x11, "DIMM A", serial="51AA0001", speed=3200),
        smbios.memory(0x12, "DIMM B", serial="77ZZ2133", speed=2133),
        smbios.array_range(0, (16 << 20) - 1), smbios.end(),
    ))  # fmt: skip
    firmware = "/sys/firmware/dmi/tables"
    extra = {**bed.extra, f"{firmware}/DMI": table,
             f"{firmware}/smbios_entry_point": smbios.entry_point_64(table)}  # fmt: skip
    return replace(bed, extra=extra)


def at_the_dock() -> Bed:
    """A dock at a USB-C socket: what hangs on it goes and comes; the machine's own does not."""
    bed = fresh_beds.hands()
    hub = devices.usb("1-2", "2109:2813", (9, 0, 2), "Desk dock")
    nodes = tuple(
        replace(n, files={**n.files, "removable": "removable", "bDeviceClass": "09"})
        if n.properties.get("DEVTYPE") == "usb_device" else n
        for n in hub
    )  # fmt: skip
    lines = []
    for n in range(4):
        at = 60.0 + 30 * n
        lines += [
            (at, 6, f"usb 1-2: USB disconnect, device number {5 + n}"),
            (at + 2, 6, f"usb 1-2: new high-speed USB device number {6 + n} using xhci_hcd"),
            (at + 2.2, 3, "usb 1-2: device descriptor read/64, error -71"),
            (at + 3, 6, f"usb 1-2: new high-speed USB device number {7 + n} using xhci_hcd"),
        ]
    return _said(replace(bed, nodes=(*bed.nodes, *nodes)), lines)


def without_dock() -> Bed:
    """The machine alone."""
    return fresh_beds.hands()


def kept_at_80() -> Bed:
    """Held at 80 % by the firmware; the driver of this machine tells of no limit."""
    files = {"status": "Not charging", "capacity": "80", "power_now": "0",
             "energy_now": "38900000", "cycle_count": "88"}  # fmt: skip
    return _changed(fresh_beds.hands(), "power_supply", files, "BAT0")


def goes_on() -> Bed:
    """The same, once the setting was taken out."""
    files = {"status": "Charging", "capacity": "84", "power_now": "18000000",
             "energy_now": "40800000", "cycle_count": "88"}  # fmt: skip
    return _changed(fresh_beds.hands(), "power_supply", files, "BAT0")


def lid() -> Bed:
    """A machine with its panel, keyboard, touchpad, loudspeakers and camera."""
    return _with_hands(with_panel())


def bad_sectors() -> Bed:
    """A flash drive that lost sectors, in a machine that was bought second-hand."""
    return stories.drive_1()
