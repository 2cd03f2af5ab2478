"""From a watch to readings of its run. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from livecheck.flex.counter import FlexResult, Loss
from livecheck.records import Inventory, Outcome, Reading

CHECK: Final = "power.flex-losses"
SHOWN: Final = 24
"""Losses kept with the reading."""


def readings(
    result: FlexResult, inventory: Inventory, limits: Mapping[str, float]
) -> tuple[Reading, ...]:
    """One reading at the adapter, or at its jack where no adapter was seen.

    ``limits``: those of the check ``power.flex-losses``.
    """
    outcome, why = Outcome.PASSED, None
    if result.fed_at_start is None:
        outcome, why = Outcome.NOT_JUDGED, "the jack did not tell whether power comes in"
    elif result.fed_at_start is False and not result.losses:
        outcome, why = Outcome.NOT_JUDGED, "no power came in when the watch began"
    elif result.count >= limits["losses"]:
        outcome = Outcome.FAILED
    elif result.seconds < limits["least_seconds"]:
        outcome, why = Outcome.NOT_JUDGED, f"watched for {result.seconds:.0f} s only"
    reading = Reading(
        check=CHECK,
        at=_at(result.supply, inventory),
        outcome=outcome,
        value=result.count if why is None else None,
        unit="losses",
        source=f"power supply {result.supply}, looked at {result.looks} times",
        says=says(result),
        why_not=why,
        details=tuple(line(loss) for loss in result.losses[:SHOWN]),
        conditions=("moved by hand",),
        device=result.supply,
    )
    return (reading,)


def says(result: FlexResult) -> str:
    """The result in a sentence or two."""
    name = result.label or "the adapter"
    if result.losses:
        longest = max(loss.seconds for loss in result.losses)
        times = "once" if result.count == 1 else f"{result.count} times"
        words = f"Power was lost {times} in {result.seconds:.0f} s with {name}, for up to " \
            f"{duration(longest)}."  # fmt: skip
    else:
        words = f"Power stayed on for {result.seconds:.0f} s with {name}."
    return f"{words} {shortest(result)}"


def shortest(result: FlexResult) -> str:
    """Which losses could not be missed, and why."""
    return (
        f"Every loss of more than {duration(result.longest_gap)} was seen, that being the longest "
        f"gap between two looks (usual: {duration(result.usual_gap)}); what the embedded "
        "controller smooths over is not seen."
    )


def line(loss: Loss) -> str:
    """One loss in words."""
    end = "" if loss.over else ", not back"
    return (
        f"at {loss.start:.2f} s for {duration(loss.seconds)} "
        f"(+{duration(loss.uncertain)} at most){end}"
    )


def duration(seconds: float) -> str:
    """``70 ms``, ``1.9 s``."""
    return f"{seconds * 1000:.0f} ms" if seconds < 1 else f"{seconds:.1f} s"


def _at(supply: str, inventory: Inventory) -> str:
    place = next((d.component for d in inventory.devices
                  if d.subsystem == "power_supply" and d.name == supply), None)  # fmt: skip
    return place or f"jack:{supply}"
