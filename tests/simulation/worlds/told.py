"""What the technician tells, in the record format: the only place here that knows its words."""

from __future__ import annotations

from livecheck.records import COMPLAINT, INSIDE, NOWHERE, OUTSIDE, Answer, Outcome, Reading


def part_is(kind: str, place: str, name: str) -> Answer:
    """Another part is in a place: one with this name, or with this key seen before."""
    return Answer(about=f"{kind}@{place}", says=name)


def own_is_back(kind: str, place: str) -> Answer:
    """The machine's own part is in its place again."""
    return Answer(about=f"{kind}@{place}", says="original")


def treated(how: str, about: str) -> Answer:
    """Cleaned, written again, put right or repaired; ``how`` is a word of the bench here."""
    words = {"clean": "cleaned", "flash": "re-flashed", "set": "set", "repair": "repaired"}
    return Answer(about=about, says=words[how])


def board_replaced() -> Answer:
    """Another board from this run on."""
    return Answer(about="mainboard", says="replaced")


def where_shown(inside: bool, outside: bool) -> tuple[Answer, tuple[Reading, ...]]:
    """Where the complaint was seen: the answer, and the readings a run makes of it."""
    says = OUTSIDE if outside else INSIDE if inside else NOWHERE
    readings = [_seen("complaint.outside", outside)]
    if not outside:
        readings.insert(0, _seen("complaint.inside", inside))
    return Answer(about=COMPLAINT, says=says), tuple(readings)


def _seen(check: str, shows: bool) -> Reading:
    outcome = Outcome.FAILED if shows else Outcome.PASSED
    return Reading(check=check, at="machine", outcome=outcome, source="the technician")
