"""How a single check comes out at a hand-over, by what was read now and what was measured. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

import msgspec

from livecheck.diagnosis.observations import COMPLAINT
from livecheck.records import Check, Outcome, Reading, Run
from livecheck.topology.blame import speaks_of
from livecheck.topology.came_to_light import GUIDED

MACHINE: Final = "machine"
BENCH: Final = "bench."
"""Before the names of checks that are measured by hand, of a machine that does not start."""
GONE: Final = "it is out of the machine"
STARTS: Final = "the machine starts, and this run was made in it"
MEASURE: Final = "measured by hand before: measure it again on the worksheet"
KERNEL: Final = "kernel."
QUIET: Final = "nothing of that kind is in the kernel's log of this run"
SHOWS: Final = (
    "the complaint was seen then: look whether it still shows, and tell a run where: --answer "
    "complaint=nowhere"
)


def by_increase(runs: Sequence[Run], run: Run, checks: Mapping[str, Check]) -> Run:
    """The run with counts of a whole life passing where they are what they were before."""
    lifelong = {name for name, check in checks.items() if check.lifelong}
    last: dict[tuple[str, str], Reading] = {
        (r.check, r.at): r for one in runs if one.number < run.number for r in one.readings
        if r.check in lifelong
    }  # fmt: skip

    def judged(now: Reading) -> Reading:
        before = last.get((now.check, now.at))
        if now.outcome is not Outcome.FAILED or before is None or now.value != before.value:
            return now
        says = f"{now.value:g} {now.unit or ''}".strip() if isinstance(now.value, int) else now.says
        return msgspec.structs.replace(
            now, outcome=Outcome.PASSED, says=f"{says} in its life, and none since the run before."
        )

    return msgspec.structs.replace(run, readings=tuple(map(judged, run.readings)))


def outcome_now(
    component: str, check: str, after: Sequence[Run], last: Run
) -> tuple[Outcome | None, str]:
    """How a check that failed comes out now, and what was said.

    ``after``: the runs between its last failure and the last run.
    """
    # A place answers by what sits in it.
    spots = {component, *(p.id for p in last.inventory.parts if p.place == component)}
    # What was told of the complaint, or found by hand, counts until it is told or tried anew.
    by_hand = check.startswith((BENCH, COMPLAINT, GUIDED))
    for run in (last, *(reversed(after) if by_hand else ())):
        now = worst(r for r in run.readings if r.at in spots and r.check == check)
        if now is not None:
            return now.outcome, now.says or now.why_not or ""
    if not by_hand or check.startswith(GUIDED):
        return _covered(component, check, last)
    if check.startswith(COMPLAINT):
        return None, SHOWS
    if component == MACHINE and not all(map(measured_by_hand, (*after, last))):
        return Outcome.PASSED, STARTS
    return None, MEASURE


def _covered(component: str, check: str, last: Run) -> tuple[Outcome | None, str]:
    """What the last run says of a check that fails where the fault is, and passes above it.

    A counter of all modules stands at their controller; a log that is silent of a drive is no
    reading of its own, so that one witness is not counted five times (probes.kernel.checks).
    """
    passed = [r for r in last.readings if r.outcome is Outcome.PASSED]
    above = _above(component, last)
    for one in passed:
        if one.check == check and one.at in above:
            return one.outcome, one.says
    heard = {one.at for one in passed if one.check.startswith(KERNEL)}
    if check.startswith(KERNEL) and not heard.isdisjoint({component, MACHINE}):
        return Outcome.PASSED, QUIET
    return None, "not made this time"


def _above(component: str, run: Run) -> set[str]:
    """What a component hangs on, up to the machine."""
    inventory = run.inventory
    hangs = {one.id: one.parent for one in inventory.controllers}
    hangs |= {one.id: one.controller for one in inventory.places}
    hangs |= {one.id: one.place for one in inventory.parts}
    found = {MACHINE}
    at = hangs.get(component)
    while at is not None and at not in found:
        found.add(at)
        at = hangs.get(at)
    return found


def measured_by_hand(run: Run) -> bool:
    """Whether a run is a worksheet: its machine does not start, and is assumed."""
    return not run.probes and any(r.check.startswith(BENCH) for r in run.readings)


def mended_for(component: str, failing: Sequence[Check], last: Run) -> str:
    """Id of what would be mended where these checks fail at a component.

    A check that accuses one kind far more than all else speaks of that, wherever it is read.
    """
    kinds = {speaks_of(check) for check in failing}
    kind = kinds.pop() if len(kinds) == 1 else None
    meant = [part.id for part in last.inventory.parts if part.kind == kind]
    return meant[0] if len(meant) == 1 else component


def worst(readings: Iterator[Reading]) -> Reading | None:
    """Of several readings of one check the one that counts: a failure, else a pass."""
    order = (Outcome.FAILED, Outcome.PASSED, Outcome.NOT_JUDGED)
    return min(readings, key=lambda r: order.index(r.outcome), default=None)
