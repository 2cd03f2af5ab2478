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
from livecheck.found_words import reworded
from livecheck.records import NextStep, Outcome, Reading, Run, Side
from livecheck.records.tables import DAYS
from livecheck.signing import hand_over_of
from livecheck.worded import table_word
from livecheck.wording import text


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
        proofs = [Proof(text("behind.told"))]
    elif kind == BARRED:
        proofs = [Proof(text("behind.barred"))]
    elif kind in (REPORT, "damaged"):
        proofs = [Proof(text("behind.file"))]
    else:
        proofs = list(_of_verdict(case))
    return proofs or [Proof(text("behind.nothing"))]


def _reading(case: JudgedCase, run: int, check: str, at: str) -> Reading | None:
    for one in case.loaded.runs:
        if one.number == run:
            return next((r for r in one.readings if (r.check, r.at) == (check, at)), None)
    return None


def _of_verdict(case: JudgedCase) -> Iterator[Proof]:
    told = set()
    for item in sorted(case.location.evidence, key=lambda e: -abs(e.weight)):
        says = item.says or text("behind.at", check=item.check, at=item.at)
        outcome = wording.title(item.outcome)
        line = text("behind.weighed", sign=_sign(item.weight), run=item.run, outcome=outcome,
                    says=says)  # fmt: skip
        # The same said of two places is one thing to know.
        if line not in told:
            told.add(line)
            yield Proof(line, item.run, _reading(case, item.run, item.check, item.at))
    for run in case.loaded.runs:
        for reading in run.readings:
            if reading.check == DAYS:
                yield _proof(text("behind.neither"), run, reading)


def _sign(weight: float) -> str:
    return text(f"behind.{'for' if weight > 0 else 'against' if weight < 0 else 'neither'}")


def _of_component(case: JudgedCase, component: str) -> Iterator[Proof]:
    """Failed readings a fault in it would explain, and passed ones taken at it."""
    from livecheck.report.faults import accusing

    for run, reading in accusing(component, case.loaded.runs, case.names):
        yield _proof(text("behind.explains"), run, reading)
    for run in case.loaded.runs:
        for reading in run.readings:
            if reading.at == component and reading.outcome is Outcome.PASSED:
                yield _proof(text("behind.passed-at"), run, reading)


def _of_side(case: JudgedCase, side: Side) -> Iterator[Proof]:
    names = case.names
    for run in case.loaded.runs:
        for reading in run.readings:
            if reading.outcome is Outcome.PASSED and names.of(reading.at).side is side:
                yield _proof(text("behind.passed"), run, reading)


def _proof(word: str, run: Run, reading: Reading) -> Proof:
    says = reading.says or text("behind.at", check=reading.check, at=reading.at)
    return Proof(text("behind.reading", word=word, run=run.number, says=says), run.number, reading)


def _of_step(case: JudgedCase, step: NextStep) -> Iterator[Proof]:
    yield Proof(text("behind.step-why", why=step.why))
    for outcome in step.outcomes:
        share = percent(outcome.probability)
        told = {"result": outcome.result, "share": share, "means": outcome.means}
        yield Proof(text("behind.outcome", **told))
    for check in step.checks:
        yield Proof(text("behind.decides", question=wording.question(check, case.tables)))
    for other in case.location.alternatives:
        yield Proof(text("behind.instead", step=step_words(case, other), why=other.why))


def _of_hand_over(case: JudgedCase) -> Iterator[Proof]:
    """Each component before and after, those with a fault at any time first."""
    held = hand_over_of(case.loaded.case, case.loaded.runs, case.tables)
    for row in held.rows if held is not None else ():
        label = case.names.of(row.component).label
        state = row.state.value
        state = table_word(f"became.{state.replace(' ', '-')}", state).upper()
        yield Proof(text("behind.became", state=state, label=label, passed=row.passed_now))
        for one in row.held:
            now = wording.title(one.now) if one.now is not None else text("behind.not-made")
            before = reworded(one.before or "") or text("behind.never-failed")
            yield Proof(text("behind.before", before=before, now=now, says=reworded(one.says)))


def _missed(runs: Sequence[Run]) -> Iterator[Proof]:
    for run in runs[-1:]:
        for missed in run.not_tested:
            yield Proof(text("behind.not-tested", what=missed.what, why=missed.why))
        for reading in run.readings:
            if reading.outcome is Outcome.NOT_JUDGED:
                says = reading.says or reading.check
                why = reworded(reading.why_not or "")
                words = text("behind.not-judged", says=says, why=why)
                yield Proof(words, run.number, reading)


def taken_at(case: JudgedCase, component: str) -> list[Proof]:
    """Every reading taken at a component, the latest run first."""
    found = [
        _proof(wording.title(reading.outcome).upper(), run, reading)
        for run in reversed(case.loaded.runs)
        for reading in run.readings
        if reading.at == component
    ]
    return found or [Proof(text("behind.nothing-read"))]
