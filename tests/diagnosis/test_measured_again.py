"""What was looked at or measured is not asked again, and the last figure of a rail counts.

Common practice of the trade, no source.
"""

from __future__ import annotations

import msgspec
import pytest

from livecheck import knowledge
from livecheck.diagnosis import Resources, locate, worksheet
from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.worksheet_machine import machine
from livecheck.records import (
    Answer,
    BoardReplaced,
    Complaint,
    Location,
    Outcome,
    PartIs,
    Place,
    Presence,
    Remark,
    Run,
)
from tests.diagnosis.story import JACK, Story

Answers = dict[str, float | str]
GOOD: Answers = {"adapter-open-voltage": 19.6, "adapter-loaded-voltage": 19.3, "jack-loose": "firm",
        "jack-resistance": 0.3, "starts-without-battery": "same", "button": 2.0}  # fmt: skip
DEAD: Answers = {**GOOD, "signs-of-life": "no"}
DARK: Answers = {"signs-of-life": "yes", "external-screen": "picture", "coin-cell-voltage": 3.0}


def _run(
    number: int, complaint: Complaint, filled: Answers, answers: tuple[Answer, ...] = ()
) -> Run:
    sheet = knowledge.worksheet()
    label = worksheet.parse('[label]\nvolts = 19.5\nsupply = "barrel"\n', sheet).label
    return Run(
        number=number,
        started=f"2026-03-0{number}T09:00:00+01:00",
        complaint=complaint,
        inventory=machine(),
        readings=worksheet.judge(filled, label, sheet),
        answers=answers,
        finished=True,
    )


def _located(*runs: Run) -> Location:
    return locate("4711", runs, knowledge.load())


@pytest.mark.parametrize("seen", ["nothing", "faint", "picture"])
def test_the_backlight_is_not_asked_after_its_own_screen(seen: str) -> None:
    found = _located(
        _run(1, Complaint.NO_PICTURE, {**DARK, "own-screen": seen, "start-code": "none"})
    )
    steps = (found.next_step, *found.alternatives)
    assert [one for one in steps if one and "bench.backlight" in one.checks] == []


@pytest.mark.parametrize("code", ["other", "processor", "graphics"])
def test_a_start_code_is_looked_up_once(code: str) -> None:
    filled: Answers = {
        **DARK,
        "external-screen": "dark",
        "own-screen": "nothing",
        "start-code": code,
    }
    run = _run(1, Complaint.NO_PICTURE, filled)
    found = _located(run)
    asked = [one.checks for one in (found.next_step, *found.alternatives) if one]
    assert [name for some in asked for name in some if name.startswith("bench.code")] == []
    left = [one for one in run.readings if one.outcome is Outcome.NOT_JUDGED]
    assert all(one.why_not and one.says for one in left)
    assert len(left) == {"other": 3, "processor": 2, "graphics": 1}[code]


def _board(found: Location) -> float:
    return max(c.of_unit or 0.0 for c in found.candidates if c.unit == "mainboard")


def test_a_short_is_measured_again_before_anything_is_bought() -> None:
    dead = _run(1, Complaint.NO_POWER, {**DEAD, "rail-resistance": 0.8})
    first = _located(dead).next_step
    assert first is not None
    assert first.checks == ("bench.rail-resistance",)
    assert "unplug" in first.why.lower()
    again = _located(dead, _run(2, Complaint.NO_POWER, {"rail-resistance": 0.9}))
    assert again.unit == "mainboard"
    assert again.next_step is not None
    assert "bench.rail-resistance" not in again.next_step.checks


def test_the_last_figure_of_a_rail_counts() -> None:
    dead = _run(1, Complaint.NO_POWER, {**DEAD, "rail-resistance": 0.8})
    short = _located(dead)
    healthy = _located(dead, _run(2, Complaint.NO_POWER, {"rail-resistance": 8200.0}))
    never = _located(_run(1, Complaint.NO_POWER, {**DEAD, "rail-resistance": 8200.0}))
    assert _board(short) > 0.95
    assert any("What was unplugged or exchanged" in words for words in healthy.explanation)
    assert not any("What was unplugged or exchanged" in words for words in short.explanation)
    assert _board(healthy) == pytest.approx(_board(never), abs=0.03)
    assert [one for one in healthy.evidence if one.outcome is Outcome.FAILED and "short" in one.says
            and one.weight > 0] == []  # fmt: skip


@pytest.mark.parametrize(
    ("complaint", "wrong", "right", "unit"),
    [
        # Nobody pressed it; nobody switched the picture over.
        (Complaint.NO_POWER, {**DEAD, "button": 4700.0}, {"button": 1.2}, "power-button"),
        (Complaint.NO_PICTURE, {**DARK, "external-screen": "dark", "own-screen": "nothing"},
         {"external-screen": "picture"}, "memory-module"),
    ],
)  # fmt: skip
def test_what_was_measured_wrong_is_corrected_by_measuring_again(
    complaint: Complaint, wrong: Answers, right: Answers, unit: str
) -> None:
    first = _run(1, complaint, wrong)
    before, after = _located(first), _located(first, _run(2, complaint, right))
    never = _located(_run(1, complaint, {**wrong, **right}))
    share = [max((c.probability for c in found.candidates if c.unit == unit), default=0.0)
             for found in (before, after, never)]  # fmt: skip
    assert share[0] > 2 * share[1]
    assert share[1] == pytest.approx(share[2], abs=0.03)


def test_what_the_old_board_showed_stays_shown() -> None:
    """Another board is another thing to measure: the old one's short is why it was replaced."""
    dead = _run(1, Complaint.NO_POWER, {**DEAD, "rail-resistance": 0.8})
    lives: Answers = {"signs-of-life": "yes", "rail-resistance": 8200.0}
    new = _run(2, Complaint.NO_POWER, lives, (BoardReplaced(),))
    found = _located(dead, new)
    assert any("0.8 ohm" in one.says and one.weight > 0 for one in found.evidence)


def test_a_picture_that_comes_and_goes_is_waited_for_by_eye() -> None:
    """One good look ends no case: the machine is left on, and looked at again."""
    dark = _run(1, Complaint.NO_PICTURE, {**DARK, "own-screen": "nothing", "start-code": "none"})
    good = {**DARK, "own-screen": "picture", "start-code": "none"}
    rest = ("reseat", "external measurement", "no spare", "no known-good machine", "set apart")
    runs = (dark, _run(2, Complaint.NO_PICTURE, good))
    found = locate("4711", runs, knowledge.load(), Resources(cannot=rest))
    steps = [one for one in (found.next_step, *found.alternatives) if one]
    soak = next(one for one in steps if one.action == Action.SOAK)
    assert "look each time" in soak.why
    assert not [one for one in steps if one.action == Action.REPLACE]


def test_it_is_asked_whether_the_shops_adapter_is_still_in() -> None:
    """What it took away is back, and nobody said a word: no verdict on either before that."""
    story = Story(Complaint.NOT_CHARGING)
    story.run(f"power.adapter adapter@{JACK}")
    spare = PartIs(place=JACK, name="the shop's", key="adapter:the shop's", known_good=True)
    story.run(told=(spare,))
    story.run(f"power.adapter adapter@{JACK}")
    step = story.locate().next_step
    assert step is not None
    assert (step.action, step.target) == (Action.ASK, JACK)
    story.run(f"power.adapter adapter@{JACK}")
    again = story.locate()
    assert Action.ASK not in [one.action for one in (again.next_step, *again.alternatives) if one]
    story.runs.pop()
    story.runs[-1] = msgspec.structs.replace(
        story.runs[-1], answers=(PartIs(place=JACK, name="own", key=f"adapter@{JACK}"),)
    )
    found = story.locate()
    assert found.candidates[0].component == f"adapter@{JACK}"
    assert found.next_step is None or found.next_step.action != Action.ASK


def test_what_measures_well_again_is_asked_for_before_it_is_ordered() -> None:
    """An adapter carries no number: the shop's own was plugged in, or a wall lead, untold."""
    dead: Answers = {**DEAD, "adapter-open-voltage": 0.0, "adapter-loaded-voltage": 0.0}
    well: Answers = {**GOOD, "signs-of-life": "yes"}
    first = _run(1, Complaint.NO_POWER, dead)
    step = _located(first, _run(2, Complaint.NO_POWER, well)).next_step
    assert step is not None
    assert (step.action, step.target) == (Action.ASK, JACK)
    spare = PartIs(place=JACK, name="the shop's", known_good=True)
    named = _located(first, _run(2, Complaint.NO_POWER, well, (spare,)))
    still = _located(first, _run(2, Complaint.NO_POWER, dead))
    for found in (named, still):
        assert found.next_step is None or found.next_step.action != Action.ASK
    third = _located(first, *(_run(n, Complaint.NO_POWER, well) for n in (2, 3)))
    assert third.next_step is None or third.next_step.action != Action.ASK


def test_an_adapter_that_breaks_down_is_tried_against_another_before_it_is_bought() -> None:
    """No controller that hangs pulls it down: the power is not taken away for it."""
    weak = _run(1, Complaint.NO_POWER, {**DEAD, "adapter-loaded-voltage": 6.2})
    step = _located(weak).next_step
    assert step is not None
    assert (step.action, step.target) == (Action.SWAP, f"adapter@{JACK}")
    none = Resources(cannot=("no spare",))
    bought = locate("4711", (weak,), knowledge.load(), none).next_step
    assert bought is not None and bought.action == Action.REPLACE


def test_a_machine_called_dead_that_shows_life_is_looked_at_before_it_is_opened() -> None:
    """Its screen was dark: from then on it is judged by what that worksheet measured."""
    first = _run(1, Complaint.NO_POWER, {**GOOD, "signs-of-life": "yes"})
    step = _located(first).next_step
    assert step is not None
    assert (step.action, step.checks) == (Action.MEASURE, ("bench.external-screen",))
    dark: Answers = {**DARK, "own-screen": "faint", "start-code": "none"}
    found = _located(first, _run(2, Complaint.NO_PICTURE, dark))
    assert found.candidates[0].component == "panel@panel:internal"
    assert found.next_step is not None and "glass" in found.next_step.cautions
    dead = _run(1, Complaint.NO_POWER, DEAD)
    again = _located(dead).next_step
    assert again is not None and again.checks != ("bench.external-screen",)


def test_a_bay_that_tells_of_no_battery_is_asked_about_once() -> None:
    """A machine with two bays: the second battery may lie at home."""
    story = Story(Complaint.NOT_CHARGING)
    story.run()
    bays = story.runs[-1].inventory
    second = Place(id="bay:BAT1", kind="battery-bay", name="battery bay 2", expects="battery",
                   presence=Presence.EMPTY)  # fmt: skip
    two = msgspec.structs.replace(bays, places=(*bays.places, second))
    story.runs[-1] = msgspec.structs.replace(story.runs[-1], inventory=two)
    step = story.locate().next_step
    assert step is not None and (step.action, step.target) == (Action.ASK, "bay:BAT1")
    told = (Remark(about="bay:BAT1", words="nothing"),)
    story.runs[-1] = msgspec.structs.replace(story.runs[-1], answers=told)
    step = story.locate().next_step
    assert step is None or step.action != Action.ASK


def test_what_shows_on_battery_is_looked_at_on_battery() -> None:
    """Once: a run without its adapter is one, and what fails by itself is worked on first."""
    told = Resources(on_battery=True)
    story = Story(Complaint.SWITCHES_OFF)
    story.run()
    step = locate("4711", story.runs, knowledge.load(), told).next_step
    assert step is not None
    assert (step.action, step.checks) == (Action.MEASURE, ("power.holds-load",))
    other = story.locate().next_step
    assert other is None or other.checks != step.checks
    hot = Story(Complaint.SWITCHES_OFF)
    hot.run("heat.fan cooling@cooling", "heat.temperature processor@socket:1")
    first = locate("4711", hot.runs, knowledge.load(), told).next_step
    assert first is not None and first.action == Action.CLEAN
    story.run()
    away = tuple(
        msgspec.structs.replace(r, outcome=Outcome.NOT_JUDGED) if r.check == "power.adapter" else r
        for r in story.runs[-1].readings
    )
    story.runs[-1] = msgspec.structs.replace(story.runs[-1], readings=away)
    after = locate("4711", story.runs, knowledge.load(), told).next_step
    assert after is None or after.checks != step.checks


@pytest.mark.parametrize("lent", [True, False])
def test_what_was_bought_stays_in_and_what_was_lent_does_not(lent: bool) -> None:
    """Nobody refits a broken panel to see it fail; the shop's own has to come out anyway."""
    story = Story(Complaint.WRONG_PICTURE)
    panel = "panel@panel:eDP-1"
    story.run(f"guided.display {panel}")
    told = PartIs(place="panel:eDP-1", name="another", known_good=lent)
    story.run(told=(told,))
    found = story.locate("external measurement")
    steps = [one.action for one in (found.next_step, *found.alternatives) if one]
    assert found.candidates[0].kind == "panel"
    assert (Action.PUT_BACK in steps) is lent
