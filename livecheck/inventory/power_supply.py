"""Batteries, adapters and the jacks and bays they are in."""

from __future__ import annotations

from typing import Final

from livecheck import host as hosts
from livecheck.host import Host, UdevDevice
from livecheck.inventory import tree
from livecheck.inventory.power_state import BatteryState, read_battery, read_supply
from livecheck.inventory.smbios_types import FirmwareBattery
from livecheck.inventory.tree import Contribution, Seen, device_of, known, part_id
from livecheck.records import Controller, Device, Part, Place, Presence, Value

CONTROLLER: Final = "power-controller"

ACPI: Final = "/sys/bus/acpi/devices"

ACPI_BATTERY: Final = "PNP0C0A"

PRESENT: Final = 0x10
"""Bit of an ACPI battery's _STA: a battery is in the bay (ACPI 10.2.1)."""


def find(host: Host, seen: Seen) -> Contribution:
    """Bays, jacks, batteries and adapters; a mouse's battery is the mouse's."""
    firmware = seen.tables.batteries if seen.tables else ()
    places: dict[str, Place] = {}
    parts: list[Part] = []
    devices: list[Device] = []
    own = [d for d in host.udev("power_supply") if not _peripheral(host, d)]
    batteries = [d for d in own if hosts.text(host, f"{d.path}/type") == "Battery"]
    for listed in host.udev("power_supply"):
        if listed not in own:
            devices.append(device_of(listed, seen.owner(listed.path)))
            continue
        if listed in batteries:
            witness = firmware[0] if len(firmware) == len(batteries) == 1 else None
            place, part, values = _battery(host, listed, witness)
        else:
            place, part, values = _adapter(host, listed)
        places[place.id] = place
        parts += [part] if part else []
        devices.append(device_of(listed, part.id if part else place.id, None, None, values))
    for bay in _acpi_bays(host):
        places.setdefault(bay.id, bay)
    controller = Controller(id=CONTROLLER, kind="power-controller", name="charging circuit")
    return Contribution(
        controllers=(controller,) if places else (),
        places=tuple(places.values()),
        parts=tuple(parts),
        devices=tuple(devices),
    )


def _peripheral(host: Host, listed: UdevDevice) -> bool:
    return hosts.text(host, f"{listed.path}/scope") == "Device"


def _battery(
    host: Host, listed: UdevDevice, firmware: FirmwareBattery | None
) -> tuple[Place, Part | None, dict[str, Value]]:
    found = read_battery(host, listed.path)
    there = found.present is not False
    place = _bay(listed.name, Presence.SEEN if there else Presence.EMPTY)
    values: dict[str, Value] = {
        **{name: getattr(found, name) for name in found.__struct_fields__},
        "wear": round(found.wear, 4) if found.wear is not None else None,
    }
    if not there:
        return place, None, values
    maker = hosts.text(host, f"{listed.path}/manufacturer")
    model = hosts.text(host, f"{listed.path}/model_name")
    serial = hosts.text(host, f"{listed.path}/serial_number")
    identified_by = _identity(model, serial)
    witness = _witness(firmware)
    part = Part(
        id=part_id("battery", identified_by, place.id),
        kind="battery",
        name=" ".join(w for w in ("battery", maker, model) if w),
        place=place.id,
        identity=identified_by,
        vendor=maker,
        model=model,
        serial=serial,
        design_volts=found.design_volts,
        attributes=known({**_lasting(found), **witness}),
    )
    return place, part, values


def _lasting(found: BatteryState) -> dict[str, Value]:
    """What belongs to the battery rather than to this minute."""
    return {
        "technology": found.technology,
        "capacity_unit": found.unit,
        "full": found.full,
        "design": found.design,
        "cycles": found.cycles,
    }


def _witness(firmware: FirmwareBattery | None) -> dict[str, Value]:
    """What SMBIOS type 22 says: a second witness, and often one of the factory's battery."""
    if firmware is None:
        return {}
    return {
        "firmware_name": firmware.name,
        "firmware_serial": firmware.serial,
        "firmware_made": firmware.made,
        "firmware_chemistry": firmware.chemistry,
        "firmware_design_wh": firmware.design_mwh / 1000 if firmware.design_mwh else None,
        "firmware_design_volts": firmware.design_mv / 1000 if firmware.design_mv else None,
    }


def _identity(model: str | None, serial: str | None) -> str | None:
    """Model and serial number: the number alone counts to 65535 at most (Smart Battery Data
    Specification 1.1, from memory), so two models may share it."""
    if tree.identity("serial", serial) is None:
        return None
    return tree.identity("serial", f"{model} {serial}" if model else serial)


def _bay(name: str, presence: Presence) -> Place:
    return Place(
        id=f"bay:{name}",
        kind="battery-bay",
        name=f"battery bay {name}",
        controller=CONTROLLER,
        presence=presence,
        expects="battery",
    )


def _adapter(host: Host, listed: UdevDevice) -> tuple[Place, Part | None, dict[str, Value]]:
    found = read_supply(host, listed.path)
    usb = found.kind == "USB"
    place = Place(
        id=f"jack:{listed.name}",
        kind="power-jack",
        name=f"USB-C power jack {listed.name}" if usb else f"power jack {listed.name}",
        controller=CONTROLLER,
        # A jack without power does not tell a dead adapter from none.
        presence=Presence.SEEN if found.online else Presence.UNKNOWN,
        expects="adapter",
        attributes={"supply_type": found.kind},
    )
    values: dict[str, Value] = {n: getattr(found, n) for n in found.__struct_fields__}
    if not found.online:
        return place, None, values
    part = Part(
        id=part_id("adapter", None, place.id),
        kind="adapter",
        name="USB-C adapter" if usb else "adapter",
        place=place.id,
        attributes=known({"max_volts": found.max_volts, "max_amperes": found.max_amperes}),
    )
    return place, part, values


def _acpi_bays(host: Host) -> list[Place]:
    """Bays the firmware lists in which it senses no battery."""
    bays = []
    for name in host.names(ACPI):
        status = hosts.number(host, f"{ACPI}/{name}/status")
        path = hosts.text(host, f"{ACPI}/{name}/path")
        # Status 0: the firmware is made for several models, and this one has no such bay.
        if name.startswith(ACPI_BATTERY) and status and path and not status & PRESENT:
            bays.append(_bay(path.rpartition(".")[2].rstrip("_"), Presence.EMPTY))
    return bays
