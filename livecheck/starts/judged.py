"""From a plan of starts to readings: how many failed, and how many may in the long run. Pure."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from livecheck.records import NotTested, Outcome, Part, Reading
from livecheck.starts.planned import HowFar, OneStart, StartKind, StartsPlan, alarmless

NORMAL_95: Final = 1.959963984540054
"""The normal distribution lies within so many standard deviations 95 % of the time."""
SHOWN: Final = 40
"""Starts listed behind a reading."""
SOURCE: Final = "the notes of each start on the shop drive"
NAMES: Final = {StartKind.WARM: "warm", StartKind.COLD: "cold"}
FAILED: Final = (HowFar.LATE, HowFar.HUNG)


def interval(failed: int, of: int) -> tuple[float, float]:
    """Within which the share that fails in the long run lies, 19 times of 20.

    Wilson's score interval: E. B. Wilson, "Probable inference, the law of succession, and
    statistical inference", J. Am. Stat. Assoc. 22 (1927).
    """
    share, z2 = failed / of, NORMAL_95**2
    middle = (share + z2 / (2 * of)) / (1 + z2 / of)
    reach = math.sqrt(share * (1 - share) / of + z2 / (4 * of * of))
    reach *= NORMAL_95 / (1 + z2 / of)
    return max(0.0, middle - reach), min(1.0, middle + reach)


def readings(plan: StartsPlan) -> tuple[Reading, ...]:
    """How far the starts of each kind went, and which parts each brought along."""
    return (*_starts(plan), *_parts(plan))


def _starts(plan: StartsPlan) -> Iterator[Reading]:
    for kind in StartKind:
        # One that is under way counts for nothing yet.
        own = [s for s in plan.starts if s.kind is kind and s.how in (HowFar.CAME, *FAILED)]
        if not own or (kind is StartKind.COLD and alarmless(plan)):
            continue
        late = sum(start.how is HowFar.LATE for start in own)
        hung = sum(start.how is HowFar.HUNG for start in own)
        yield counted(kind, (late, hung), len(own), tuple(_lines(plan, kind)))


def counted(
    kind: StartKind,
    failures: tuple[int, int],
    of: int,
    details: tuple[str, ...] = (),
    source: str = SOURCE,
) -> Reading:
    """The reading of so many starts, by whomever they were counted.

    ``failures``: those that did not come, and those that hung.
    """
    late, hung = failures
    failed = late + hung
    low, high = interval(failed, of)
    says = f"{failed} of {of} {NAMES[kind]} starts failed"
    says += f": {late} did not come, {hung} hung. " if failed else ". "
    says += f"In the long run {low:.0%} to {high:.0%} fail (19 times of 20)."
    return Reading(
        check=f"starts.{kind}",
        at="machine",
        outcome=Outcome.FAILED if failed else Outcome.PASSED,
        value=failed,
        unit="times",
        source=source,
        says=says.replace("%", " %"),
        details=details[:SHOWN],
    )


def so_far(plan: StartsPlan) -> Iterator[str]:
    """Each start in a line, for who stands before the machine."""
    asked = plan.warm + plan.cold
    for number, start in enumerate(plan.starts, 1):
        yield f"Start {number} of {asked}, {NAMES[start.kind]}: {_told(start)}"


def _lines(plan: StartsPlan, kind: StartKind) -> Iterator[str]:
    for number, start in enumerate(plan.starts, 1):
        if start.kind is kind:
            yield f"start {number}, {NAMES[kind]}: {_told(start)}"
            yield from start.serious


def _told(start: OneStart) -> str:
    if start.how is HowFar.LATE:
        return f"did not come; the next one was {start.after or 0.0:.0f} s late"
    if start.how is HowFar.HUNG:
        where = "before livecheck's first word" if start.said is None else "at its parts"
        return f"hung {where}, with the stick mounted"
    if start.how is not HowFar.CAME:
        return "not counted"
    after = "unknown" if start.after is None else f"{start.after:.0f} s"
    return f"came; kernel after {after}, livecheck {start.said or 0.0:.0f} s later"


def _parts(plan: StartsPlan) -> Iterator[Reading]:
    came = [start for start in plan.starts if start.how is HowFar.CAME]
    for part in plan.parts if came else ():
        lost = sum(part.id in start.gone for start in came)
        yield _part(part, lost, len(came))


def _part(part: Part, lost: int, of: int) -> Reading:
    """Read at the place where a start lost it: that stays."""
    says = f"{part.name} was gone after {lost} of {of} start(s)."
    return Reading(
        check="starts.keeps-parts",
        at=(part.place or part.id) if lost else part.id,
        outcome=Outcome.FAILED if lost else Outcome.PASSED,
        value=lost,
        unit="times",
        source=SOURCE,
        says=says if lost else f"It was there after each of {of} start(s).",
    )


def not_tested(plan: StartsPlan) -> tuple[NotTested, ...]:
    """What such starts do not show."""
    why = "the firmware does it before any system runs, and tells of it nowhere"
    missed = [NotTested(what="Whether a start trained its memory anew", why=why, at="machine")]
    if alarmless(plan):
        why = (
            "the clock's alarm did not switch this machine on: switch it off and on by hand, and "
            "tell the count (livecheck starts --failed 2 --of 10)"
        )
        missed.append(NotTested(what="Cold starts by the clock", why=why, at="machine"))
    return tuple(missed)
