"""The part that the customer misses is asked for, and looked for.

Common practice of the trade, no source: the first question at a missing part is which one.
A pad, a camera or a Bluetooth half that never answered leaves no trace on any bus.
"""

from __future__ import annotations

import msgspec
import pytest

from livecheck import knowledge
from livecheck.diagnosis import Resources, locate
from livecheck.diagnosis.steps.actions import Action
from livecheck.intake import missed
from livecheck.names import Names
from livecheck.records import Complaint, Location, Part, Side, ToldLine
from tests.diagnosis.story import CARD, DRIVE, MODULE_A, Story, part, plain

TABLES = knowledge.load()
PAD = "internal:touchpad"
OUTSIDE = "complaint.outside machine"


def _located(story: Story, *kinds: str, cannot: tuple[str, ...] = ()) -> Location:
    return locate("4711", story.runs, TABLES, Resources(missed=kinds, cannot=cannot))


def _steps(found: Location) -> list[tuple[str, str]]:
    steps = (found.next_step, *found.alternatives)
    return [(step.action, step.target) for step in steps if step is not None]


@pytest.mark.parametrize("kind", ["touchpad", "keyboard", "camera"])
def test_a_part_that_never_answered_is_missed(kind: str) -> None:
    """Nothing else fails: what takes no screw, then its plug, before anything else."""
    story = Story(Complaint.PART_MISSING)
    story.run()
    assert not any(one.kind == kind for one in _located(story).candidates)
    found = _located(story, kind)
    assert found.candidates[0].kind in (kind, "contact")
    assert found.sides[Side.NO_FAULT] < 0.1
    assert found.sides[Side.CONTROLLER] < 0.5
    assert _steps(found)[0] == (Action.SETTING, f"internal:{kind}")
    tried = _located(story, kind, cannot=(Action.SETTING, Action.POWER_AWAY))
    assert (Action.RESEAT, f"internal:{kind}") in _steps(tried)


def test_a_pad_that_answers_after_its_plug_was_put_in_anew_had_a_bad_contact() -> None:
    story = Story(Complaint.PART_MISSING)
    story.run()
    story.fit(plain("touchpad", PAD))
    for _ in range(2):
        story.run(reseated=(PAD,) if len(story.runs) == 1 else ())
    found = _located(story, "touchpad")
    assert found.candidates[0].component == f"contact:{PAD}"
    assert found.unit is None


def test_bluetooth_that_is_missed_is_looked_for_at_the_wireless_card() -> None:
    story = Story(Complaint.PART_MISSING)
    story.run()
    found = _located(story, "bluetooth")
    on_the_way = (CARD.id, f"contact:{CARD.place}", f"{CARD.place}", "setting")
    assert sum(c.probability for c in found.candidates if c.component in on_the_way) > 0.4
    assert not any(one.component == DRIVE.id and one.probability > 0.05 for one in found.candidates)


def test_what_the_customer_names_weighs_more_than_what_he_does_not() -> None:
    """It shows outside the installed system and no probe finds anything."""
    story = Story(Complaint.PART_MISSING)
    story.run(OUTSIDE)
    before = {one.component: one.probability for one in _located(story).candidates}
    after = {one.component: one.probability for one in _located(story, "drive").candidates}
    port = f"{DRIVE.place}"
    assert after[port] > 1.5 * before[port]
    for other in (MODULE_A.id, f"antenna-lead@{CARD.place}"):
        assert after.get(other, 0.0) < before[other] / 2


def test_a_part_that_answers_is_not_missed() -> None:
    story = Story(Complaint.PART_MISSING)
    story.fit(plain("touchpad", PAD))
    story.run()
    found = _located(story, "touchpad")
    assert not any(one.check == "part.missed" for one in found.evidence)


def test_it_is_asked_for_as_long_as_nothing_tells_of_a_part() -> None:
    story = Story(Complaint.PART_MISSING)
    story.run()
    asks = TABLES.say("missed.which")
    assert asks in _located(story).explanation
    assert asks not in _located(story, "touchpad").explanation
    story.run(f"wireless.driver {CARD.id}")
    assert asks not in _located(story).explanation


@pytest.mark.parametrize("complaint", [Complaint.SLOW, Complaint.NOT_CHARGING])
def test_another_complaint_misses_nothing(complaint: Complaint) -> None:
    story = Story(complaint)
    story.run()
    assert _located(story, "touchpad") == _located(story)


@pytest.mark.parametrize(
    ("about", "words", "kinds"),
    [
        ("missing", "touchpad", {"touchpad"}),
        ("missing", "Bluetooth", {"bluetooth"}),
        ("words", "the webcam is black and the wireless is gone", {"camera", "wireless-card"}),
        ("missing", "the thing on the left", set()),
        ("words", "it stutters at the keyboardist's home", set()),
    ],
)
def test_the_customers_words_name_the_part(about: str, words: str, kinds: set[str]) -> None:
    assert set(missed([ToldLine(about=about, words=words)], TABLES.intake)) == kinds


def test_kinds_that_can_be_named_are_known() -> None:
    named = {kind for row in TABLES.intake.values() for kind in row.kinds.values()}
    assert named - {"bluetooth"} <= set(TABLES.kinds)
    assert set(TABLES.intake["missing"].choices) <= set(TABLES.intake["missing"].kinds)


def test_a_soldered_wireless_chip_without_bluetooth_is_the_board() -> None:
    story = Story(Complaint.PART_MISSING)
    soldered: Part = msgspec.structs.replace(CARD, soldered=True)
    story.fit(soldered)
    story.run()
    lead = next(c for c in _located(story, "bluetooth").candidates if c.side is not Side.SOFTWARE)
    assert lead.unit == "mainboard"


def test_a_plug_that_no_bus_tells_of_has_a_name() -> None:
    story = Story(Complaint.PART_MISSING)
    story.run()
    assert Names(story.runs, TABLES).target(PAD) == "touchpad connector"


def test_a_card_that_never_answered_is_looked_for_where_it_may_sit() -> None:
    """A slot that says what it is for; the card answers there after it was switched on."""
    story = Story(Complaint.PART_MISSING)
    story.empty(CARD.place)
    story.run()
    found = _located(story, "wireless-card")
    assert f"contact:{CARD.place}" in {one.component for one in found.candidates[:3]}
    assert _steps(found)[0] == (Action.SETTING, CARD.place)
    story.fit(CARD)
    story.run()
    assert not any(one.component == "internal:wireless-card" for one in
                   _located(story, "wireless-card").candidates)  # fmt: skip


def test_the_benchs_own_stick_is_not_the_drive_that_is_missed() -> None:
    """Two bays and nothing in them: which of them it was in, nobody knows."""
    story = Story(Complaint.PART_MISSING)
    story.empty(DRIVE.place)
    stick = part("drive", "STICK", "usb:1-1")
    story.fit(msgspec.structs.replace(stick, bench_own=True))
    story.run()
    found = _located(story, "drive")
    assert found.candidates[0].component in ("drive@internal:drive", "contact:internal:drive")
    assert found.sides[Side.SOFTWARE] < 0.1
