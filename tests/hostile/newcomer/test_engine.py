"""What words, orders and habits of a bench do to a verdict: nothing they should not.

Sources: that a posterior depends on what was seen and not on the order it is written in is
Bayes' rule; Chen, Cheung, Yiu 1998 for such relations as tests (from memory).
"""

from __future__ import annotations

import json
import math
import random
import time
from collections.abc import Sequence
from typing import Any, Final

import msgspec
import pytest

from livecheck.diagnosis import Resources, locate
from livecheck.diagnosis.steps.actions import Action
from livecheck.records import (
    Answer,
    BoardReplaced,
    CleanedPart,
    Complaint,
    Controller,
    FirstPartBack,
    Location,
    Outcome,
    PartIs,
    PluggedIn,
    Presence,
    Reading,
    RepairedPart,
    Run,
)
from tests.diagnosis import story
from tests.diagnosis.story import (
    CARD,
    DIMM_A,
    DRIVE,
    MODULE_A,
    PORT_1,
    PORT_2,
    SATA,
    Story,
    part,
    spare,
    tables,
)

SAME: Final = 0.01
Runs = Sequence[Run]


def _medium() -> Story:
    told = Story(Complaint.SLOW)
    told.run(f"storage.medium-errors {DRIVE.id}", f"storage.link-errors {DRIVE.id}")
    told.run(f"storage.link-errors {DRIVE.id}", reseated=(PORT_1,))
    told.fit(DRIVE, PORT_2)
    told.run(f"storage.medium-errors {DRIVE.id}")
    return told


def _memory() -> Story:
    told = Story(Complaint.UNSTABLE)
    told.run("memory.words machine", f"memory.module-words {MODULE_A.id}")
    told.empty(DIMM_A)
    told.run()
    return told


def _silent_card() -> Story:
    told = Story(Complaint.PART_MISSING)
    told.run(f"pcie.answers {story.SLOT}", silent=(story.SLOT,))
    told.fit(spare("wireless-card", story.SLOT))
    told.run(f"pcie.answers {story.SLOT}", silent=(story.SLOT,))
    return told


STORIES: Final = {"medium": _medium, "memory": _memory, "card": _silent_card}


def _found(runs: Runs, **given: Any) -> Location:
    found = locate("x", tuple(runs), tables(), Resources(**given))
    chances = [one.probability for one in found.candidates]
    assert all(0.0 <= one <= 1.0 for one in (*chances, found.probability))
    return found


def _chances(found: Location) -> dict[str, float]:
    return {one.component: one.probability for one in found.candidates}


def _alike(one: Location, other: Location) -> None:
    before, after = _chances(one), _chances(other)
    assert (one.side, one.unit) == (other.side, other.unit)
    for component, chance in before.items():
        assert after.get(component, 0.0) == pytest.approx(chance, abs=SAME), component


def _shuffled(run: Run, dice: random.Random) -> Run:
    def mixed(rows: Sequence[Any]) -> tuple[Any, ...]:
        return tuple(dice.sample(rows, len(rows)))

    held = run.inventory
    names = ("controllers", "places", "parts", "devices")
    own = {name: mixed(getattr(held, name)) for name in names}
    rows = {name: mixed(getattr(run, name)) for name in ("readings", "events", "answers")}
    return msgspec.structs.replace(run, inventory=msgspec.structs.replace(held, **own), **rows)


@pytest.mark.parametrize("name", STORIES)
def test_another_order(name: str) -> None:
    """G01: a record's rows are a set."""
    runs = STORIES[name]().runs
    for seed in range(3):
        dice = random.Random(seed)
        other = [_shuffled(run, dice) for run in dice.sample(runs, len(runs))]
        _alike(_found(runs), _found(other))


@pytest.mark.parametrize("name", STORIES)
def test_other_names(name: str) -> None:
    """G02: ids are compared and never taken apart; longer ones, in the other order of letters."""
    runs = STORIES[name]().runs
    ids = sorted(
        {
            row.id
            for run in runs
            for rows in (run.inventory.controllers, run.inventory.places, run.inventory.parts)
            for row in rows
        },
        key=len,
        reverse=True,
    )
    ids = [own for own in ids if own not in tables().kinds]
    new = {own: f"zz-{len(ids) - n:03d}" for n, own in enumerate(ids)}
    text = msgspec.json.encode(runs).decode()
    for own, other in new.items():
        text = text.replace(json.dumps(own), json.dumps(other))
    other_runs = msgspec.json.decode(text, type=list[Run])

    def shares(found: Location) -> dict[str, float]:
        held = [(one.kind, one.unit, one.side, one.probability) for one in found.candidates]
        return {"/".join(row[:3]) + f" {n}": row[3] for n, row in enumerate(sorted(held))}

    before, after = _found(runs), _found(other_runs)
    assert (before.side, before.unit) == (after.side, after.unit)
    assert shares(after) == pytest.approx(shares(before), abs=SAME)


@pytest.mark.parametrize("name", STORIES)
def test_other_numbers(name: str) -> None:
    """G03: runs between were taken out, or never saved."""
    runs = STORIES[name]().runs
    other = [msgspec.structs.replace(r, number=n) for r, n in zip(runs, (2, 30, 31), strict=False)]
    _alike(_found(runs), _found(other))


@pytest.mark.parametrize(
    "check",
    [
        "storage.health",
        "storage.read-errors",
        "storage.medium-lost",
        "storage.answers",
        "storage.self-test",
    ],
)
def test_one_more_check_passed(check: str) -> None:
    """G05: good news of a part is no news against it."""
    runs = _medium().runs
    without = [
        msgspec.structs.replace(r, readings=tuple(x for x in r.readings if x.check != check))
        for r in runs
    ]
    more = [*without[:-1], _with(without[-1], _reading(check, DRIVE.id, Outcome.PASSED))]
    assert _chances(_found(more)).get(DRIVE.id, 0.0) <= (
        _chances(_found(without)).get(DRIVE.id, 0.0) + 1e-9
    )


def _reading(check: str, at: str, outcome: Outcome = Outcome.FAILED, **more: Any) -> Reading:
    return Reading(check=check, at=at, outcome=outcome, **more)


def _with(run: Run, *readings: Reading) -> Run:
    return msgspec.structs.replace(run, readings=(*run.readings, *readings))


def test_another_board_and_nobody_said_so() -> None:
    """G06: the fault was the board's; the one that is in now passed everything."""
    told = Story(Complaint.PART_MISSING)
    told.run(f"storage.port-answers {PORT_1}", silent=(PORT_1,))
    told.fit(spare("drive", PORT_1))
    told.run(f"storage.port-answers {PORT_1}", silent=(PORT_1,))
    told.fit(DRIVE, PORT_1)
    told.board = "BRD-2"
    told.run()
    told.run()
    found = told.locate()
    assert story.buys(found) != "mainboard"
    assert not (found.unit == "mainboard" and found.probability > 0.3)


def test_the_drive_that_came_later() -> None:
    """G07: what its forerunner did is not its fault."""
    told = Story(Complaint.SLOW)
    told.run(f"storage.health {DRIVE.id}", f"storage.medium-errors {DRIVE.id}")
    new = part("drive", "INV-D2", PORT_1)
    told.fit(new)
    for _ in range(10):
        told.run()
    found = told.locate()
    assert _chances(found).get(new.id, 0.0) < 0.05
    # The old one may be named, as it is out; nothing more is to be bought.
    assert found.component in (None, DRIVE.id)
    assert Action.REPLACE not in {step.action for step in story.steps(found)}


def test_everything_fails() -> None:
    """G08: a power supply that sags, or a broken run: no one part is it for sure.

    What nothing but that part could make fail is left passed: it needs no other witness.
    """
    told = Story(Complaint.UNSTABLE)
    told.run()
    (run,) = told.runs
    own = {c.name for c in tables().checks.values() if c.direct or len(c.blames) < 2}
    all_bad = tuple(
        msgspec.structs.replace(r, outcome=Outcome.PASSED if r.check in own else Outcome.FAILED)
        for r in run.readings
    )
    found = _found([msgspec.structs.replace(run, readings=all_bad)])
    parts = {one.id for one in run.inventory.parts}
    for one in found.candidates:
        assert one.probability <= 0.9 or one.component not in parts or not one.bears, one
    assert found.side.value == "undetermined" or found.probability <= 0.9


def test_many_parts_and_runs() -> None:
    """G09: twelve controllers, two places each, parts that wander, dice for readings."""
    dice = random.Random(23)
    base = Story(Complaint.UNSTABLE)
    base.run()
    (run,) = base.runs
    held = run.inventory
    port = next(p for p in held.places if p.id == PORT_1)
    more = [Controller(id=f"pci:c{n}", kind="sata-controller", name="c") for n in range(12)]
    ports = [
        msgspec.structs.replace(
            port, id=f"ata:c{n}:{k}", controller=f"pci:c{n}", presence=Presence.SEEN
        )
        for n in range(12)
        for k in range(2)
    ]
    drives = [part("drive", f"INV-{n:04d}", "") for n in range(24)]
    runs = []
    for number in range(20):
        if number:
            a, b = dice.sample(range(24), 2)
            drives[a], drives[b] = drives[b], drives[a]
        placed = [
            msgspec.structs.replace(d, place=p.id) for d, p in zip(drives, ports, strict=True)
        ]
        found = msgspec.structs.replace(
            held,
            controllers=(*held.controllers, *more),
            places=(*held.places, *ports),
            parts=(*held.parts, *placed),
        )
        dealt = [
            _reading(check, d.id, dice.choice([Outcome.PASSED] * 9 + [Outcome.FAILED]))
            for d in placed
            for check in ("storage.link-errors", "storage.medium-errors")
        ]
        runs.append(msgspec.structs.replace(_with(run, *dealt), number=number + 1, inventory=found))
    begun = time.process_time()
    _found(runs)
    assert time.process_time() - begun < 60


def test_both_passed_and_failed() -> None:
    """G10: a probe that says two things has said neither."""
    told = Story(Complaint.SLOW)
    told.run()
    (run,) = told.runs
    bare = msgspec.structs.replace(
        run, readings=tuple(r for r in run.readings if r.check != "storage.health")
    )
    two = (
        _reading("storage.health", DRIVE.id),
        _reading("storage.health", DRIVE.id, Outcome.PASSED),
    )
    one, other = _found([_with(bare, *two)]), _found([_with(bare, *reversed(two))])
    _alike(one, other)
    assert one.probability <= 0.9 or one.side.value in ("no-fault", "undetermined")


def _held(run: Run, **rows: Any) -> Run:
    return msgspec.structs.replace(run, inventory=msgspec.structs.replace(run.inventory, **rows))


def _one() -> Run:
    told = Story(Complaint.SLOW)
    told.run(f"storage.medium-errors {DRIVE.id}", f"storage.health {DRIVE.id}")
    return told.runs[0]


@pytest.mark.parametrize("lost", ["places", "controllers"])
def test_a_place_that_is_not_there(lost: str) -> None:
    """G11: another program's record, or a hub that went away while the tree was made."""
    run = _one()
    found = _found([_held(run, **{lost: ()})] * 1)
    assert DRIVE.id in _chances(found)


@pytest.mark.parametrize("ring", [1, 2, 5])
def test_controllers_in_a_ring(ring: int) -> None:
    """G12: a record by hand; a tree that loops must not be walked for ever."""
    run = _one()
    names = [SATA, *(f"pci:r{n}" for n in range(ring - 1))]
    rows = [
        Controller(id=own, kind="sata-controller", name=own, parent=names[n - 1])
        for n, own in enumerate(names)
    ]
    others = [c for c in run.inventory.controllers if c.id != SATA]
    begun = time.process_time()
    _found([_held(run, controllers=(*rows, *others))])
    assert time.process_time() - begun < 10


def test_one_part_in_two_places() -> None:
    """G13: a drive seen by two ways at once, with nothing failed."""
    told = Story(Complaint.SLOW)
    told.run()
    (run,) = told.runs
    twice = (*run.inventory.parts, msgspec.structs.replace(DRIVE, place=PORT_2))
    found = _found([_held(run, parts=twice)])
    assert found.probability <= 0.9 or found.side.value == "no-fault"
    _found([_held(_one(), parts=twice)])


@pytest.mark.parametrize("change", [{"soldered": True}, {"kind": "optical-drive"}])
@pytest.mark.parametrize("where", [0, 1])
def test_a_part_that_is_told_otherwise_later(change: dict[str, Any], where: int) -> None:
    """G14, G15: firmware tables and drivers differ from start to start."""
    runs = [_one(), msgspec.structs.replace(_one(), number=2)]
    parts = tuple(
        msgspec.structs.replace(p, **change) if p.id == DRIVE.id else p
        for p in runs[where].inventory.parts
    )
    runs[where] = _held(runs[where], parts=parts)
    found = _found(runs)
    assert len([c for c in found.candidates if c.component == DRIVE.id]) <= 1


WORDS: Final = ("", "machine", "mainboard", "software", "contact", PORT_1, SATA, "firmware")


@pytest.mark.parametrize("word", WORDS)
def test_ids_that_mean_something_else(word: str) -> None:
    """G18: of the drive; readings follow it."""
    run = _one()
    text = msgspec.json.encode(run).decode().replace(json.dumps(DRIVE.id), json.dumps(word))
    _found([msgspec.json.decode(text, type=Run)])


def test_answers_against_each_other() -> None:
    """G19: typed in a hurry; the run stands."""
    said: tuple[Answer, ...] = (
        PartIs(place=PORT_1, name="bench spare", known_good=True),
        FirstPartBack(place=PORT_1),
        PluggedIn(place=PORT_1),
        BoardReplaced(),
        CleanedPart(part=DRIVE.id),
        RepairedPart(component=DRIVE.id),
        RepairedPart(component=PORT_1),
        PartIs(place=PORT_1, name="other", key=CARD.id),
        PartIs(place="nowhere", name="x", key="y"),
    )
    for seed in range(5):
        dice = random.Random(seed)
        told = Story(Complaint.SLOW)
        for _ in range(3):
            told.run(f"storage.medium-errors {DRIVE.id}", told=dice.sample(said, len(said)))
        _found(told.runs)


def test_places_and_parts_that_are_not_there() -> None:
    """G20: a typing mistake is no evidence."""
    run = _one()
    typed = msgspec.structs.replace(run, reseated=("ata:nowhere:9",), known_good=("serial:NONE",))
    _alike(_found([run]), _found([typed]))


@pytest.mark.parametrize("runs", [0, 1, 3])
def test_nothing_was_finished(runs: int) -> None:
    """G21: a machine that dies in each run; a case that was only opened."""
    told = [
        msgspec.structs.replace(_one(), number=n + 1, finished=False, readings=())
        for n in range(runs)
    ]
    found = _found(told)
    assert found.sentence
    assert story.buys(found) is None


@pytest.mark.parametrize("about", [99, 1, 0, -1])
def test_a_reading_about_a_run_that_is_none(about: int) -> None:
    """G22: no such run; its own; none."""
    run = _with(_one(), _reading("power.supply-held", "machine", of_run=about))
    _found([run])


ABSURD: Final = (
    {"covered": -1.0},
    {"covered": 7.0},
    {"covered": 1e308},
    {"covered": 0.0},
    {"spread": -1.0},
    {"spread": 1e308},
    {"value": 1e308},
    {"value": -1e308},
    {"value": 10**18},
    {"value": "many"},
    {"value": True},
    {"value": ""},
)


@pytest.mark.parametrize("absurd", ABSURD, ids=str)
@pytest.mark.parametrize("outcome", [Outcome.FAILED, Outcome.PASSED])
def test_figures_that_cannot_be(absurd: dict[str, Any], outcome: Outcome) -> None:
    """G23: of every check that has figures or grades."""
    run = _one()
    rows = [
        _reading(
            check.name,
            DRIVE.id if check.name.startswith("storage") else "machine",
            outcome,
            **absurd,
        )
        for check in tables().checks.values()
        if check.limits or check.grades
    ]
    found = _found([_with(run, *rows)])
    assert not math.isnan(found.probability)


def test_the_benchs_own_stick_fails() -> None:
    """G24: at a port of the customer's."""
    told = Story(Complaint.INTAKE)
    own = msgspec.structs.replace(part("usb-device", "INV-STICK", story.USB_PORT), bench_own=True)
    told.fit(own)
    checks = [name for name in tables().checks if name.startswith(("usb.", "kernel.usb"))]
    told.run(*(f"{name} {own.id}" for name in checks))
    found = told.locate()
    assert story.buys(found) is None
    assert found.side.value in ("undetermined", "no-fault", "software") or found.probability < 0.5


def test_the_customers_own_part_is_vouched_for() -> None:
    """G25: the wrong serial was typed; the drive condemns itself."""
    run = msgspec.structs.replace(_one(), known_good=(DRIVE.identity or "",))
    found = _found([run], spares=(DRIVE.identity or "",))
    assert DRIVE.id in {one.component for one in found.candidates[:2]}
    assert DRIVE.name in found.sentence
