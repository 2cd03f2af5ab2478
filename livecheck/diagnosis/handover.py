"""Before against after: the first run of a case held against the one at hand-over. Pure.

Every component is judged by its own checks. A fault that was found earlier has to be
seen gone: by the same check passing at the same component, or by the part itself being
gone and another in its place. Passing once is not enough where the fault has come back
since. What fails now, for whatever reason, is not signed off, unless the customer did not
want it mended. A count of a part's whole life never goes back: it is judged by its increase.
A part of the shop's that is still fitted, load that was left out, and a part that was in the
machine when it came in and is nowhere in it now stand in the way too.
What was measured by hand counts until it is measured again; a machine that starts has proved
what the worksheet asked of it as a whole.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import StrEnum
from typing import Final

import msgspec

from livecheck.diagnosis.handover_checks import (
    GONE,
    by_increase,
    mended_for,
    outcome_now,
    worst,
)
from livecheck.diagnosis.handover_parts import left_behind, no_better, successor_of, unclaimed
from livecheck.records import (
    Check,
    GoesBack,
    NotTested,
    Outcome,
    ProbeRun,
    Reading,
    Record,
    Run,
)
from livecheck.topology.history import configurations


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
    DECLINED = "declined by the customer"
    """It fails, and the customer does not want it mended."""
    NEW = "fails now"
    """It never failed before."""
    OPEN = "not tested again"
    """It failed, and the check that failed was not made now."""
    MISSING = "missing"
    """It came in with the machine and is in it no more, though it was not what was at fault."""
    SOUND = "sound"
    UNTESTED = "not tested"


BARS: Final = frozenset({
    HandOverState.STILL, HandOverState.CAME_BACK, HandOverState.NEW, HandOverState.OPEN,
    HandOverState.MISSING,
})  # fmt: skip
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
    state: HandOverState
    held: tuple[Held, ...]
    """Checks that failed at any time, the failing ones of now first."""
    passed_now: int = 0
    """Checks that passed in the last run."""
    successor: str | None = None
    """Id of the part that sits in its place now."""
    declined: str | None = None
    """The customer's words, where it is not to be mended."""
    mend: str = ""
    """Id of what would be mended for what fails there: heat of a processor is its cooling's."""
    unsafe: bool = False
    """What fails there endangers whoever has it: no word of the customer's lets it go back."""

    @property
    def to_tell(self) -> bool:
        """Something was the matter with it, or still is."""
        return bool(self.held) or self.state in BARS or self.state is HandOverState.DECLINED


class HandOver(Record, frozen=True, kw_only=True):
    """The whole comparison."""

    first: int
    """Number of the first run."""
    last: int
    rows: tuple[HandOverRow, ...]
    """Components with a fault at any time first, then by id."""
    lent: tuple[str, ...]
    """Ids of parts of the shop's that are still fitted."""
    unclaimed: tuple[str, ...] = ()
    """Ids of parts that came in since, of which nobody said whose they are."""
    left_out: tuple[ProbeRun, ...]
    """Probes that did not come to their end."""
    ended: str | None
    """How the last run ended before its end; None: it did not."""
    soak_hours: float | None
    soaked: str | None
    """What the soak's reading said; None: there was none."""
    missed: tuple[NotTested, ...]
    """Checks that were not made in the last run."""

    @property
    def barred(self) -> tuple[HandOverRow, ...]:
        """The components that stand in the way."""
        return tuple(row for row in self.rows if row.state in BARS)

    @property
    def declined(self) -> tuple[HandOverRow, ...]:
        """What the machine goes back with, as its owner wants it."""
        return tuple(row for row in self.rows if row.state is HandOverState.DECLINED)

    @property
    def signed(self) -> bool:
        """True: nothing stands in the way of giving the machine back."""
        return not (self.barred or self.lent or self.left_out or self.ended)


def compare(
    runs: Sequence[Run],
    checks: Mapping[str, Check] | None = None,
    spares: Iterable[str] = (),
) -> HandOver | None:
    """The last run against all before it; None without two runs of the machine itself.

    ``checks`` say which counts are of a whole life; ``spares``: identities of the shop's own.
    """
    ordered = sorted((r for r in runs if not r.in_known_good_machine), key=lambda r: r.number)
    if len(ordered) < 2:
        return None
    known = checks or {}
    *earlier, last = [by_increase(ordered, run, known) for run in ordered]
    declined = {a.component: a.words for r in ordered for a in r.answers if isinstance(a, GoesBack)}
    missing = left_behind(ordered)
    rows = sorted(
        (
            _released(_row(component, earlier, last, missing), declined, known, last)
            for component in dict.fromkeys((*_components(ordered), *missing))
        ),
        key=lambda row: (not row.to_tell, row.component),
    )
    soaked = next((r.says or r.why_not for r in last.readings if r.check == "soak.endured"), None)
    ended = "stopped by the technician" if last.stopped else "cut off before its end"
    return HandOver(
        first=ordered[0].number,
        last=last.number,
        rows=tuple(rows),
        lent=lent(runs, spares),
        unclaimed=unclaimed(ordered, spares),
        left_out=tuple(p for p in last.probes if p.ended != "done"),
        ended=None if last.finished else ended,
        soak_hours=last.soak_hours,
        soaked=soaked,
        missed=last.not_tested,
    )


def lent(runs: Sequence[Run], spares: Iterable[str]) -> tuple[str, ...]:
    """Parts of the shop's in the machine at the last run, those that were sold left out."""
    now = configurations(runs, frozenset(spares))[-1]
    sold = {a.component for run in runs for a in run.answers if isinstance(a, GoesBack)}
    seen = {now.ids[part.id]: part for part in now.run.inventory.parts if part.id in now.ids}
    found = []
    for part in now.known_good.intersection(now.parts.values()):
        row = seen.get(part)
        names = {str(part)} if row is None else {str(part), row.id, row.identity}
        if sold.isdisjoint(names) and not (row is not None and row.bench_own):
            found.append(str(part))
    return tuple(sorted(found))


def _components(runs: Sequence[Run]) -> list[str]:
    """Everything a reading was ever taken at, that was judged."""
    judged = (
        reading.at for run in runs for reading in run.readings
        if reading.outcome is not Outcome.NOT_JUDGED
    )  # fmt: skip
    return list(dict.fromkeys(judged))


def _row(component: str, earlier: Sequence[Run], last: Run, missing: Sequence[str]) -> HandOverRow:
    successor, gone = successor_of(component, earlier, last)
    held = tuple(_held(component, earlier, last, gone))
    passed = sum(r.at == component and r.outcome is Outcome.PASSED for r in last.readings)
    if any(one.now is Outcome.FAILED for one in held):
        state = _failing(component, held, earlier)
    elif not held and component in missing:
        state = HandOverState.MISSING
    elif not held:
        state = HandOverState.SOUND if passed else HandOverState.UNTESTED
    elif gone and no_better(component, successor, earlier):
        state = HandOverState.MISSING
    elif gone:
        state = HandOverState.REMOVED if successor is None else HandOverState.REPLACED
    else:
        mended = all(one.now is Outcome.PASSED for one in held)
        state = HandOverState.REPAIRED if mended else HandOverState.OPEN
    return HandOverRow(
        component=component, state=state, held=held, passed_now=passed, successor=successor
    )


def _released(
    row: HandOverRow, declined: Mapping[str, str], checks: Mapping[str, Check], last: Run
) -> HandOverRow:
    """The row as its owner wants it, where that may be."""
    unsafe = any(
        held.now is Outcome.FAILED and held.check in checks and checks[held.check].unsafe
        for held in row.held
    )
    failing = [checks[h.check] for h in row.held if h.check in checks and h.now is Outcome.FAILED]
    mend = mended_for(row.component, failing, last)
    words = declined.get(row.component, declined.get(mend))
    if unsafe or words is None or row.state not in BARS:
        return msgspec.structs.replace(row, unsafe=unsafe, mend=mend)
    state = HandOverState.DECLINED
    return msgspec.structs.replace(row, state=state, declined=words, mend=mend)


def _held(component: str, earlier: Sequence[Run], last: Run, gone: bool) -> Iterator[Held]:
    """Each check that ever failed at the component; of one that is gone nothing speaks now."""
    failed: dict[str, list[tuple[int, Reading]]] = {}
    for run in (*earlier, last):
        for reading in run.readings:
            if reading.at == component and reading.outcome is Outcome.FAILED:
                failed.setdefault(reading.check, []).append((run.number, reading))
    found = []
    for check, times in failed.items():
        before = [r.says for number, r in times if number != last.number]
        after = [run for run in earlier if run.number > times[-1][0]]
        now, says = (None, GONE) if gone else outcome_now(component, check, after, last)
        found.append(
            Held(
                check=check,
                before=before[-1] if before else None,
                runs_failed=tuple(dict.fromkeys(number for number, _ in times)),
                now=now,
                says=says,
            )
        )
    yield from sorted(found, key=lambda h: (h.now is not Outcome.FAILED, h.check))


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
