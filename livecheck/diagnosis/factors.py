"""Readings that weigh alike, counted together: what the likelihood is made from."""

from __future__ import annotations

from collections.abc import Sequence

from livecheck.diagnosis.observations import HiddenCause, Observation
from livecheck.records import Record


class Factor(Record, frozen=True, kw_only=True):
    """Readings of one check and run that looked at the same components: equal evidence."""

    members: tuple[int, ...]
    misses: tuple[float, ...]
    """1 - detect, in the order of ``members``."""
    false_alarm: float
    fails: int
    passes: int
    check: str = ""
    """Name of the check."""
    symptom_group: str = ""
    """Name shared by checks that look at the same events; empty: the check's own."""
    event: bool = False
    """True: a false alarm of it does not stay from run to run."""
    read_at: str = ""
    run: int = 0
    covered: float = 1.0
    """Share of the faults that what was looked at could show."""
    state: HiddenCause | None = None
    """What makes it fail, and other checks with it, with nothing at fault; None: nothing known."""
    finding: bool = False
    """True: a false alarm of it stays as wear does."""
    strength: float = 1.0
    """How many times likelier failures of this size are of a fault than of a false alarm."""
    habit: float = 1.0
    """Factor on the chance that a false alarm of it comes back in every run."""


def factors(found: Sequence[Observation]) -> tuple[Factor, ...]:
    """Equal evidence counted together."""
    counts: dict[tuple[object, ...], tuple[Observation, list[int]]] = {}
    for one in found:
        own = (one.run, one.reading.check, one.read_at, one.state)
        key = (*own, one.members, one.covered, one.strength, one.habit)
        _, tally = counts.setdefault(key, (one, [0, 0]))
        tally[0 if one.failed else 1] += 1
    return tuple(
        Factor(
            members=tuple(number for number, _ in one.members),
            misses=tuple(1.0 - detect for _, detect in one.members),
            false_alarm=one.false_alarm,
            fails=fails,
            passes=passes,
            check=one.reading.check,
            symptom_group=one.symptom_group,
            event=one.event,
            read_at=one.read_at,
            run=one.run,
            covered=one.covered,
            state=one.state,
            finding=one.finding,
            strength=one.strength,
            habit=one.habit,
        )
        for one, (fails, passes) in counts.values()
    )
