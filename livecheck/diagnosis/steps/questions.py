"""Which part is in a place: asked where it changes what the failures mean.

Common practice of the trade, no source: an adapter carries no number, and the shop's own is left
in, or goes back into its drawer, without a word.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Final

import msgspec

from livecheck.diagnosis.handover_checks import BENCH
from livecheck.diagnosis.steps import wording
from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.steps.situation import Situation
from livecheck.records import Complaint, NextStep, Outcome, Remark
from livecheck.topology.blame import several_roles
from livecheck.topology.complained import lives
from livecheck.topology.configuration import Configuration
from livecheck.topology.ids import ComponentId

_SCREEN: Final = "bench.external-screen"


def asked(here: Situation) -> Iterator[NextStep]:
    """One question for each place of which it is not known what is in it."""
    # Asked once: who does not know goes on with what is likelier.
    before = here.graph.home[-2].unsure if len(here.graph.home) > 1 else frozenset()
    places = dict.fromkeys(sorted(here.now.unsure - before), "why.say-what-is-in-the-place")
    places |= dict.fromkeys(_came_back(here), "still-in.why")
    places |= dict.fromkeys(_well_again(here), "well-again.why")
    places |= dict.fromkeys(_empty_bays(here), "empty-bay.why")
    crossed = _crossed(here)
    if crossed is not None:
        places[crossed] = "which-was-crossed.why"
    for place, key in places.items():
        if here.bench.allows(Action.ASK, target=place):
            yield wording.bare(here, Action.ASK, place, key, 1.0)
    if _alive(here) and here.bench.allows(Action.MEASURE, target="machine"):
        minutes = here.bench.knowledge.bench.actions.measurement.minutes
        step = wording.bare(here, Action.MEASURE, "machine", "alive.why", minutes)
        yield msgspec.structs.replace(step, checks=(_SCREEN,))


def _alive(here: Situation) -> bool:
    """Whether what was brought as dead shows life, and was neither started nor looked at."""
    runs = [one.run for one in here.graph.home]
    started = any(run.probes or any(r.check == _SCREEN for r in run.readings) for run in runs)
    dead = here.graph.complaint is Complaint.NO_POWER
    return dead and not started and not here.symptoms and lives(runs)


def _empty_bays(here: Situation) -> Iterator[str]:
    """Bays without a battery, where what is not charged may be the one that belongs there."""
    if here.graph.complaint is not Complaint.NOT_CHARGING or here.symptoms:
        return
    answers = [answer for one in here.graph.home for answer in one.run.answers]
    told = {answer.about for answer in answers if isinstance(answer, Remark)} | _named(here)
    for place in here.now.run.inventory.places:
        if place.kind == "battery-bay" and place.id not in here.now.parts and place.id not in told:
            yield place.id


def _well_again(here: Situation) -> Iterator[str]:
    """Places of a part without a number that by hand measured bad in the last look and measures
    well now, with nothing told: it, or what it hangs on, may be another one."""
    if len(here.graph.home) < 2 or here.graph.home[-1].state != here.graph.home[-2].state:
        return
    now, last = here.graph.home[-1], here.graph.home[-2]
    numbered = {part.place for part in now.run.inventory.parts if part.identity}
    for place, part in now.parts.items():
        bad = _measured(here, last, part, Outcome.FAILED)
        still = _measured(here, now, part, Outcome.FAILED)
        good = _measured(here, now, part, Outcome.PASSED)
        if place not in numbered | _named_in(now) and bad and bad <= good and not still:
            yield place


def _measured(
    here: Situation, one: Configuration, part: ComponentId, how: Outcome
) -> frozenset[str]:
    """Checks by hand that came out so in a run, and speak of this part alone."""
    checks = here.bench.knowledge.checks
    return frozenset(
        r.check for r in one.run.readings
        if r.check.startswith(BENCH) and r.outcome is how and one.part_at(r.at) == part
        and r.check in checks and not several_roles(checks[r.check])
    )  # fmt: skip


def _came_back(here: Situation) -> Iterator[str]:
    """Places where what the shop's part without a number took away is back, and nobody told
    whether that part is still in."""
    if len(here.graph.home) < 2:
        return
    now, last = here.graph.home[-1], here.graph.home[-2]
    numbered = {part.place for part in now.run.inventory.parts if part.identity}
    for place, part in now.parts.items():
        spare = part in now.known_good and last.parts.get(place) == part
        if not spare or place in numbered or place in _named_in(now):
            continue
        since = min(one.run.number for one in here.graph.home if one.parts.get(place) == part)
        seen = [one for one in here.found if not one.finding]
        first = {one.reading.check for one in seen if one.failed and one.run < since}
        gone = {one.reading.check for one in seen if not one.failed and one.run == since}
        # Asked once, when it comes back.
        gone -= {one.reading.check for one in seen if one.failed and one.run == last.run.number}
        back = (one for one in seen if one.failed and one.run == now.run.number)
        own = here.graph.index.get(part)
        if any(one.reading.check in first & gone and own in dict(one.members) for one in back):
            yield place


def _crossed(here: Situation) -> str | None:
    """Where a failure changed over to, between two parts that nothing tells apart."""
    failing: dict[int, dict[str, set[ComponentId]]] = {}
    for one in here.found:
        run = next((c for c in here.graph.home if c.run.number == one.run), None)
        part = run.part_at(one.reading.at) if run is not None else None
        if one.failed and not one.finding and part is not None and part.place:
            failing.setdefault(one.run, {}).setdefault(one.reading.check, set()).add(part)
    for before, after in pairwise(here.graph.home):
        for check, parts in failing.get(before.run.number, {}).items():
            later = failing.get(after.run.number, {}).get(check, set())
            moved = {(old, new) for old in parts - later for new in later - parts}
            for old, new in moved:
                alike = old.kind == new.kind and old in after.parts.values()
                if alike and after.seatings == before.seatings and new.place not in _named(here):
                    return new.place
    return None


def _named(here: Situation) -> set[str]:
    """Places of which somebody said what is in them."""
    return {place for one in here.graph.home for place in _named_in(one)}


def _named_in(one: Configuration) -> set[str]:
    return {place for a in one.run.answers if (place := getattr(a, "place", None)) is not None}
