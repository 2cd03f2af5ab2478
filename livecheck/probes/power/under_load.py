"""From a loaded stretch to readings of battery and adapter. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

import msgspec

from livecheck.inventory.power_state import cells
from livecheck.meters import Channel, Sample, Sort
from livecheck.meters.sample import of_sort
from livecheck.probes.finding import Finding, finding, unjudged
from livecheck.probes.heat.cooling import LOAD, REST, of_phase
from livecheck.records import Inventory, Knowledge, NotTested, Outcome, Reading

HOLDS: Final = "power.holds-load"
CARRIES: Final = "power.adapter-holds"
SETTLE_SECONDS: Final = 3.0
"""After the load comes on, before its voltage is taken: gauges are slow (assumed)."""


class Draw(msgspec.Struct, frozen=True):
    """A battery's mean voltage and current in one phase."""

    volts: float
    amperes: float
    lowest: float


def readings(
    channels: tuple[Channel, ...],
    samples: Sequence[Sample],
    inventory: Inventory,
    knowledge: Knowledge,
) -> Iterator[Reading | NotTested]:
    """One reading a battery, and one an adapter, as far as there are any."""
    for name in _names(channels, Sort.VOLTS):
        at = _owner(inventory, name)
        design = _design_volts(inventory, at)
        rest = draw(channels, of_phase(samples, REST), name)
        loaded = draw(channels, _settled(of_phase(samples, LOAD)), name)
        found = holds(rest, loaded, design, knowledge.checks[HOLDS].limits)
        yield found.reading(at, f"power supply {name}", name, ("under load",))
    for name in _names(channels, Sort.ADAPTER):
        carried = carries(channels, samples, name, _owner(inventory, name), knowledge)
        if carried is not None:
            yield carried


def _names(channels: tuple[Channel, ...], sort: Sort) -> list[str]:
    return [c.key.partition(":")[2] for c in channels if c.sort is sort]


def _owner(inventory: Inventory, name: str) -> str:
    found = (d.component for d in inventory.devices
             if d.subsystem == "power_supply" and d.name == name)  # fmt: skip
    return next(found, None) or "machine"


def _design_volts(inventory: Inventory, at: str) -> float | None:
    return next((part.design_volts for part in inventory.parts if part.id == at), None) or None


def holds(
    rest: Draw | None, loaded: Draw | None, design_volts: float | None, limits: Mapping[str, float]
) -> Finding:
    """The battery's resistance by the step of the load: ΔV over ΔI, a cell."""
    if rest is None or loaded is None:
        return unjudged(HOLDS, "it did not run on this battery (pull the adapter and run again)")
    step = loaded.amperes - rest.amperes
    if step < limits["least_amperes"]:
        return unjudged(HOLDS, f"the load drew {step:.2f} A more only")
    if design_volts is None:
        return unjudged(HOLDS, "its number of cells is not known")
    count = cells(design_volts)
    ohms = (rest.volts - loaded.volts) / step
    low = loaded.lowest / count
    bad = ohms / count > limits["ohms_per_cell"] or low < limits["cell_lowest_volts"]
    says = (
        f"Under {step:.2f} A more it fell from {rest.volts:.2f} V to {loaded.volts:.2f} V: "
        f"{ohms * 1000:.0f} mΩ, {ohms / count * 1000:.0f} mΩ for each of {count} cells in series, "
        f"{low:.2f} V a cell at the lowest."
    )
    return finding(HOLDS, bad, round(ohms, 4), says, "ohm")


def _settled(loaded: Sequence[Sample]) -> list[Sample]:
    return [s for s in loaded if s.seconds - loaded[0].seconds >= SETTLE_SECONDS]


def draw(channels: tuple[Channel, ...], samples: Sequence[Sample], name: str) -> Draw | None:
    """Means while the battery fed the machine; None when it did not all the time."""
    volts, amperes = [], []
    for sample in samples:
        told = {
            c.sort: v
            for c, v in zip(channels, sample.values, strict=False)
            if c.key.partition(":")[2] == name and v is not None
        }
        if told.get(Sort.STATUS) != -1.0 or Sort.VOLTS not in told:
            return None
        current = told.get(Sort.AMPERES)
        if current is None and Sort.POWER in told:
            current = told[Sort.POWER] / told[Sort.VOLTS]
        if current is None:
            return None
        # Some firmware gives the current of a discharge a sign, some none.
        volts.append(told[Sort.VOLTS])
        amperes.append(abs(current))
    if len(volts) < 3:
        return None
    return Draw(sum(volts) / len(volts), sum(amperes) / len(amperes), min(volts))


def carries(
    channels: tuple[Channel, ...],
    samples: Sequence[Sample],
    name: str,
    at: str,
    knowledge: Knowledge,
) -> Reading | None:
    """Whether the adapter alone fed the machine under load; None when it was not plugged in."""
    loaded = _settled(of_phase(samples, LOAD)) if of_phase(samples, LOAD) else []
    rest = of_phase(samples, REST)
    fed = [_value(channels, s, f"adapter:{name}") for s in loaded]
    if not loaded or not rest or not _value(channels, rest[-1], f"adapter:{name}"):
        return None
    blank = Reading(
        check=CARRIES,
        at=at,
        outcome=Outcome.PASSED,
        unit="W",
        source=f"power supply {name}",
        says="The adapter carried the machine under load.",
        conditions=("under load",),
        device=name,
    )
    if not all(fed):
        gone = sum(not one for one in fed)
        return msgspec.structs.replace(
            blank,
            outcome=Outcome.FAILED,
            unit=None,
            says=f"Under load the adapter was gone in {gone} of {len(fed)} seconds.",
        )
    taken = [_taken(channels, s) for s in loaded]
    if not taken or any(t is None for t in taken):
        why = "no battery tells whether it helps"
        return msgspec.structs.replace(blank, outcome=Outcome.NOT_JUDGED, says="", why_not=why)
    mean = sum(t or 0.0 for t in taken) / len(taken)
    if mean <= knowledge.checks[CARRIES].limits["least_watts"]:
        return blank
    return msgspec.structs.replace(
        blank,
        outcome=Outcome.FAILED,
        value=round(mean, 1),
        says=f"Under load the machine took {mean:.1f} W from its battery with the adapter in.",
    )


def _value(channels: tuple[Channel, ...], sample: Sample, key: str) -> float | None:
    found = (v for c, v in zip(channels, sample.values, strict=False) if c.key == key)
    return next(found, None)


def _taken(channels: tuple[Channel, ...], sample: Sample) -> float | None:
    """W the batteries give; 0 when none discharges; None when they do not tell."""
    states = of_sort(channels, sample, Sort.STATUS)
    if not states:
        return None
    total = 0.0
    for channel, state in states:
        if state != -1.0:
            continue
        name = channel.key.partition(":")[2]
        power = _value(channels, sample, f"power:{name}")
        volts = _value(channels, sample, f"battery-volts:{name}")
        amperes = _value(channels, sample, f"battery-amperes:{name}")
        if power is None and volts is not None and amperes is not None:
            power = volts * abs(amperes)
        if power is None:
            return None
        total += abs(power)
    return total
