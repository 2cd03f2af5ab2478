"""Channels: what can be metered on this machine, found once."""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum
from typing import Final

import msgspec

from livecheck.host import Host, Unreadable, number, text
from livecheck.inventory import sensors
from livecheck.records import Record

CPUS: Final = "/sys/devices/system/cpu"
EDAC: Final = "/sys/devices/system/edac/mc"
UPTIME: Final = "/proc/uptime"
FREQUENCIES: Final = 4
"""Cores whose frequency is read each time: reading it can wake a core."""


class Sort(StrEnum):
    """What a channel measures; the unit goes with it."""

    TEMPERATURE = "temperature"
    FAN = "fan"
    POWER = "power"
    FREQUENCY = "frequency"
    THROTTLE = "throttle"
    ADAPTER = "adapter"
    VOLTS = "battery-volts"
    AMPERES = "battery-amperes"
    CHARGE = "battery-charge"
    STATUS = "battery-status"
    ERRORS = "errors"
    LOAD = "load"


UNITS: Final = {
    Sort.TEMPERATURE: "°C",
    Sort.FAN: "1/min",
    Sort.POWER: "W",
    Sort.FREQUENCY: "MHz",
    Sort.THROTTLE: "times",
    Sort.ADAPTER: "",
    Sort.VOLTS: "V",
    Sort.AMPERES: "A",
    Sort.CHARGE: "%",
    Sort.STATUS: "",
    Sort.ERRORS: "errors",
    Sort.LOAD: "%",
}
STATES: Final = ("Discharging", "Not charging", "Charging", "Full")
"""A battery's status as a number: −1 and these less one (0 … 2); unknown is no value."""


class Channel(Record, frozen=True, kw_only=True):
    """One thing that is metered."""

    key: str
    """Same on every start of the same machine: ``temperature:coretemp/Package id 0``."""
    sort: Sort
    name: str
    """As it is shown."""
    source: str
    """The attribute it is read from, or the folder of several."""
    limit: float | None = None
    """°C at which chip or firmware does something about it."""
    trips: bool = False
    """True: the limit is a point where the kernel or the firmware switches off or slows down."""
    ends: bool = False
    """True: at the limit the kernel puts the machine to sleep or switches it off; see
    Documentation/driver-api/thermal/sysfs-api.rst on trip points of type hot and critical."""
    processor: bool = False
    """True: measures the processor itself."""
    scale: float = 1.0
    """What the attribute's number is multiplied by; for energy counters: joules a count."""
    wrap: float | None = None
    """Energy counters: joules after which they begin again."""

    @property
    def unit(self) -> str:
        """Of its values."""
        return UNITS[self.sort]


def find(host: Host) -> tuple[Channel, ...]:
    """Every channel of this machine, in the order they are shown. Never raises."""
    found = [
        *_temperatures(host),
        *_zones(host),
        *_fans(host),
        *_energy(host),
        *_processor(host),
        *_supplies(host),
        *_errors(host),
    ]
    if text(host, UPTIME) is not None:
        found.append(Channel(key="load", sort=Sort.LOAD, name="processor load", source=UPTIME))
    return _distinct(found)


def _distinct(channels: list[Channel]) -> tuple[Channel, ...]:
    """Two chips of one name tell their channels apart by a number."""
    seen: dict[str, int] = {}
    named = []
    for channel in channels:
        times = seen[channel.key] = seen.get(channel.key, 0) + 1
        if times > 1:
            channel = msgspec.structs.replace(
                channel, key=f"{channel.key}#{times}", name=f"{channel.name} {times}"
            )
        named.append(channel)
    return tuple(named)


def _sane(limit: float | None) -> float | None:
    # 0 and values beyond sense are placeholders.
    return limit if limit is not None and 40 < limit < 127 else None


def _temperatures(host: Host) -> Iterator[Channel]:
    for sensor in sensors.temperatures(host):
        celsius = sensor.celsius
        dead = celsius is None or not sensors.PLAUSIBLE[0] <= celsius < sensors.PLAUSIBLE[1]
        if sensor.fault or dead:
            continue
        label = sensor.label or sensor.source.rpartition("/")[2].removesuffix("_input")
        yield Channel(
            key=f"temperature:{sensor.chip}/{label}",
            sort=Sort.TEMPERATURE,
            name=f"{sensor.chip} {label}",
            source=sensor.source,
            limit=_sane(sensor.critical) or _sane(sensor.high),
            trips=sensor.chip in sensors.PROCESSOR_CHIPS and _sane(sensor.critical) is not None,
            processor=sensor.chip in sensors.PROCESSOR_CHIPS,
            scale=1e-3,
        )


def _zones(host: Host) -> Iterator[Channel]:
    for zone in sensors.zones(host):
        if zone.celsius is None or not sensors.PLAUSIBLE[0] <= zone.celsius < sensors.PLAUSIBLE[1]:
            continue
        trips = {
            t.celsius: t.kind for t in zone.trips if t.kind in ("passive", *sensors.LAST_STEPS)
        }
        first = _sane(min(trips, default=None))
        yield Channel(
            key=f"temperature:{zone.chip}",
            sort=Sort.TEMPERATURE,
            name=zone.chip,
            source=zone.source,
            limit=first,
            trips=bool(trips),
            ends=first is not None and trips[first] in sensors.LAST_STEPS,
            processor=zone.chip in sensors.PROCESSOR_CHIPS,
            scale=1e-3,
        )


def _fans(host: Host) -> Iterator[Channel]:
    for fan in sensors.fans(host):
        label = fan.label or fan.source.rpartition("/")[2].removesuffix("_input")
        yield Channel(key=f"fan:{fan.chip}/{label}", sort=Sort.FAN, name=label, source=fan.source)


def _energy(host: Host) -> Iterator[Channel]:
    """Energy counters of whole packages (Documentation/power/powercap/powercap.rst)."""
    for listed in host.udev("powercap"):
        name = text(host, f"{listed.path}/name") or ""
        top = listed.name.count(":") == 1
        span = number(host, f"{listed.path}/max_energy_range_uj")
        readable = number(host, f"{listed.path}/energy_uj") is not None
        if top and span and readable:
            yield Channel(
                key=f"power:{name}",
                sort=Sort.POWER,
                name="processor" if name.startswith("package-0") else name,
                source=f"{listed.path}/energy_uj",
                processor=name.startswith("package-"),
                scale=1e-6,
                # The counter shows the range itself before it begins again at 0.
                wrap=(span + 1) * 1e-6,
            )


def _processor(host: Host) -> Iterator[Channel]:
    cores = sorted(
        (n for n in host.names(CPUS) if n[:3] == "cpu" and n[3:].isdigit()),
        key=lambda n: int(n[3:]),
    )
    timed = [n for n in cores if _there(host, f"{CPUS}/{n}/cpufreq/scaling_cur_freq")]
    for core in timed[:FREQUENCIES]:
        yield Channel(
            key=f"frequency:{core}",
            sort=Sort.FREQUENCY,
            name=f"core {core[3:]}",
            source=f"{CPUS}/{core}/cpufreq/scaling_cur_freq",
            scale=1e-3,
        )
    counted = [
        n for n in cores if _there(host, f"{CPUS}/{n}/thermal_throttle/package_throttle_count")
    ]
    for core in counted[:1]:
        # All processors of a package show the package's count.
        yield Channel(
            key="throttle:package",
            sort=Sort.THROTTLE,
            name="slowed by heat",
            source=f"{CPUS}/{core}/thermal_throttle/package_throttle_count",
        )


def _there(host: Host, path: str) -> bool:
    return number(host, path) is not None


def _supplies(host: Host) -> Iterator[Channel]:
    for listed in host.udev("power_supply"):
        if text(host, f"{listed.path}/scope") == "Device":
            continue
        if text(host, f"{listed.path}/type") == "Battery":
            yield from _battery(host, listed.path, listed.name)
        elif _there(host, f"{listed.path}/online"):
            yield Channel(
                key=f"adapter:{listed.name}",
                sort=Sort.ADAPTER,
                name=f"adapter at {listed.name}",
                source=f"{listed.path}/online",
            )


def _battery(host: Host, folder: str, name: str) -> Iterator[Channel]:
    rows = (
        (Sort.VOLTS, "voltage_now", 1e-6, "voltage"),
        (Sort.AMPERES, "current_now", 1e-6, "current"),
        (Sort.POWER, "power_now", 1e-6, "power"),
        (Sort.CHARGE, "capacity", 1.0, "charge"),
    )
    for sort, attribute, scale, word in rows:
        if _there(host, f"{folder}/{attribute}"):
            yield Channel(
                key=f"{sort.value}:{name}",
                sort=sort,
                name=f"battery {name} {word}",
                source=f"{folder}/{attribute}",
                scale=scale,
            )
    if text(host, f"{folder}/status") is not None:
        yield Channel(
            key=f"{Sort.STATUS.value}:{name}",
            sort=Sort.STATUS,
            name=f"battery {name}",
            source=f"{folder}/status",
        )


def _errors(host: Host) -> Iterator[Channel]:
    """Counts of errors (Documentation/driver-api/edac.rst; sysfs-bus-pci-devices-aer)."""
    for controller in host.names(EDAC):
        for kind, word in (("ce", "corrected"), ("ue", "lost")):
            source = f"{EDAC}/{controller}/{kind}_count"
            if _there(host, source):
                yield Channel(
                    key=f"errors:memory {controller} {word}",
                    sort=Sort.ERRORS,
                    name=f"memory errors, {word}",
                    source=source,
                )
    for listed in host.udev("pci"):
        for severity in ("cor", "nonfatal", "fatal"):
            source = f"{listed.path}/aer_rootport_total_err_{severity}"
            try:
                host.read(source)
            except Unreadable:
                continue
            yield Channel(
                key=f"errors:{listed.name} {severity}",
                sort=Sort.ERRORS,
                name=f"errors seen by {listed.name}, {severity}",
                source=source,
            )
