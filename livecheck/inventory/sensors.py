"""Temperatures, fans, throttling devices and power counters, and what they belong to.

Values are those of the kernel's hwmon and thermal classes (Documentation/hwmon/
sysfs-interface.rst, Documentation/driver-api/thermal/sysfs-api.rst): millidegrees,
revolutions a minute.
"""

from __future__ import annotations

import re
from typing import Final

import msgspec

from livecheck import host as hosts
from livecheck.host import Host, UdevDevice
from livecheck.inventory.tree import Contribution, Seen, device_of, known
from livecheck.records import Part, Place, Presence

PLACE: Final = "cooling"
PART: Final = "cooling@cooling"

PROCESSOR_CHIPS: Final = frozenset(
    {"coretemp", "k10temp", "k8temp", "fam15h_power", "zenpower", "x86_pkg_temp", "TCPU"}
    | {"cpu_thermal", "cpu-thermal", "via_cputemp"}
)
"""Chips and zones that measure the processor itself (drivers' own names)."""
PLAUSIBLE: Final = (-30.0, 127.0)
"""°C a working laptop can have inside; chips give 127 or −128 when nothing is wired."""


MOST_RPM: Final = 30_000
"""Of a laptop's fan (assumed: they turn at 3,000 to 8,000); counters give 65535 for what they did
not count."""

LEAST_LIMIT: Final = 40.0
"""°C; a limit below is none (some firmware writes 0 or 20)."""


class Temperature(msgspec.Struct, frozen=True, kw_only=True):
    """One sensor."""

    device: str
    """``hwmon3`` or ``thermal_zone0``."""
    chip: str
    label: str | None = None
    source: str
    celsius: float | None
    high: float | None = None
    critical: float | None = None
    critical_alarm: bool | None = None
    fault: bool = False
    """True: the chip says that the sensor is open or shorted."""


class Fan(msgspec.Struct, frozen=True, kw_only=True):
    """One fan that is counted."""

    device: str
    chip: str
    label: str | None = None
    source: str
    rpm: int | None
    least_rpm: int | None = None
    fault: bool = False


LAST_STEPS: Final = ("hot", "critical")
"""Trip points at which the kernel puts the machine to sleep or switches it off."""


class Trip(msgspec.Struct, frozen=True, kw_only=True):
    """A temperature at which the kernel does something."""

    kind: str
    """``active``, ``passive``, ``hot``, ``critical``."""
    celsius: float


class Zone(msgspec.Struct, frozen=True, kw_only=True):
    """One thermal zone."""

    device: str
    chip: str
    source: str
    celsius: float | None
    trips: tuple[Trip, ...] = ()


def _milli(host: Host, path: str) -> float | None:
    value = hosts.number(host, path)
    return value / 1000 if value is not None else None


def _channels(host: Host, listed: UdevDevice, kind: str) -> list[str]:
    """Prefixes such as ``…/hwmon3/temp1``, in the chip's order."""
    matches = (re.fullmatch(rf"({kind}(\d+))_input", n) for n in host.names(listed.path))
    found = sorted((int(m[2]), m[1]) for m in matches if m)
    return [f"{listed.path}/{name}" for _, name in found]


def temperatures(host: Host) -> tuple[Temperature, ...]:
    """Every temperature of every hwmon chip."""
    found = []
    for listed in host.udev("hwmon"):
        chip = hosts.text(host, f"{listed.path}/name") or listed.name
        for channel in _channels(host, listed, "temp"):
            found.append(
                Temperature(
                    device=listed.name,
                    chip=chip,
                    label=hosts.text(host, f"{channel}_label"),
                    source=f"{channel}_input",
                    celsius=_milli(host, f"{channel}_input"),
                    high=_milli(host, f"{channel}_max"),
                    critical=_milli(host, f"{channel}_crit"),
                    critical_alarm=hosts.flag(host, f"{channel}_crit_alarm"),
                    fault=bool(hosts.flag(host, f"{channel}_fault")),
                )
            )
    return tuple(found)


def _rpm(host: Host, path: str) -> int | None:
    value = hosts.number(host, path)
    return value if value is not None and 0 <= value <= MOST_RPM else None


def fans(host: Host) -> tuple[Fan, ...]:
    """Every counted fan of every hwmon chip."""
    found = []
    for listed in host.udev("hwmon"):
        chip = hosts.text(host, f"{listed.path}/name") or listed.name
        for channel in _channels(host, listed, "fan"):
            found.append(
                Fan(
                    device=listed.name,
                    chip=chip,
                    label=hosts.text(host, f"{channel}_label"),
                    source=f"{channel}_input",
                    rpm=_rpm(host, f"{channel}_input"),
                    least_rpm=hosts.number(host, f"{channel}_min"),
                    fault=bool(hosts.flag(host, f"{channel}_fault")),
                )
            )
    return tuple(found)


def zones(host: Host) -> tuple[Zone, ...]:
    """Every thermal zone with its trip points."""
    return tuple(
        Zone(
            device=listed.name,
            chip=hosts.text(host, f"{listed.path}/type") or listed.name,
            source=f"{listed.path}/temp",
            celsius=_milli(host, f"{listed.path}/temp"),
            trips=_trips(host, listed.path),
        )
        for listed in host.udev("thermal")
        if listed.name.startswith("thermal_zone")
    )


def _trips(host: Host, folder: str) -> tuple[Trip, ...]:
    found = []
    for name in host.names(folder):
        match = re.fullmatch(r"trip_point_(\d+)_temp", name)
        celsius = _milli(host, f"{folder}/{name}") if match else None
        kind = hosts.text(host, f"{folder}/trip_point_{match[1]}_type") if match else None
        # 0 and below: the firmware does not use this trip point.
        if celsius is not None and celsius > 0 and kind:
            found.append(Trip(kind=re.sub(r"\d+$", "", kind), celsius=celsius))
    return tuple(found)


def find(host: Host, seen: Seen) -> Contribution:
    """Sensors as devices of what they measure; the cooling assembly as a part."""
    devices = []
    for subsystem in ("hwmon", "thermal", "powercap"):
        for listed in host.udev(subsystem):
            name = "type" if subsystem == "thermal" else "name"
            chip = hosts.text(host, f"{listed.path}/{name}") or listed.name
            owner = seen.owner(listed.path) or _owner_by_name(chip, subsystem, seen)
            devices.append(device_of(listed, owner, chip, None, {"chip": chip}))
    if not any(d.subsystem in ("hwmon", "thermal") for d in devices):
        return Contribution(devices=tuple(devices))
    place = Place(id=PLACE, kind="cooling-mount", name="cooling mount", presence=Presence.UNKNOWN)
    counted = fans(host)
    part = Part(
        id=PART,
        kind="cooling",
        name="cooling assembly",
        place=PLACE,
        attributes=known({"fans_counted": len(counted)}),
    )
    return Contribution(places=(place,), parts=(part,), devices=tuple(devices))


def _owner_by_name(chip: str, subsystem: str, seen: Seen) -> str | None:
    """What a sensor on no bus measures, by the name its driver gives it."""
    kinds = {p.kind: p.id for p in reversed(seen.parts.values())}
    if chip in PROCESSOR_CHIPS or chip == "Processor" or chip.startswith("package-"):
        return kinds.get("processor")
    if chip.startswith(("iwlwifi", "ath1", "mt7")):
        return kinds.get("wireless-card")
    if re.match(r"(?i)fan|.*_fan$", chip):
        return PART
    return None
