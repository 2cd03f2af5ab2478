"""What a sound model of faults must answer, point by point, where the engine errs most.

As in test_hard_cases the answers are common practice of the trade, no source, and were
written down before the engine met them. A point that is a rule of reasoning says so.
"""

from __future__ import annotations

from itertools import pairwise

import msgspec
import pytest

from livecheck.diagnosis import locate
from livecheck.diagnosis.steps.actions import Action
from livecheck.records import (
    CleanedPart,
    Complaint,
    ComplaintShows,
    LookedInside,
    Outcome,
    PartIs,
    Reading,
    SettingPutRight,
    Side,
    WhereShown,
)
from tests.diagnosis.story import (
    BATTERY,
    BAY,
    BOARD,
    CARD,
    COOLING,
    DIMM_A,
    DISPLAY,
    DRIVE,
    JACK,
    MODULE_A,
    MODULE_B,
    PORT_1,
    PORT_2,
    PROCESSOR,
    SLOT,
    Story,
    buys,
    part,
    plain,
    says,
    share,
    spare,
    steps,
    tables,
)
from tests.simulation.worlds.technician import Technician

LINK = ("storage.link-errors", "storage.link-change", "kernel.storage-link")
HOT = (
    f"heat.temperature {PROCESSOR}",
    f"heat.throttled {PROCESSOR}",
    f"processor.throttling {PROCESSOR}",
    f"heat.cooling {COOLING}",
    f"heat.time-constant {COOLING}",
)
WORDS_A = ("memory.words machine", f"memory.module-words {MODULE_A.id}")


def _at(component: str, *checks: str) -> tuple[str, ...]:
    return tuple(f"{check} {component}" for check in checks)


# --- 1: readings that share a cause


def test_firmware_that_does_not_load_is_one_fact_and_convicts_no_card() -> None:
    """A radio without its firmware fails every check of the radio; it is fetched first."""
    story = Story(Complaint.PART_MISSING)
    story.run(
        *_at(
            CARD.id,
            "wireless.firmware",
            "wireless.driver",
            "kernel.wireless",
            "bluetooth.firmware",
            "wireless.starts",
            "wireless.hears",
        )
    )
    found = story.locate()
    assert share(found, CARD.id) < 0.9
    assert buys(found) is None


def test_a_thin_machine_that_throttles_is_not_sent_for_a_cooling_assembly() -> None:
    """Throttled, hot and slow to cool is one fact; cleaning at most, and it is said why."""
    story = Story(Complaint.UNSTABLE)
    story.run(*HOT, values={"heat.throttled": 9.0, "heat.temperature": 98.0})
    story.run(*HOT, values={"heat.throttled": 7.0, "heat.temperature": 97.0})
    found = story.locate()
    assert buys(found) is None
    assert share(found, COOLING) < 0.9
    assert says(found, r"runs hot|thin")


def test_a_few_errors_on_every_link_are_the_chipsets_habit() -> None:
    """Noise everywhere names no part."""
    story = Story(Complaint.SLOW)
    story.fit(part("drive", "INV-D2", PORT_2))
    noise = (*_at(DRIVE.id, *LINK[:2]), *_at("drive:INV-D2", *LINK[:2]))
    more = _at(CARD.id, "kernel.pcie", "pcie.errors")
    for _ in range(2):
        story.run(*noise, *more, values={"storage.link-errors": 2, "pcie.errors": 11})
    found = story.locate()
    assert buys(found) is None
    assert found.side not in (Side.DEVICE, Side.CONTROLLER)


def test_a_flood_of_errors_weighs_more_than_one() -> None:
    """A count enters as a likelihood, not as yes or no."""
    few, many = Story(Complaint.UNSTABLE), Story(Complaint.UNSTABLE)
    few.run(f"storage.link-errors {DRIVE.id}", values={"storage.link-errors": 1})
    many.run(f"storage.link-errors {DRIVE.id}", values={"storage.link-errors": 5000})
    path = (PORT_1, DRIVE.id, f"contact:{PORT_1}:{DRIVE.id}", "contact")
    assert share(many.locate(), *path) > share(few.locate(), *path)


def test_a_crash_seen_by_the_record_and_by_the_log_is_one_crash() -> None:
    """The end of a start and the machine check in the log speak of one event."""
    one, both = Story(Complaint.UNSTABLE), Story(Complaint.UNSTABLE)
    one.run("ended.hardware machine")
    both.run("ended.hardware machine", "kernel.machine-check machine",
             f"processor.machine-checks {PROCESSOR}", "memory.machine-checks machine")  # fmt: skip
    assert buys(both.locate()) is None
    assert both.locate().side is Side.UNDETERMINED


# --- 2: finding and cause


@pytest.mark.parametrize(
    "finding",
    [
        f"storage.link-history {DRIVE.id}",
        f"storage.wear {DRIVE.id}",
        "firmware.version firmware",
        f"storage.command-errors {DRIVE.id}",
    ],
)
def test_a_finding_from_the_past_is_no_verdict(finding: str) -> None:
    """Counters of an earlier life, wear and an old firmware are facts, each with its advice."""
    story = Story(Complaint.UNSTABLE)
    for _ in range(4):
        story.run(finding)
    found = story.locate()
    assert found.side not in (Side.DEVICE, Side.CONTROLLER)
    assert buys(found) is None


# --- 3: the complaint as evidence


def _shown(story: Story, *checks: str, where: WhereShown) -> None:
    story.run(*checks, told=(ComplaintShows(where=where),))


def test_where_the_complaint_shows_is_no_reason_to_swap_anything() -> None:
    """Seen in the installed system and nowhere else, with all hardware good."""
    story = Story(Complaint.UNSTABLE)
    _shown(story, "complaint.inside machine", where=WhereShown.INSIDE)
    found = story.locate()
    hands = {Action.SWAP, Action.REMOVE, Action.MINIMUM, Action.MOVE, Action.KNOWN_GOOD_MACHINE}
    assert not hands & {step.action for step in steps(found)[:1]}


def test_where_it_shows_told_once_does_not_hurt_later() -> None:
    """Runs without that answer take nothing of it away."""
    story = Story(Complaint.UNSTABLE)
    _shown(story, "complaint.inside machine", where=WhereShown.INSIDE)
    told_now = share(story.locate(), "software")
    for _ in range(3):
        story.run()
    # Later runs are all good: the installed system becomes likelier, not less.
    unasked = ("complaint.inside", "complaint.outside")
    story.runs = [
        run
        if run.number == 1
        else msgspec.structs.replace(
            run, readings=tuple(r for r in run.readings if r.check not in unasked)
        )
        for run in story.runs
    ]
    assert share(story.locate(), "software") >= told_now - 0.02


def test_seen_outside_the_installed_system_clears_it() -> None:
    story = Story(Complaint.UNSTABLE)
    for _ in range(3):
        _shown(story, "complaint.outside machine", where=WhereShown.OUTSIDE)
    assert share(story.locate(), "software") < 0.1


# --- 4: what was done is known


def test_a_silent_part_after_a_swap_is_asked_for() -> None:
    """The spare is in and nothing answers: which card is in the slot?"""
    story = Story(Complaint.PART_MISSING)
    silent = (f"pcie.answers {SLOT}", f"wireless.present {SLOT}")
    story.run(*silent, silent=(SLOT,))
    story.fit(spare("wireless-card", SLOT))
    story.run()
    story.run(*silent, silent=(SLOT,))
    found = story.locate()
    assert says(found, r"which (card|part)|what is in")
    assert buys(found) is None


def test_a_known_good_part_that_is_told_of_counts_though_nobody_sees_it() -> None:
    """Own card and spare both silent, both told: the slot or its board, not the card."""
    story = Story(Complaint.PART_MISSING)
    silent = (f"pcie.answers {SLOT}", f"wireless.present {SLOT}")
    story.run(*silent, silent=(SLOT,))
    other = spare("wireless-card", SLOT)
    story.fit(other)
    told = PartIs(place=SLOT, name="spare", key=other.id, known_good=True)
    story.run(*silent, silent=(SLOT,), told=(told,))
    found = story.locate()
    assert share(found, BOARD) > share(found, CARD.id, f"wireless-card@{SLOT}")


# --- 5: soft parts


def test_a_contact_that_outlives_a_swap_is_cleaned_before_a_board() -> None:
    """Own module and spare fail in one slot, the other slot is good: dirt is nearer than a board.

    What fails is the contact of the slot, which a swap leaves as it was.
    """
    story = Story(Complaint.UNSTABLE)
    story.run(*WORDS_A)
    story.fit(spare("memory-module", DIMM_A))
    story.run("memory.words machine", "memory.module-words memory-module:SPARE1")
    found = story.locate()
    assert buys(found) != BOARD
    assert says(found, r"reseat|clean")


# --- 6: causes that need no part


def test_a_machine_that_charges_with_nothing_is_left_without_power_before_a_board() -> None:
    """Good adapter, good battery, no charging: all power away for a minute costs nothing."""
    story = Story(Complaint.NOT_CHARGING)
    story.run(f"power.charging {BATTERY.id}")
    story.fit(plain("adapter", JACK))
    bench = PartIs(place=JACK, name="bench", key="adapter:bench", known_good=True)
    story.run(f"power.charging {BATTERY.id}", told=(bench,))
    story.fit(spare("battery", BAY))
    story.run("power.charging battery:SPARE1")
    found = story.locate()
    assert buys(found) != BOARD
    assert any("power" in step.action for step in steps(found))


def test_a_part_is_reseated_before_it_is_swapped() -> None:
    """A swap is also a reseat: done first, nobody knows which of the two helped."""
    story = Story(Complaint.PART_MISSING)
    silent = (f"pcie.answers {SLOT}", f"wireless.present {SLOT}")
    story.run(*silent, silent=(SLOT,))
    found = story.locate()
    assert found.next_step is not None
    free = {Action.RESEAT, Action.SETTING, Action.SOAK}
    assert found.next_step.action in free or "power" in found.next_step.action


def test_a_drive_that_answers_and_may_not_be_read_is_locked_not_broken() -> None:
    """Access is refused, the medium is good: the key is missing, no drive is bought."""
    story = Story(Complaint.PART_MISSING)
    refused = f"kernel.storage-protocol {DRIVE.id}"
    for _ in range(2):
        story.run(refused, f"storage.command-errors {DRIVE.id}")
    found = story.locate()
    assert buys(found) is None
    assert found.side is not Side.DEVICE


# --- 7: passing tells too


def test_a_module_that_passed_is_cleared_by_it() -> None:
    """Words lie in one module: the other was looked at and was good."""
    story = Story(Complaint.UNSTABLE)
    story.run(*WORDS_A)
    with_pass = [
        msgspec.structs.replace(
            run, readings=(*run.readings, _passed("memory.module-words", MODULE_B.id))
        )
        for run in story.runs
    ]
    without = share(story.locate(), MODULE_B.id)
    cleared = locate("story", with_pass, tables())
    assert share(cleared, MODULE_B.id) < without or without < 0.01
    assert share(cleared, MODULE_A.id) > share(cleared, MODULE_B.id)


def test_a_check_that_was_cut_off_clears_what_it_covered() -> None:
    """A half read clears more than none and less than all."""
    found = []
    for covered in (None, 0.0, 0.5, 1.0):
        story = Story(Complaint.SLOW)
        story.run(f"storage.read-stalls {DRIVE.id}")
        own = [r for r in story.runs[0].readings if r.check != "storage.read-errors"]
        if covered is not None:
            half = msgspec.structs.replace(
                _passed("storage.read-errors", DRIVE.id), covered=covered
            )
            own.append(half)
        run = msgspec.structs.replace(story.runs[0], readings=tuple(own))
        found.append(share(locate("story", [run], tables()), DRIVE.id))
    none, nothing, half_read, all_read = found
    assert none >= nothing >= half_read >= all_read
    assert none > half_read > all_read


def _passed(check: str, at: str) -> Reading:
    return Reading(check=check, at=at, outcome=Outcome.PASSED)


# --- 8: repetition


def test_what_fails_in_every_run_becomes_surer() -> None:
    """A rule of reasoning: equal failures never make "no fault" likelier."""
    story, none = Story(Complaint.UNSTABLE), []
    for _ in range(8):
        story.run(*_at(DRIVE.id, *LINK))
        none.append(story.locate().sides[Side.NO_FAULT])
    assert none[-1] <= none[0]
    assert all(after <= before + 0.005 for before, after in pairwise(none))


def test_a_part_that_dies_on_the_bench_is_named() -> None:
    """Good in four runs, then bad wherever it sits: a change, not chance."""
    story = Story(Complaint.SLOW)
    for _ in range(4):
        story.run()
    dead = ("storage.read-errors", "kernel.storage-medium", "storage.medium-errors")
    for place in (PORT_1, PORT_2, PORT_1):
        story.fit(DRIVE, place)
        story.run(*_at(DRIVE.id, *dead))
    found = story.locate()
    assert (found.side, found.component) == (Side.DEVICE, DRIVE.id)


# --- 9: a treatment is no swap and no perfect cure


def test_cooling_that_still_fails_after_cleaning_is_still_the_cooling() -> None:
    """A dead fan or a dry pipe is not cured by a brush; the board is not next."""
    story = Story(Complaint.SWITCHES_OFF)
    hot = (*HOT[:4], f"heat.critical {COOLING}")
    story.run(*hot)
    story.run(*hot, told=(CleanedPart(part=COOLING),))
    found = story.locate()
    cooling = sum(c.probability for c in found.candidates if c.unit == "cooling")
    assert cooling > 0.5
    assert buys(found) != BOARD


def test_ports_behind_one_controller_are_told_from_the_controller() -> None:
    """Two drives fail in both ports: one cause upstream, not two ports and two drives."""
    story = Story(Complaint.UNSTABLE)
    story.fit(part("drive", "INV-D2", PORT_2))
    both = (*_at(DRIVE.id, *LINK), *_at("drive:INV-D2", *LINK))
    story.run(*both)
    story.fit(spare("drive", PORT_1))
    story.run(*_at("drive:SPARE1", *LINK), *_at("drive:INV-D2", *LINK))
    found = story.locate()
    assert share(found, "pci:0000:00:17.0") > share(found, PORT_1)
    assert share(found, DRIVE.id) < 0.2


# --- 11, 12: what fits nothing


def test_what_fits_no_one_explanation_is_said_and_nobody_buys_on_it() -> None:
    """A failure here and one there, never twice the same: no single part does that."""
    story = Story(Complaint.UNSTABLE)
    story.run("kernel.processor-check machine", f"power.battery-report {BATTERY.id}")
    story.run("memory.words machine", f"storage.read-stalls {DRIVE.id}")
    story.run(f"pcie.errors {CARD.id}", "kernel.graphics display-controller")
    story.run("firmware.clock machine", f"power.adapter-holds adapter@{JACK}")
    story.run("kernel.machine-check machine", f"storage.link-errors {DRIVE.id}")
    found = story.locate()
    assert buys(found) is None
    assert found.probability < 0.9
    assert says(found, r"does not fit|no one explanation|fits no")


def test_no_fault_found_says_what_was_not_tested_and_the_way_on() -> None:
    """After clean tests: what is left open, and soak, installed system or the owner's use."""
    story = Story(Complaint.UNSTABLE)
    story.run(depth="full")
    for _ in range(8):
        story.run()
    found = story.locate()
    assert found.side is Side.NO_FAULT or found.side is Side.SOFTWARE
    assert says(found, r"not tested")
    assert says(found, r"installed system|soak|use")


# --- 13: what comes and goes on a sound machine, and what a hand has put right


def test_a_chip_that_logs_now_and_then_makes_no_board_certain() -> None:
    """Seven of twenty runs: a habit, or a fault; an order of a board on it is not."""
    story = Story(Complaint.SWITCHES_OFF)
    line = f"kernel.graphics {DISPLAY}"
    story.run(line)
    for number in range(19):
        story.run(*([line] if number % 3 == 1 else []))
    found = story.locate()
    assert buys(found) is None
    assert share(found, DISPLAY, BOARD) < 0.5


def test_what_does_not_answer_is_reseated_before_it_is_ordered() -> None:
    """A slot that senses a drive which does not answer: drive, contact or slot."""
    world = Technician(77000025, tables())
    world.look()
    found = locate("slot", world.runs, tables())
    assert found.side is Side.UNDETERMINED and buys(found) is None
    # All power away, which takes no screw, may come before it.
    actions = [step.action for step in steps(found) if step.action != Action.POWER_AWAY]
    assert actions[0] == Action.RESEAT


def test_where_a_complaint_shows_is_nothing_against_contacts_leads_and_slots() -> None:
    """Seen outside the installed system: all that is no software, and not the parts alone."""
    told = []
    for seen in ((), ("complaint.outside machine",)):
        story = Story(Complaint.PART_MISSING)
        story.fit(plain("wireless-card", SLOT))
        story.run(f"wireless.present {SLOT}", f"pcie.answers {SLOT}", *seen, silent=[SLOT])
        found = story.locate()
        told.append(share(found, f"contact:{SLOT}", SLOT) / share(found, f"wireless-card@{SLOT}"))
    assert told[1] > 0.5 * told[0]


def test_a_radio_that_works_once_its_switch_is_on_is_no_broken_card() -> None:
    story = Story(Complaint.PART_MISSING)
    story.run(f"wireless.blocked {CARD.id}")
    story.run(told=(SettingPutRight(component=CARD.id),))
    found = story.locate()
    assert share(found, "setting", "software") > 0.5
    assert share(found, "setting") > share(found, CARD.id)
    assert buys(found) is None


def test_what_a_setting_cured_is_the_verdict_though_another_part_is_worn() -> None:
    """Held off, seen missing outside too, set right and not missed since: nothing is ordered."""
    story = Story(Complaint.PART_MISSING)
    story.run(f"wireless.blocked {CARD.id}", "complaint.outside machine")
    away = Reading(check="complaint.outside", at="machine", outcome=Outcome.PASSED)
    worn = f"power.battery-wear {BATTERY.id}"
    for told in ((SettingPutRight(component=CARD.id),), (), (), ()):
        story.run(worn, told=(*told, ComplaintShows(where=WhereShown.NOWHERE)))
        now = story.runs[-1]
        story.runs[-1] = msgspec.structs.replace(now, readings=(*now.readings, away))
    found = story.locate()
    assert found.component == "setting" and buys(found) is None
    assert "setting" in found.sentence and "treated since" in found.sentence


def test_a_machine_tested_clean_time_and_again_is_soaked_no_more() -> None:
    """The customer's complaint never shows outside the installed system: that is looked at."""
    story = Story(Complaint.UNSTABLE)
    for _ in range(6):
        story.run(depth="full", told=(LookedInside(),))
    found = story.locate()
    assert found.next_step is not None
    assert found.next_step.action == Action.REPAIR_SYSTEM


def test_no_fault_in_one_run_is_waited_on_for_what_comes_and_goes() -> None:
    """Said at once, and a longer soak is proposed; after some of them nothing more is."""
    story = Story(Complaint.SWITCHES_OFF)
    story.run(depth="full")
    first = story.locate()
    assert first.side is Side.NO_FAULT
    assert first.next_step is not None and first.next_step.action == Action.SOAK
    for _ in range(3):
        story.run(depth="full")
    last = story.locate()
    assert last.next_step is None or last.next_step.action != Action.SOAK
