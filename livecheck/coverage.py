"""Which device was tested, and if not, why. "Not tested" is a result like any other."""

from __future__ import annotations

from livecheck.records import Device, NotTested, Outcome, Reading, Record, Run


class Coverage(Record, frozen=True, kw_only=True):
    """One device of the kernel's model and what this run did with it."""

    subsystem: str
    name: str
    component: str | None
    description: str | None
    tested: bool
    why_not: str | None
    """For a device that was not tested; None when it was."""
    checks: tuple[str, ...]
    """Names of the checks that were judged on it."""


def coverage(run: Run) -> tuple[Coverage, ...]:
    """Every device of the run's inventory, in the inventory's order."""
    by_place: dict[str, list[Reading]] = {}
    for reading in run.readings:
        by_place.setdefault(reading.at, []).append(reading)
    missed: dict[str, list[NotTested]] = {}
    for miss in run.not_tested:
        if miss.at is not None:
            missed.setdefault(miss.at, []).append(miss)
    homes = {part.id: part.place for part in run.inventory.parts}
    return tuple(_of_device(d, by_place, missed, homes) for d in run.inventory.devices)


def _of_device(
    device: Device,
    by_place: dict[str, list[Reading]],
    missed: dict[str, list[NotTested]],
    homes: dict[str, str],
) -> Coverage:
    component = device.component or "machine"
    # A link is read at the place a part sits in, and is a test of the part as well.
    spots = [component, *([homes[component]] if component in homes else [])]
    readings = [
        r for spot in spots for r in by_place.get(spot, ()) if r.device in (None, device.name)
    ]
    if device.component is None:
        readings = [r for r in readings if r.device == device.name]
    judged = tuple(sorted({r.check for r in readings if r.outcome is not Outcome.NOT_JUDGED}))
    return Coverage(
        subsystem=device.subsystem,
        name=device.name,
        component=device.component,
        description=device.description,
        tested=bool(judged),
        why_not=None if judged else _why_not(readings, missed.get(component, [])),
        checks=judged,
    )


def _why_not(readings: list[Reading], missed: list[NotTested]) -> str:
    for reading in readings:
        if reading.why_not:
            return reading.why_not
    for miss in missed:
        return miss.why
    return "no probe of this run tests this kind of device"
