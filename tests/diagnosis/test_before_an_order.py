"""What is not seen any more is not bought, and what is noise at one place accuses nobody.

Answers are common practice, no source: what works once it was without power, or was put in
anew, is watched before anything is ordered for it.
"""

from __future__ import annotations

from livecheck.diagnosis.steps.actions import Action
from livecheck.records import AllPowerAway, Complaint, FirmwareFlashed, SettingPutRight, Side
from tests.diagnosis.story import CARD, SLOT, Story, plain, share, steps

SILENT = (f"wireless.present {SLOT}", f"pcie.answers {SLOT}")


def test_a_card_that_answers_once_all_power_was_away_hung() -> None:
    """What passes at the drive and the battery says nothing about a radio that hangs."""
    story = Story(Complaint.PART_MISSING)
    story.fit(plain("wireless-card", SLOT, soldered=True))
    story.run(*SILENT, silent=[SLOT])
    story.run(*SILENT, silent=[SLOT])
    story.run(told=(AllPowerAway(),))
    found = story.locate()
    assert share(found, "hung-controller") > 0.4
    assert Action.REPLACE not in {step.action for step in steps(found)}


def test_a_setting_is_put_right_once_more_after_the_firmware_was_written() -> None:
    """Written anew, all settings are what its maker chose."""
    held = f"wireless.blocked {CARD.id}"
    told = SettingPutRight(component=CARD.id)
    wanted = (Action.SETTING, CARD.id)
    story = Story(Complaint.PART_MISSING)
    story.run(held)
    story.run(held, told=(told,))
    assert wanted not in {(step.action, step.target) for step in steps(story.locate())}
    story.run(held, told=(FirmwareFlashed(),))
    assert wanted in {(step.action, step.target) for step in steps(story.locate())}


def test_one_link_that_always_logs_errors_does_not_outvote_where_the_complaint_shows() -> None:
    """A card whose port logs errors in every run and does no harm, beside a fault of the system."""
    story = Story(Complaint.PART_MISSING)
    noise = f"kernel.pcie {CARD.id}"
    story.run(noise, "complaint.inside machine")
    sure = share(story.locate(), "software")
    for _ in range(3):
        story.run(noise)
    found = story.locate()
    assert found.sides[Side.SOFTWARE] > 0.8 * sure
    assert share(found, SLOT) < 0.15


def test_what_fails_once_more_after_it_was_without_power_did_not_hang() -> None:
    """A hang stays until power is away, and does not come back by itself an hour later."""
    story = Story(Complaint.PART_MISSING)
    story.fit(plain("wireless-card", SLOT, soldered=True))
    for _ in range(2):
        story.run(*SILENT, silent=[SLOT])
    story.run(told=(AllPowerAway(),))
    hung = share(story.locate(), "hung-controller")
    for _ in range(2):
        story.run()
        story.run(*SILENT, silent=[SLOT])
    found = story.locate()
    assert share(found, "hung-controller") < 0.2 * hung
    assert found.candidates[0].component != "hung-controller"


def test_a_silent_part_is_without_power_before_another_is_tried() -> None:
    story = Story(Complaint.PART_MISSING)
    story.run(*SILENT, silent=[SLOT])
    story.run(*SILENT, silent=[SLOT], reseated=(SLOT,))
    actions = [step.action for step in steps(story.locate())]
    assert Action.POWER_AWAY in actions
    assert Action.SWAP not in actions[: actions.index(Action.POWER_AWAY)]
