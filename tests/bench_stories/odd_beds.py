"""Machines of the stories of bad habits: what each of them shows the kernel, in files."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from tests.inventory import smbios_builder as smbios
from tests.testbeds import config, devices, laptops, stories
from tests.testbeds.bed import Bed, Content, Node
from tests.testbeds.smartctl import Drive

SECOND_SPARE = replace(stories.DRIVE_B, serial="OSV120BENCH4", raw={}, phy={0x001: 0, 0x00B: 0})
LOCKED = Drive("OSTREVAR S5 480GB", "OSV480LOCK1", "V3.00", 480 * laptops.GB)
OTHERS = Drive("Ostrevar N4 512GB", "OSN512OTHER", "3.1.7", 512 * laptops.GB, nvme=True, hours=4012)


def _changed(bed: Bed, subsystem: str, files: Mapping[str, Content], name: str = "") -> Bed:
    """Other contents in every device of a subsystem, or in the one of that name."""
    nodes = tuple(
        replace(node, files={**node.files, **files})
        if node.subsystem == subsystem and name in node.path
        else node
        for node in bed.nodes
    )
    return replace(bed, nodes=nodes)


def _said(bed: Bed, lines: Sequence[tuple[float, int, str]]) -> Bed:
    return replace(bed, log=tuple(sorted((*bed.log, *lines))))


# --- Drives


def second_spare() -> Bed:
    """Another spare in bay 1, and no transfer is damaged."""
    return stories.two_bays(SECOND_SPARE, 1, ())


def others_drive() -> Bed:
    """In place of the customer's drive one that nobody has seen here."""
    return stories.with_drive(OTHERS, ())


def locked() -> Bed:
    """A drive that is locked by a password refuses every read."""
    bed = stories.two_bays(LOCKED, 1, ())
    lines = []
    for at, sector in ((3.1, 0), (3.4, 8), (9.8, 937703080)):
        lines += [
            (at, 6, "sd 0:0:0:0: [sda] tag#3 FAILED Result: hostbyte=DID_OK "
                    "driverbyte=DRIVER_OK cmd_age=0s"),
            (at + 0.01, 6, "sd 0:0:0:0: [sda] tag#3 Sense Key : Aborted Command [current] "),
            (at + 0.02, 6, "sd 0:0:0:0: [sda] tag#3 Add. Sense: Security conflict in translated "
                           "device"),
            (at + 0.03, 3, f"I/O error, dev sda, sector {sector} op 0x0:(READ) flags 0x0 "
                           "phys_seg 1 prio class 2"),
        ]  # fmt: skip
    return _said(bed, lines)


def emmc_worn() -> Bed:
    """A soldered eMMC that has used up its life (JESD84-B51: life time 0Bh, pre-EOL 03h)."""
    host = f"{devices.ROOT}/0000:00:1c.4/mmc_host/mmc0"
    card = f"{host}/mmc0:0001"
    files = {"type": "MMC", "name": "OS64G1", "serial": "0x51c0ffee", "manfid": "0x0000d3",
             "date": "03/2019", "life_time": "0x0b 0x0b", "pre_eol_info": "0x03",
             "fwrev": "0x0600000000000000"}  # fmt: skip
    space = config.plain("8086:9d2d", 0x080501)
    bed = laptops.nvme()
    own = tuple(n for n in bed.nodes if laptops.DRIVE_PORT not in n.path)
    nodes = (
        *own,
        devices.function(f"{devices.ROOT}/0000:00:1c.4", space, "sdhci-pci"),
        Node("mmc_host", host),
        Node("mmc", card, files, {"MMC_TYPE": "MMC"}, "mmcblk"),
        Node("block", f"{card}/block/mmcblk0",
             {"size": str(62 * 2**21), "removable": "0", "ro": "0", "queue/rotational": "0"},
             {"DEVTYPE": "disk", "DEVNAME": "/dev/mmcblk0", "MAJOR": "179", "MINOR": "0"},
             node=True),
    )  # fmt: skip
    lines = [
        (40.0 + n, 3, f"I/O error, dev mmcblk0, sector {sector} op 0x0:(READ) flags 0x80700 "
                      "phys_seg 1 prio class 2")
        for n, sector in enumerate((81920, 81928, 512000))
    ]  # fmt: skip
    return _said(replace(bed, nodes=nodes, drives={}), lines)


def boxed_drive() -> Bed:
    """The customer's backup in a USB box that falls off the bus; the machine is sound."""
    bed = laptops.nvme()
    box = devices.usb("1-1", "152d:0578", (8, 6, 0x62), "Portable box", "BX-2207")
    nodes = tuple(replace(n, files={**n.files, "removable": "removable"}) if "1-1" in n.name
                  and n.files.get("removable") else n for n in box)  # fmt: skip
    lines = [(30.0, 6, "usb 1-1: new high-speed USB device number 5 using xhci_hcd")]
    for n in range(4):
        at = 60.0 + 9 * n
        lines += [
            (at, 6, f"usb 1-1: reset high-speed USB device number {5 + n} using xhci_hcd"),
            (at + 2, 3, "usb 1-1: device descriptor read/64, error -71"),
            (at + 3, 6, f"usb 1-1: USB disconnect, device number {5 + n}"),
            (at + 5, 6, f"usb 1-1: new high-speed USB device number {6 + n} using xhci_hcd"),
        ]
    return _said(replace(bed, nodes=(*bed.nodes, *nodes)), lines)


def dock() -> Bed:
    """A dock on the USB-C socket: what hangs on its hub falls off, the machine is sound."""
    bed = laptops.nvme()
    hub = devices.usb("1-2", "2109:2813", (9, 0, 2), "Dock hub")
    wired = devices.usb("1-2.3", "0bda:8153", (0xFF, 0xFF, 0), "USB 10/100/1000 LAN", "000001")
    nodes = []
    for node in (*hub, *wired):
        files = dict(node.files)
        if node.properties.get("DEVTYPE") == "usb_device":
            files["removable"] = "removable" if node.name == "1-2" else "unknown"
            files["bDeviceClass"] = "09" if node.name == "1-2" else "00"
        path = node.path.replace("/usb1/1-2.3", "/usb1/1-2/1-2.3")
        nodes.append(replace(node, files=files, path=path))
    lines = []
    for n in range(5):
        at = 50.0 + 20 * n
        lines += [
            (at, 6, f"usb 1-2.3: USB disconnect, device number {9 + n}"),
            (at + 1, 3, "usb 1-2.3: device descriptor read/64, error -71"),
            (at + 2, 3, "usb 1-2-port3: cannot reset (err = -71)"),
            (at + 4, 6, f"usb 1-2.3: new high-speed USB device number {10 + n} using xhci_hcd"),
        ]
    return _said(replace(bed, nodes=(*bed.nodes, *nodes)), lines)


# --- Memory


def _modules(first: str, second: str, label: str) -> Bed:
    """Two modules, and the counter of one place rises."""
    bed = laptops.nvme()
    table = b"".join((
        smbios.firmware(), smbios.system(smbios.UUID[:-2] + b"\x20\x03", "TW14-2003"),
        smbios.board("BTW14-2003"), smbios.chassis(), smbios.processor(), smbios.array(),
        smbios.memory(0x11, "DIMM A", serial=first), smbios.memory(0x12, "DIMM B", serial=second),
        smbios.array_range(0, (16 << 20) - 1), smbios.end(),
    ))  # fmt: skip
    firmware = "/sys/firmware/dmi/tables"
    extra = {**bed.extra, f"{firmware}/DMI": table,
             f"{firmware}/smbios_entry_point": smbios.entry_point_64(table)}  # fmt: skip
    lines = [
        (100.0 + 30 * n, 4, f"EDAC MC0: 1 CE memory read error on {label} (channel:0 slot:0 "
                            f"page:0x{0x8A200 + n:x} offset:0x40 grain:64 syndrome:0x0)")
        for n in range(12)
    ]  # fmt: skip
    edac = "/sys/devices/system/edac/mc/mc0"
    for number, place in enumerate(("DIMM A", "DIMM B")):
        own = 12 if place == label else 0
        extra |= {f"{edac}/dimm{number}/dimm_label": f"BANK 0 {place}",
                  f"{edac}/dimm{number}/dimm_ce_count": str(own),
                  f"{edac}/dimm{number}/dimm_ue_count": "0"}  # fmt: skip
    extra |= {f"{edac}/ce_count": "12", f"{edac}/ue_count": "0"}
    return _said(replace(bed, extra=extra), lines)


def modules() -> Bed:
    """The module in place A has errors."""
    return _modules("51AA0001", "51AA0002", "DIMM A")


def modules_crossed() -> Bed:
    """The modules changed places, and the errors went with the module."""
    return _modules("51AA0002", "51AA0001", "DIMM B")


# --- Power


def weak_adapter() -> Bed:
    """Fed over USB-C by an adapter of 30 W; the battery runs down beside it."""
    bed = laptops.nvme()
    supply = {"voltage_now": "20000000", "current_max": "1500000", "current_now": "1500000"}
    low = {"status": "Discharging", "power_now": "11200000", "capacity": "44",
           "energy_now": "21400000"}  # fmt: skip
    bed = _changed(bed, "power_supply", supply, "ucsi")
    return _changed(bed, "power_supply", low, "BAT0")


def foreign_battery() -> Bed:
    """A battery of no known maker: no cycles, more than it was designed to hold."""
    told = {"manufacturer": "", "model_name": "Primary", "serial_number": "", "cycle_count": "0",
            "energy_full": "61200000", "energy_full_design": "50000000",
            "status": "Not charging", "capacity": "87", "energy_now": "53000000"}  # fmt: skip
    return _changed(laptops.ahci(), "power_supply", told, "BAT0")


def clock_lost() -> Bed:
    """The clock forgot the time while the power was away."""
    rtc = Node("rtc", "/sys/devices/pnp0/00:01/rtc/rtc0",
               {"since_epoch": "1546300950", "name": "rtc_cmos"})  # fmt: skip
    bed = laptops.ahci()
    driver = "rtc_time\t: 00:02:30\nbatt_status\t: dead\n"
    return replace(bed, nodes=(*bed.nodes, rtc), extra={**bed.extra, "/proc/driver/rtc": driver})


# --- Radios, fans, cards


def radio_off() -> Bed:
    """Somebody moved the slider at the edge of the case."""
    return _changed(laptops.nvme(), "rfkill", {"hard": "1", "state": "2"})


def radio_on() -> Bed:
    """The slider is back."""
    return laptops.nvme()


def _heat(celsius: float, rpm: int) -> Bed:
    whole = laptops.ahci()
    own = tuple(n for n in whole.nodes if n.subsystem not in ("hwmon", "thermal"))
    lines = [
        (60.0 + n, 4, f"CPU{n}: Package temperature above threshold, cpu clock throttled (total "
                      f"events = {n * 40 + 1})")
        for n in range(4)
    ]  # fmt: skip
    return _said(replace(whole, nodes=(*own, *devices.heat(celsius, rpm))), lines)


def dusty() -> Bed:
    """The fan turns as fast as it can, and the heat stays."""
    return _heat(98.0, 5400)


def fan_dead() -> Bed:
    """The fan stands still."""
    return _heat(98.0, 0)


def card_bad() -> Bed:
    """The reader answers; the customer's memory card does not."""
    host = f"{devices.ROOT}/0000:00:1c.4/mmc_host/mmc1"
    space = config.plain("8086:9d2d", 0x080501)
    bed = laptops.nvme()
    nodes = (
        *bed.nodes,
        devices.function(f"{devices.ROOT}/0000:00:1c.4", space, "sdhci-pci"),
        Node("mmc_host", host),
    )
    lines = [(70.0 + 9 * n, 3, "mmc1: error -110 whilst initialising SD card") for n in range(3)]
    return _said(replace(bed, nodes=nodes), lines)


def sound() -> Bed:
    """Nothing is the matter with it."""
    return laptops.nvme()


def other_machine(card: str = "02:5e:a1:00:99:01") -> Bed:
    """Another laptop altogether, with parts of its own."""
    bed = laptops.ahci()
    key = "/sys/firmware/dmi/tables/DMI"
    table = bed.extra[key]
    assert isinstance(table, bytes)
    own = table.replace(b"4A1B2C3D", b"4A1B2C77").replace(b"CPU-SN-1", b"CPU-SN-7")
    extra = {**bed.extra, key: own}
    return _changed(replace(bed, extra=extra), "ieee80211", {"macaddress": card})


def card_elsewhere() -> Bed:
    """The shop's own laptop, with the customer's wireless card in it."""
    return other_machine(laptops.MAC)
