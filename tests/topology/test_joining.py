"""A part that does not answer keeps its id wherever it is put, and gets its name once it has one.

The answers are those of a bench (common practice, no source): who moves a silent drive to the
other bay and sees a drive there has moved the same drive.
"""

from __future__ import annotations

from livecheck.records import Complaint, PartIs
from livecheck.topology.history import configurations
from tests.diagnosis.story import DRIVE, PORT_1, PORT_2, USB_PORT, Story, part, spare

SILENT = "storage.port-answers {}"
UNSEEN = f"drive@{PORT_1}"


def _silent() -> Story:
    """A drive is in the first port and does not answer."""
    story = Story(Complaint.PART_MISSING)
    story.run(SILENT.format(PORT_1), silent=(PORT_1,))
    return story


def _drives(story: Story) -> list[dict[str, str]]:
    return [
        {place: str(one.parts[place]) for place in (PORT_1, PORT_2) if place in one.parts}
        for one in configurations(story.runs)
    ]


def test_a_silent_drive_that_answers_in_the_other_port_is_one_drive() -> None:
    story = _silent()
    story.fit(DRIVE, PORT_2)
    story.run()
    assert _drives(story) == [{PORT_1: DRIVE.id}, {PORT_2: DRIVE.id}]


def test_a_silent_drive_that_changed_over_with_another_is_one_drive() -> None:
    other = part("drive", "INV-D9", PORT_2)
    story = Story(Complaint.PART_MISSING)
    story.fit(other)
    story.run(SILENT.format(PORT_1), silent=(PORT_1,))
    story.fit(other, PORT_1)
    story.fit(DRIVE, PORT_2)
    story.run()
    assert _drives(story) == [
        {PORT_1: DRIVE.id, PORT_2: other.id}, {PORT_1: other.id, PORT_2: DRIVE.id}
    ]  # fmt: skip


def test_a_drive_that_is_silent_in_both_ports_is_one_drive() -> None:
    story = _silent()
    story.fit(DRIVE, PORT_2)
    story.run(SILENT.format(PORT_2), silent=(PORT_2,))
    first, second = _drives(story)
    assert first[PORT_1] == second[PORT_2]


def test_a_new_drive_that_was_told_of_is_not_the_silent_one() -> None:
    story = _silent()
    story.fit(DRIVE)
    story.run(told=(PartIs(place=PORT_1, name="new part"),))
    assert _drives(story) == [{PORT_1: UNSEEN}, {PORT_1: DRIVE.id}]
    story.run()
    assert _drives(story)[2] == {PORT_1: DRIVE.id}


def test_its_name_from_the_known_good_machine_is_its_name_in_both_ports() -> None:
    story = _silent()
    story.fit(DRIVE, PORT_2)
    story.run(SILENT.format(PORT_2), silent=(PORT_2,))
    named = PartIs(place=PORT_2, name=DRIVE.name, key=DRIVE.id)
    story.run(SILENT.format(PORT_2), silent=(PORT_2,), told=(named,), in_known_good_machine=True)
    assert _drives(story) == [{PORT_1: DRIVE.id}, {PORT_2: DRIVE.id}, {PORT_2: DRIVE.id}]


def test_the_shops_drive_in_the_other_port_is_another_drive() -> None:
    story = _silent()
    story.empty(PORT_1)
    story.fit(spare("drive", PORT_2))
    story.run()
    first, second = _drives(story)
    assert first == {PORT_1: UNSEEN} and second[PORT_2] != UNSEEN


def test_a_drive_beside_the_silent_one_is_another_drive() -> None:
    story = _silent()
    story.fit(DRIVE, PORT_2)
    story.fit(part("drive", "INV-D9", PORT_1))
    story.run(SILENT.format(PORT_1), silent=(PORT_1,))
    first, second = _drives(story)
    assert first == {PORT_1: UNSEEN} and second == {PORT_1: UNSEEN, PORT_2: DRIVE.id}


def test_a_drive_on_a_usb_port_is_another_drive() -> None:
    """The shop's own, as a rule."""
    story = _silent()
    story.empty(PORT_1)
    story.fit(part("drive", "INV-D9", USB_PORT))
    story.run()
    assert _drives(story) == [{PORT_1: UNSEEN}, {}]


def test_a_silent_drive_that_answers_elsewhere_leaves_its_place_to_be_looked_into() -> None:
    """Not the drive, which works, and no putting back of what is in the machine already."""
    story = _silent()
    story.fit(DRIVE, PORT_2)
    story.run()
    found = story.locate()
    likely = {c.component: c.probability for c in found.candidates}
    assert UNSEEN not in likely and max(likely, key=likely.__getitem__) != DRIVE.id
    assert found.sides["device"] < 0.2
