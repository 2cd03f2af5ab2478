"""What stands behind a line of the verdict: pure.

The lines that speak for it and against it, each with the reading it comes from.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import msgspec

from livecheck import wording
from livecheck.chances import percent
from livecheck.console.judged_case import JudgedCase
from livecheck.console.line_kinds import BARRED, HANDED, REPORT, STEP, TOLD, UNTESTED
from livecheck.console.verdict_lines import step_words
from livecheck.records import NextStep, Outcome, Reading, Run, Side
from livecheck.signing import hand_over_of


class Proof(msgspec.Struct, frozen=True):
    """One line behind a claim, and the reading it comes from."""

    text: str
    run: int | None = None
    reading: Reading | None = None


def behind(case: JudgedCase, key: str) -> list[Proof]:
    """The lines behind a claim; never empty."""
    kind, _, rest = key.partition(":")
    if kind == "component":
        proofs = list(_of_component(case, rest))
    elif kind == "side":
        proofs = list(_of_side(case, Side(rest)))
    elif kind == HANDED:
        proofs = list(_of_hand_over(case))
    elif kind == UNTESTED:
        proofs = list(_missed(case.loaded.runs))
    elif kind == STEP and case.next_step is not None:
        proofs = list(_of_step(case, case.next_step))
    elif kind == TOLD:
        proofs = [Proof("It was told or seen when the machine came in; M changes the sheet.")]
    elif kind == BARRED:
        proofs = [Proof("It is not proposed in this case. U takes that back.")]
    elif kind in (REPORT, "damaged"):
        proofs = [Proof("This is a file on the shop drive; the program reads it, and that is all.")]
    else:
        proofs = list(_of_verdict(case))
    return proofs or [Proof("No reading bears on this.")]


def _reading(case: JudgedCase, run: int, check: str, at: str) -> Reading | None:
    for one in case.loaded.runs:
        if one.number == run:
            return next((r for r in one.readings if (r.check, r.at) == (check, at)), None)
    return None


def _of_verdict(case: JudgedCase) -> Iterator[Proof]:
    told = set()
    for item in sorted(case.location.evidence, key=lambda e: -abs(e.weight)):
        says = item.says or f"{item.check} at {item.at}"
        text = f"{_sign(item.weight)} run {item.run}, {wording.title(item.outcome)}: {says}"
        # The same said of two places is one thing to know.
        if text not in told:
            told.add(text)
            yield Proof(text, item.run, _reading(case, item.run, item.check, item.at))


def _sign(weight: float) -> str:
    return "FOR    " if weight > 0 else "AGAINST" if weight < 0 else "       "


def _of_component(case: JudgedCase, component: str) -> Iterator[Proof]:
    """Failed readings a fault in it would explain, and passed ones taken at it."""
    from livecheck.report.faults import accusing

    for run, reading in accusing(component, case.loaded.runs, case.names):
        yield _proof("WOULD EXPLAIN", run, reading)
    for run in case.loaded.runs:
        for reading in run.readings:
            if reading.at == component and reading.outcome is Outcome.PASSED:
                yield _proof("PASSED AT IT ", run, reading)


def _of_side(case: JudgedCase, side: Side) -> Iterator[Proof]:
    names = case.names
    for run in case.loaded.runs:
        for reading in run.readings:
            if reading.outcome is Outcome.PASSED and names.of(reading.at).side is side:
                yield _proof("PASSED", run, reading)


def _proof(word: str, run: Run, reading: Reading) -> Proof:
    says = reading.says or f"{reading.check} at {reading.at}"
    return Proof(f"{word} run {run.number}: {says}", run.number, reading)


def _of_step(case: JudgedCase, step: NextStep) -> Iterator[Proof]:
    yield Proof(f"Why: {step.why}")
    for outcome in step.outcomes:
        share = percent(outcome.probability)
        yield Proof(f"If {outcome.result} ({share}): {outcome.means}")
    for check in step.checks:
        yield Proof(f"What decides: {wording.question(check, case.tables)}")
    for other in case.location.alternatives:
        yield Proof(f"Instead: {step_words(case, other)}. {other.why}")


def _of_hand_over(case: JudgedCase) -> Iterator[Proof]:
    """Each component before and after, those with a fault at any time first."""
    held = hand_over_of(case.loaded.case, case.loaded.runs, case.tables)
    for row in held.rows if held is not None else ():
        label = case.names.of(row.component).label
        yield Proof(f"{row.state.value.upper()} {label}: {row.passed_now} checks passed now")
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


def taken_at(case: JudgedCase, component: str) -> list[Proof]:
    """Every reading taken at a component, the latest run first."""
    found = [
        _proof(wording.title(reading.outcome).upper(), run, reading)
        for run in reversed(case.loaded.runs)
        for reading in run.readings
        if reading.at == component
    ]
    return found or [Proof("Nothing was read at it.")]
