"""Machines that walked in (``walked_in.py``): what each of them shows the kernel, in files."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from tests.inventory import smbios_builder as smbios
from tests.testbeds import config, devices, laptops, stories
from tests.testbeds.bed import Bed, Content, Node
from tests.testbeds.screens import with_panel
from tests.testbeds.smartctl import Drive

from tests.bench_stories import fresh_beds  # isort: skip
from tests.bench_stories.fresh_beds import _part_soldered, _with_hands  # isort: skip
from tests.bench_stories.odd_beds import _changed, _heat, _said, other_machine  # isort: skip

HOT = Drive("Ostrevar N4 512GB", "OSN512K0042", "3.1.7", 512 * laptops.GB, nvme=True, celsius=86,
            critical_warning=2)  # fmt: skip
OTHERS_SERIALS = ("51AA0001", "51AA0002")


def _battery(bed: Bed, files: Mapping[str, Content]) -> Bed:
    return _changed(bed, "power_supply", files, "BAT0")


def _on_battery(bed: Bed, files: Mapping[str, Content]) -> Bed:
    away = _changed(bed, "power_supply", {"online": "0"}, "/AC")
    return _battery(away, {"status": "Discharging", **files})


# --- Power


def jack_out() -> Bed:
    """The adapter is plugged in, and nothing of it arrives."""
    return _on_battery(laptops.ahci(), {"capacity": "34", "power_now": "9800000",
                                        "energy_now": "14600000"})  # fmt: skip


def jack_in() -> Bed:
    """The same with the plug held to one side: it charges."""
    return _battery(laptops.ahci(), {"capacity": "34", "status": "Charging",
                                     "power_now": "28000000",
                                     "energy_now": "14600000"})  # fmt: skip


def wrong_way() -> Bed:
    """The USB-C plug one way round: adapter and machine do not find each other."""
    none = {"online": "0", "voltage_now": "0", "current_now": "0", "usb_type": "[C] PD"}
    low = {"status": "Discharging", "power_now": "9800000", "capacity": "31",
           "energy_now": "15000000"}  # fmt: skip
    return _battery(_changed(laptops.nvme(), "power_supply", none, "ucsi"), low)


def right_way() -> Bed:
    """The same plug turned over: 20 V, and the battery charges."""
    return _battery(laptops.nvme(), {"status": "Charging", "power_now": "31000000",
                                     "capacity": "32", "energy_now": "15400000"})  # fmt: skip


def new_battery() -> Bed:
    """The customer's new battery, of a maker nobody knows: never charged above 34 %."""
    return _battery(laptops.ahci(), {
        "manufacturer": "", "model_name": "Cell 50", "serial_number": "0001", "cycle_count": "0",
        "energy_full": "50000000", "status": "Not charging", "capacity": "34", "power_now": "0",
        "energy_now": "17000000"})  # fmt: skip


def shops_battery() -> Bed:
    """The shop's own battery in the same bay charges."""
    return _battery(laptops.ahci(), {"serial_number": "BENCH7", "status": "Charging",
                                     "capacity": "52", "power_now": "29000000",
                                     "energy_now": "22400000"})  # fmt: skip


def held_at_60() -> Bed:
    """A battery that somebody set to be charged to 60 % and no further."""
    return _battery(laptops.ahci(), {"status": "Not charging", "capacity": "60", "power_now": "0",
                                     "energy_now": "25900000",
                                     "charge_control_end_threshold": "60",
                                     "charge_control_start_threshold": "55"})  # fmt: skip


def weak_cell() -> Bed:
    """Full by its figures; under load its voltage breaks down at 58 %."""
    return _on_battery(laptops.ahci(), {"capacity": "58", "energy_now": "25000000",
                                        "power_now": "24000000",
                                        "voltage_now": "8900000"})  # fmt: skip


def unread_adapter() -> Bed:
    """The adapter feeds the machine; it is not read, so nothing is charged and all is slow."""
    return _battery(laptops.ahci(), {"status": "Not charging", "capacity": "40", "power_now": "0",
                                     "energy_now": "17200000"})  # fmt: skip


def read_adapter() -> Bed:
    """The shop's adapter on the same jack: the battery charges."""
    return _battery(laptops.ahci(), {"status": "Charging", "capacity": "41",
                                     "power_now": "33000000",
                                     "energy_now": "17700000"})  # fmt: skip


# --- Heat


def dry_paste() -> Bed:
    """The fan turns fast and is clean; the heat does not reach it."""
    return _heat(98.0, 5200)


def new_paste() -> Bed:
    """The same fan and heatsink, seated anew with fresh paste."""
    whole = laptops.ahci()
    own = tuple(n for n in whole.nodes if n.subsystem not in ("hwmon", "thermal"))
    return replace(whole, nodes=(*own, *devices.heat(63.0, 3300)))


def hot_and_worn() -> Bed:
    """The fan stands, and the battery has lost more than half of what it held."""
    return _battery(_heat(99.0, 0), {"energy_full": "19400000", "energy_now": "19400000",
                                     "cycle_count": "1140"})  # fmt: skip


def cool_and_worn() -> Bed:
    """A new fan; the battery is the old one, and the machine runs on it."""
    whole = fresh_beds.new_cooling()
    return _on_battery(whole, {"energy_full": "19400000", "energy_now": "6900000",
                               "capacity": "36", "power_now": "21000000",
                               "cycle_count": "1140"})  # fmt: skip


def rattles() -> Bed:
    """A sound machine to its sensors; the fan turns at 3,400 a minute."""
    bed = fresh_beds.hands()
    own = tuple(n for n in bed.nodes if n.subsystem not in ("hwmon", "thermal"))
    return replace(bed, nodes=(*own, *devices.heat(52.0, 3400)))


# --- Memory


def _memory(first: str, second: str, bad: str = "") -> Bed:
    """Modules in the places A and B; an empty serial: nothing is in it. ``bad``: where it counts.

    Errors in the log are those of EDAC's edac_raw_mc_handle_error() (edac_mc.c).
    """
    bed = laptops.nvme()
    table = b"".join((
        smbios.firmware(), smbios.system(smbios.UUID[:-2] + b"\x20\x05", "TW14-2005"),
        smbios.board("BTW14-2005"), smbios.chassis(), smbios.processor(), smbios.array(),
        *(smbios.memory(0x11 + n, place, serial=serial) if serial
          else smbios.memory(0x11 + n, place, size=0, serial="")
          for n, (place, serial) in enumerate((("DIMM A", first), ("DIMM B", second)))),
        smbios.array_range(0, (16 << 20) - 1), smbios.end(),
    ))  # fmt: skip
    firmware, edac = "/sys/firmware/dmi/tables", "/sys/devices/system/edac/mc/mc0"
    extra = {**bed.extra, f"{firmware}/DMI": table,
             f"{firmware}/smbios_entry_point": smbios.entry_point_64(table)}  # fmt: skip
    for number, (place, serial) in enumerate((("DIMM A", first), ("DIMM B", second))):
        if serial:
            extra |= {f"{edac}/dimm{number}/dimm_label": f"BANK 0 {place}",
                      f"{edac}/dimm{number}/dimm_ce_count": "9" if place == bad else "0",
                      f"{edac}/dimm{number}/dimm_ue_count": "0"}  # fmt: skip
    extra |= {f"{edac}/ce_count": "9" if bad else "0", f"{edac}/ue_count": "0"}
    lines = [
        (90.0 + 30 * n, 4, f"EDAC MC0: 1 CE memory read error on {bad} (channel:0 slot:0 "
                           f"page:0x{0x9A100 + n:x} offset:0x80 grain:64 syndrome:0x0)")
        for n in range(9 * bool(bad))
    ]  # fmt: skip
    return _said(replace(bed, extra=extra), lines)


def pair_bad() -> Bed:
    """Two modules; errors at place A."""
    return _memory(*OTHERS_SERIALS, "DIMM A")


def second_alone() -> Bed:
    """The module of place B alone in place A: no errors."""
    return _memory(OTHERS_SERIALS[1], "")


def first_alone() -> Bed:
    """The module of place A alone in its place: errors."""
    return _memory(OTHERS_SERIALS[0], "", "DIMM A")


CRASHES: Sequence[tuple[float, int, str]] = (
    (210.2, 1, "BUG: unable to handle page fault for address: ffff9c1a40000000"),
    (210.3, 1, "#PF: supervisor read access in kernel mode"),
    (388.0, 1, "BUG: Bad page state in process kworker/3:1  pfn:1a2b3c"),
    (611.4, 4, "general protection fault, probably for non-canonical address "
               "0xdead000000000108: 0000 [#1] PREEMPT SMP NOPTI"),
)  # fmt: skip


def added_module() -> Bed:
    """The customer's second module beside the first: one crash after another."""
    return _said(_memory("51AA0001", "77ZZ0009"), CRASHES)


def without_it() -> Bed:
    """The second module is out again, and nothing crashes."""
    return _memory("51AA0001", "")


def slot_module_bad() -> Bed:
    """Soldered memory, sound; the module beside it has errors."""
    return _part_soldered("DIMM B")


# --- Drives


def cable_elsewhere() -> Bed:
    """The customer's drive in the shop's own laptop: no transfer is damaged."""
    drive = replace(stories.DRIVE_A, raw={199: 63}, phy={0x001: 0, 0x00B: 0})
    bed = other_machine("02:5e:a1:00:99:02")
    own = tuple(n for n in bed.nodes if "/0000:00:17.0/ata1" not in n.path)
    return replace(bed, nodes=(*own, *devices.sata_port(1, drive, "sda")), drives={"sda": drive})


def vanishes_warm() -> Bed:
    """After 25 minutes at 86 degrees the drive is gone from its slot."""
    bed = laptops.nvme()
    own = tuple(n for n in bed.nodes if laptops.DRIVE_PORT not in n.path)
    nodes = (*own, devices.root_port(laptops.DRIVE_PORT, 2, 9, True, (8.0, 4)),
             *devices.nvme(laptops.DRIVE_PORT, HOT))  # fmt: skip
    lines = [
        (1502.0, 4, "nvme nvme0: controller is down; will reset: CSTS=0xffffffff, "
                    "PCI_STATUS=0x10"),
        (1503.1, 3, "nvme nvme0: Device not ready; aborting reset, CSTS=0xffffffff"),
        (1503.2, 3, "I/O error, dev nvme0n1, sector 409600 op 0x1:(WRITE) flags 0x800 "
                    "phys_seg 1 prio class 2"),
    ]  # fmt: skip
    return _said(replace(bed, nodes=nodes, drives={"nvme0n1": HOT, "nvme0": HOT}), lines)


# --- Screen, hands, eyes and ears


def screen() -> Bed:
    """A machine with its panel, keyboard, touchpad, loudspeakers and camera."""
    return _with_hands(with_panel())


def touches() -> Bed:
    """The same with a touchscreen."""
    bed = screen()
    path = (f"{devices.ROOT}/0000:00:15.0/i2c_designware.0/i2c-1/i2c-OSTS0001:00/"
            "0018:2575:7317.0001/input/input9")  # fmt: skip
    node = Node("input", path, {"name": "OSTS0001:00 2575:7317"}, {"ID_INPUT_TOUCHSCREEN": "1"})
    return replace(bed, nodes=(*bed.nodes, node))


def old_battery() -> Bed:
    """A machine with all that hands try, and a battery of 1,180 cycles."""
    return _battery(fresh_beds.hands(), {"cycle_count": "1180", "energy_full": "30500000",
                                         "energy_now": "30500000"})  # fmt: skip


def no_camera() -> Bed:
    """The camera in the lid does not answer at its port (messages: drivers/usb/core/hub.c)."""
    bed = screen()
    nodes = tuple(n for n in bed.nodes if "/1-5" not in n.path)
    lines = [
        (4.1, 6, "usb 1-5: new high-speed USB device number 4 using xhci_hcd"),
        (4.3, 3, "usb 1-5: device descriptor read/64, error -71"),
        (4.6, 3, "usb 1-5: device descriptor read/64, error -71"),
        (4.9, 6, "usb usb1-port5: attempt power cycle"),
        (5.9, 4, "usb 1-5: Device not responding to setup address."),
        (6.4, 3, "usb 1-5: device not accepting address 6, error -71"),
        (6.5, 3, "usb usb1-port5: unable to enumerate USB device"),
    ]
    return _said(replace(bed, nodes=nodes), lines)


# --- Sockets


def over_current() -> Bed:
    """A socket that is shorted: the hub switches it off again and again."""
    bed = fresh_beds.hands()
    key = "1-0:1.0/usb1-port2/over_current_count"
    nodes = tuple(
        replace(n, files={**n.files, key: "7"}) if n.path.endswith("/usb1") else n
        for n in bed.nodes
    )
    lines = [(20.0 + 12 * n, 3, f"usb usb1-port2: over-current change #{n + 1}") for n in range(7)]
    return _said(replace(bed, nodes=nodes), lines)


def wired() -> Bed:
    """A laptop with a wired network port on its board."""
    bed = fresh_beds.hands()
    path = f"{devices.ROOT}/0000:00:1f.6"
    card = devices.function(path, config.plain("8086:15d8", 0x020000), "e1000e")
    net = Node("net", f"{path}/net/enp0s31f6",
               {"address": "02:5e:a1:00:42:99", "addr_assign_type": "0", "operstate": "down",
                "type": "1"}, {"INTERFACE": "enp0s31f6"})  # fmt: skip
    return replace(bed, nodes=(*bed.nodes, card, net))
