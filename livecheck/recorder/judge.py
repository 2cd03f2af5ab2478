"""From how a record ended to readings of the run that finds it. Pure.

One cause is named at most; what the record rules out is a passed check, and what it cannot
know is said. Somebody may always have held the power key or pulled the stick: the check
table allows for it, unless the bench answers that nobody touched it.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import msgspec

from livecheck.recorder.ending import ASLEEP, Ending
from livecheck.records import HowEnded, Inventory, Knowledge, NotTested, Outcome, Reading

SOURCE: Final = "the record of the last start"
CHECKS: Final = {
    "heat": "ended.hot",
    "supply": "ended.supply",
    "battery": "ended.battery",
    "panic": "ended.panic",
    "hardware": "ended.hardware",
    "restart": "ended.restart",
    "cool": "ended.cool",
    "asleep": "sleep.wakes",
}
ALONE: Final = {
    "supply": "ended.supply-alone",
    "restart": "ended.restart-alone",
    "cool": "ended.cool-alone",
}
"""Instead of those, where the bench says that nobody touched the machine."""


class Cause(msgspec.Struct, frozen=True):
    """What the end looks like."""

    name: str
    """A key of CHECKS; or ``asked``, ``empty``, ``unknown``: no fault is claimed."""
    says: str


def cause(end: Ending, limits: Mapping[str, float]) -> Cause:
    """The one thing the end looks like, the surest witness first.

    ``limits``: figures of the check ``ended.cool``.
    """
    if end.critical is not None:
        return Cause("heat", f"The kernel switched the machine off because of heat: {end.critical}")
    if end.asked:
        return Cause("asked", "The system was shut down in order, by a key or a command.")
    if end.panics:
        says = end.panics[-1].says
        # A machine check ends in a panic too; what it speaks of is hardware.
        name = "hardware" if "machine check" in says.lower() else "panic"
        return Cause(name, f"The kernel crashed: {says}.")
    if end.hardware:
        return Cause("hardware", f"The hardware reported an error: {end.hardware[0]}")
    if end.step == ASLEEP:
        return Cause("asleep", "It was put to sleep and did not wake: its record ends there.")
    return _hot(end, limits) or _unfed(end, limits) or _plain(end, limits)


def _hot(end: Ending, limits: Mapping[str, float]) -> Cause | None:
    heat = end.heat
    if heat is None:
        return None
    limit = heat.limit if heat.limit is not None else limits["hot_celsius"]
    soon = heat.celsius + max(0.0, heat.slope) * limits["ahead_seconds"]
    if soon < limit - limits["margin_celsius"]:
        return None
    way = "rising" if heat.slope > limits["rising_kelvin_per_second"] else "steady"
    return Cause(
        "heat",
        f"It went off hot: {heat.name} stood at {heat.celsius:.0f} °C, {way}; "
        f"its limit is {limit:.0f} °C.",
    )


def _unfed(end: Ending, limits: Mapping[str, float]) -> Cause | None:
    battery = end.battery
    percent = battery.percent if battery else None
    if end.adapter == "out" or (end.adapter == "lost" and battery is not None):
        if percent is not None and percent <= limits["empty_percent"]:
            return Cause("empty", f"It ran on its battery until that was empty ({percent:.0f} %).")
        if battery is not None:
            since = f" {end.lost_before:.0f} s" if end.lost_before is not None else ""
            return Cause(
                "battery",
                f"It went off on its battery{since} after the adapter was lost, at "
                f"{_percent(percent)} charge{_volts(end)}.",
            )
    if end.adapter == "lost":
        return Cause(
            "supply",
            f"The adapter was lost {end.lost_before:.0f} s before it went off, and no battery "
            "answered to carry it.",
        )
    if end.adapter == "in" and _cannot_carry(end, limits):
        return Cause(
            "supply",
            f"It went off at once, fed by the adapter alone: {_why_not_carried(end)}, so the "
            "shortest loss of the adapter switches it off.",
        )
    return None


def _cannot_carry(end: Ending, limits: Mapping[str, float]) -> bool:
    battery = end.battery
    return battery is None or (
        battery.percent is not None and battery.percent <= limits["empty_percent"]
    )


def _why_not_carried(end: Ending) -> str:
    return "no battery answered" if end.battery is None else "the battery was empty"


def _plain(end: Ending, limits: Mapping[str, float]) -> Cause:
    if end.gap is not None and 0 <= end.gap <= limits["restart_seconds"]:
        return Cause(
            "restart",
            f"It started anew by itself {end.gap:.0f} s after its last sign of life: reset rather "
            "than switched off.",
        )
    heat = end.heat
    if heat is None and end.adapter == "unknown":
        return Cause("unknown", "It went off; no sensor tells of heat or power at that moment.")
    state = f"cool ({heat.celsius:.0f} °C)" if heat is not None else "at a heat nothing tells"
    fed = {"in": "the adapter in", "unknown": "an adapter nothing tells of"}.get(
        end.adapter, "the adapter out"
    )
    carried = f", a battery at {_percent(end.battery.percent)}" if end.battery else ""
    work = {True: "under load", False: "at rest"}.get(end.loaded is True, "")
    return Cause("cool", f"It went off {state} {work}, with {fed}{carried}.")


def _percent(percent: float | None) -> str:
    return "unknown" if percent is None else f"{percent:.0f} %"


def _volts(end: Ending) -> str:
    battery = end.battery
    if battery is None or not battery.volts:
        return ""
    sag = f", {battery.sag:.2f} V down" if battery.sag else ""
    return f" and {battery.volts:.2f} V{sag}"


def judge(
    end: Ending | None,
    inventory: Inventory,
    knowledge: Knowledge,
    where: str,
    told: HowEnded | None = None,
) -> tuple[tuple[Reading, ...], tuple[NotTested, ...]]:
    """Readings of the run that finds the record, and what it cannot tell.

    ``where``: the record's folder, for those who want to look themselves. ``told``: what the
    bench answered about that end.
    """
    if end is None:
        missed = NotTested(what="How the last start ended", why="not one line of it is whole")
        return (), (missed,)
    limits = knowledge.checks["ended.cool"].limits
    found = cause(end, limits)
    if told is HowEnded.BY_HAND and found.name in ALONE:
        found = Cause("asked", "Somebody switched it off or pulled the plug, as the bench says.")
    checks = CHECKS | (ALONE if told is HowEnded.BY_ITSELF else {})
    conditions = _conditions(end)
    readings = [
        Reading(
            check=check,
            at=_at(name, inventory),
            outcome=Outcome.FAILED if name == found.name else Outcome.PASSED,
            value=round(end.heat.celsius, 1) if name == "heat" and end.heat else None,
            unit="°C" if name == "heat" and end.heat else None,
            source=f"{SOURCE}, {where}",
            says=found.says if name == found.name else _cleared(name, end),
            details=_details(end) if name == found.name else (),
            conditions=conditions,
        )
        for name, check in checks.items()
        if name == found.name or (name in ("heat", "supply") and _clears(name, end, found, limits))
    ]
    if found.name in CHECKS:
        return tuple(readings), ()
    missed = NotTested(what="How the last start ended", why=found.says)
    return tuple(readings), (missed,)


def _clears(name: str, end: Ending, found: Cause, limits: Mapping[str, float]) -> bool:
    """Whether a sudden end speaks against a cause: it was looked at and was not there."""
    sudden = found.name in ("cool", "restart", "panic", "hardware", "battery", "supply", "heat")
    if name == "heat":
        return sudden and end.heat is not None
    carried = end.battery is not None and not _cannot_carry(end, limits)
    return found.name in ("cool", "restart", "panic", "heat") and end.adapter == "in" and carried


def _cleared(name: str, end: Ending) -> str:
    if name == "heat" and end.heat is not None:
        return f"It was not hot when it ended: {end.heat.name} stood at {end.heat.celsius:.0f} °C."
    return "The adapter was in when it ended, and a charged battery stood behind it."


def _at(name: str, inventory: Inventory) -> str:
    kinds = {
        "heat": ("cooling",),
        "supply": ("adapter", "power-jack"),
        "battery": ("battery", "battery-bay"),
    }.get(name, ())
    known = [(p.kind, p.id) for p in inventory.parts]
    known += [(p.kind, p.id) for p in inventory.places]
    return next((id_ for kind in kinds for k, id_ in known if k == kind), "machine")


def _conditions(end: Ending) -> tuple[str, ...]:
    found = []
    if end.loaded is not None:
        found.append("under load" if end.loaded else "at rest")
    if end.adapter in ("out", "lost"):
        found.append("on battery")
    if end.heat is not None and end.heat.limit is not None:
        found.append("hot" if end.heat.celsius >= end.heat.limit - 10 else "cool")
    return tuple(found)


def _details(end: Ending) -> tuple[str, ...]:
    lines = [f"recorded for {end.seconds:.0f} s; last step: {end.step or 'none'}"]
    if end.gap is not None:
        lines.append(f"the next start began {end.gap:.0f} s after the last line (machine's clock)")
    lines += [f"kernel, last words: {w}" for w in end.last_words[-4:]]
    lines += [f"crash record {p.name}: {p.says}" for p in end.panics[:4]]
    lines += [*end.hardware[:4], *end.errors_rose[:4]]
    return tuple(lines)
