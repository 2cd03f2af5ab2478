"""What is cleaned and looked into before no fault is said, or a system is put on anew.

Answers are common practice, no source.
"""

from __future__ import annotations

from livecheck.diagnosis.steps.actions import Action
from livecheck.records import CleanedPart, Complaint, LookedInside, Outcome
from tests.diagnosis.story import COOLING, DRIVE, PORT_1, Story, done, share, spare, steps

DUSTY = (
    "heat.temperature processor@socket:1",
    "processor.throttling processor@socket:1",
    f"heat.cooling {COOLING}",
)
OLD_TEST = f"storage.self-test-log {DRIVE.id}"


def test_what_switches_off_and_shows_nothing_is_cleaned_before_it_is_given_back() -> None:
    story = Story(Complaint.SWITCHES_OFF)
    for _ in range(14):
        story.run(depth="full")
    found = story.locate()
    assert (Action.CLEAN, COOLING) in done(found)
    story.run(told=(CleanedPart(part=COOLING),))
    assert (Action.CLEAN, COOLING) not in done(story.locate())


def test_an_old_entry_of_a_drives_log_goes_out_with_it_and_says_no_more_for_that() -> None:
    """The log is kept in the drive: that another drive's is clean was to be expected."""
    story = Story(Complaint.SLOW)
    for _ in range(3):
        story.run(OLD_TEST, *DUSTY)
    before = share(story.locate(), DRIVE.id)
    story.fit(spare("drive", PORT_1))
    story.run(*DUSTY)
    assert share(story.locate(), DRIVE.id) < 1.5 * before


def test_what_crashes_is_looked_into_before_its_system_is_put_on_anew() -> None:
    story = Story(Complaint.UNSTABLE)
    for _ in range(14):
        story.run(depth="full")
    found = [step.action for step in steps(story.locate())]
    assert Action.INSPECT in found[: found.index(Action.REPAIR_SYSTEM)]
    story.run(told=(LookedInside(),))
    assert Action.INSPECT not in {step.action for step in steps(story.locate())}
    assert all(r.outcome is Outcome.PASSED for r in story.runs[-1].readings)
