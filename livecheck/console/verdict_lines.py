"""What the verdict screen shows, line by line: pure.

Every line that can be chosen has a key; ``evidence_lines.behind`` gives what speaks for
it and against it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import msgspec

from livecheck import heed, signing, step_names, wording
from livecheck.chances import in_column, percent
from livecheck.completeness import incomplete, taken_out
from livecheck.console.judged_case import NO_SPARE, JudgedCase
from livecheck.console.line_kinds import (
    BARRED,
    HANDED,
    REPORT,
    STEP,
    TOLD,
    UNTESTED,
    VERDICT,
    WAY,
)
from livecheck.intake import in_words
from livecheck.offers import offers
from livecheck.records import NextStep, Outcome, Run, Side
from livecheck.suspects import Suspect, side_words
from livecheck.way_on import heading, judged_in, no_step
from livecheck.worded import table_word
from livecheck.wording import text


class VerdictLine(msgspec.Struct, frozen=True):
    """One line of the verdict screen."""

    text: str
    key: str | None = None
    style: str = ""


def verdict_lines(case: JudgedCase) -> Iterator[VerdictLine]:
    """The verdict screen from top to bottom: what to do before who could be at fault."""
    found = case.location
    lacks = incomplete(case.loaded.runs)
    if lacks is not None:
        yield VerdictLine(lacks, UNTESTED + ":last")
    yield from _hand_over(case)
    yield VerdictLine(found.sentence, VERDICT)
    if case.way_on:
        yield VerdictLine(heading(case.way_on), style="heading")
        yield from (VerdictLine(f"- {one.says}", f"{WAY}:{one.leg}") for one in case.way_on)
    elif case.next_step is not None:
        yield from _standing(case)
        yield from _step(case, case.next_step)
    else:
        yield from _standing(case)
        says = no_step(case.loaded.case, found, case.tables, judged_in(case.loaded.runs))
        yield VerdictLine(text("console.next-step", says=says), f"{STEP}:none")
    if not case.way_on and case.loaded.case.closed is None:
        rescue = heed.rescue(case.loaded.case, case.loaded.runs, case.tables)
        if rescue is not None:
            yield VerdictLine(rescue, f"{STEP}:rescue")
        ways = offers(found, case.loaded.runs, case.names, case.tables)
        yield from (VerdictLine(f"- {text('offers.instead')} {one.what}", f"{STEP}:way-{n}")
                    for n, one in enumerate(ways))  # fmt: skip
    yield from _in_the_way(case)
    yield from _listed(case)
    if found.explanation:
        yield VerdictLine(text("console.why"), style="heading")
    for index, sentence in enumerate(found.explanation):
        yield VerdictLine(sentence, f"{VERDICT}:{index}")
    yield VerdictLine(text("console.besides"), style="heading")
    for line in taken_out(case.loaded.case):
        yield VerdictLine(line, f"{VERDICT}:taken-out")
    for damaged in case.loaded.damaged:
        yield VerdictLine(text("console.damaged", says=damaged), f"damaged:{damaged}")
    for rule in case.loaded.case.cannot:
        yield VerdictLine(text("console.barred", rule=rule_words(case, rule)), f"{BARRED}:{rule}")
    told = in_words(case.loaded.case.told, case.tables.intake)
    yield from (VerdictLine(f"{title}: {words}", f"{TOLD}:{n}")
                for n, (title, words) in enumerate(told))  # fmt: skip
    yield VerdictLine(_untested(case.loaded.runs), UNTESTED)
    yield VerdictLine(text("console.report", path=case.report), REPORT)


def rule_words(case: JudgedCase, rule: str) -> str:
    """What was ruled out, as it is read: ``no spare: drive`` stands so in the case."""
    action, _, target = rule.partition(": ")
    if action == NO_SPARE and target:
        return text("console.no-spare", kind=wording.kind_title(target, case.tables))
    told = table_word(f"step.{action.replace(' ', '-')}", action)
    return f"{told}: {case.names.target(target)}" if target else told


def _hand_over(case: JudgedCase) -> Iterator[VerdictLine]:
    """What the last run says of giving the machine back, where it was made for that."""
    runs = case.loaded.runs
    if not runs or not runs[-1].hand_over:
        return
    yield VerdictLine(text("console.hand-over"), style="heading")
    held = signing.hand_over_of(case.loaded.case, runs, case.tables)
    if held is None:
        yield VerdictLine(text("console.only-run"))
        return
    yield VerdictLine(signing.headline(held), HANDED)
    with_it = signing.goes_with(case.loaded.case)
    if with_it is not None and held.signed:
        yield VerdictLine(with_it, f"{HANDED}:with-it")


def _in_the_way(case: JudgedCase) -> Iterator[VerdictLine]:
    """Why it is not signed off, and what the customer declined in his words."""
    held = signing.hand_over_of(case.loaded.case, case.loaded.runs, case.tables)
    if held is None:
        return
    ways = (signing.reasons, signing.declined, signing.unclaimed)
    told = [words for way in ways for words in way(held, case.names)]
    if told:
        yield VerdictLine(text("hand-over.told"), style="heading")
    yield from (VerdictLine(words, f"{HANDED}:{index}") for index, words in enumerate(told))


def step_words(case: JudgedCase, step: NextStep) -> str:
    """A step in one line."""
    return f"{step_names.named(step, case.names, case.tables)} ({wording.minutes(step.minutes)})"


def cautions(case: JudgedCase, step: NextStep) -> tuple[str, ...]:
    """What to heed at a step."""
    found = heed.cautions(step, case.tables)
    return tuple(text("console.caution", says=caution.text) for caution in found)


def _standing(case: JudgedCase) -> Iterator[VerdictLine]:
    loaded, step = case.loaded, case.next_step
    for caution in heed.standing(loaded.case, loaded.runs, case.tables, step):
        yield VerdictLine(text("console.caution", says=caution.text), style="caution")


def _step(case: JudgedCase, step: NextStep) -> Iterator[VerdictLine]:
    yield VerdictLine(text("console.next-step", says=step_words(case, step)), STEP)
    yield from (VerdictLine(caution, style="caution") for caution in cautions(case, step))
    yield VerdictLine(step.why, f"{STEP}:why")
    means = {outcome.means for outcome in step.outcomes}
    for index, outcome in enumerate(step.outcomes):
        share = percent(outcome.probability)
        # Where every outcome comes to the same, there is nothing to tell apart.
        says = f": {outcome.means}" if len(means) > 1 else ""
        yield VerdictLine(f"- {outcome.result} ({share}){says}", f"{STEP}:{index}")


def _listed(case: JudgedCase) -> Iterator[VerdictLine]:
    """Who could be at fault, the likeliest first; then what was found besides."""
    bearing = [one for one in case.suspects if one.bears]
    besides = [one for one in case.suspects if not one.bears]
    yield VerdictLine(text("suspects.heading"), style="heading")
    yield from map(_suspect, bearing)
    for side in (Side.DEVICE, Side.CONTROLLER):
        if all(one.lead.side is not side for one in bearing):
            yield VerdictLine(text(f"suspects.none.{side.value}"), f"side:{side.value}")
    if besides:
        yield VerdictLine(text("suspects.found-besides"), style="heading")
        yield from map(_suspect, besides)


def _suspect(suspect: Suspect) -> VerdictLine:
    share, lead = in_column(suspect.probability), suspect.lead
    unit = f"{text(f'names.{lead.unit}')}: " if len(suspect.members) > 1 else ""
    words = f"{share}  {suspect.side:<11} {unit}{suspect.names}"
    return VerdictLine(words, f"component:{lead.component}")


def _untested(runs: Sequence[Run]) -> str:
    if not runs:
        return text("console.no-run")
    run = runs[-1]
    unjudged = sum(r.outcome is Outcome.NOT_JUDGED for r in run.readings)
    return text("console.untested", unjudged=unjudged, missed=len(run.not_tested))


def big_words(case: JudgedCase) -> list[str]:
    """The verdict in a few words, and the next step."""
    lacks = incomplete(case.loaded.runs) is not None
    return [*([text("console.incomplete")] if lacks else []), *_verdict_words(case)]


def _verdict_words(case: JudgedCase) -> list[str]:
    found = case.location
    lead = found.candidates[0] if found.candidates else None
    words = [side_words(found)]
    named = found.put_right or found.side not in (Side.UNDETERMINED, Side.NO_FAULT)
    if named and lead is not None:
        unit = wording.kind_title(found.unit or found.put_right or lead.unit, case.tables)
        words.append(f"{unit} {percent(found.probability)}")
    if case.way_on:
        words.append(f"> {case.way_on[0].says}")
    elif case.next_step is not None:
        target = case.names.of(case.next_step.target).kind_title
        words.append(f"> {step_names.action(case.next_step, case.tables)}: {target}")
    return words
