"""Hard cases of spares: one that is bad as well, and two that fail on the same dirt.

Numbers are those of test_hard_cases, where the answers' source stands too.
"""

from __future__ import annotations

import msgspec

from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.steps.situation import tried
from livecheck.records import (
    AllPowerAway,
    Complaint,
    FirstPartBack,
    Outcome,
    PartIs,
    Reading,
    RepairedPart,
    Side,
)
from livecheck.topology.graph import build
from livecheck.topology.history import configurations
from tests.diagnosis.story import (
    ADAPTER,
    BATTERY,
    BAY,
    BOARD,
    CARD,
    DIMM_A,
    DIMM_B,
    DRIVE,
    JACK,
    MODULE_A,
    MODULE_B,
    PORT_1,
    PORT_2,
    SLOT,
    Story,
    share,
    spare,
    steps,
    tables,
)
from tests.diagnosis.test_hard_cases import LINK


def at(component: str, *checks: str) -> tuple[str, ...]:
    """Those checks of one component."""
    return tuple(f"{check} {component}" for check in checks)


def test_a_spare_that_is_bad_as_well_is_not_the_answer_to_the_customer() -> None:
    """6: the customer's drive wore out, and the shop's fails by itself in both ports."""
    story = Story(Complaint.UNSTABLE)
    worn = ("storage.medium-errors", "storage.health", "storage.self-test-log")
    dying = ("storage.answers", "storage.medium-errors", "kernel.storage-timeout", *LINK)
    story.run(*at(DRIVE.id, *worn))
    story.fit(spare("drive", PORT_1))
    story.run(*at("drive:SPARE1", *dying))
    story.empty(PORT_1)
    story.fit(spare("drive", PORT_2))
    story.run(*at("drive:SPARE1", *dying))
    found = story.locate()
    assert share(found, "drive:SPARE1") > 0.9
    assert (found.side, found.component) == (Side.DEVICE, DRIVE.id)


def test_a_slots_contacts_are_cleaned_before_a_board_is_bought_for_it() -> None:
    """A spare that fails where the module failed may sit on the same dirt (see EDGE's source)."""
    story = Story(Complaint.UNSTABLE)
    failed = ("memory.words machine", "memory.module-words {}")
    for one in (MODULE_A, spare("memory-module", DIMM_A), spare("memory-module", DIMM_A, 2)):
        story.fit(one)
        for _ in range(2):
            story.run(*(check.format(one.id) for check in failed))
    found = story.locate()
    assert found.component == DIMM_A
    proposed = [(step.action, step.target) for step in steps(found)]
    assert (Action.CLEAN_CONTACTS, DIMM_A) in proposed, proposed
    before = proposed[: proposed.index((Action.CLEAN_CONTACTS, DIMM_A))]
    assert Action.REPLACE not in dict(before)


def test_a_card_that_does_not_answer_is_left_without_power_before_it_is_bought() -> None:
    """Common practice, no source: a card that hangs comes back when all power was away."""
    story = Story(Complaint.PART_MISSING)
    failed = (f"pcie.answers {SLOT}", f"wireless.present {SLOT}")
    story.run(*failed, silent=(SLOT,))
    story.run(*failed, silent=(SLOT,), reseated=(SLOT,))
    story.run(*failed, silent=(SLOT,), reseated=(SLOT,))
    cannot = ("no spare: wireless card", "no known-good machine")
    assert steps(story.locate(*cannot))[0].action == Action.POWER_AWAY
    story.run(*failed, silent=(SLOT,), told=(AllPowerAway(),))
    assert [step.action for step in steps(story.locate(*cannot))] == [Action.REPLACE]


def test_what_answers_behind_another_lead_was_silent_for_the_old_one() -> None:
    """A mend that was told is no exchange: the drive is the one that was silent before."""
    story = Story(Complaint.UNSTABLE)
    story.run(f"storage.port-answers {PORT_1}", silent=(PORT_1,))
    story.run(told=(RepairedPart(component=f"drive-lead@{PORT_1}"),))
    story.run()
    found = story.locate()
    assert share(found, f"drive-lead@{PORT_1}") > share(found, DRIVE.id)
    assert [one.component for one in found.candidates if one.unit == "drive"] == [DRIVE.id]
    assert Action.PUT_BACK not in [step.action for step in steps(found)]


def test_what_was_told_of_a_slot_ends_when_another_part_answers_in_it() -> None:
    """The spare named while it was silent is out; the one that answered since is silent now."""
    story = Story(Complaint.PART_MISSING)
    failed = (f"pcie.answers {SLOT}", f"wireless.present {SLOT}")
    story.run(*failed, silent=(SLOT,))
    first = PartIs(place=SLOT, name="A1", key="wireless-card:A1", known_good=True)
    story.run(*failed, silent=(SLOT,), told=(first,))
    story.fit(spare("wireless-card", SLOT, 2))
    story.run()
    story.run(*failed, silent=(SLOT,))
    found = story.locate()
    assert share(found, "wireless-card:A1") < share(found, SLOT, f"contact:{SLOT}")


def test_a_drive_that_comes_back_while_another_part_is_out_is_no_second_drive() -> None:
    """Nobody told of an exchange, and no other one ever answers at the port."""
    story = Story(Complaint.UNSTABLE)
    story.run(f"storage.port-answers {PORT_1}", silent=(PORT_1,))
    module = story.fitted[DIMM_A]
    story.empty(DIMM_A)
    story.run(f"kernel.storage-link {DRIVE.id}")
    story.fit(module)
    story.run(f"storage.port-answers {PORT_1}", silent=(PORT_1,))
    found = story.locate()
    assert [one.component for one in found.candidates if one.unit == "drive"] == [DRIVE.id]
    assert (Action.PUT_BACK, f"drive@{PORT_1}") not in [(s.action, s.target) for s in steps(found)]


def test_a_part_goes_back_once_to_see_whether_the_fault_comes_back() -> None:
    """Taken out a second time, it stays out: out and in without end tells nothing new."""
    story = Story(Complaint.NOT_CHARGING)
    story.run(f"power.charging {BATTERY.id}")
    for turn in range(2):
        story.fit(spare("battery", BAY, turn + 1))
        story.run()
        back = [s for s in steps(story.locate()) if s.action == Action.PUT_BACK]
        assert [s.target for s in back] == ([BATTERY.id] if turn == 0 else [])
        story.fit(BATTERY)
        story.run()


def test_reseats_count_for_the_place_whatever_sits_in_it() -> None:
    """The contacts are those of the place: a spare in it does not make them new."""
    story = Story(Complaint.NOT_CHARGING)
    story.run()
    for one in (BATTERY, spare("battery", BAY)):
        story.fit(one)
        story.run(reseated=(BAY,))
    story.fit(spare("battery", BAY, 2))
    story.run()
    graph = build(configurations(story.runs), tables())
    assert tried(graph, graph.home[-1].parts[BAY], BAY).reseats == 2


def test_a_radio_that_does_not_start_is_left_without_power_before_it_is_bought() -> None:
    """Common practice, no source: a radio that hangs comes back when all power was away."""
    story = Story(Complaint.PART_MISSING)
    failed = ("wireless.driver", "kernel.wireless", "bluetooth.driver", "wireless.hears")
    for _ in range(3):
        story.run(*at(CARD.id, *failed))
    first = story.locate("no spare: wireless card", "no known-good machine")
    assert steps(first)[0].action == Action.POWER_AWAY
    story.run(*at(CARD.id, *failed), told=(AllPowerAway(),))
    after = story.locate("no spare: wireless card", "no known-good machine")
    assert Action.POWER_AWAY not in {step.action for step in steps(after)}


def test_half_a_card_that_is_gone_may_only_hang() -> None:
    """Common practice, no source: one half of a radio comes back when all power was away, and
    a weak signal beside it does not say that it will not."""
    failed = ("wireless.firmware", "wireless.halves", "wireless.starts", "wireless.bands")
    story = Story(Complaint.PART_MISSING)
    for _ in range(3):
        story.run(*at(CARD.id, *failed), reseated=(SLOT,))
    first = steps(story.locate("no spare: wireless card", "no known-good machine"))
    actions = [step.action for step in first]
    assert Action.REPLACE not in actions[: actions.index(Action.POWER_AWAY)], actions


def test_what_fails_again_once_it_is_back_is_no_habit_of_the_machine() -> None:
    """It fails with its own adapter alone: a sound one's false alarm would be the machine's."""
    story = Story(Complaint.NOT_CHARGING)
    own = FirstPartBack(place=JACK)
    other = PartIs(place=JACK, name="A1", key="adapter:A1", known_good=True)
    for fitted in (None, other, own):
        for turn in range(1 if fitted is None else 6):
            failed = () if fitted is other else (f"power.adapter {ADAPTER}",)
            story.run(*failed, told=(fitted,) if fitted is not None and not turn else ())
            away = [
                Reading(check=f"complaint.{where}", at="machine", outcome=Outcome.PASSED)
                for where in ("inside", "outside")
            ]
            last = story.runs[-1]
            story.runs[-1] = msgspec.structs.replace(last, readings=(*last.readings, *away))
        if fitted is other:
            first = steps(story.locate())[0]
            assert (first.action, first.target) == (Action.PUT_BACK, ADAPTER)
    found = story.locate()
    assert (found.side, found.component) == (Side.DEVICE, ADAPTER)


def test_errors_on_every_link_with_whatever_part_are_a_habit_of_the_machine() -> None:
    """A chipset's habit shows on all its links and stays when each part was swapped for a spare:
    two places that fail at once would be two faults (common practice, no source)."""
    story = Story(Complaint.PART_MISSING)
    links = ("pcie.errors", "kernel.pcie")
    noisy = ("storage.link-errors", "storage.link-change")
    card, drive = CARD.id, DRIVE.id
    for number in range(4):
        if number:
            story.fit(spare("wireless-card", SLOT, number))
            story.fit(spare("drive", PORT_1, number + 4))
            card, drive = f"wireless-card:SPARE{number}", f"drive:SPARE{number + 4}"
        story.run(*at(card, *links), *at(drive, *noisy))
        story.run(*at(card, *links), *at(drive, *noisy))
    found = story.locate()
    assert share(found, BOARD) < 0.5
    assert BOARD not in {step.target for step in steps(found) if step.action == Action.REPLACE}


def test_what_fails_at_one_port_with_two_drives_speaks_for_it() -> None:
    """The other port passes, so that it is no habit of all links (common practice, no source)."""
    story = Story(Complaint.UNSTABLE)
    story.run(*at(DRIVE.id, *LINK))
    story.fit(spare("drive", PORT_1))
    story.run(*at("drive:SPARE1", *LINK))
    story.empty(PORT_1)
    story.fit(DRIVE, PORT_2)
    story.run()
    story.fit(DRIVE, PORT_1)
    story.run(*at(DRIVE.id, *LINK))
    found = story.locate()
    assert found.candidates[0].component == PORT_1
    for check in LINK:
        fails = [o for o in found.evidence if o.check == check and o.outcome is Outcome.FAILED]
        assert sum(one.weight for one in fails) > 1.0
    assert not [one for one in found.evidence if one.run == 3 and one.weight < -0.5]


def test_a_part_is_moved_there_and_back_and_no_further() -> None:
    """Common practice, no source: a fault that showed in neither place after that is waited for,
    and nobody opens the machine a third time for the same exchange."""
    story = Story(Complaint.UNSTABLE)
    story.run(f"kernel.storage-link {DRIVE.id}", f"storage.link-errors {DRIVE.id}")
    moved = []
    for turn in range(4):
        found = story.locate("no spare: drive", "no known-good machine")
        moved.append(any(step.action == Action.MOVE for step in steps(found)))
        story.fit(DRIVE, PORT_1 if turn % 2 else PORT_2)
        failed = (f"kernel.storage-link {DRIVE.id}",) if turn % 2 else ()
        story.run(*failed)
    assert moved[0] and moved[2:] == [False, False]


def test_two_modules_change_places_there_and_back_and_no_further() -> None:
    story = Story(Complaint.UNSTABLE)
    story.run(f"memory.module-words {MODULE_A.id}")
    moved = []
    for turn in range(4):
        found = story.locate("no spare: memory module", "no known-good machine")
        moved.append(any(step.action == Action.MOVE for step in steps(found)))
        one, other = (DIMM_A, DIMM_B) if turn % 2 else (DIMM_B, DIMM_A)
        story.fit(MODULE_A, one)
        story.fit(MODULE_B, other)
        story.run(*((f"memory.module-words {MODULE_A.id}",) if turn % 2 else ()))
    assert moved[0] and moved[2:] == [False, False]
