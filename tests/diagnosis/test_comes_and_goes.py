"""What comes and goes: seen by the customer and by no check, cured for now, or there at a start.

Common practice of the trade, no source: what the customer complains of is itself worked on, what
was cured is watched for a while, and a machine told dead is started again and again.
"""

from __future__ import annotations

import msgspec

from livecheck.diagnosis.steps.actions import Action
from livecheck.records import AllPowerAway, Complaint, Outcome, PartIs, Reading
from livecheck.topology.blame import accused
from livecheck.topology.graph import build
from livecheck.topology.history import configurations
from livecheck.topology.paths import Paths
from tests.diagnosis.story import (
    ADAPTER,
    BATTERY,
    BAY,
    BOARD,
    COOLING,
    DIMM_A,
    DIMM_B,
    JACK,
    MODULE_A,
    SLOT,
    Story,
    buys,
    done,
    part,
    share,
    spare,
    steps,
    tables,
)

OUTSIDE = "complaint.outside machine"


def test_the_complaint_itself_is_worked_on_where_no_check_fails() -> None:
    """It switches itself off under the stick, time and again: its cooling is cleaned."""
    story = Story(Complaint.SWITCHES_OFF)
    for turn in range(4):
        story.run(*((OUTSIDE,) if turn % 2 else ()))
    story.run(OUTSIDE)
    found = story.locate("no spare", "external measurement", "longer soak", "deeper probe")
    assert (Action.CLEAN, COOLING) in done(found)


def test_no_part_is_tried_in_another_machine_for_the_complaint_alone() -> None:
    """There it is another machine's complaint; and no firmware is written for it."""
    story = Story(Complaint.SWITCHES_OFF)
    for _ in range(4):
        story.run(OUTSIDE)
    acts = {step.action for step in steps(story.locate())}
    assert not acts & {Action.KNOWN_GOOD_MACHINE, Action.REFLASH}


def test_a_module_proven_bad_is_ordered_for_a_machine_that_switches_off() -> None:
    """Bad words crash a machine, and its owner calls it switching off."""
    story = Story(Complaint.SWITCHES_OFF)
    bad = ("memory.words machine", f"memory.module-words {MODULE_A.id}")
    story.run(*bad)
    story.run(*bad, reseated=(DIMM_A,))
    story.fit(spare("memory-module", DIMM_A))
    for _ in range(3):
        story.run()
    assert story.locate().unit == "memory-module"


def test_what_a_reseat_cured_is_soaked_while_it_is_doubtful() -> None:
    """One pass says little of what comes and goes."""
    story = Story(Complaint.UNSTABLE)
    bad = ("memory.words machine", f"memory.module-words {MODULE_A.id}")
    for _ in range(3):
        story.run(*bad)
    story.run(reseated=(DIMM_A,))
    found = story.locate()
    assert found.component == f"contact:{DIMM_A}"
    assert found.candidates[0].probability < 0.9
    assert Action.SOAK in {step.action for step in steps(found)}


def test_a_machine_told_dead_is_started_again_and_again() -> None:
    """One start, and one full test of memory and drive, call nothing sound."""
    story = Story(Complaint.NO_POWER)
    story.run()
    alive = Reading(check="bench.life", at="machine", outcome=Outcome.PASSED)
    story.runs[-1] = msgspec.structs.replace(story.runs[-1], readings=(alive,))
    acts = {step.action for step in steps(story.locate("external measurement"))}
    assert Action.SOAK in acts
    assert Action.DEEPER not in acts


def test_an_empty_slot_damages_no_words() -> None:
    """Nothing is written to or read from a slot without a module, so that it is not accused."""
    story = Story(Complaint.UNSTABLE)
    story.empty(DIMM_A)
    story.run()
    now = configurations(story.runs)
    blamed = accused(
        tables().checks["memory.words"], "machine", Paths(now[0], build(now, tables()))
    )
    slots = {str(own) for own, _ in blamed} & {DIMM_A, DIMM_B}
    assert slots == {DIMM_B}


def test_what_is_soldered_in_has_no_contact_where_it_does_not_answer() -> None:
    """Its joints are the board's: nothing is reseated, and the board is named in the end."""
    story = Story(Complaint.PART_MISSING)
    story.fit(part("wireless-card", "INV-C2", SLOT, soldered=True))
    for turn in range(4):
        gone = (SLOT,) if turn % 2 else ()
        story.run(*(f"pcie.answers {at}" for at in gone), silent=gone)
    found = story.locate()
    assert not [c for c in found.candidates if c.component == f"contact:{SLOT}"]
    assert share(found, "mainboard") > 0.6


def test_a_firmware_that_is_loaded_is_not_missing_now_and_then() -> None:
    """The card's own checks fail in some runs; its firmware was loaded in every one."""
    story = Story(Complaint.PART_MISSING)
    story.fit(part("wireless-card", "INV-C2", SLOT, soldered=True))
    names = ("wireless.driver", "wireless.hears", "kernel.wireless", "wireless.starts")
    for turn in range(11):
        bad = names[: 0 if turn == 2 else 1 + (turn * 7) % 4]
        where = OUTSIDE if turn > 6 else "complaint.inside machine"
        story.run(*(f"{name} wireless-card:INV-C2" for name in bad), where)
    assert story.locate().candidates[0].component == "wireless-card:INV-C2"


def test_a_battery_whose_guard_cuts_off_is_likelier_than_its_connector() -> None:
    """It comes and goes, says nonsense once, keeps its charge in between, and its connector was
    cleaned: no board is ordered for it without another battery (common practice, no source)."""
    gone, off = f"power.battery-present {BATTERY.id}", f"power.charging {BATTERY.id}"
    odd = f"power.battery-report {BATTERY.id}"
    story = Story(Complaint.NOT_CHARGING)
    story.run(gone)
    story.run(gone, off)
    story.run(gone, told=(AllPowerAway(),))
    found = story.locate()
    assert share(found, BATTERY.id) > share(found, BAY)
    story.run(odd, reseated=(BAY,))
    story.run(reseated=(BAY,))
    for failed in ((gone, off, odd), (gone, odd), (off,), (gone, off)):
        story.run(*failed)
    found = story.locate("no spare: battery")
    assert share(found, BATTERY.id) > 0.05
    assert buys(found) != BOARD


def test_what_is_out_is_not_named_while_the_machine_fails_on_without_it() -> None:
    """Its adapter is told to be weak, but with two good ones it does not charge either: another
    adapter alone mends nothing (common practice, no source)."""
    off, weak = f"power.charging {BATTERY.id}", f"power.adapter-rating {ADAPTER}"
    story = Story(Complaint.NOT_CHARGING)
    story.run(off, weak)
    story.run(off, weak)
    for number in (1, 2):
        other = PartIs(place=JACK, name=f"bench {number}", key=None, known_good=True)
        story.run(off, told=(other,))
        story.run()
        story.run(off)
    found = story.locate(*(str(action) for action in Action), "external measurement")
    assert found.component != ADAPTER
