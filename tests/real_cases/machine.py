"""The invented laptop a case is played on: a plain one, and the parts its file names.

A drive whose figures no thread shows gives none: smartctl is not there for it.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping, Sequence
from typing import Any, Final

from tests.real_cases.drives import PostedDrive
from tests.testbeds import config, devices, laptops
from tests.testbeds.bed import Bed, Content, Node
from tests.testbeds.devices import ROOT

GB: Final = 10**9
PLAIN_USB: Final = (0xFF, 0, 0)
STORAGE_USB: Final = (0x08, 0x06, 0x50)
EDAC: Final = "/sys/devices/system/edac/mc"
Log = Sequence[tuple[float, int, str]]


def bed(machine: Mapping[str, Any], log: Log) -> Bed:
    """The laptop with the parts of ``machine``, in which the kernel said ``log``."""
    stores = any(key in machine for key in ("sata", "nvme", "usb", "mmc"))
    made = _bare(machine) if stores else _whole(machine)
    return dataclasses.replace(made, log=tuple(log))


# --- A laptop with the drives that are named and none besides


def _bare(machine: Mapping[str, Any]) -> Bed:
    nodes: list[Node] = [*devices.board(), devices.mains(), devices.heat()[0], devices.heat()[1],
                         devices.battery(43.1, 50.0, 212, "0417")]  # fmt: skip
    drives: dict[str, PostedDrive] = {}
    if "sata" in machine:
        nodes.append(devices.sata_controller())
    for number, row in enumerate(machine.get("sata", ()), start=1):
        drive = _drive(row, number)
        block = row.get("block", "")
        optical = row.get("optical", False)
        nodes += devices.sata_port(row["ata"], drive if block else None, block, optical)
        if block and not optical and "smart" in row:
            drives[block] = drive
    for row in machine.get("nvme", ()):
        drive = _drive(row, 1, nvme=True)
        at = row.get("at", "0000:02:00.0")
        port = laptops.DRIVE_PORT
        nodes.append(devices.root_port(port, int(at[5:7], 16), 9, True, (8.0, 4)))
        nodes += [_moved(n, "0000:02:00.0", at) for n in devices.nvme(port, drive)]
        if "smart" in row:
            drives |= {"nvme0n1": drive, "nvme0": drive}
    nodes += _usb(machine)
    drives |= {row["block"]: _drive(row, 1) for row in machine.get("usb", ()) if "smart" in row}
    for row in machine.get("mmc", ()):
        nodes += _mmc(row)
    if "wlan" in machine:
        port = machine["wlan"]["port"]
        nodes.append(devices.root_port(port, 1, 4, True, (2.5, 1)))
        nodes += devices.wireless(port, laptops.MAC)
    tables = laptops.tables("TW14-4004", 0x4004)
    return Bed(nodes=tuple(nodes), extra=tables, drives=drives)


def _drive(row: Mapping[str, Any], number: int, nvme: bool = False) -> PostedDrive:
    return PostedDrive(
        model="Ostrevar N4" if nvme else "OSTREVAR S3",
        serial=row.get("serial", f"OSV{number:03d}{row.get('ata', 0):03d}"),
        firmware="3.1.7" if nvme else "V2.10",
        size=row.get("size", 512 * GB),
        nvme=nvme,
        figures=row.get("smart", {}),
    )


def _moved(node: Node, old: str, new: str) -> Node:
    return dataclasses.replace(node, path=node.path.replace(old, new))


def _usb(machine: Mapping[str, Any]) -> list[Node]:
    """Root hubs with the sockets, hubs on the way, and what is plugged in."""
    rows = machine.get("usb", ())
    sockets = [*machine.get("sockets", ()), *(re.split(r"\.", row["usb"])[0] for row in rows)]
    sockets += ["1-1", "1-2"]
    buses = sorted({socket.partition("-")[0] for socket in sockets})
    nodes: list[Node] = []
    for bus in buses:
        ports = {int(s.partition("-")[2]): "hotplug" for s in sockets if s.startswith(f"{bus}-")}
        nodes += devices.hub_root(int(bus), ports)
    for row in rows:
        name, hub = row["usb"], row["usb"].rpartition(".")[0]
        if hub:
            nodes += devices.usb(hub, "1d6b:0002", (0x09, 0, 0), "hub")
        kind = PLAIN_USB if row.get("plain") else STORAGE_USB
        nodes += devices.usb(name, "1209:0001", kind, "USB thing", row.get("serial", ""))
        if "block" in row:
            nodes += _usb_disk(nodes[-1].path, row)
    return nodes


def _usb_disk(interface: str, row: Mapping[str, Any]) -> tuple[Node, ...]:
    host = row["host"]
    path = f"{interface}/host{host}/target{host}:0:0/{host}:0:0:0"
    files: dict[str, Content] = {"type": "0", "vendor": "OSTREVAR", "model": "U2", "rev": "1"}
    size = {"size": str(500 * GB // 512), "removable": "0", "ro": "0"}
    return (
        Node("scsi", path, files, {"DEVTYPE": "scsi_device"}, "sd"),
        Node("block", f"{path}/block/{row['block']}", size,
             {"DEVTYPE": "disk", "DEVNAME": f"/dev/{row['block']}", "MAJOR": "8", "MINOR": "0"},
             node=True),
    )  # fmt: skip


def _mmc(row: Mapping[str, Any]) -> list[Node]:
    host = row["mmc"]
    path = f"{ROOT}/0000:00:1e.4/mmc_host/{host}"
    nodes = [
        devices.function(f"{ROOT}/0000:00:1e.4", config.plain("8086:9d2b", 0x080501), "sdhci-pci"),
        Node("mmc_host", path),
    ]
    if row.get("card", True):
        card, block = f"{path}/{host}:59b4", f"mmcblk{host.removeprefix('mmc')}"
        files = {"type": row.get("type", "SD"), "cid": row["serial"], "name": "INV16",
                 "serial": row["serial"]}  # fmt: skip
        size = {"size": str(16 * GB // 512), "removable": "0", "ro": "0"}
        nodes += [
            Node("mmc", card, files),
            Node("block", f"{card}/block/{block}", size,
                 {"DEVTYPE": "disk", "DEVNAME": f"/dev/{block}"}, node=True),
        ]  # fmt: skip
    return nodes


# --- The laptop of the test beds, with what is named in another state


def _whole(machine: Mapping[str, Any]) -> Bed:
    made = laptops.ahci()
    wlan = machine.get("wlan", {})
    nodes = [node for node in made.nodes if _kept(node, machine)]
    nodes = [_wireless(node, wlan) for node in nodes]
    nodes = [_battery(node, machine.get("battery", {})) for node in nodes]
    nodes += _pads()
    if machine.get("dgpu"):
        nodes += _second_graphics()
    extra = {**made.extra, **_edac(machine.get("edac"))}
    radios = {} if wlan.get("state") == "no-interface" else made.radios
    return dataclasses.replace(made, nodes=tuple(nodes), extra=extra, radios=radios)


def _kept(node: Node, machine: Mapping[str, Any]) -> bool:
    if machine.get("bluetooth") is False and "/1-7" in node.path:
        return False
    lost = machine.get("wlan", {}).get("state") == "no-interface"
    return not (lost and node.subsystem in ("net", "ieee80211", "rfkill"))


def _wireless(node: Node, wlan: Mapping[str, Any]) -> Node:
    """The card with its driver, address and switch as the case has them."""
    if not node.path.startswith(f"{ROOT}/{laptops.WLAN_PORT}/0000:01:00.0"):
        return node
    files = dict(node.files)
    if node.subsystem == "pci":
        if wlan.get("gone"):
            files["config"] = b"\xff" * 4096
        return dataclasses.replace(node, files=files, driver=wlan.get("driver", node.driver))
    for name in {"macaddress", "address"} & files.keys():
        files[name] = wlan.get("mac", files[name])
    if node.subsystem == "rfkill":
        files["hard"] = str(wlan.get("hard", 0))
    return dataclasses.replace(node, files=files)


def _battery(node: Node, figures: Mapping[str, str]) -> Node:
    if node.subsystem != "power_supply" or not node.path.endswith("BAT0"):
        return node
    return dataclasses.replace(node, files={**node.files, **figures})


def _pads() -> list[Node]:
    """A touchpad on I2C and a TPM, as machines of today have them."""
    bus = "/sys/devices/pci0000:00/0000:00:15.1/i2c_designware.1/i2c-1"
    chip = f"{bus}/i2c-MSFT0001:01"
    return [
        devices.function(f"{ROOT}/0000:00:15.1", config.plain("8086:9d61", 0x118000), "intel-lpss"),
        Node("i2c", chip, {"name": "MSFT0001:01"}, driver="i2c_hid_acpi"),
        Node("input", f"{chip}/0018:06CB:7F8B.0001/input/input9", {"name": "MSFT0001:01 Touchpad"},
             {"ID_INPUT": "1", "ID_INPUT_TOUCHPAD": "1"}),
        Node("tpm", "/sys/devices/LNXSYSTM:00/LNXSYBUS:00/MSFT0101:00/tpm/tpm0",
             {"tpm_version_major": "2"}),
    ]  # fmt: skip


def _second_graphics() -> list[Node]:
    port = "0000:00:1c.4"
    space = config.express("10de:1c8c", 0x030200, now=(8.0, 4), most=(8.0, 4))
    return [
        devices.root_port(port, 3, 5, True, (8.0, 4)),
        devices.function(f"{ROOT}/{port}/0000:03:00.0", space, "nvidia"),
    ]


def _edac(counts: Mapping[str, Any] | None) -> dict[str, Content]:
    if counts is None:
        return {}
    controller, module = f"{EDAC}/mc1", f"{EDAC}/mc1/dimm0"
    return {
        f"{controller}/ce_count": str(counts["ce"]),
        f"{controller}/ue_count": str(counts["ue"]),
        f"{module}/dimm_ce_count": str(counts["ce"]),
        f"{module}/dimm_ue_count": str(counts["ue"]),
        f"{module}/dimm_label": counts["label"],
    }
