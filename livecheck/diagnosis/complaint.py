"""What bears on the complaint: whose fault could explain it, and what failed that means it.

A finding, such as a worn battery, is told for what it is; only what could be what the
customer complains of is worked on, and a machine that shows no sign of it for long enough
counts as tested.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from livecheck.diagnosis.model.posterior import Posterior
from livecheck.diagnosis.observations import COMPLAINT, OUTSIDE, Observation
from livecheck.records import Complaint, Knowledge, Outcome, Run, Side
from livecheck.records.tables import HISTORY
from livecheck.topology.complained import LIFE
from livecheck.topology.graph import Graph
from livecheck.topology.ids import FIRMWARE, MAINBOARD, SOFTWARE

Sets = Sequence[tuple[tuple[int, ...], float]]
"""Fault sets and their probabilities."""
_RELEVANT: Final = 0.5
"""Assumed: a kind whose prior factor under the complaint is below this does not explain it."""
_POSSIBLE: Final = 0.15
"""Assumed: one whose factor is below this is not looked into for it."""
_MEANT: Final = 0.1
"""Assumed: a failure that less likely than this comes from a fault is nothing to work on."""
CLEAN_RUNS: Final = 4
"""Assumed: runs without a sign, as many as a first look and a soak make, that count as tested."""
PATIENCE: Final = 3 * CLEAN_RUNS
"""Assumed: for what comes and goes, so many are made before nothing more is looked for."""
_WEAK: Final = 0.5
"""Assumed: facts that failed, as far as a fault made them: less than this together is no sign."""
_ENDED: Final = "ended."
"""How the last start broke off, in the names of checks."""
_BAD_SPARE: Final = 0.5
"""A spare likelier bad than good explains what fails with it."""
_READ: Final = "storage.read-errors"
_EVERY_LOAD: Final = frozenset({"memory.words", "processor.results", _READ, "power.holds-load"})
"""Checks of memory, processor, drive and supply under load; without a drive there is none."""
_FIRST_LOOK: Final = frozenset({"memory.words", _READ})
"""Checks without which nobody looked a machine over."""
BY_EYE: Final = {Complaint.NO_POWER: LIFE, Complaint.NO_PICTURE: "bench.own-screen"}
"""What is complained of, looked at on a machine that no probe runs on."""
SETS: Final = 120
_EVERYWHERE: Final = (MAINBOARD, FIRMWARE, SOFTWARE)
"""Kinds that explain anything: they make no failure a sign of the complaint."""


def _bears_on(kind: str, complaint: Complaint, knowledge: Knowledge) -> bool:
    """Whether a fault in a component of this kind could be what the customer complains of."""
    return _factor(kind, complaint, knowledge) >= _RELEVANT


def explains(
    kind: str,
    members: frozenset[int],
    graph: Graph,
    found: Sequence[Observation],
    knowledge: Knowledge,
) -> bool:
    """Whether a fault of such a kind, and what failed at these components, can be the complaint.

    What failed there and can be a sign of the complaint makes any kind one that explains it.
    """
    failed = [
        one
        for one in found
        if one.failed
        and not one.reading.check.startswith(COMPLAINT)
        and not members.isdisjoint(number for number, _ in one.members)
    ]
    if not _bears_on(kind, graph.complaint, knowledge):
        return any(not one.beside and not one.finding for one in failed)
    return not failed or not all(one.beside for one in failed)


def possible(graph: Graph, knowledge: Knowledge) -> frozenset[int]:
    """Components that are looked into for the complaint."""
    return frozenset(
        number
        for number, one in enumerate(graph.components)
        if one.kind not in _EVERYWHERE
        and _factor(one.kind, graph.complaint, knowledge) >= _POSSIBLE
    )


def _factor(kind: str, complaint: Complaint, knowledge: Knowledge) -> float:
    row = knowledge.kinds.get(kind)
    return row.complaints.get(complaint, 1.0) if row is not None else 1.0


def signs(
    found: Sequence[Observation], belief: Sets, wanted: frozenset[int]
) -> tuple[tuple[Observation, float], ...]:
    """Failures that may be the complaint, and how likely each came from a fault.

    ``wanted``: components looked into. Findings and where the complaint was seen are none.
    """
    rows = [
        (one, explained(one, belief))
        for one in found
        if one.failed
        and not one.finding
        and not one.beside
        and not one.reading.check.startswith(COMPLAINT)
        and not wanted.isdisjoint(number for number, _ in one.members)
    ]
    return tuple((one, meant) for one, meant in rows if meant >= _MEANT)


def fails_on(
    graph: Graph, belief: Posterior, found: Sequence[Observation], knowledge: Knowledge
) -> frozenset[int]:
    """Parts without which the machine, as it stands, fails as it did with them; and what was
    cured, where what the customer complains of was seen since.

    What may be a bad spare's doing clears no part.
    """
    meant = [one for one, _ in signs(found, belief.sets, possible(graph, knowledge))]
    bad = {number for number, one in enumerate(graph.components)
           if one.known_good and belief.marginals[number] > _BAD_SPARE}  # fmt: skip
    fitted = set((graph.home or graph.configurations)[-1].parts.values())
    same = graph.numbers_as_now
    now = {one.reading.check for one in meant
           if one.run in same and bad.isdisjoint(n for n, _ in one.members)}  # fmt: skip
    before = (n for one in meant if one.reading.check in now for n, _ in one.members)
    cured = (number for number in range(len(graph.components))
             if belief.model.gone(number) > 0.5 and _outlived(number, found))  # fmt: skip
    return frozenset(cured) | frozenset(
        number for number in before
        if graph.components[number].side is Side.DEVICE
        and graph.components[number].id not in fitted
    )  # fmt: skip


def _outlived(number: int, found: Sequence[Observation]) -> bool:
    """Whether the complaint was seen after the last that failed by a component."""
    complained: list[int] = []
    last = 0
    for one in found:
        if not one.failed:
            continue
        if one.reading.check.startswith(COMPLAINT):
            complained.append(one.run)
        elif number in dict(one.members):
            last = max(last, one.run)
        elif one.reading.check.startswith(_ENDED):
            complained.append(one.run)
    return any(run > last for run in complained)


def explained(one: Observation, belief: Sets) -> float:
    """Probability that a fault made this check fail, and not a false alarm."""
    detects = dict(one.members)
    share = 0.0
    for members, mass in belief:
        missed = 1.0
        for number in members:
            missed *= 1.0 - detects.get(number, 0.0)
        if missed < 1.0:
            fails = 1.0 - (1.0 - one.false_alarm) * missed
            share += mass * (1.0 - one.false_alarm / fails)
    return share


def tested_clean(
    graph: Graph, belief: Sets, found: Sequence[Observation], knowledge: Knowledge
) -> bool:
    """Whether the machine was tested for long enough without a sign of the complaint.

    On enough runs some check fails by chance, and one that fails in all of them is one fact.
    """
    facts: dict[tuple[str, str], float] = {}
    for one, meant in signs(found, belief[:SETS], possible(graph, knowledge)):
        fact = (one.reading.check, one.read_at)
        facts[fact] = max(meant, facts.get(fact, 0.0))
    if graph.complaint is Complaint.INTAKE:
        # Nobody complained of anything: one whole look is what was asked for.
        enough = any(o.run.finished and _judged(o.run) >= _FIRST_LOOK for o in graph.home)
    else:
        enough = tested(graph) >= CLEAN_RUNS and not _seen(graph, found)
    return enough and sum(facts.values()) < _WEAK


def _seen(graph: Graph, found: Sequence[Observation]) -> bool:
    """Whether the complaint was seen in the machine as it stands, the installed system aside."""
    same = graph.numbers_as_now
    return any(o.failed and o.reading.check == OUTSIDE and o.run in same for o in found)


def tested(graph: Graph) -> int:
    """Runs that the machine was tested in; one under every load counts as ``CLEAN_RUNS``.

    Whether it starts, and with a picture, is seen once in a start, whatever is loaded then.
    """
    seen = BY_EYE.get(graph.complaint)
    judged = [len(one.run.readings) for one in graph.home]
    # A run of a few measurements tests only what they are made at.
    return sum(
        CLEAN_RUNS if seen is None and _under_every_load(one.run) else 1
        for one, count in zip(graph.home, judged, strict=True)
        if 2 * count > max(judged) or seen in _judged(one.run)
    )


def _under_every_load(run: Run) -> bool:
    """Whether a run tested as much as a first look and a soak do."""
    return run.depth != "quick" or _judged(run) >= _EVERY_LOAD


def _judged(run: Run) -> frozenset[str]:
    """Checks a run judged; that of reading drives also where there is none to read."""
    judged = {r.check for r in run.readings if r.outcome is not Outcome.NOT_JUDGED}
    no_drive = not any(part.kind == "drive" for part in run.inventory.parts)
    return frozenset(judged | {_READ} if no_drive else judged)


def only_inside(found: Sequence[Observation]) -> bool:
    """Whether the complaint was last seen in the installed system alone."""
    failed = {one.reading.check: one.failed for one in found}
    return failed.get(f"{COMPLAINT}inside", False) and not failed.get(OUTSIDE, True)


def only_kept(members: Sequence[int], found: Sequence[Observation]) -> bool:
    """Whether nothing but what the installed system's log kept accuses these.

    That system is not named on it: nobody installs onto what was not tested (common practice, no
    source).
    """
    own = set(members)
    failed = [one for one in found if one.failed and own & {number for number, _ in one.members}]
    return bool(failed) and all(one.reading.check.startswith(HISTORY) for one in failed)
