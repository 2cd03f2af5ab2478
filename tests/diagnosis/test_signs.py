"""A finding and the cause of the complaint are two questions.

What explains what is common practice of the trade, no source: a drive's bad link switches no
machine off, a narrow link loses no part, a wrong setting crashes nothing.
"""

from __future__ import annotations

import msgspec
import pytest

from livecheck import knowledge
from livecheck.diagnosis.signs import beside_complaint, for_complaint
from livecheck.plan import complaint_readings
from livecheck.records import (
    Complaint,
    ComplaintShows,
    Location,
    Outcome,
    Reading,
    Side,
    WhereShown,
)
from tests.diagnosis.story import (
    BATTERY,
    CARD,
    DRIVE,
    JACK,
    PORT_1,
    SLOT,
    Story,
    buys,
    part,
    says,
    share,
)

TABLES = knowledge.load()


def _after(complaint: Complaint, *failing: str, runs: int = 6) -> Location:
    """What is said after some runs in each of which the same checks fail."""
    story = Story(complaint)
    for _ in range(runs):
        story.run(*failing)
    return story.locate()


LINK = ("storage.link-errors", "storage.link-change", "storage.link-history")


@pytest.mark.parametrize(
    ("complaint", "failing", "there"),
    [
        (Complaint.SWITCHES_OFF, tuple(f"{name} {DRIVE.id}" for name in LINK), (DRIVE.id, PORT_1)),
        (
            Complaint.PART_MISSING,
            (f"pcie.link-width {CARD.id}", f"pcie.link-speed {CARD.id}"),
            (CARD.id, SLOT),
        ),
    ],
)
def test_nothing_is_worked_on_for_what_cannot_be_the_complaint(
    complaint: Complaint, failing: tuple[str, ...], there: tuple[str, ...]
) -> None:
    """However often it fails: the same in every run is a habit of the machine."""
    found = _after(complaint, *failing)
    assert buys(found) is None
    assert found.side not in (Side.DEVICE, Side.CONTROLLER)
    assert found.next_step is None or found.next_step.target not in there


@pytest.mark.parametrize(
    ("complaint", "failing"),
    [
        (Complaint.SLOW, (f"storage.link-errors {DRIVE.id}", f"storage.link-change {DRIVE.id}")),
        (
            Complaint.NOT_CHARGING,
            (f"power.adapter adapter@{JACK}", f"power.flex-losses adapter@{JACK}"),
        ),
    ],
)
def test_the_same_is_worked_on_where_it_can_be_the_complaint(
    complaint: Complaint, failing: tuple[str, ...]
) -> None:
    found = _after(complaint, *failing, runs=2)
    assert found.sides[Side.NO_FAULT.value] + found.sides[Side.SOFTWARE.value] < 0.5
    assert found.next_step is not None


def test_a_worn_battery_is_told_and_is_not_why_a_part_is_missing() -> None:
    found = _after(Complaint.PART_MISSING, f"power.battery-wear {BATTERY.id}")
    assert says(found, "Besides: battery")
    assert found.unit != "battery" and found.component != BATTERY.id


def test_a_drive_that_loses_data_is_told_whatever_the_complaint() -> None:
    """Blocks that cannot be read are no noise: the customer must hear of it."""
    found = _after(Complaint.NOT_CHARGING, f"storage.read-errors {DRIVE.id}")
    assert says(found, "drive") or found.component == DRIVE.id


def test_at_an_intake_without_a_complaint_everything_counts() -> None:
    assert not beside_complaint(TABLES, Complaint.INTAKE)
    assert for_complaint(TABLES, Complaint.INTAKE).checks == TABLES.checks


def test_every_row_of_the_signs_is_of_a_check() -> None:
    unused = [s for s in TABLES.model.signs if not any(n.startswith(s) for n in TABLES.checks)]
    assert not unused


def test_what_the_installed_system_logged_is_a_sign_of_the_same() -> None:
    beside = beside_complaint(TABLES, Complaint.SWITCHES_OFF)
    assert {"kernel.pcie", "history.pcie"} <= beside
    assert not {"kernel.thermal", "history.thermal"} & beside


def test_a_check_that_is_no_sign_looks_at_the_same_components() -> None:
    """It says less of each; whom it accuses is one table's business."""
    told = for_complaint(TABLES, Complaint.SWITCHES_OFF).checks["storage.link-errors"]
    before = TABLES.checks["storage.link-errors"]
    assert [row.who for row in told.blames] == [row.who for row in before.blames]
    assert all(a.detect < b.detect for a, b in zip(told.blames, before.blames, strict=True))


def test_a_small_adapter_is_no_sign_of_a_broken_lead() -> None:
    """Its rating is right in every run; the lead that comes and goes is as likely as the jack."""
    story = Story(Complaint.NOT_CHARGING)
    own = part("adapter", "INV-A1", JACK)
    story.fit(own)
    right = Reading(check="power.adapter-rating", at=own.id, outcome=Outcome.PASSED)
    for _ in range(4):
        story.run(f"power.adapter {own.id}", f"power.flex-losses {own.id}")
        last = story.runs[-1]
        story.runs[-1] = msgspec.structs.replace(last, readings=(*last.readings, right))
    found = story.locate()
    assert share(found, own.id) > 0.25


_OWN_WORDS = {"bench.life", "memory.modules-seen"}
"""Of life a slot says nothing; the controller stands on the path there."""


@pytest.mark.parametrize("rival", ["memory-slot", "memory-controller"])
def test_what_blames_a_module_blames_what_it_is_reached_through(rival: str) -> None:
    """A rival left out of a check is acquitted by each of its failures."""
    left_out = [
        check.name
        for check in TABLES.checks.values()
        if check.name not in _OWN_WORDS
        and {"kind:memory-module"} <= (named := {row.who for row in check.blames})
        and not {f"kind:{rival}", "place", "controller", "hardware"} & named
    ]
    assert not left_out


def test_a_complaint_seen_blames_all_hardware_alike() -> None:
    for name in ("complaint.inside", "complaint.outside"):
        assert "hardware" in {row.who for row in TABLES.checks[name].blames}


@pytest.mark.parametrize("complaint", [Complaint.NOT_CHARGING, Complaint.PART_MISSING])
def test_what_is_seen_at_once_and_only_inside_is_the_installed_system(complaint: Complaint) -> None:
    """Common practice, no source: what charges, and is there, outside the system is no hardware."""
    story = Story(complaint)
    for _ in range(5):
        story.run("complaint.inside machine")
        away = Reading(check="complaint.outside", at="machine", outcome=Outcome.PASSED)
        last = story.runs[-1]
        story.runs[-1] = msgspec.structs.replace(last, readings=(*last.readings, away))
    found = story.locate()
    assert found.side is Side.SOFTWARE
    assert found.candidates[1].probability < 0.5 * found.probability


def test_a_chance_that_is_another_under_a_complaint_is_that_there() -> None:
    def hardware(complaint: Complaint) -> float:
        rows = for_complaint(TABLES, complaint).checks["complaint.outside"].blames
        return next(row.detect for row in rows if row.who == "hardware")

    assert hardware(Complaint.UNSTABLE) == hardware(Complaint.INTAKE) < 0.6
    assert hardware(Complaint.NOT_CHARGING) > 0.8


def test_one_sighting_outside_among_many_inside_may_be_mistaken() -> None:
    """Something ordinary is taken for it now and then; twice in eight it is not (assumed)."""
    shares = {}
    for outside in (0, 1, 2):
        story = Story(Complaint.PART_MISSING)
        for where in (WhereShown.INSIDE,) * 6 + (WhereShown.OUTSIDE,) * outside:
            story.run()
            told = complaint_readings([ComplaintShows(where=where)])
            now = story.runs[-1]
            story.runs[-1] = msgspec.structs.replace(now, readings=(*now.readings, *told))
        shares[outside] = story.locate().sides[Side.SOFTWARE]
    assert shares[0] > shares[1] > shares[2]
    assert shares[1] > 0.3
    assert shares[2] < 0.15
