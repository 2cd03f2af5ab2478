"""What became of the parts of a machine between its first run and its last. Pure."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from livecheck.diagnosis.handover_checks import measured_by_hand
from livecheck.records import GoesBack, Outcome, Part, Run


def successor_of(component: str, earlier: Sequence[Run], last: Run) -> tuple[str | None, bool]:
    """What sits in the place of a part that is gone, and whether it is gone."""
    if any(p.id == component for p in last.inventory.parts):
        return None, False
    place = next(
        (p.place for run in reversed(earlier) for p in run.inventory.parts if p.id == component),
        None,
    )
    assumed = all(measured_by_hand(run) for run in earlier
                  if any(p.id == component for p in run.inventory.parts))  # fmt: skip
    known = {p.id for p in last.inventory.places}
    if place is None or (assumed and place not in known):
        # A place or controller is gone only with the board; what was assumed never was seen.
        return None, False
    return next((p.id for p in last.inventory.parts if p.place == place), None), True


def left_behind(runs: Sequence[Run]) -> tuple[str, ...]:
    """Ids of parts that were inside the machine when it came in, and are nowhere in it now.

    A part without a number has another id in another place: as many of its kind are none less.
    """
    read = [run for run in runs if not run.in_known_good_machine and not measured_by_hand(run)]
    if len(read) < 2:
        return ()
    came, now = _inside(read[0]), _inside(read[-1])
    filled, ids = {part.place for part in now}, {part.id for part in now}
    fewer = Counter(part.kind for part in came) - Counter(part.kind for part in now)
    return tuple(
        part.id for part in came
        if part.kind in fewer and part.id not in ids and part.place not in filled
    )  # fmt: skip


def no_better(part: str, successor: str | None, earlier: Sequence[Run]) -> bool:
    """Whether a part that came in was exchanged for one that failed alike in its place."""
    failed = [r for run in earlier for r in run.readings if r.outcome is Outcome.FAILED]
    came = any(one.id == part for one in earlier[0].inventory.parts)
    alike = {r.check for r in failed if r.at == part} & {
        r.check for r in failed if r.at == successor
    }
    return came and bool(alike)


def unclaimed(runs: Sequence[Run], spares: Iterable[str] = ()) -> tuple[str, ...]:
    """Ids of numbered parts inside the machine that were not in it when it came in, are not known
    as the shop's, and of which nobody said that they stay."""
    read = [run for run in runs if not run.in_known_good_machine and not measured_by_hand(run)]
    stay = {a.component for run in runs for a in run.answers if isinstance(a, GoesBack)}
    told = {*stay, *spares, *(name for run in runs for name in run.known_good)}
    came = {part.id for run in read[:1] for part in run.inventory.parts}
    return tuple(
        part.id for run in read[-1:] for part in _inside(run)
        if part.identity and part.id not in came and told.isdisjoint((part.id, part.identity))
    )  # fmt: skip


def _inside(run: Run) -> list[Part]:
    """What belongs to the machine: nothing of the bench's, and nothing that is plugged in."""
    outside = {one.id for one in run.inventory.places if one.external or one.kind == "power-jack"}
    return [
        part for part in run.inventory.parts
        if not part.bench_own and part.identity not in run.known_good and part.place not in outside
    ]  # fmt: skip
