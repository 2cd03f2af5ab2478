"""Battery and adapter, passively: what the kernel's power supply class tells."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from livecheck.inventory.power_state import (
    BatteryState,
    SupplyState,
    cells,
    read_battery,
    read_supply,
)
from livecheck.probes import Context, Yield
from livecheck.probes.power.rating import rating
from livecheck.records import Device, NotTested, Outcome, Presence, Reading

FORCED: Final = frozenset({"inhibit-charge", "force-discharge"})
"""Charge behaviours somebody chose (Documentation/ABI/testing/sysfs-class-power)."""

USUAL_ENDS: Final = (50, 60, 80)
"""Where charging stops that was limited in the firmware's setup (common practice, no source)."""


def probe(context: Context) -> Iterator[Yield]:
    """Readings of every adapter, bay and battery the inventory found."""
    host = context.host
    kinds = {p.id: p.kind for p in context.inventory.places}
    kinds |= {p.id: p.kind for p in context.inventory.parts}
    own = [d for d in context.inventory.devices if d.subsystem == "power_supply"]
    jacks = [d for d in own if kinds.get(d.component or "") in ("adapter", "power-jack")]
    batteries = [d for d in own if kinds.get(d.component or "") == "battery"]
    supplies = [(d, read_supply(host, d.path)) for d in jacks]
    fed = any(supply.online for _, supply in supplies)
    told = {p.id for p in context.inventory.places if p.told_fitted}
    for device, supply in supplies:
        yield _adapter(device, supply, fed, device.component in told)
    if not supplies:
        yield NotTested(what="Adapter", why="the firmware tells nothing of a power jack")
    states = [read_battery(host, device.path) for device in batteries]
    drain = sum(abs(one.watts or 0.0) for one in states if one.status == "Discharging")
    yield from rating(context, supplies, drain)
    yield from _bays(context)
    for device in batteries:
        battery = read_battery(host, device.path)
        yield _report(device, battery, context)
        yield _wear(device, battery, context)
        told_watts = max((_watts(s) for _, s in supplies if s.online), default=None)
        yield _charging(device, battery, bool(supplies), told_watts, context)
        yield from _limit(device, battery, told_watts is not None, context)


def _reading(
    check: str, device: Device, outcome: Outcome, says: str, why_not: str | None = None
) -> Reading:
    return Reading(
        check=check,
        at=device.component or "machine",
        outcome=outcome,
        source=device.path,
        says=says,
        why_not=why_not,
        device=device.name,
    )


def _bays(context: Context) -> Iterator[Yield]:
    bays = [p for p in context.inventory.places if p.kind == "battery-bay"]
    if not bays:
        yield NotTested(what="Battery", why="the firmware tells nothing of a battery or its bay")
    for bay in bays:
        there = bay.presence is Presence.SEEN
        if bay.told_fitted:
            yield Reading(
                check="power.battery-present",
                at=bay.id,
                outcome=Outcome.FAILED,
                value=False,
                source="ACPI battery status",
                says=f"A battery is fitted in {bay.name}, as was said, and none answers.",
            )
            continue
        yield Reading(
            check="power.battery-present",
            at=next((p.id for p in context.inventory.parts if p.place == bay.id), bay.id),
            outcome=Outcome.PASSED if there else Outcome.NOT_JUDGED,
            value=there,
            source="ACPI battery status",
            says=f"A battery answers in {bay.name}."
            if there
            else f"No battery answers in {bay.name}.",
            why_not=None
            if there
            else "an empty bay and a battery that does not answer look alike: is one fitted?",
        )


def _adapter(device: Device, supply: SupplyState, fed: bool, told: bool) -> Reading:
    if supply.online:
        volts = f" It gives {supply.volts:.2f} V." if supply.volts else ""
        found = _reading("power.adapter", device, Outcome.PASSED, f"Power comes in here.{volts}")
    elif supply.online is None:
        why = "this jack does not tell whether power comes in"
        found = _reading("power.adapter", device, Outcome.NOT_JUDGED, "", why)
    elif told:
        says = f"An adapter is plugged in at {device.name}, as was said, and no power comes in."
        found = _reading("power.adapter", device, Outcome.FAILED, says)
    else:
        why = "power comes in elsewhere" if fed else (
            "no power comes in here: no adapter, a dead one, or a broken jack. "
            "Plug the adapter in, watch its lamp, and run again"
        )  # fmt: skip
        says = f"No power comes in at {device.name}."
        found = _reading("power.adapter", device, Outcome.NOT_JUDGED, says, why)
    return _with(found, supply.volts, "V")


def _with(reading: Reading, value: float | None, unit: str) -> Reading:
    if value is None:
        return reading
    fields = {f: getattr(reading, f) for f in reading.__struct_fields__}
    return Reading(**{**fields, "value": value, "unit": unit})


def _wear(device: Device, battery: BatteryState, context: Context) -> Reading:
    limit = context.knowledge.checks["power.battery-wear"].limits["worn_out_share"]
    wear = battery.wear
    if wear is None:
        why = "the battery does not tell both what it holds and what it was designed to hold"
        why = f"{battery.odd_capacity}, which cannot be" if battery.odd_capacity else why
        return _reading("power.battery-wear", device, Outcome.NOT_JUDGED, "", why)
    worn = wear > limit
    held = f"{battery.full:.2f} of {battery.design:.2f} {battery.unit}"
    says = f"The battery holds {held}: {wear:.1%} of its capacity is lost."
    if wear < 0:
        says = f"The battery holds {held}, which is more than it was designed to."
    if battery.cycles is not None:
        says += f" It counts {battery.cycles} charge cycles."
    outcome = Outcome.FAILED if worn else Outcome.PASSED
    return _with(_reading("power.battery-wear", device, outcome, says), round(wear, 4), "share")


def _report(device: Device, battery: BatteryState, context: Context) -> Reading:
    """Whether the battery's figures can be true together."""
    limits = context.knowledge.checks["power.battery-report"].limits
    wrong = list(_contradictions(battery, limits))
    if battery.health not in (None, "Good", "Unknown"):
        wrong.append(f"The battery says of itself: {battery.health}.")
    if wrong:
        return _reading("power.battery-report", device, Outcome.FAILED, " ".join(wrong))
    odd = battery.odd_volts or battery.odd_capacity
    if odd is not None or (battery.full is None and battery.volts is None):
        why = "the battery tells neither capacity nor voltage"
        why = f"{odd}, which cannot be" if odd is not None else why
        return _reading("power.battery-report", device, Outcome.NOT_JUDGED, "", why)
    says = "The battery's figures agree with each other."
    return _reading("power.battery-report", device, Outcome.PASSED, says)


def _contradictions(battery: BatteryState, limits: dict[str, float]) -> Iterator[str]:
    charge = battery.charge
    if charge is not None and not -0.001 <= charge <= limits["overfull_share"]:
        yield f"It claims to hold {charge:.0%} of what it can hold."
    if charge is not None and battery.percent is not None:
        apart = abs(min(charge, 1.0) * 100 - battery.percent)
        if apart > limits["percent_apart"]:
            yield f"It claims {battery.percent} % and, by capacity, {charge:.0%}."
    if battery.volts is not None and battery.design_volts and battery.odd_volts is None:
        count = cells(battery.design_volts)
        each = battery.volts / count
        if not limits["cell_lowest_volts"] <= each <= limits["cell_highest_volts"]:
            yield (
                f"Its voltage of {battery.volts:.2f} V means {each:.2f} V for each of "
                f"{count} cells."
            )
        elif (battery.percent or 0) >= 50 and each < limits["half_charged_volts"]:
            yield f"It claims {battery.percent} % at {each:.2f} V for each of {count} cells."


def _watts(supply: SupplyState) -> float:
    """What the adapter tells that it can give; 0 where it does not tell."""
    return (supply.max_volts or 0.0) * (supply.max_amperes or 0.0)


def _charging(
    device: Device, battery: BatteryState, has_jack: bool, fed: float | None, context: Context
) -> Reading:
    """``fed``: watts that come in as far as told, 0 where they are not; None: no power does."""
    check = "power.charging"
    status = battery.status or "Unknown"
    if fed is None:
        why = "no power comes in" if has_jack else "nothing tells whether power comes in"
        return _reading(check, device, Outcome.NOT_JUDGED, f"The battery is: {status}.", why)
    if status in ("Charging", "Full"):
        return _reading(check, device, Outcome.PASSED, f"With power coming in it is: {status}.")
    if status == "Unknown":
        why = "the battery does not tell whether it charges"
        return _reading(check, device, Outcome.NOT_JUDGED, "", why)
    if battery.behaviour in FORCED:
        why = f"charging is held off by a setting ({battery.behaviour})"
        return _reading(check, device, Outcome.NOT_JUDGED, f"The battery is: {status}.", why)
    limits = context.knowledge.checks[check].limits
    percent = _percent(battery)
    enough = _end(battery) or limits["rests_above_percent"]
    rests = percent is not None and percent >= enough - limits["threshold_slack_percent"]
    if percent is None or rests:
        why = "it is charged as far as its setting asks" if rests else "its charge is not known"
        return _reading(check, device, Outcome.NOT_JUDGED, f"The battery is: {status}.", why)
    rated = f" (the adapter tells {fed:.0f} W)" if fed else ""
    says = f"Power comes in{rated}, the battery stands at {percent} %, and it is: {status}."
    return _with(_reading(check, device, Outcome.FAILED, says), percent, "%")


def _percent(battery: BatteryState) -> int | None:
    if battery.percent is None and battery.charge is not None:
        return round(battery.charge * 100)
    return battery.percent


def _end(battery: BatteryState) -> int | None:
    """Where charging is set to stop; None: at no sooner than full."""
    end = battery.end_threshold_percent
    return end if end and end < 100 else None


def _limit(device: Device, battery: BatteryState, fed: bool, context: Context) -> Iterator[Reading]:
    """Whether it is a setting that keeps it from being charged."""
    check, end, percent = "power.charge-limit", _end(battery), _percent(battery)
    forced = battery.behaviour if battery.behaviour in FORCED else None
    charges = battery.status in ("Charging", "Full")
    untold = battery.end_threshold_percent is None and battery.status == "Not charging"
    unseen = untold and percent in USUAL_ENDS
    if not fed or not (end or forced or unseen or charges):
        return
    slack = context.knowledge.checks["power.charging"].limits["threshold_slack_percent"]
    rests = end is not None and percent is not None and percent >= end - slack
    held = forced is not None or unseen or (rests and not charges)
    said = f"set to stop at {end} %" if end else "not held off"
    if unseen:
        said = "at rest where a limit often stands that no driver tells"
    elif forced:
        said = f"held off ({forced})"
    says = f"The battery stands at {percent} %, and charging is {said}."
    outcome = Outcome.FAILED if held else Outcome.PASSED
    yield _with(_reading(check, device, outcome, says), end, "%")
