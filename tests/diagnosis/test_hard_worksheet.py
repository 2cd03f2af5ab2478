"""Hard cases of machines that do not start: what the bench measures, and what is said of it.

Numbers are those of test_hard_cases, where the answers' source stands too.
"""

from __future__ import annotations

from collections.abc import Mapping

import msgspec
import pytest

from livecheck import knowledge
from livecheck.diagnosis import Resources, locate, worksheet, worksheet_machine
from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.worksheet_table import Label
from livecheck.records import AllPowerAway, Complaint, FirmwareFlashed, Location, PartIs, Run, Side
from tests.diagnosis.story import BOARD, buys, says, share, steps, tables


def _measured(complaint: Complaint, **answers: float | str) -> Location:
    """What the program says of a filled-in worksheet."""
    return locate("story", [_run(1, complaint, answers)], tables())


def _run(number: int, complaint: Complaint, answers: Mapping[str, float | str]) -> Run:
    named = {name.replace("_", "-"): value for name, value in answers.items()}
    return Run(
        number=number,
        started=f"2026-01-01T{8 + number:02}:00:00Z",
        complaint=complaint,
        inventory=worksheet_machine.machine(),
        readings=worksheet.judge(named, Label(volts=19.5, amps=3.33), knowledge.worksheet()),
    )


GOOD_ADAPTER: dict[str, float | str] = {
    "adapter_open_voltage": 19.6,
    "adapter_loaded_voltage": 19.3,
    "adapter_flex_voltage": 19.2,
    "jack_loose": "firm",
    "jack_resistance": 0.2,
}
GOOD_REST: dict[str, float | str] = {"signs_of_life": "yes", "rail_resistance": 9000.0}


@pytest.mark.parametrize(
    ("complaint", "more"),
    [
        (Complaint.NO_POWER, {"current_at_press": 0.6, "button": 2.0}),
        (
            Complaint.NO_PICTURE,
            {"external_screen": "picture", "own_screen": "picture", "start_code": "none"},
        ),
    ],
)
def test_a_dead_machine_whose_measurements_are_all_good_accuses_nobody(
    complaint: Complaint, more: dict[str, float | str]
) -> None:
    """10: the bench finds it alive; nothing is bought, and the board is not likely."""
    found = _measured(complaint, **GOOD_ADAPTER, **GOOD_REST, **more)
    assert share(found, BOARD) < 0.3
    assert buys(found) is None


@pytest.mark.parametrize(
    "answers",
    [
        GOOD_ADAPTER | {"adapter_open_voltage": 0.0, "signs_of_life": "no"},
        GOOD_ADAPTER | {"signs_of_life": "yes", "rail_resistance": 3.0, "current_at_press": 0.0},
    ],
    ids=["0 V at rest and 19.3 V loaded", "life, 3 ohms and 0 A"],
)
def test_contradictory_measurements_are_made_again(answers: dict[str, float | str]) -> None:
    """20: told, and never judged."""
    found = _measured(Complaint.NO_POWER, **answers)
    assert buys(found) is None
    (meter,) = [step for step in steps(found) if step.action == Action.MEASURE][:1]
    asked = [tables().checks[name].question for name in meter.checks]
    assert asked and all(one in meter.why for one in asked), "which rows of the sheet"
    assert says(found, r"contradict|cannot both|again")


def test_a_short_on_the_main_rail_may_hang_on_what_is_plugged_in() -> None:
    """23: drive, fan and screen off the board before the board is accused."""
    answers = GOOD_ADAPTER | {"signs_of_life": "no", "rail_resistance": 4.0}
    found = _measured(Complaint.NO_POWER, **answers, current_at_press=3.3)
    assert buys(found) != BOARD
    assert found.next_step is not None
    assert found.next_step.action in (Action.MINIMUM, Action.REMOVE) or says(found, r"unplug")


def test_a_dark_screen_with_a_picture_outside_asks_for_the_lead_before_the_panel() -> None:
    """The lead is cheap, and its plug is reached first; a panel is not bought on this alone."""
    dark: dict[str, float | str] = {"external_screen": "picture", "own_screen": "nothing"}
    found = _measured(Complaint.NO_PICTURE, **GOOD_ADAPTER, **GOOD_REST, **dark)
    assert buys(found) != "panel"
    assert says(found, r"\blead\b|connector")


def test_what_was_looked_at_on_the_panel_is_not_asked_for_another_part() -> None:
    """Moving the lid says nothing of a memory slot, and the dark screen was seen already."""
    made = {"external_screen": "dark", "own_screen": "nothing", "lid_picture": "stays as it is"}
    found = _measured(
        Complaint.NO_PICTURE, **GOOD_ADAPTER, **GOOD_REST, **made, start_code="memory"
    )
    assert "dimm:1" in found.candidates[0].component
    asked = {name for step in steps(found) for name in step.checks}
    assert asked.isdisjoint({"bench.lid-picture", "bench.own-screen", "bench.code-memory"})


def test_a_machine_that_runs_no_test_is_not_to_be_tested_deeper() -> None:
    """Whatever else this bench rules out."""
    others = tuple(action.value for action in Action if action is not Action.DEEPER)
    dead = _run(1, Complaint.NO_POWER, GOOD_ADAPTER | {"signs_of_life": "no"})
    found = locate("story", [dead], tables(), Resources(cannot=others))
    assert found.next_step is None


def test_a_board_is_ordered_before_a_trial_that_is_not_worth_its_minutes() -> None:
    """Dark in and out through spares, contacts and firmware: no panel is swapped for it."""
    dark: dict[str, float | str] = {"external_screen": "dark", "own_screen": "nothing"}
    first = GOOD_ADAPTER | GOOD_REST | dark
    told: dict[str, float | str] = {"start_code": "other", "lid_picture": "stays as it is"}
    spare = PartIs(place="dimm:1", name="bench spare", key=None, known_good=True)
    second = PartIs(place="dimm:1", name="second spare", key=None, known_good=True)
    runs = [_run(1, Complaint.NO_PICTURE, first | told)]
    for reseated, answers in (
        (("dimm:1",), ()), ((), (spare,)), (("dimm:1",), ()), ((), (AllPowerAway(),)),
        (("panel:internal",), ()), (("panel:internal",), ()), ((), (second,)),
        ((), (FirmwareFlashed(),)),
    ):  # fmt: skip
        again = _run(len(runs) + 1, Complaint.NO_PICTURE, dark)
        runs.append(msgspec.structs.replace(again, reseated=reseated, answers=answers))
    found = locate("story", runs, tables())
    assert found.candidates[0].side is Side.CONTROLLER
    assert found.next_step is not None
    assert found.next_step.action in (Action.REPLACE, Action.MEASURE), found.next_step


def test_a_look_that_was_made_is_not_asked_for_again() -> None:
    """Dead when it came in, and alive: an external screen is tried once, whatever it shows."""
    alive = _run(1, Complaint.NO_POWER, GOOD_ADAPTER | {"signs_of_life": "yes"})
    before = locate("story", [alive], tables())
    asked = [step for step in steps(before) if "bench.external-screen" in step.checks]
    assert asked
    for words in ("picture", "dark"):
        looked = _run(2, Complaint.NO_POWER, {"external_screen": words})
        assert {reading.check for reading in looked.readings} == {"bench.external-screen"}
        after = locate("story", [alive, looked], tables())
        assert [s for s in steps(after) if "bench.external-screen" in s.checks] == []


def test_of_a_panel_and_its_lead_one_is_ordered_and_nothing_else_is_taken_out() -> None:
    """Picture outside and none inside, time and again, and no spare: it is one of the two, and the
    cheaper is ordered first. Nobody lifts the processor for it (common practice, no source)."""
    dark: dict[str, float | str] = {
        "signs_of_life": "yes", "external_screen": "picture", "own_screen": "nothing"
    }  # fmt: skip
    seen = [GOOD_ADAPTER | dark, *[dark] * 3, dark | {"own_screen": "picture"}, *[dark] * 3]
    runs = [_run(number, Complaint.NO_PICTURE, one) for number, one in enumerate(seen, 1)]
    for turn in (1, 2):
        runs[turn] = msgspec.structs.replace(runs[turn], reseated=("panel:internal",))
    runs[3] = msgspec.structs.replace(runs[3], answers=(AllPowerAway(),))
    bench = Resources(cannot=("no spare: panel", "no known-good machine", "external measurement"))
    either = {"panel@panel:internal", "panel:internal"}
    for count in range(4, len(runs) + 1):
        found = locate("story", runs[:count], tables(), bench)
        if count == 5:
            # It had a picture just now: it may be watched before anything is bought.
            assert {step.target for step in steps(found)} <= {*either, "machine"}
            continue
        assert {step.target for step in steps(found)} <= either
        assert found.next_step is not None and found.next_step.action == Action.REPLACE


@pytest.mark.parametrize("life", ["no", "yes"])
def test_firmware_is_written_anew_before_a_board_is_ordered_for_a_dark_machine(life: str) -> None:
    """Dark in and out, another module tried, all power away: what a board costs is not spent while
    what may have been cut off in writing was not written anew (common practice, no source)."""
    dark: dict[str, float | str] = {
        "signs_of_life": life, "external_screen": "dark", "own_screen": "nothing"
    }  # fmt: skip
    spare = PartIs(place="dimm:1", name="bench spare", key=None, known_good=True)
    runs = [_run(1, Complaint.NO_PICTURE, GOOD_ADAPTER | dark)]
    for answers in ((spare,), (AllPowerAway(),)):
        again = _run(len(runs) + 1, Complaint.NO_PICTURE, dark)
        runs.append(msgspec.structs.replace(again, answers=answers))
    cannot = ("no spare: panel", "no spare: processor", "no known-good machine",
              "external measurement", "longer soak", "remove", "reseat", "clean contacts",
              "inspect", "no spare: memory module")  # fmt: skip
    bench = Resources(cannot=cannot)
    actions = [step.action for step in steps(locate("story", runs, tables(), bench))]
    assert Action.REFLASH in actions
    if Action.REPLACE in actions:
        assert actions.index(Action.REFLASH) < actions.index(Action.REPLACE), actions


def test_a_machine_told_dead_that_starts_is_started_again_beside_a_loose_jack() -> None:
    """What moves in the jack may be old: whether the machine starts is waited for, not left open
    (common practice, no source)."""
    answers = GOOD_ADAPTER | {"jack_loose": "loose", "signs_of_life": "yes"}
    bench = Resources(cannot=("external measurement",))
    found = locate("story", [_run(1, Complaint.NO_POWER, answers)], tables(), bench)
    assert found.component is None
    assert Action.SOAK in [step.action for step in steps(found)]
