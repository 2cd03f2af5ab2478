"""What a case came to, from its runs and the fault location."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from livecheck.records import Inventory, Location, Outcome, Run, RunLine, Summary

CONTACT = "contact:"
"""Before the kind of a place in ``fitted``: the contacts made in such places."""


def summarize(location: Location, runs: Sequence[Run], numbers: Sequence[int]) -> Summary:
    """The summary of a case. ``numbers``: all run folders, those without a whole run too."""
    ordered = sorted(runs, key=lambda run: run.number)
    own = [run for run in ordered if not run.in_known_good_machine]
    best = next((c for c in location.candidates if c.component == location.component), None)
    said = [w for run in ordered for part in run.inventory.parts
            for w in (part.name, part.model, part.serial, part.identity) if w]  # fmt: skip
    return Summary(
        case=location.case,
        numbers=tuple(numbers),
        runs=tuple(_line(run) for run in ordered),
        machines=tuple(dict.fromkeys(run.inventory.machine for run in own)),
        parts=tuple(dict.fromkeys(said)),
        fitted=fitted(own[-1].inventory) if own else {},
        side=location.side,
        component=location.component,
        name=best.name if best else "",
        kind=best.kind if best else "",
        unit=location.unit,
        probability=location.probability,
        sentence=location.sentence,
        priors=location.priors,
    )


def fitted(inventory: Inventory) -> dict[str, int]:
    """How many components of each kind there are, and how many contacts in each kind of place.

    They are what the engine weighs as single faults (livecheck.topology.graph).
    """
    kinds: Counter[str] = Counter(("mainboard", "firmware"))
    kinds.update(row.kind for row in inventory.controllers)
    kinds.update(row.kind for row in inventory.places)
    kinds.update(part.kind for part in inventory.parts)
    places = {place.id: place.kind for place in inventory.places}
    kinds.update(
        f"{CONTACT}{places[part.place]}"
        for part in inventory.parts
        if part.place in places and not part.soldered
    )
    return dict(kinds)


def _line(run: Run) -> RunLine:
    return RunLine(
        number=run.number,
        started=run.started,
        complaint=run.complaint,
        finished=run.finished,
        in_known_good_machine=run.in_known_good_machine,
        failed=sum(reading.outcome is Outcome.FAILED for reading in run.readings),
    )
