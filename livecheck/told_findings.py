"""What was seen and heard at the counter: a finding of every run that its part is still in.

Pure. Whoever takes a machine in sees a swollen battery and hears a drive or a fan, and no
sensor does (common practice, no source). The words are ``IntakeRow.finds``.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

import msgspec

from livecheck import intake
from livecheck.records import (
    BlockFacts,
    IntakeRow,
    Inventory,
    Outcome,
    Part,
    PartIs,
    Reading,
    Run,
    ToldLine,
)
from livecheck.wording import text

DRIVE_NOISE: Final = "intake.drive-noise"
KINDS: Final = {
    "intake.swollen": "battery",
    DRIVE_NOISE: "drive",
    "intake.fan-noise": "cooling",
}
"""Check -> kind of the part that is seen or heard."""


def with_findings(
    run: Run, before: Sequence[Run], told: Sequence[ToldLine], sheet: dict[str, IntakeRow]
) -> Run:
    """The run, with a reading at each part that something was told of."""
    if run.in_known_good_machine or any(reading.check in KINDS for reading in run.readings):
        return run
    own = [*(one for one in before if not one.in_known_good_machine), run]
    marked = intake.finds(told, sheet)
    found = (_reading(check, own, check in marked) for check in KINDS)
    return msgspec.structs.replace(run, readings=(*run.readings, *filter(None, found)))


def _reading(check: str, own: Sequence[Run], marked: bool) -> Reading | None:
    """Of the last run; None: nothing to say."""
    fitted = _part(own[-1].inventory, check)
    at = None if fitted is None else fitted.id
    once = any(r.check == check and r.at == at for one in own[:-1] for r in one.readings)
    if fitted is None or not (marked or once):
        return None
    first = next(part for one in own if (part := _part(one.inventory, check)) is not None)
    other = _other(first, fitted, own)
    says = "other" if other else "seen" if marked else "no-more"
    return Reading(
        check=check,
        at=fitted.id,
        outcome=Outcome.FAILED if says == "seen" else Outcome.PASSED,
        says=text(f"{check}.{says}"),
        source=text("intake.source"),
    )


def _part(inventory: Inventory, check: str) -> Part | None:
    """What is seen or heard. A drive without discs makes no noise; of two nobody tells which."""
    parts = [part for part in inventory.parts if part.kind == KINDS[check]]
    if check == DRIVE_NOISE:
        discs = set(_turning(inventory))
        parts = [part for part in parts if part.block in discs]
        return parts[0] if len(parts) == 1 else None
    return next(iter(parts), None)


def _turning(inventory: Inventory) -> Iterator[str]:
    """The kernel's names of the disks that turn."""
    for device in inventory.devices:
        if isinstance(device.facts, BlockFacts) and device.facts.rotational:
            yield device.name


def _other(first: Part, fitted: Part, runs: Iterable[Run]) -> bool:
    """Whether the part that came in is out: by its number, else as it was told."""
    if first.identity and fitted.identity:
        return first.identity != fitted.identity
    answers = (answer for one in runs for answer in one.answers)
    return any(isinstance(one, PartIs) and one.place == fitted.place for one in answers)
