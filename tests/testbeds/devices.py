"""Devices the invented laptops are put together from, as the kernel would list them."""

from __future__ import annotations

from tests.radio import messages
from tests.testbeds import config
from tests.testbeds.bed import Content, Node
from tests.testbeds.smartctl import Drive

ROOT = "/sys/devices/pci0000:00"


NO_ERRORS: dict[str, Content] = {
    "aer_dev_correctable": "RxErr 0\nBadTLP 0\nBadDLLP 0\nRollover 0\nTimeout 0\nNonFatalErr 0\n"
    "CorrIntErr 0\nHeaderOF 0\nTOTAL_ERR_COR 0",
    "aer_dev_nonfatal": "DLP 0\nTLP 0\nCmpltTO 0\nUnsupReq 0\nTOTAL_ERR_NONFATAL 0",
    "aer_dev_fatal": "DLP 0\nTLP 0\nMalfTLP 0\nUnsupReq 0\nTOTAL_ERR_FATAL 0",
}
"""Error counters as the kernel prints them (ABI/testing/sysfs-bus-pci-devices-aer)."""


def function(
    path: str, space: bytes | bytearray, driver: str | None = None, **files: Content
) -> Node:
    """A PCI function; its ids and class are read off its configuration space."""
    vendor, device = (int.from_bytes(space[i : i + 2], "little") for i in (0, 2))
    code = int.from_bytes(space[9:12], "little")
    if len(space) > 256:
        files = {**NO_ERRORS, **files}
    return Node(
        "pci",
        path,
        {
            "vendor": f"0x{vendor:04x}",
            "device": f"0x{device:04x}",
            "class": f"0x{code:06x}",
            "config": bytes(space),
            **files,
        },
        {"PCI_SLOT_NAME": path.rpartition("/")[2]},
        driver,
    )


def board() -> tuple[Node, ...]:
    """What every laptop's chipset has."""
    return (
        function(f"{ROOT}/0000:00:00.0", config.plain("8086:1904", 0x060000)),
        function(f"{ROOT}/0000:00:02.0", config.plain("8086:1916", 0x030000), "i915"),
        function(f"{ROOT}/0000:00:14.0", config.plain("8086:9d2f", 0x0C0330), "xhci_hcd"),
        function(f"{ROOT}/0000:00:1f.3", config.plain("8086:9d70", 0x040300), "snd_hda_intel"),
    )


# --- USB


def hub_root(bus: int, ports: dict[int, str], controller: str = "0000:00:14.0") -> tuple[Node, ...]:
    """A root hub and its ports: port number -> connect type."""
    path = f"{ROOT}/{controller}/usb{bus}"
    named = {
        f"{bus}-0:1.0/usb{bus}-port{number}/connect_type": kind for number, kind in ports.items()
    }
    files = {"idVendor": "1d6b", "idProduct": "0002", "bDeviceClass": "09", "speed": "480"}
    return (
        Node("usb", path, {**files, **named}, {"DEVTYPE": "usb_device"}, "usb"),
        Node("usb", f"{path}/{bus}-0:1.0", {"bInterfaceClass": "09"}, {"DEVTYPE": "usb_interface"}),
    )


def usb(
    name: str, usb_id: str, classes: tuple[int, int, int], product: str, serial: str = ""
) -> tuple[Node, ...]:
    """A device in a port of the first root hub, with one interface."""
    vendor, number = usb_id.split(":")
    path = f"{ROOT}/0000:00:14.0/usb{name.partition('-')[0]}/{name}"
    files = {"idVendor": vendor, "idProduct": number, "bDeviceClass": "00", "speed": "480",
             "product": product, "removable": "fixed", "bcdDevice": "0100"}  # fmt: skip
    if serial:
        files["serial"] = serial
    codes = dict(
        zip(("bInterfaceClass", "bInterfaceSubClass", "bInterfaceProtocol"),
            (f"{c:02x}" for c in classes), strict=True)
    )  # fmt: skip
    return (
        Node("usb", path, files, {"DEVTYPE": "usb_device"}, "usb"),
        Node("usb", f"{path}/{name}:1.0", codes, {"DEVTYPE": "usb_interface"}),
    )


# --- Storage


def sata_controller() -> Node:
    return function(f"{ROOT}/0000:00:17.0", config.plain("8086:9d03", 0x010601), "ahci")


def sata_port(
    number: int, drive: Drive | None = None, block: str = "", optical: bool = False
) -> tuple[Node, ...]:
    """A SATA port with the drive on it, if any; ``block`` is the kernel's name of it."""
    base = f"{ROOT}/0000:00:17.0/ata{number}"
    link, device = f"{base}/link{number}", f"dev{number}.0"
    kind = "none" if drive is None else "atapi" if optical else "ata"
    speed = "<unknown>" if drive is None else "1.5 Gbps" if optical else "6.0 Gbps"
    nodes = [
        Node("ata_port", f"{base}/ata_port/ata{number}", {"port_no": str(number)}),
        Node(
            "ata_link",
            f"{link}/ata_link/link{number}",
            {"sata_spd": speed, "hw_sata_spd_limit": "6.0 Gbps", "sata_spd_limit": "6.0 Gbps"},
        ),
        Node("ata_device", f"{link}/{device}/ata_device/{device}", {"class": kind}),
    ]
    if drive is not None:
        nodes += _scsi(base, number - 1, drive, block, optical)
    return tuple(nodes)


def _scsi(base: str, host: int, drive: Drive, block: str, optical: bool) -> list[Node]:
    path = f"{base}/host{host}/target{host}:0:0/{host}:0:0:0"
    files: dict[str, Content] = {
        "type": "5" if optical else "0",
        "vendor": "OSTREVAR" if optical else "ATA",
        "model": drive.model[:16],
        "rev": drive.firmware[:4],
    }
    if not optical:
        serial = drive.serial.encode()
        files["vpd_pg80"] = bytes([0, 0x80, 0, len(serial)]) + serial
    size = {"size": str(drive.size // 512), "removable": str(int(optical)), "ro": "0"}
    driver = "sr" if optical else "sd"
    number = {"MAJOR": "11" if optical else "8", "MINOR": "0"}
    # As udev's ata_id writes it; SCSI's own field holds sixteen characters only.
    number["ID_MODEL"] = drive.model.replace(" ", "_")
    return [
        Node("scsi", path, files, {"DEVTYPE": "scsi_device"}, driver),
        Node("scsi_generic", f"{path}/scsi_generic/sg{host}", {"dev": f"21:{host}"}),
        Node("block", f"{path}/block/{block}", {**size, "queue/rotational": "0"},
             {"DEVTYPE": "disk", "DEVNAME": f"/dev/{block}", **number}, node=True),
    ]  # fmt: skip


def nvme(port: str, drive: Drive, status: int = 0) -> tuple[Node, ...]:
    """An NVMe drive behind a root port (address such as ``0000:00:1d.0``), on bus 2."""
    path = f"{ROOT}/{port}/0000:02:00.0"
    space = config.express("1b36:0010", 0x010802, now=(8.0, 4), most=(8.0, 4), device_status=status)
    own = f"{path}/nvme/nvme0"
    files = {"model": drive.model, "serial": drive.serial, "firmware_rev": drive.firmware,
             "state": "live", "transport": "pcie"}  # fmt: skip
    return (
        function(path, space, "nvme"),
        Node("nvme", own, files, {"DEVNAME": "/dev/nvme0"}, node=True),
        Node("block", f"{own}/nvme0n1",
             {"size": str(drive.size // 512), "removable": "0", "ro": "0", "queue/rotational": "0"},
             {"DEVTYPE": "disk", "DEVNAME": "/dev/nvme0n1", "MAJOR": "259", "MINOR": "0"},
             node=True),
    )  # fmt: skip


# --- Wireless


def root_port(
    address: str, bus: int, slot: int, presence: bool, link: tuple[float, int] | None,
    most: tuple[float, int] = (8.0, 4),
) -> Node:  # fmt: skip
    """A root port with a slot; ``link``: None when it did not come up."""
    space = config.express(
        "8086:9d14", 0x060400, config.ROOT_PORT, bus, link or (2.5, 0), most, slot, presence,
        link is not None,
    )  # fmt: skip
    return function(f"{ROOT}/{address}", space, "pcieport")


def wireless(port: str, mac: str) -> tuple[Node, ...]:
    """A wireless card behind a root port, on bus 1, with its driver's devices."""
    path = f"{ROOT}/{port}/0000:01:00.0"
    space = config.express("168c:0042", 0x028000, now=(2.5, 1), most=(2.5, 1))
    phy = f"{path}/ieee80211/phy0"
    return (
        function(path, space, "ath10k_pci"),
        Node("ieee80211", phy, {"macaddress": mac, "index": "0"}),
        Node("rfkill", f"{phy}/rfkill0", {"type": "wlan", "name": "phy0", "hard": "0", "soft": "0",
                                          "state": "1"}),
        Node("net", f"{path}/net/wlan0",
             {"address": mac, "addr_assign_type": "0", "operstate": "down", "type": "1",
              "wireless/status": "0x0"},
             {"DEVTYPE": "wlan", "INTERFACE": "wlan0"}),
    )  # fmt: skip


RADIOS = {
    "wiphy": (messages.wiphy(0, "phy0", messages.TWO_BANDS),),
    "interface": (messages.interface(3, "wlan0"),),
    "reg": (messages.rules("00"),),
}
"""What the kernel says of the card's radio."""


# --- Power and heat


def battery(full_wh: float, design_wh: float, cycles: int, serial: str) -> Node:
    files = {
        "type": "Battery", "present": "1", "status": "Full", "technology": "Li-ion",
        "manufacturer": "Akkuwerk", "model_name": "AW-50", "serial_number": serial,
        "cycle_count": str(cycles), "voltage_min_design": "11400000", "voltage_now": "12610000",
        "energy_full_design": str(int(design_wh * 1e6)), "energy_full": str(int(full_wh * 1e6)),
        "energy_now": str(int(full_wh * 1e6)), "power_now": "0", "capacity": "100",
    }  # fmt: skip
    path = "/sys/devices/LNXSYSTM:00/LNXSYBUS:00/PNP0C0A:00/power_supply/BAT0"
    return Node("power_supply", path, files)


def mains(online: bool = True) -> Node:
    path = "/sys/devices/LNXSYSTM:00/LNXSYBUS:00/ACPI0003:00/power_supply/AC"
    return Node("power_supply", path, {"type": "Mains", "online": str(int(online))})


def usb_c_supply() -> Node:
    name = "ucsi-source-psy-USBC000:001"
    path = f"/sys/devices/platform/USBC000:00/power_supply/{name}"
    files = {
        "type": "USB", "online": "1", "usb_type": "C [PD] PD_PPS", "voltage_now": "20000000",
        "voltage_max": "20000000", "voltage_min": "5000000", "current_max": "3250000",
        "current_now": "1450000", "scope": "System",
    }  # fmt: skip
    return Node("power_supply", path, files)


def heat(package_c: float = 47.0, rpm: int = 2350) -> tuple[Node, ...]:
    """A processor's sensor, a fan and a firmware thermal zone."""
    milli = str(int(package_c * 1000))
    return (
        Node("hwmon", "/sys/devices/platform/coretemp.0/hwmon/hwmon0",
             {"name": "coretemp", "temp1_input": milli, "temp1_label": "Package id 0",
              "temp1_max": "100000", "temp1_crit": "100000", "temp1_crit_alarm": "0"}),
        Node("hwmon", "/sys/devices/platform/talnau-fan/hwmon/hwmon1",
             {"name": "talnau_fan", "fan1_input": str(rpm), "fan1_label": "CPU"}),
        Node("thermal", "/sys/devices/virtual/thermal/thermal_zone0",
             {"type": "x86_pkg_temp", "temp": milli, "trip_point_0_type": "critical",
              "trip_point_0_temp": "105000"}),
    )  # fmt: skip
