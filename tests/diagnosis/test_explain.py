"""Every verdict as sentences, each traceable to readings."""

from __future__ import annotations

import re
from math import log

import msgspec
import pytest

from livecheck.diagnosis import locate
from livecheck.records import Complaint, Side
from tests.diagnosis.laptop import (
    DRIVE1,
    DRIVE2,
    NO_LEADS,
    PORT1,
    PORT2,
    check,
    drive,
    laptop,
    reading,
    run,
    tables,
)
from tests.diagnosis.story import DRIVE, Story

WORKS = "storage.works"
LINK = "storage.link-errors"
FAILED = "The drive did not come up"
RUNS = [
    run(
        1,
        laptop(drive(DRIVE1, PORT1)),
        reading(WORKS, DRIVE1, False, FAILED),
        reading(LINK, DRIVE1, False, "Frames arrived damaged"),
    ),
    run(
        2,
        laptop(drive(DRIVE2, PORT1)),
        reading(WORKS, DRIVE2, False, FAILED),
        reading(LINK, DRIVE2, False, "Frames arrived damaged"),
    ),
    run(
        3,
        laptop(drive(DRIVE1, PORT2)),
        reading(WORKS, DRIVE1, True, "The drive came up"),
        reading(LINK, DRIVE1, True, "No frame arrived damaged"),
    ),
    run(
        4,
        laptop(drive(DRIVE1, PORT1)),
        reading(WORKS, DRIVE1, False, FAILED),
        reading(LINK, DRIVE1, False, "Frames arrived damaged"),
    ),
]


def test_a_place_fault_is_told_as_a_bench_would() -> None:
    bench = msgspec.structs.replace(NO_LEADS, spares=("serial:INV-0002",))
    found = locate("t", RUNS, tables(), bench)
    assert found.side is Side.CONTROLLER
    assert found.sentence.startswith("The fault stays with the place: mainboard")
    assert "SATA port 1" in found.sentence
    told = found.explanation[0]
    assert "failed in SATA port 1" in told
    assert "passed in SATA port 2" in told
    assert f"{FAILED} (runs 1, 2 and 4)" in found.explanation[1]


def test_every_run_named_in_a_sentence_holds_such_a_reading() -> None:
    found = locate("t", RUNS, tables())
    evidence = {(e.run, e.says) for e in found.evidence}
    pattern = re.compile(r"(?:: |; )([^;:]+?) \(runs? ([\d, and]+)\)")
    quoted = 0
    for sentence in found.explanation:
        for says, numbers in pattern.findall(sentence):
            for number in re.findall(r"\d+", numbers):
                assert (int(number), says) in evidence
                quoted += 1
    assert quoted >= 3


def test_weights_are_log_likelihood_ratios() -> None:
    """One failure: (1 - (1-f)(1-d)) / f; one pass: 1 - d; by hand from the table's figures."""
    runs = [
        run(
            1,
            laptop(drive(DRIVE1, PORT1)),
            reading("storage.medium-errors", DRIVE1, False),
            reading("storage.health", DRIVE1, True),
        )
    ]
    found = locate("t", runs, tables())
    weights = {e.check: e.weight for e in found.evidence}
    assert weights["storage.medium-errors"] == pytest.approx(log(0.505 / 0.01), abs=1e-3)
    assert weights["storage.health"] == pytest.approx(log(0.6), abs=1e-3)


def test_failures_elsewhere_stay_in_the_evidence() -> None:
    worn = reading("power.battery-wear", "battery:INV-B1", False, "The battery holds 40 %")
    found = locate("t", [*RUNS[:2], run(3, RUNS[2].inventory, *RUNS[2].readings, worn)], tables())
    told = [e for e in found.evidence if e.check == "power.battery-wear"]
    assert [e.weight for e in told] == [0.0]
    assert any(s.startswith("Besides: battery") for s in found.explanation)


def test_why_no_board_is_named_yet() -> None:
    """A board that leads without proof is not ordered, and the reader learns what is lacking."""
    board = check("board.works", ("mainboard", 0.9), false_alarm=0.001)
    failed = reading("board.works", "mainboard", False, "The board does not answer")
    found = locate("t", [run(1, laptop(drive(DRIVE1, PORT1)), failed)], tables(board))
    assert found.side is Side.UNDETERMINED
    assert found.candidates[0].component == "mainboard"
    assert any("outlived a swap" in sentence for sentence in found.explanation)


def test_the_installed_system_is_explained() -> None:
    runs = [run(1, laptop(drive(DRIVE1, PORT1)), reading(WORKS, DRIVE1, True),
                complaint=Complaint.SLOW)]  # fmt: skip
    found = locate("t", runs, tables())
    assert any("installed system" in sentence for sentence in found.explanation)


def test_no_bare_certainty() -> None:
    failed = (reading(name, DRIVE1, False) for name in ("storage.health", "storage.medium-errors"))
    first = run(1, laptop(drive(DRIVE1, PORT1)), *failed)
    many = [first, *(msgspec.structs.replace(first, number=n) for n in range(2, 9))]
    found = locate("t", many, tables())
    assert "100" not in found.sentence
    assert "over 99\N{NO-BREAK SPACE}%" in found.sentence


def test_of_a_part_that_was_exchanged_it_is_said_that_it_is_out() -> None:
    failed = (reading(name, DRIVE1, False) for name in ("storage.health", "storage.medium-errors"))
    passed = (reading(name, DRIVE2, True) for name in ("storage.health", "storage.medium-errors"))
    first = run(1, laptop(drive(DRIVE1, PORT1)), *failed)
    last = run(2, laptop(drive(DRIVE2, PORT1)), *passed)
    assert "out of the machine" not in locate("t", [first], tables()).sentence
    assert "at fault" in (told := locate("t", [first, last], tables()).sentence)
    assert "out of the machine" in told


def test_what_failed_is_told_though_the_installed_system_leads() -> None:
    """A machine at its limit that its owner calls slow: heat is seen, and may be its habit."""
    story = Story(Complaint.SLOW)
    story.run("heat.temperature processor@socket:1", "kernel.thermal machine")
    found = story.locate()
    assert found.candidates[0].side is Side.SOFTWARE and found.component is None
    assert "what failed points most at cooling" in found.sentence
    sound = Story(Complaint.SLOW)
    sound.run()
    assert "points most" not in sound.locate().sentence


def test_where_the_complaint_was_seen_points_at_no_part() -> None:
    """It was seen in the installed system, which any part could be behind: none is named."""
    story = Story(Complaint.SLOW)
    story.run("complaint.inside machine")
    assert "nothing that was tested points at a part" in story.locate().sentence
    stalls = Story(Complaint.SLOW)
    stalls.run("complaint.inside machine", f"storage.read-stalls {DRIVE.id}")
    assert f"points most at {DRIVE.name}" in stalls.locate().sentence


def test_what_may_come_out_agrees_with_the_verdict() -> None:
    """Whatever comes out, the unit's shares average to what it has now (total probability)."""
    story = Story(Complaint.NO_POWER)
    for _ in range(2):
        story.run("bench.life machine", "bench.rail-resistance mainboard")
    found = story.locate()
    assert found.next_step is not None
    told = [re.search(r"mainboard, (\d+)", one.means) for one in found.next_step.outcomes]
    shares = [int(one[1]) for one in told if one is not None]
    mean = sum(o.probability * s for o, s in zip(found.next_step.outcomes, shares, strict=True))
    assert mean == pytest.approx(100 * found.probability, abs=1.5)
