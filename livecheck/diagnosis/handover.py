"""Before against after: the first run of a case held against the one at hand-over. Pure.

Every component is judged by its own checks. A fault that was found earlier has to be
seen gone: by the same check passing at the same component, or by the part itself being
gone and another in its place. Passing once is not enough where the fault has come back
since. What fails now, for whatever reason, is not signed off.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from enum import StrEnum
from typing import Final

from livecheck.records import Inventory, NotTested, Outcome, Reading, Record, Run


class HandOverState(StrEnum):
    """What became of one component between the first run and the last."""

    REPAIRED = "repaired"
    """It failed, and every check that failed passes now."""
    REPLACED = "replaced"
    """It failed and is gone; what sits there now does not fail."""
    REMOVED = "removed"
    """It failed and is gone, and nothing sits there now."""
    STILL = "still fails"
    CAME_BACK = "came back"
    """It failed, passed in between, and fails again."""
    NEW = "fails now"
    """It never failed before."""
    OPEN = "not tested again"
    """It failed, and the check that failed was not made now."""
    SOUND = "sound"
    UNTESTED = "not tested"


BARS: Final = frozenset(
    {HandOverState.STILL, HandOverState.CAME_BACK, HandOverState.NEW, HandOverState.OPEN}
)
"""What keeps a machine from being signed off."""


class Held(Record, frozen=True, kw_only=True):
    """One check at one component, before and after."""

    check: str
    before: str | None
    """What the newest failed reading before now said; None: it never failed."""
    runs_failed: tuple[int, ...]
    now: Outcome | None
    """None: not made in the last run."""
    says: str
    """What the last run's reading said, or why there is none."""


class HandOverRow(Record, frozen=True, kw_only=True):
    """One component."""

    component: str
    name: str
    state: HandOverState
    held: tuple[Held, ...]
    """Checks that failed at any time, the failing ones of now first."""
    passed_now: int = 0
    """Checks that passed in the last run."""
    successor: str | None = None
    """Id of the part that sits in its place now."""


class HandOver(Record, frozen=True, kw_only=True):
    """The whole comparison."""

    first: int
    """Number of the first run."""
    last: int
    rows: tuple[HandOverRow, ...]
    """Components with a fault at any time first, then by id."""
    signed: bool
    """True: nothing stands in the way of giving the machine back."""
    reasons: tuple[str, ...]
    """Why not, one sentence a component."""
    soak_hours: float | None
    soaked: str | None
    """What the soak's reading said; None: there was none."""
    missed: tuple[NotTested, ...]
    """Checks that were not made in the last run."""


def compare(runs: Sequence[Run]) -> HandOver | None:
    """The last run against all before it; None without two runs of the machine itself."""
    ordered = sorted((r for r in runs if not r.in_known_good_machine), key=lambda r: r.number)
    if len(ordered) < 2:
        return None
    *earlier, last = ordered
    rows = sorted(
        (_row(component, earlier, last) for component in _components(ordered)),
        key=lambda row: (not row.held, row.component),
    )
    barred = [row for row in rows if row.state in BARS]
    soaked = next((r.says or r.why_not for r in last.readings if r.check == "soak.endured"), None)
    reasons = [f"{row.name}: {row.state.value} ({_why(row)})." for row in barred]
    if not last.finished:
        how = "stopped by the technician" if last.stopped else "cut off before its end"
        reasons.append(f"The last run was {how}.")
    return HandOver(
        first=ordered[0].number,
        last=last.number,
        rows=tuple(rows),
        signed=not reasons,
        reasons=tuple(reasons),
        soak_hours=last.soak_hours,
        soaked=soaked,
        missed=last.not_tested,
    )


def _why(row: HandOverRow) -> str:
    return "; ".join(dict.fromkeys(h.says for h in row.held if h.now is not Outcome.PASSED))


def _components(runs: Sequence[Run]) -> list[str]:
    """Everything a reading was ever taken at, that was judged."""
    judged = (
        reading.at for run in runs for reading in run.readings
        if reading.outcome is not Outcome.NOT_JUDGED
    )  # fmt: skip
    return list(dict.fromkeys(judged))


def _row(component: str, earlier: Sequence[Run], last: Run) -> HandOverRow:
    held = tuple(_held(component, earlier, last))
    passed = sum(
        r.at == component and r.outcome is Outcome.PASSED for r in last.readings
    )  # fmt: skip
    successor, gone = _successor(component, earlier, last)
    if any(one.now is Outcome.FAILED for one in held):
        state = _failing(component, held, earlier)
    elif not held:
        state = HandOverState.SOUND if passed else HandOverState.UNTESTED
    elif gone:
        state = HandOverState.REMOVED if successor is None else HandOverState.REPLACED
    else:
        mended = all(one.now is Outcome.PASSED for one in held)
        state = HandOverState.REPAIRED if mended else HandOverState.OPEN
    return HandOverRow(
        component=component,
        name=_name(component, (*earlier, last)),
        state=state,
        held=held,
        passed_now=passed,
        successor=successor,
    )


def _held(component: str, earlier: Sequence[Run], last: Run) -> Iterator[Held]:
    """Each check that ever failed at the component."""
    failed: dict[str, list[tuple[int, Reading]]] = {}
    for run in (*earlier, last):
        for reading in run.readings:
            if reading.at == component and reading.outcome is Outcome.FAILED:
                failed.setdefault(reading.check, []).append((run.number, reading))
    found = []
    for check, times in failed.items():
        before = [r.says for number, r in times if number != last.number]
        now = worst(r for r in last.readings if r.at == component and r.check == check)
        found.append(
            Held(
                check=check,
                before=before[-1] if before else None,
                runs_failed=tuple(dict.fromkeys(number for number, _ in times)),
                now=now.outcome if now is not None else None,
                says=(now.says or now.why_not or "") if now is not None else "not made this time",
            )
        )
    yield from sorted(found, key=lambda h: (h.now is not Outcome.FAILED, h.check))


def worst(readings: Iterator[Reading]) -> Reading | None:
    """Of several readings of one check the one that counts: a failure, else a pass."""
    order = (Outcome.FAILED, Outcome.PASSED, Outcome.NOT_JUDGED)
    return min(readings, key=lambda r: order.index(r.outcome), default=None)


def _failing(component: str, held: Sequence[Held], earlier: Sequence[Run]) -> HandOverState:
    """New, never gone, or gone for a while."""
    state = HandOverState.NEW
    for one in (h for h in held if h.now is Outcome.FAILED):
        outcomes = [
            reading.outcome
            for run in earlier
            if (reading := worst(r for r in run.readings
                                 if r.at == component and r.check == one.check)) is not None
        ]  # fmt: skip
        if Outcome.FAILED not in outcomes:
            continue
        after = outcomes[outcomes.index(Outcome.FAILED) :]
        if Outcome.PASSED in after:
            return HandOverState.CAME_BACK
        state = HandOverState.STILL
    return state


def _successor(component: str, earlier: Sequence[Run], last: Run) -> tuple[str | None, bool]:
    """What sits in the place of a part that is gone, and whether it is gone."""
    if any(p.id == component for p in last.inventory.parts):
        return None, False
    place = next(
        (p.place for run in reversed(earlier) for p in run.inventory.parts if p.id == component),
        None,
    )
    if place is None:
        # A place or controller: it is gone only with the board.
        return None, False
    return next((p.id for p in last.inventory.parts if p.place == place), None), True


def _name(component: str, runs: Sequence[Run]) -> str:
    for run in reversed(runs):
        names = _names(run.inventory)
        if component in names:
            return names[component]
    return component


def _names(inventory: Inventory) -> dict[str, str]:
    names = {c.id: c.name for c in inventory.controllers}
    names |= {p.id: p.name for p in inventory.places}
    return names | {p.id: p.name for p in inventory.parts}
