"""What is said of a case and of a run, sentence by sentence: pure.

The same facts in the same order as on screen and paper, without what only an eye can use.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from livecheck import heed, step_names
from livecheck.casefile import Loaded
from livecheck.chances import percent
from livecheck.completeness import incomplete, taken_out
from livecheck.found_words import reworded
from livecheck.names import Names
from livecheck.plan import Plan
from livecheck.probes import Probe
from livecheck.records import Caution, Knowledge, Location, NextStep
from livecheck.suspects import suspects
from livecheck.way_on import Leg, heading, judged_in, no_step, step_left, way_on
from livecheck.wording import count, minutes, text, title


def verdict(loaded: Loaded, found: Location, tables: Knowledge) -> Iterator[str]:
    """Where the fault is, and what to do now; cautions before the step they are about."""
    case, runs = loaded.case, loaded.runs
    lacks = incomplete(runs)
    if lacks is not None:
        yield lacks
    yield from taken_out(case)
    yield from map(reworded, loaded.damaged)
    yield text("voice.verdict", says=found.sentence)
    left, step = way_on(case, runs, found, tables), step_left(case, found)
    if left:
        yield f"{heading(left)}."
        # Whoever stands in the shop hears this: a password is not said aloud.
        yield from (text("way-on.start") if one.leg is Leg.START else one.says for one in left)
        return
    yield from _cautions(heed.standing(case, runs, tables, step))
    if step is None:
        yield text("voice.step", says=no_step(case, found, tables, judged_in(runs)))
    else:
        yield from next_step(step, Names(runs, tables, case.spares), tables)


def next_step(step: NextStep, names: Names, tables: Knowledge) -> Iterator[str]:
    """The step that is proposed: first what to mind, then what to do and why."""
    yield from _cautions(heed.cautions(step, tables))
    says = f"{step_names.named(step, names, tables)}, {minutes(step.minutes)}."
    yield text("voice.step", says=says)
    if step.to is not None:
        yield text("voice.at", says=names.target(step.to))
    yield from (text("voice.with", says=names.target(part)) for part in step.parts)
    yield step.why


def reasons(found: Location) -> Iterator[str]:
    """What stands behind the verdict, and who else could be at fault."""
    yield from found.explanation
    for one in suspects(found):
        yield text("voice.suspect", share=percent(one.probability), names=one.names)


def before_run(plan: Plan, probes: Sequence[Probe], tables: Knowledge) -> Iterator[str]:
    """What is going to be done to the machine, before any of it is."""
    yield text("voice.run", complaint=title(plan.complaint))
    looks = sum(probe.passive for probe in probes)
    loads = [probe for probe in probes if not probe.passive]
    if looks:
        yield count("voice.looks", looks)
    told = dict.fromkeys(name for probe in loads for name in probe.cautions)
    yield from _cautions(heed.in_order(told, tables))
    for probe in loads:
        yield text(f"voice.load.{probe.name}")
    if plan.soak_hours:
        yield text("voice.soak", time=minutes(plan.soak_hours * 60))
    if not loads:
        yield text("voice.no-load")


def _cautions(found: Sequence[Caution]) -> Iterator[str]:
    return (text("console.caution", says=one.text) for one in found)
