"""Batteries, adapters and the jacks and bays they are in.

Values are those of the kernel's power supply class (Documentation/power/
power_supply_class.rst): µV, µA, µAh, µWh. Charge and energy are never mixed: a
battery is judged in the one kind of unit in which it gives both ends.
"""

from __future__ import annotations

import re
from typing import Final

import msgspec

from livecheck import host as hosts
from livecheck.host import Host, UdevDevice
from livecheck.inventory import smbios, tree
from livecheck.inventory.smbios_types import Battery as FirmwareBattery
from livecheck.inventory.tree import Contribution, Seen, device_of, known, part_id
from livecheck.records import Controller, Device, Part, Place, Presence, Value

CONTROLLER: Final = "power-controller"
ACPI: Final = "/sys/bus/acpi/devices"
ACPI_BATTERY: Final = "PNP0C0A"
PRESENT: Final = 0x10
"""Bit of an ACPI battery's _STA: a battery is in the bay (ACPI 10.2.1)."""


CELL_NOMINAL_VOLTS: Final = 3.7
"""Of a lithium-ion cell (cell datasheets give 3.6 to 3.7 V)."""


def cells(design_volts: float) -> int:
    """Lithium-ion cells in series that a designed voltage stands for."""
    return max(1, round(design_volts / CELL_NOMINAL_VOLTS))


class Battery(msgspec.Struct, frozen=True, kw_only=True):
    """One battery as the kernel tells it; None: not told."""

    present: bool | None = None
    status: str | None = None
    health: str | None = None
    technology: str | None = None
    cycles: int | None = None
    percent: int | None = None
    """The battery's or firmware's own figure."""
    unit: str | None = None
    """``Wh`` or ``Ah``: the unit of the next three."""
    now: float | None = None
    full: float | None = None
    design: float | None = None
    volts: float | None = None
    design_volts: float | None = None
    amperes: float | None = None
    watts: float | None = None
    end_threshold_percent: int | None = None
    behaviour: str | None = None
    celsius: float | None = None

    @property
    def wear(self) -> float | None:
        """Share of the designed capacity that is lost: 1 − full / design.

        Below 0 for a battery that holds more than it was designed to.
        """
        if not self.full or not self.design:
            return None
        return 1 - self.full / self.design

    @property
    def charge(self) -> float | None:
        """Share of the full capacity that is in the battery now."""
        if self.now is None or not self.full:
            return None
        return self.now / self.full


class Supply(msgspec.Struct, frozen=True, kw_only=True):
    """One source of external power."""

    kind: str
    """``Mains``, ``USB`` or ``Wireless``."""
    online: int | None = None
    volts: float | None = None
    max_volts: float | None = None
    amperes: float | None = None
    max_amperes: float | None = None
    usb_type: str | None = None
    """The active one of those the jack can do."""


def read_battery(host: Host, folder: str) -> Battery:
    """The battery of a power supply's sysfs folder."""
    unit, now, full, design = _capacities(host, folder)
    present = hosts.number(host, f"{folder}/present")
    tenths = hosts.number(host, f"{folder}/temp")
    return Battery(
        present=None if present is None else bool(present),
        status=hosts.text(host, f"{folder}/status"),
        health=hosts.text(host, f"{folder}/health"),
        technology=hosts.text(host, f"{folder}/technology"),
        cycles=_positive(hosts.number(host, f"{folder}/cycle_count")),
        percent=hosts.number(host, f"{folder}/capacity"),
        unit=unit,
        now=now,
        full=full,
        design=design,
        volts=_micro(host, f"{folder}/voltage_now"),
        design_volts=_micro(host, f"{folder}/voltage_min_design"),
        amperes=_micro(host, f"{folder}/current_now"),
        watts=_micro(host, f"{folder}/power_now"),
        end_threshold_percent=hosts.number(host, f"{folder}/charge_control_end_threshold"),
        behaviour=_chosen(hosts.text(host, f"{folder}/charge_behaviour")),
        celsius=tenths / 10 if tenths is not None else None,
    )


def _positive(value: int | None) -> int | None:
    return value if value and value > 0 else None


def _micro(host: Host, path: str) -> float | None:
    value = hosts.number(host, path)
    return value / 1e6 if value is not None else None


def _chosen(value: str | None) -> str | None:
    """The bracketed one of several words; the word itself when it stands alone."""
    found = re.search(r"\[([^\]]+)\]", value or "")
    return found[1] if found else value


def _capacities(
    host: Host, folder: str
) -> tuple[str | None, float | None, float | None, float | None]:
    """Unit, now, full and design, from one family of attributes only."""
    families = []
    for unit, family in (("Wh", "energy"), ("Ah", "charge")):
        values = [_micro(host, f"{folder}/{family}_{k}") for k in ("now", "full", "full_design")]
        # Zero is what firmware gives for a capacity it does not know.
        now, full, design = values[0], values[1] or None, values[2] or None
        told = (full is not None) + (design is not None)
        families.append((told, unit, now, full, design))
    told, unit, now, full, design = max(families, key=lambda f: f[0])
    return (unit, now, full, design) if told else (None, None, None, None)


def read_supply(host: Host, folder: str) -> Supply:
    """The adapter or jack of a power supply's sysfs folder."""
    return Supply(
        kind=hosts.text(host, f"{folder}/type") or "Unknown",
        online=hosts.number(host, f"{folder}/online"),
        volts=_micro(host, f"{folder}/voltage_now"),
        max_volts=_micro(host, f"{folder}/voltage_max"),
        amperes=_micro(host, f"{folder}/current_now"),
        max_amperes=_micro(host, f"{folder}/current_max"),
        usb_type=_chosen(hosts.text(host, f"{folder}/usb_type")),
    )


def find(host: Host, seen: Seen) -> Contribution:
    """Bays, jacks, batteries and adapters; a mouse's battery is the mouse's."""
    table = smbios.tables(host)
    firmware = table.batteries if table else ()
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


def _lasting(found: Battery) -> dict[str, Value]:
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
