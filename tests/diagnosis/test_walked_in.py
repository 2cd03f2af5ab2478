"""What forty machines that walked in taught the engine; common practice of the trade, no source."""

from __future__ import annotations

from livecheck import intake, judgement, knowledge
from livecheck.diagnosis import Resources, locate, worksheet, worksheet_machine
from livecheck.diagnosis.steps.actions import Action
from livecheck.records import Complaint, Location, PartIs, Run, ToldLine
from tests.diagnosis.story import (
    DIMM_A,
    DRIVE,
    Story,
    buys,
    part,
    plain,
    says,
    share,
    steps,
    tables,
)

SOLDERED = part("memory-module", "INV-MS", DIMM_A, soldered=True)
SPEAKER = plain("speaker", "internal:speaker")


def test_no_module_is_moved_to_where_one_is_soldered() -> None:
    """There is nothing to take out and no place to put it in."""
    story = Story(Complaint.UNSTABLE)
    story.fit(SOLDERED)
    story.run("memory.error-counts memory-module:INV-MB")
    moved = [one for one in steps(story.locate()) if one.action == Action.MOVE]
    assert [one for one in moved if DIMM_A in (one.to, one.target)] == []
    free = Story(Complaint.UNSTABLE)
    free.run("memory.error-counts memory-module:INV-MB")
    assert [one.to for one in steps(free.locate()) if one.action == Action.MOVE] == [DIMM_A]


def test_what_was_told_of_when_it_shows_weighs() -> None:
    """On battery alone: the battery is weighed likelier than the adapter, and it is said why."""
    sheet = tables().intake
    told = (ToldLine(about="when", words="on battery"),)
    story = Story(Complaint.SWITCHES_OFF)
    story.run()
    plain = story.locate()
    leant = locate("story", story.runs, tables(), Resources(leans=intake.leans(told, sheet)))
    assert share(leant, "battery") > 2 * share(plain, "battery")
    assert share(leant, "adapter") < share(plain, "adapter") / 2
    assert any("When it shows: on battery" in words for words in leant.explanation)


def test_every_word_that_weighs_is_offered_and_names_a_kind() -> None:
    """A word nobody can choose, or a kind that no table has, would weigh nothing."""
    rows = [row for row in tables().intake.values() if row.weighs]
    assert rows
    for row in rows:
        for word, factors in row.weighs.items():
            # Words of the customer's own are not chosen.
            offered = [one for one in row.choices if word in one]
            assert offered or not row.choices, (row.about, word)
            assert set(factors) <= set(tables().kinds)
            assert all(0.05 <= factor <= 10 and factor != 1.0 for factor in factors.values())


def _missing(*failed: str) -> Location:
    """A machine with keyboard and speaker in which something does not do its work."""
    story = Story(Complaint.PART_MISSING)
    story.fit(SPEAKER)
    story.fit(plain("keyboard", "internal:keyboard"))
    story.run(*failed)
    return story.locate()


def test_what_failed_by_hand_is_what_is_missed() -> None:
    """A speaker heard to be dead from the stick leads before system and drive, as it should."""
    found = _missing(f"guided.sound-output {SPEAKER.id}")
    assert found.candidates[0].component == SPEAKER.id
    assert share(found, "software") < 0.2 and share(found, "drive") < 0.1
    assert not says(_missing(), "failed by hand")


def test_a_drive_that_answers_is_seldom_what_is_missing() -> None:
    """Unless something failed at it."""
    plain_share = share(_missing(), DRIVE.id)
    assert plain_share < 0.08
    assert share(_missing(f"storage.medium-errors {DRIVE.id}"), DRIVE.id) > 4 * plain_share


def test_no_keyboard_is_tried_in_another_machine() -> None:
    """It fits no machine but its own model's."""
    found = _missing("guided.keyboard keyboard@internal:keyboard")
    assert Action.KNOWN_GOOD_MACHINE not in {step.action for step in steps(found)}


LABEL = '[label]\nvolts = 19.5\namps = 3.33\nsupply = "barrel"\n[answers]\n'


def _measured(
    *sheets: str, spare: bool = False, complaint: Complaint = Complaint.NO_POWER
) -> Location:
    """Worksheets of a dead machine, one after the other; ``spare``: the last by the shop's."""
    sheet = knowledge.worksheet()
    runs: list[Run] = []
    for number, answers in enumerate(sheets, 1):
        filled = worksheet.parse(LABEL + answers, sheet)
        own = PartIs(place="jack:AC", name="known-good spare", known_good=True)
        last = spare and number == len(sheets)
        runs.append(
            Run(
                number=number,
                started=f"2026-01-01T{number:02d}:00:00Z",
                complaint=complaint,
                depth="quick",
                inventory=worksheet_machine.as_it_was(runs),
                readings=worksheet.judge(filled.answers, filled.label, sheet),
                answers=(own,) if last else (),
                finished=True,
            )
        )
    return locate("story", runs, tables())


DARK = 'adapter-lamp = "dark in the air too"\n'
OUT = 'adapter-lamp = "goes out when it is plugged in"\n'
SAME = 'signs-of-life = "no"\nstarts-without-battery = "same"\n'


def test_a_lamp_that_is_dark_accuses_the_adapter_and_is_measured_before_one_is_bought() -> None:
    """A lamp can be dead by itself: nothing is ordered on its word."""
    found = _measured(DARK)
    assert found.candidates[0].kind == "adapter"
    assert found.next_step is not None and found.next_step.action == Action.MEASURE
    assert "meter" in found.next_step.cautions


def test_a_lamp_that_goes_out_acquits_the_adapter_and_asks_for_the_short() -> None:
    """An adapter cuts itself off at a short behind its plug."""
    found = _measured(OUT + SAME)
    assert share(found, "mainboard", "power-controller") > 5 * share(found, "adapter")
    assert says(found, "short to ground") and buys(found) is None


def test_power_is_not_taken_away_twice() -> None:
    """The worksheet's look without the battery discharges the board: it is done already."""
    open_ = _measured(OUT + 'signs-of-life = "no"\n')
    assert share(_measured(OUT + SAME), "hung-controller") < share(open_, "hung-controller") / 2
    told = {step.action for step in steps(_measured(OUT + SAME + 'rail-resistance = "9k"\n'))}
    assert Action.POWER_AWAY not in told


def test_what_fails_at_the_shops_adapter_as_well_is_doubted_first() -> None:
    """Two dead adapters on one bench: its socket, or the meter."""
    dead = "adapter-open-voltage = 0.0\nadapter-loaded-voltage = 0.0\n"
    assert not says(_measured(dead), "mains socket, the meter")
    assert says(_measured(dead, dead, spare=True), "mains socket, the meter")


def test_what_shows_seldom_asks_for_the_log_of_the_installed_system() -> None:
    """Four hours of soak meet a fault of once in forty hours with 10 %: 1 - exp(-4 / 40)."""
    sheet = tables().intake
    assert judgement.rare([ToldLine(about="often", words="rarely")], sheet)
    assert not judgement.rare([ToldLine(about="often", words="several times a day")], sheet)
    assert not judgement.rare([ToldLine(about="often", words="once")], sheet)
    story = Story(Complaint.UNSTABLE)
    story.run()
    seldom = locate("story", story.runs, tables(), Resources(rare=True))
    assert says(seldom, "livecheck read-log") and not says(story.locate(), "livecheck read-log")


def test_a_flat_coin_cell_is_told_whatever_leads() -> None:
    """It is renewed for little money, and its voltage leaves no doubt."""
    dark = 'signs-of-life = "yes"\nexternal-screen = "dark"\nown-screen = "nothing"\n'
    flat = _measured(dark + "coin-cell-voltage = 1.1\n", complaint=Complaint.NO_PICTURE)
    assert says(flat, "Besides: coin cell")
    good = _measured(dark + "coin-cell-voltage = 3.0\n", complaint=Complaint.NO_PICTURE)
    assert not says(good, "Besides: coin cell")
