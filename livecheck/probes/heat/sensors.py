"""Temperatures, fans and throttling, passively.

Everything is read as it stands. A temperature is judged by the limit its own chip
gives; a sensor that its chip calls faulty is not trusted.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from typing import Final

from livecheck.host import counted
from livecheck.inventory import sensors
from livecheck.inventory.sensors import Fan, Temperature, Zone
from livecheck.probes import Context, Yield
from livecheck.records import NotTested, Outcome, Reading

AT_REST: Final = 50.0
"""°C that a sound machine's sensors may show at rest (assumed): no chip's limit is as low."""

CPUS: Final = "/sys/devices/system/cpu"


def probe(context: Context) -> Iterator[Yield]:
    """Readings of every chip, fan, thermal zone and throttle counter."""
    owners = {d.name: d.component for d in context.inventory.devices}
    kinds = {p.id: p.kind for p in context.inventory.parts}
    temperatures = [
        # Drives' own sensors are judged with the drives.
        t
        for t in sensors.temperatures(context.host)
        if kinds.get(owners.get(t.device) or "") != "drive"
    ]
    yield from _chips(temperatures, owners, context)
    zones = sensors.zones(context.host)
    for zone in zones:
        yield from _zone(zone, owners.get(zone.device) or "machine", context)
    if not temperatures and not zones:
        yield NotTested(what="Temperatures", why="this kernel finds no temperature sensor here")
    heats = [t.celsius for t in temperatures if _good(t) and t.celsius is not None]
    heats += [z.celsius for z in zones if z.celsius is not None and _plausible(z.celsius)]
    yield from _fans(sensors.fans(context.host), max(heats, default=None), context)
    yield _throttled(context, next((i for i, k in kinds.items() if k == "processor"), "machine"))


def _plausible(celsius: float) -> bool:
    return sensors.PLAUSIBLE[0] <= celsius < sensors.PLAUSIBLE[1]


def _good(t: Temperature) -> bool:
    return not t.fault and t.celsius is not None and _plausible(t.celsius)


def _chips(
    temperatures: list[Temperature], owners: dict[str, str | None], context: Context
) -> Iterator[Reading]:
    """One reading a chip: its sensor nearest to its limit."""
    chips: dict[str, list[Temperature]] = defaultdict(list)
    for t in temperatures:
        chips[t.device].append(t)
    for device, of_chip in chips.items():
        at = owners.get(device) or "machine"
        good = [t for t in of_chip if _good(t)]
        if good:
            yield _judged(good, at, context)
        else:
            yield Reading(
                check="heat.temperature",
                at=at,
                outcome=Outcome.NOT_JUDGED,
                source=of_chip[0].source,
                says=f"No sensor of {of_chip[0].chip} gives a temperature that can be trusted.",
                why_not="its sensors are faulty, silent or not wired",
                device=device,
            )


def _limit(t: Temperature) -> float | None:
    """The chip's own limit; 0 and values beyond sense are placeholders."""
    told = (v for v in (t.critical, t.high) if v is not None)
    return next((v for v in told if AT_REST < v < sensors.PLAUSIBLE[1]), None)


def _room(t: Temperature) -> float:
    limit = _limit(t)
    return limit - t.celsius if limit is not None and t.celsius is not None else float("inf")


def _judged(good: list[Temperature], at: str, context: Context) -> Reading:
    margin = context.knowledge.checks["heat.temperature"].limits["margin_celsius"]
    worst = min(good, key=lambda t: (_room(t), -(t.celsius or 0.0)))
    limit, name = _limit(worst), worst.label or worst.chip
    if limit is None:
        outcome, why = Outcome.NOT_JUDGED, "the chip gives no limit"
        says = f"{name} is at {worst.celsius:.0f} °C."
    else:
        near = _room(worst) < margin
        outcome, why = (Outcome.FAILED if near else Outcome.PASSED), None
        says = f"{name} is at {worst.celsius:.0f} °C; its limit is {limit:.0f} °C."
    return Reading(
        check="heat.temperature",
        at=at,
        outcome=outcome,
        value=worst.celsius,
        unit="°C",
        source=worst.source,
        says=says,
        why_not=why,
        details=tuple(f"{t.label or t.chip}: {t.celsius:.1f} °C" for t in good),
        device=worst.device,
    )


def _zone(zone: Zone, at: str, context: Context) -> Iterator[Reading]:
    celsius = zone.celsius
    kinds = ("passive", "hot", "critical")
    trips = [t for t in zone.trips if t.kind in kinds and t.celsius >= sensors.LEAST_LIMIT]
    if celsius is None or not trips or not _plausible(celsius):
        return
    margin = context.knowledge.checks["heat.trip"].limits["margin_celsius"]
    reached = [t for t in trips if celsius >= t.celsius - (margin if t.kind != "passive" else 0)]
    worst = max(reached, key=lambda t: t.celsius, default=None)
    nearest = min(trips, key=lambda t: t.celsius)
    does = {"passive": "slows the processor down", "hot": "puts the machine to sleep",
            "critical": "switches the machine off"}  # fmt: skip
    trip = worst or nearest
    yield Reading(
        check="heat.trip",
        at=at,
        outcome=Outcome.FAILED if worst else Outcome.PASSED,
        value=celsius,
        unit="°C",
        source=zone.source,
        says=f"Zone {zone.chip} is at {celsius:.0f} °C; at {trip.celsius:.0f} °C the kernel "
        f"{does[trip.kind]}.",
        device=zone.device,
    )


def _fans(fans: tuple[Fan, ...], hottest: float | None, context: Context) -> Iterator[Yield]:
    if not fans:
        yield NotTested(what="Fans", why="no fan of this machine can be counted by the kernel")
    hot = context.knowledge.checks["heat.fan"].limits["hot_celsius"]
    for fan in fans:
        name = f"Fan {fan.label}" if fan.label else f"The fan of {fan.chip}"
        outcome, why = Outcome.PASSED, None
        says = f"{name} turns at {fan.rpm} revolutions a minute."
        if fan.fault:
            outcome, says = Outcome.FAILED, f"The chip says that {name} is faulty."
        elif fan.rpm is None:
            outcome, why = Outcome.NOT_JUDGED, "it gives no speed that can be true"
            says = ""
        elif fan.rpm == 0 and hottest is not None and hottest >= hot:
            outcome = Outcome.FAILED
            says = f"{name} stands still while it is {hottest:.0f} °C inside."
        elif fan.rpm == 0:
            outcome, why = Outcome.NOT_JUDGED, "a fan may rest while the machine is cool"
            says = f"{name} stands still."
        yield Reading(
            check="heat.fan",
            at=sensors.PART,
            outcome=outcome,
            value=fan.rpm,
            unit="1/min",
            source=fan.source,
            says=says,
            why_not=why,
            device=fan.device,
        )


def _throttled(context: Context, at: str) -> Yield:
    """Throttle counters since the start (Documentation/ABI/testing/sysfs-devices-system-cpu)."""
    host = context.host
    times, counts = [], []
    for name in host.names(CPUS):
        folder = f"{CPUS}/{name}/thermal_throttle"
        for scope in ("core", "package"):
            counts.append(counted(host, f"{folder}/{scope}_throttle_count"))
            times.append(counted(host, f"{folder}/{scope}_throttle_total_time_ms"))
    # All processors of a package show the package's count: the largest counts once.
    count = max((c for c in counts if c is not None), default=None)
    spent = max((t for t in times if t is not None), default=None)
    if count is None:
        why = "this processor keeps no throttle counters, or none that can be true"
        return NotTested(what="Throttling since the start", why=why)
    limits = context.knowledge.checks["heat.throttled"].limits
    much = spent / 1000 > limits["seconds"] if spent is not None else count > limits["count"]
    seconds = f", {spent / 1000:.1f} s in all" if spent is not None else ""
    return Reading(
        check="heat.throttled",
        at=at,
        outcome=Outcome.FAILED if much else Outcome.PASSED,
        value=count,
        unit="times",
        source=f"{CPUS}/cpu*/thermal_throttle",
        says=f"Heat made the processor slow down {count} times since the start{seconds}."
        if count
        else "Heat has not made the processor slow down since the start.",
    )
