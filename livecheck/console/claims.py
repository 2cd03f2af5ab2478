"""What the verdict screen claims, and what stands behind each claim: pure.

Every line that can be chosen on the verdict screen is a claim with a key; ``behind``
gives the lines that speak for it and against it, each with the reading it comes from.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

import msgspec

from livecheck import wording
from livecheck.diagnosis.handover import compare
from livecheck.names import Names
from livecheck.records import Candidate, Knowledge, Location, NextStep, Outcome, Reading, Run, Side

if TYPE_CHECKING:
    from livecheck.casefile import Loaded

FAINT: Final = 0.01
"""Candidates below this probability are left to the report."""
VERDICT: Final = "verdict"
STEP: Final = "step"
UNTESTED: Final = "untested"
REPORT: Final = "report"
HANDED: Final = "hand-over"
SIDES: Final = {
    Side.DEVICE: "DEVICE SIDE (parts that can be swapped)",
    Side.CONTROLLER: "CONTROLLER SIDE (what stays: place, controller, mainboard)",
}
OTHER_SIDES: Final = "NEITHER (contact, installed system)"


class Claim(msgspec.Struct, frozen=True):
    """One line of the verdict screen."""

    text: str
    key: str | None = None
    style: str = ""


class Proof(msgspec.Struct, frozen=True):
    """One line behind a claim, and the reading it comes from."""

    text: str
    run: int | None = None
    reading: Reading | None = None


class Case(msgspec.Struct, frozen=True, kw_only=True):
    """A case with its verdict, as the screens need it."""

    loaded: Loaded
    location: Location
    tables: Knowledge
    report: str

    @property
    def names(self) -> Names:
        """What each component id means."""
        return Names(self.loaded.runs, self.tables, self.loaded.case.spares)


def claims(case: Case) -> Iterator[Claim]:
    """The verdict screen from top to bottom."""
    found = case.location
    yield Claim(found.sentence, VERDICT)
    yield from _hand_over(case)
    if found.next_step is not None:
        yield Claim("NEXT STEP", style="heading")
        yield from _step(case, found.next_step)
    for side, title in SIDES.items():
        yield Claim(title, style="heading")
        yield from _side(case, side)
    rest = [c for c in _shown(found) if c.side not in SIDES]
    if rest:
        yield Claim(OTHER_SIDES, style="heading")
        yield from (_candidate(c) for c in rest)
    if found.explanation:
        yield Claim("WHY", style="heading")
    for index, sentence in enumerate(found.explanation):
        yield Claim(sentence, f"{VERDICT}:{index}")
    yield Claim("ALSO", style="heading")
    for damaged in case.loaded.damaged:
        yield Claim(f"DAMAGED RECORD {damaged} (left as it is)", "damaged:" + damaged)
    yield Claim(_untested(case.loaded.runs), UNTESTED)
    yield Claim(f"Report: {case.report}", REPORT)


def _hand_over(case: Case) -> Iterator[Claim]:
    """What the last run says of giving the machine back, where it was made for that."""
    runs = case.loaded.runs
    if not runs or not runs[-1].hand_over:
        return
    yield Claim("HAND-OVER", style="heading")
    held = compare(runs)
    if held is None:
        yield Claim("This is the case's only run: there is nothing to hold it against.")
        return
    words = "ready to be given back" if held.signed else "NOT signed off"
    yield Claim(f"Run {held.first} against run {held.last}: {words}.", HANDED)
    for index, reason in enumerate(held.reasons):
        yield Claim(reason, f"{HANDED}:{index}")


def step_words(case: Case, step: NextStep) -> str:
    """A step in one line."""
    target = case.names.target(step.target)
    return f"{step.action}: {target} ({wording.minutes(step.minutes)})"


def cautions(case: Case, step: NextStep) -> tuple[str, ...]:
    """What to heed at a step."""
    known = (case.tables.cautions.get(name) for name in step.cautions)
    return tuple(f"CAUTION: {caution.text}" for caution in known if caution is not None)


def _step(case: Case, step: NextStep) -> Iterator[Claim]:
    yield Claim(f"{step_words(case, step)}. {step.why}", STEP)
    yield from (Claim(caution, style="caution") for caution in cautions(case, step))
    for index, outcome in enumerate(step.outcomes):
        share = wording.percent(outcome.probability)
        yield Claim(f"- {outcome.result} ({share}): {outcome.means}", f"{STEP}:{index}")


def _shown(found: Location) -> list[Candidate]:
    return [c for c in found.candidates if c.probability >= FAINT]


def _side(case: Case, side: Side) -> Iterator[Claim]:
    shown = [c for c in _shown(case.location) if c.side is side]
    yield from (_candidate(c) for c in shown)
    if not shown:
        yield Claim("No sign of a fault on this side.", f"side:{side.value}")


def _candidate(candidate: Candidate) -> Claim:
    share = wording.percent(candidate.probability)
    name = candidate.name or candidate.component
    return Claim(f"{share:>6}  {name}", f"component:{candidate.component}")


def _untested(runs: Sequence[Run]) -> str:
    if not runs:
        return "No run is saved in this case yet."
    run = runs[-1]
    unjudged = sum(r.outcome is Outcome.NOT_JUDGED for r in run.readings)
    return f"Not judged: {unjudged} readings. Not tested: {len(run.not_tested)} things."


def behind(case: Case, key: str) -> list[Proof]:
    """The lines behind a claim; never empty."""
    sort, _, rest = key.partition(":")
    if sort == "component":
        proofs = list(_of_component(case, rest))
    elif sort == "side":
        proofs = list(_of_side(case, Side(rest)))
    elif sort == HANDED:
        proofs = list(_of_hand_over(case))
    elif sort == UNTESTED:
        proofs = list(_missed(case.loaded.runs))
    elif sort == STEP and case.location.next_step is not None:
        proofs = list(_of_step(case, case.location.next_step))
    elif sort in (REPORT, "damaged"):
        proofs = [Proof("This is a file on the shop drive; the program reads it, and that is all.")]
    else:
        proofs = list(_of_verdict(case))
    return proofs or [Proof("No reading bears on this.")]


def _reading(case: Case, run: int, check: str, at: str) -> Reading | None:
    for one in case.loaded.runs:
        if one.number == run:
            return next((r for r in one.readings if (r.check, r.at) == (check, at)), None)
    return None


def _of_verdict(case: Case) -> Iterator[Proof]:
    for item in sorted(case.location.evidence, key=lambda e: -abs(e.weight)):
        says = item.says or f"{item.check} at {item.at}"
        text = f"{_sign(item.weight)} run {item.run}, {wording.title(item.outcome)}: {says}"
        yield Proof(text, item.run, _reading(case, item.run, item.check, item.at))


def _sign(weight: float) -> str:
    return "FOR    " if weight > 0 else "AGAINST" if weight < 0 else "       "


def _of_component(case: Case, component: str) -> Iterator[Proof]:
    """Failed readings a fault in it would explain, and passed ones taken at it."""
    from livecheck.report.faults import accusing

    for run, reading in accusing(component, case.loaded.runs, case.names):
        yield _proof("WOULD EXPLAIN", run, reading)
    for run in case.loaded.runs:
        for reading in run.readings:
            if reading.at == component and reading.outcome is Outcome.PASSED:
                yield _proof("PASSED AT IT ", run, reading)


def _of_side(case: Case, side: Side) -> Iterator[Proof]:
    names = case.names
    for run in case.loaded.runs:
        for reading in run.readings:
            if reading.outcome is Outcome.PASSED and names.of(reading.at).side is side:
                yield _proof("PASSED", run, reading)


def _proof(word: str, run: Run, reading: Reading) -> Proof:
    says = reading.says or f"{reading.check} at {reading.at}"
    return Proof(f"{word} run {run.number}: {says}", run.number, reading)


def _of_step(case: Case, step: NextStep) -> Iterator[Proof]:
    yield Proof(f"Why: {step.why}")
    for outcome in step.outcomes:
        share = wording.percent(outcome.probability)
        yield Proof(f"If {outcome.result} ({share}): {outcome.means}")
    for check in step.checks:
        yield Proof(f"What decides: {wording.question(check, case.tables)}")
    for other in case.location.alternatives:
        yield Proof(f"Instead: {step_words(case, other)}. {other.why}")


def _of_hand_over(case: Case) -> Iterator[Proof]:
    """Each component before and after, those with a fault at any time first."""
    held = compare(case.loaded.runs)
    for row in held.rows if held is not None else ():
        yield Proof(f"{row.state.value.upper()} {row.name}: {row.passed_now} checks passed now")
        for one in row.held:
            now = wording.title(one.now) if one.now is not None else "not made"
            yield Proof(f"    before: {one.before or 'never failed'}; now: {now}, {one.says}")


def _missed(runs: Sequence[Run]) -> Iterator[Proof]:
    for run in runs[-1:]:
        for missed in run.not_tested:
            yield Proof(f"NOT TESTED {missed.what}: {missed.why}")
        for reading in run.readings:
            if reading.outcome is Outcome.NOT_JUDGED:
                says = reading.says or reading.check
                yield Proof(f"NOT JUDGED {says} ({reading.why_not})", run.number, reading)


def at(case: Case, component: str) -> list[Proof]:
    """Every reading taken at a component, the latest run first."""
    found = [
        _proof(wording.title(reading.outcome).upper(), run, reading)
        for run in reversed(case.loaded.runs)
        for reading in run.readings
        if reading.at == component
    ]
    return found or [Proof("Nothing was read at it.")]
