"""What the verdict screen shows, line by line: pure.

Every line that can be chosen has a key; ``evidence_lines.behind`` gives what speaks for
it and against it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import msgspec

from livecheck import signing, wording
from livecheck.chances import percent
from livecheck.completeness import incomplete
from livecheck.console.judged_case import JudgedCase
from livecheck.records import Candidate, Location, NextStep, Outcome, Run, Side

FAINT: Final = 0.01
"""Candidates below this probability are left to the report."""
VERDICT: Final = "verdict"
STEP: Final = "step"
UNTESTED: Final = "untested"
REPORT: Final = "report"
HANDED: Final = "hand-over"
INCOMPLETE: Final = "INCOMPLETE"
SIDES: Final = {
    Side.DEVICE: "DEVICE SIDE (parts that can be swapped)",
    Side.CONTROLLER: "CONTROLLER SIDE (what stays: place, controller, mainboard)",
}
OTHER_SIDES: Final = "NEITHER (contact, installed system)"


class VerdictLine(msgspec.Struct, frozen=True):
    """One line of the verdict screen."""

    text: str
    key: str | None = None
    style: str = ""


def verdict_lines(case: JudgedCase) -> Iterator[VerdictLine]:
    """The verdict screen from top to bottom."""
    found = case.location
    lacks = incomplete(case.loaded.runs)
    if lacks is not None:
        yield VerdictLine(lacks, UNTESTED + ":last")
    yield from _hand_over(case)
    yield VerdictLine(found.sentence, VERDICT)
    if found.next_step is not None:
        yield VerdictLine("NEXT STEP", style="heading")
        yield from _step(case, found.next_step)
    for side, title in SIDES.items():
        yield VerdictLine(title, style="heading")
        yield from _side(case, side)
    rest = [c for c in _shown(found) if c.side not in SIDES]
    if rest:
        yield VerdictLine(OTHER_SIDES, style="heading")
        yield from (_candidate(c) for c in rest)
    if found.explanation:
        yield VerdictLine("WHY", style="heading")
    for index, sentence in enumerate(found.explanation):
        yield VerdictLine(sentence, f"{VERDICT}:{index}")
    yield VerdictLine("ALSO", style="heading")
    for damaged in case.loaded.damaged:
        yield VerdictLine(f"DAMAGED RECORD {damaged} (left as it is)", "damaged:" + damaged)
    yield VerdictLine(_untested(case.loaded.runs), UNTESTED)
    yield VerdictLine(f"Report: {case.report}", REPORT)


def _hand_over(case: JudgedCase) -> Iterator[VerdictLine]:
    """What the last run says of giving the machine back, where it was made for that."""
    runs = case.loaded.runs
    if not runs or not runs[-1].hand_over:
        return
    yield VerdictLine("HAND-OVER", style="heading")
    held = signing.hand_over_of(case.loaded.case, runs, case.tables)
    if held is None:
        yield VerdictLine("This is the case's only run: there is nothing to hold it against.")
        return
    yield VerdictLine(signing.headline(held), HANDED)
    for index, reason in enumerate(signing.reasons(held, case.names)):
        yield VerdictLine(reason, f"{HANDED}:{index}")


def step_words(case: JudgedCase, step: NextStep) -> str:
    """A step in one line."""
    target = case.names.target(step.target)
    return f"{step.action}: {target} ({wording.minutes(step.minutes)})"


def cautions(case: JudgedCase, step: NextStep) -> tuple[str, ...]:
    """What to heed at a step."""
    known = (case.tables.cautions.get(name) for name in step.cautions)
    return tuple(f"CAUTION: {caution.text}" for caution in known if caution is not None)


def _step(case: JudgedCase, step: NextStep) -> Iterator[VerdictLine]:
    yield VerdictLine(f"{step_words(case, step)}. {step.why}", STEP)
    yield from (VerdictLine(caution, style="caution") for caution in cautions(case, step))
    for index, outcome in enumerate(step.outcomes):
        share = percent(outcome.probability)
        yield VerdictLine(f"- {outcome.result} ({share}): {outcome.means}", f"{STEP}:{index}")


def _shown(found: Location) -> list[Candidate]:
    return [c for c in found.candidates if c.probability >= FAINT]


def _side(case: JudgedCase, side: Side) -> Iterator[VerdictLine]:
    shown = [c for c in _shown(case.location) if c.side is side]
    yield from (_candidate(c) for c in shown)
    if not shown:
        yield VerdictLine("No sign of a fault on this side.", f"side:{side.value}")


def _candidate(candidate: Candidate) -> VerdictLine:
    share = percent(candidate.probability)
    name = candidate.name or candidate.component
    return VerdictLine(f"{share:>6}  {name}", f"component:{candidate.component}")


def _untested(runs: Sequence[Run]) -> str:
    if not runs:
        return "No run is saved in this case yet."
    run = runs[-1]
    unjudged = sum(r.outcome is Outcome.NOT_JUDGED for r in run.readings)
    return f"Not judged: {unjudged} readings. Not tested: {len(run.not_tested)} things."


def big_words(case: JudgedCase) -> list[str]:
    """The verdict in a few words, and the next step."""
    lacks = incomplete(case.loaded.runs) is not None
    return [*([INCOMPLETE] if lacks else []), *_verdict_words(case)]


def _verdict_words(case: JudgedCase) -> list[str]:
    found = case.location
    lead = found.candidates[0] if found.candidates else None
    if found.side in (Side.UNDETERMINED, Side.NO_FAULT) or lead is None:
        words = [wording.title(found.side)]
    else:
        unit = wording.kind_title(found.unit or lead.unit, case.tables)
        words = [wording.title(found.side), f"{unit} {found.probability:.0%}"]
    if found.next_step is not None:
        target = case.names.of(found.next_step.target).kind_title
        words.append(f"> {found.next_step.action}: {target}")
    return words
