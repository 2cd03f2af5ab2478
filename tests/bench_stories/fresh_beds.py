"""Machines of the fresh stories: what each of them shows the kernel, in files."""

from __future__ import annotations

from dataclasses import replace

from tests.inventory import smbios_builder as smbios
from tests.testbeds import devices, laptops, stories
from tests.testbeds.bed import Bed, Node
from tests.testbeds.screens import with_panel
from tests.testbeds.smartctl import Drive

from tests.bench_stories.odd_beds import _changed, _heat, _modules, _said  # isort: skip

NEW_NVME = Drive("Ostrevar N5 500GB", "OSN500NEW07", "1.0.2", 500 * laptops.GB, nvme=True, hours=1)


def _with_hands(bed: Bed, *, pad: bool = True) -> Bed:
    """Keyboard, touchpad, loudspeaker and camera as udev tells of them."""
    serio = "/sys/devices/platform/i8042"
    card = f"{devices.ROOT}/0000:00:1f.3/sound/card0"
    lens = f"{devices.ROOT}/0000:00:14.0/usb1/1-5/1-5:1.0/video4linux/video0"
    nodes = [
        Node("input", f"{serio}/serio0/input/input3", {"name": "AT Translated Set 2 keyboard"},
             {"ID_INPUT_KEYBOARD": "1"}),
        Node("sound", card, {"id": "PCH"}),
        Node("sound", f"{card}/pcmC0D0p", {"pcm_class": "generic"}),
        Node("sound", f"{card}/pcmC0D0c", {"pcm_class": "generic"}),
        Node("video4linux", lens, {"name": "Integrated camera", "index": "0"},
             {"DEVNAME": "/dev/video0", "ID_V4L_CAPABILITIES": ":capture:"}),
    ]  # fmt: skip
    if pad:
        nodes.append(Node("input", f"{serio}/serio1/input/input5", {"name": "PS/2 touchpad"},
                          {"ID_INPUT_TOUCHPAD": "1"}))  # fmt: skip
    return replace(bed, nodes=(*bed.nodes, *nodes))


def hands() -> Bed:
    """A sound machine with all that hands, eyes and ears try."""
    return _with_hands(laptops.nvme())


def no_pad() -> Bed:
    """Its touchpad does not answer to the keyboard controller."""
    bed = _with_hands(laptops.nvme(), pad=False)
    lines = [(3.0 + n, 4, "psmouse serio1: Failed to enable mouse on isa0060/serio1")
             for n in range(3)]  # fmt: skip
    return _said(bed, lines)


# --- Power


def charges_when_off() -> Bed:
    """An adapter of 45 W; in use the machine takes all of it and the battery a little more."""
    supply = {"voltage_now": "20000000", "current_max": "2250000", "current_now": "2250000"}
    low = {"status": "Discharging", "power_now": "3100000", "capacity": "61",
           "energy_now": "29600000"}  # fmt: skip
    bed = _changed(laptops.nvme(), "power_supply", supply, "ucsi")
    return _changed(bed, "power_supply", low, "BAT0")


def battery_gone() -> Bed:
    """At 0 % for weeks; the bay tells of no battery at all."""
    return _changed(laptops.ahci(), "power_supply", {"present": "0", "status": "Unknown"}, "BAT0")


def battery_back() -> Bed:
    """The battery answers again and charges."""
    files = {
        "status": "Charging",
        "capacity": "3",
        "energy_now": "1400000",
        "power_now": "31000000",
    }
    return _changed(laptops.ahci(), "power_supply", files, "BAT0")


def strong_adapter() -> Bed:
    """The same machine as the one of 45 W, on the shop's 65 W."""
    supply = {"voltage_now": "20000000", "current_max": "3250000", "current_now": "2100000"}
    full = {"status": "Charging", "power_now": "14000000", "capacity": "62",
            "energy_now": "30200000"}  # fmt: skip
    bed = _changed(laptops.nvme(), "power_supply", supply, "ucsi")
    return _changed(bed, "power_supply", full, "BAT0")


def worn_cells() -> Bed:
    """Cool and clean; a battery that has lost more than half of what it held."""
    worn = {"energy_full": "19400000", "energy_now": "7700000", "capacity": "40",
            "status": "Discharging", "power_now": "21000000", "cycle_count": "1180"}  # fmt: skip
    bed = _changed(laptops.ahci(), "power_supply", worn, "BAT0")
    return _changed(bed, "power_supply", {"online": "0"}, "/AC")


# --- Heat


def loud_but_cool() -> Bed:
    """41 degrees, and the fan at its full speed."""
    whole = laptops.ahci()
    own = tuple(n for n in whole.nodes if n.subsystem not in ("hwmon", "thermal"))
    return replace(whole, nodes=(*own, *devices.heat(41.0, 5600)))


def stuck() -> Bed:
    """99 degrees, and the fan stands."""
    return _heat(99.0, 0)


def new_cooling() -> Bed:
    """Another cooling assembly: it turns, and carries the heat off."""
    whole = laptops.ahci()
    own = tuple(n for n in whole.nodes if n.subsystem not in ("hwmon", "thermal"))
    return replace(whole, nodes=(*own, *devices.heat(56.0, 2900)))


def thin() -> Bed:
    """A thin machine without a fan that keeps itself at 88 degrees, as it was made to."""
    whole = laptops.nvme()
    own = tuple(n for n in whole.nodes if n.subsystem not in ("hwmon", "thermal"))
    warm = tuple(n for n in devices.heat(88.0) if "fan" not in n.path)
    lines = [(200.0, 4, "CPU0: Core temperature above threshold, cpu clock throttled (total "
                        "events = 1)")]  # fmt: skip
    return _said(replace(whole, nodes=(*own, *warm)), lines)


# --- Memory


def slot_b() -> Bed:
    """Errors are counted at place B."""
    return _modules("51AA0001", "51AA0002", "DIMM B")


def slot_b_crossed() -> Bed:
    """The modules changed places, and the errors stayed at place B."""
    return _modules("51AA0002", "51AA0001", "DIMM B")


def _part_soldered(label: str) -> Bed:
    bed = laptops.nvme()
    table = b"".join((
        smbios.firmware(), smbios.system(smbios.UUID[:-2] + b"\x20\x04", "TW14-2004"),
        smbios.board("BTW14-2004"), smbios.chassis(), smbios.processor(), smbios.array(),
        smbios.memory(0x11, "Onboard A", form=0x0B, serial=""),
        smbios.memory(0x12, "DIMM B", serial="51AA0009"),
        smbios.array_range(0, (16 << 20) - 1), smbios.end(),
    ))  # fmt: skip
    firmware, edac = "/sys/firmware/dmi/tables", "/sys/devices/system/edac/mc/mc0"
    extra = {**bed.extra, f"{firmware}/DMI": table,
             f"{firmware}/smbios_entry_point": smbios.entry_point_64(table)}  # fmt: skip
    for number, place in enumerate(("Onboard A", "DIMM B")):
        own = 14 if place == label else 0
        extra |= {f"{edac}/dimm{number}/dimm_label": f"BANK 0 {place}",
                  f"{edac}/dimm{number}/dimm_ce_count": str(own),
                  f"{edac}/dimm{number}/dimm_ue_count": "0"}  # fmt: skip
    extra |= {f"{edac}/ce_count": "14", f"{edac}/ue_count": "0"}
    lines = [
        (90.0 + 20 * n, 4, f"EDAC MC0: 1 CE memory read error on {label} (channel:0 slot:0 "
                           f"page:0x{0x7B100 + n:x} offset:0x80 grain:64 syndrome:0x0)")
        for n in range(14)
    ]  # fmt: skip
    return _said(replace(bed, extra=extra), lines)


def soldered_bad() -> Bed:
    """Errors in the memory that is soldered to the board; the module beside it is sound."""
    return _part_soldered("Onboard A")


def memory_and_drive() -> Bed:
    """A drive that loses data, and a module with errors."""
    bed = _modules("51AA0001", "51AA0002", "DIMM A")
    drive = stories.NVME_BAD
    own = tuple(n for n in bed.nodes if laptops.DRIVE_PORT not in n.path)
    nodes = (*own, devices.root_port(laptops.DRIVE_PORT, 2, 9, True, (8.0, 4)),
             *devices.nvme(laptops.DRIVE_PORT, drive))  # fmt: skip
    words = "critical medium error, dev nvme0n1, sector {} op 0x0:(READ) flags 0x80700 phys_seg 1"
    lines = [(40.0 + n, 3, f"{words.format(81920 + 8 * n)} prio class 2") for n in range(3)]
    return _said(replace(bed, nodes=nodes, drives={"nvme0n1": drive, "nvme0": drive}), lines)


def memory_left() -> Bed:
    """The drive is a new one; the module still has errors."""
    bed = _modules("51AA0001", "51AA0002", "DIMM A")
    own = tuple(n for n in bed.nodes if laptops.DRIVE_PORT not in n.path)
    nodes = (*own, devices.root_port(laptops.DRIVE_PORT, 2, 9, True, (8.0, 4)),
             *devices.nvme(laptops.DRIVE_PORT, NEW_NVME))  # fmt: skip
    return replace(bed, nodes=nodes, drives={"nvme0n1": NEW_NVME, "nvme0": NEW_NVME})


# --- Drives


def drops() -> Bed:
    """Under load the drive is gone from its bus, and comes back after a reset."""
    lines = []
    for n in range(3):
        at = 70.0 + 60 * n
        lines += [
            (at, 4, "nvme nvme0: controller is down; will reset: CSTS=0xffffffff, PCI_STATUS=0x10"),
            (at + 0.5, 3, f"I/O error, dev nvme0n1, sector {409600 + n} op 0x1:(WRITE) flags 0x800 "
                          "phys_seg 1 prio class 2"),
            (at + 1.2, 6, "nvme nvme0: 8/0/0 default/read/poll queues"),
        ]  # fmt: skip
    return _said(laptops.nvme(), lines)


def stays_on() -> Bed:
    """The drive stays on its bus."""
    return laptops.nvme()


# --- Radios


def soft_blocked() -> Bed:
    """Somebody pressed the key with the aeroplane."""
    return _changed(laptops.nvme(), "rfkill", {"soft": "1", "state": "0"})


def no_bluetooth() -> Bed:
    """The wireless card's other half, behind USB, does not answer."""
    bed = laptops.nvme()
    return replace(bed, nodes=tuple(n for n in bed.nodes if "/1-7" not in n.path))


# --- Clock, sleep, screen


def clock(seconds: str) -> Bed:
    """A laptop whose clock tells this many seconds since 1970."""
    rtc = Node("rtc", "/sys/devices/pnp0/00:01/rtc/rtc0",
               {"since_epoch": seconds, "name": "rtc_cmos"})  # fmt: skip
    bed = laptops.ahci()
    return replace(bed, nodes=(*bed.nodes, rtc))


def clock_2019() -> Bed:
    """It begins anew at each start."""
    bed = clock("1546300950")
    driver = "rtc_time\t: 00:02:30\nbatt_status\t: dead\n"
    return replace(bed, extra={**bed.extra, "/proc/driver/rtc": driver})


def clock_right() -> Bed:
    """It kept the day of the demo's runs."""
    bed = clock("1772445600")
    driver = "rtc_time\t: 10:00:00\nbatt_status\t: okay\n"
    return replace(bed, extra={**bed.extra, "/proc/driver/rtc": driver})


def panel_sound() -> Bed:
    """A machine that starts, with its panel's link in order."""
    return with_panel()
