"""The next step: exact small cases of the theory, and what a bench would be told."""

from __future__ import annotations

from types import SimpleNamespace

import msgspec
import pytest

from livecheck.diagnosis import Resources, locate
from livecheck.diagnosis.steps import last_resort
from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.steps.costs import Bench, expected_repair, opened
from livecheck.diagnosis.steps.prediction import PredictedTest, results
from livecheck.diagnosis.verdict import RepairGroup
from livecheck.records import CleanedPart, Complaint, NextStep, Place, Run, Side, Swap
from livecheck.topology.graph import build
from livecheck.topology.history import configurations
from tests.diagnosis.laptop import (
    CARD,
    DRIVE1,
    DRIVE2,
    MODULE1,
    NO_LEADS,
    PORT1,
    PORT2,
    SATA,
    SLOT,
    check,
    drive,
    laptop,
    reading,
    run,
    tables,
)

WORKS = "storage.works"
SPARE = ("serial:INV-0002",)
LOSSES = tables().bench.losses


def test_expected_cost_of_a_repair_sequence() -> None:
    """Worked by hand: P/C order (Kadane & Simon 1977), ECR (Breese & Heckerman 1996).

    p = .5, .3, .2 at cost 10, 3, 8: ratios .05, .1, .025, so the order is second,
    first, third: 3 + (1 - .3) * 10 + (1 - .3 - .5) * 8 = 11.6.
    """
    repairs = [(0.5, 10.0), (0.3, 3.0), (0.2, 8.0)]
    assert expected_repair(repairs, 0.0, LOSSES) == pytest.approx(11.6)
    # Any other order is dearer: in falling probability it is 10 + .5 * 3 + .2 * 8 = 13.1.
    assert expected_repair(repairs, 0.0, LOSSES) < 13.1


def test_what_no_repair_cures_costs_the_escalation() -> None:
    left = 10 + LOSSES.comeback.minutes * 0.4 + 0.4 * LOSSES.out_of_candidates.minutes
    assert expected_repair([(0.6, 10.0)], 0.0, LOSSES) == pytest.approx(left)


def test_outcomes_of_a_trial_by_hand() -> None:
    """Two suspects at .6 and .4; the trial looks at the first only and shows it in 80 %."""
    test = PredictedTest(at="P", misses={0: 0.2}, false_alarm=0.0)
    belief = (((0,), 0.6), ((1,), 0.4))
    fails, passes = results([test], belief)
    assert fails.probability == pytest.approx(0.48)
    assert dict(fails.sets)[(0,)] == pytest.approx(1.0)
    assert dict(passes.sets)[(0,)] == pytest.approx(0.12 / 0.52)


def _steps(runs: list[Run], cannot: tuple[str, ...] = ()) -> list[NextStep]:
    found = locate("t", runs, tables(), Resources(cannot=cannot))
    return [step for step in (found.next_step, *found.alternatives) if step is not None]


ONE_FAIL = [run(1, laptop(drive(DRIVE1, PORT1)), reading(WORKS, DRIVE1, False))]


def test_first_step_is_a_cheap_trial_of_the_failing_path() -> None:
    step = _steps(ONE_FAIL)[0]
    assert step.action in (Action.SWAP, Action.RESEAT, Action.MOVE)
    assert DRIVE1 in step.target or step.target == PORT1
    assert len(step.outcomes) == 2
    assert sum(o.probability for o in step.outcomes) == pytest.approx(1.0)
    assert step.why.endswith(".")
    assert all(o.means for o in step.outcomes)
    assert "static" in step.cautions


def test_predicted_outcomes_come_true_in_the_model() -> None:
    """What the swap's outcome is said to mean is what the engine says after that outcome."""
    step = next(s for s in _steps(ONE_FAIL, ("reseat",)) if s.action == Action.SWAP)
    spare = laptop(drive(DRIVE2, PORT1))
    after = locate(
        "t", [*ONE_FAIL, run(2, spare, reading(WORKS, DRIVE2, True), known_good=SPARE)], tables()
    )
    passes = next(o for o in step.outcomes if o.result == "passes")
    said = float(passes.means.rsplit(",", 1)[1].split("%")[0]) / 100
    assert "drive INV-0001" in passes.means
    assert after.candidates[0].component == DRIVE1
    # The prediction leaves out the spare's own small chances.
    assert after.candidates[0].probability == pytest.approx(said, abs=0.03)


def test_never_proposes_what_the_bench_cannot_do() -> None:
    for barred in ("no spare: drive", "swap with known-good", "no spare"):
        assert all(s.action != Action.SWAP for s in _steps(ONE_FAIL, cannot=(barred,)))
    every = tuple(Action)
    assert all(
        s.action in (Action.REPLACE, Action.REPAIR_SYSTEM) for s in _steps(ONE_FAIL, cannot=every)
    )


def test_covers_are_opened_once_a_sitting() -> None:
    knowledge = tables()
    graph = build(configurations(ONE_FAIL), knowledge)
    closed = Bench(graph=graph, knowledge=knowledge)
    cover = knowledge.bench.covers["bottom cover"].minutes
    assert closed.covers(["drive"]) == cover
    assert closed.covers(["drive", "memory-module", "wireless-card"]) == cover
    swap = Swap(
        from_run=1, to_run=2, change="swapped", place=PORT1, before="a", after="b",
        part_kind="drive",
    )  # fmt: skip
    open_bench = msgspec.structs.replace(closed, opened=opened([swap], knowledge))
    assert open_bench.covers(["drive", "memory-module"]) == 0
    # The mainboard lies behind more than the bottom cover.
    assert open_bench.covers(["mainboard"]) == knowledge.bench.covers["mainboard out"].minutes


def test_a_proven_device_fault_with_the_part_out_needs_no_step() -> None:
    runs = [
        *ONE_FAIL,
        run(2, laptop(drive(DRIVE2, PORT1)), reading(WORKS, DRIVE2, True), known_good=SPARE),
        run(3, laptop(drive(DRIVE1, PORT1)), reading(WORKS, DRIVE1, False)),
        run(4, laptop(drive(DRIVE2, PORT1)), reading(WORKS, DRIVE2, True), known_good=SPARE),
    ]
    found = locate("t", runs, tables())
    assert (found.side, found.component) == (Side.DEVICE, DRIVE1)
    assert found.next_step is None


def test_a_named_part_still_fitted_is_to_be_replaced() -> None:
    runs = [
        *ONE_FAIL,
        run(2, laptop(drive(DRIVE2, PORT1)), reading(WORKS, DRIVE2, True), known_good=SPARE),
        run(3, laptop(drive(DRIVE1, PORT2)), reading(WORKS, DRIVE1, False)),
    ]
    step = _steps(runs)[0]
    assert (step.action, step.target, step.money) == (Action.REPLACE, DRIVE1, 1.5)


def test_reflashing_is_the_last_try_before_a_board() -> None:
    """Common practice, no source."""
    runs = [
        run(
            1,
            laptop(drive(DRIVE1, PORT1)),
            reading(WORKS, DRIVE1, False),
            reading("storage.link-errors", DRIVE1, False),
        ),
        run(
            2,
            laptop(drive(DRIVE1, PORT2)),
            reading(WORKS, DRIVE1, True),
            reading("storage.link-errors", DRIVE1, True),
        ),
        run(
            3,
            laptop(drive(DRIVE2, PORT1)),
            reading(WORKS, DRIVE2, False),
            reading("storage.link-errors", DRIVE2, False),
            known_good=SPARE,
        ),
        run(
            4,
            laptop(drive(DRIVE2, PORT1)),
            reading(WORKS, DRIVE2, False),
            reading("storage.link-errors", DRIVE2, False),
            known_good=SPARE,
            reseated=(PORT1,),
        ),
    ]
    steps = _steps(runs, NO_LEADS.cannot)
    assert [s.action for s in steps][-2:] == [Action.REPLACE, Action.REFLASH]
    assert "flash" in steps[-1].cautions
    cannot = (*NO_LEADS.cannot, "re-flash firmware")
    assert _steps(runs, cannot=cannot)[-1].action == Action.REPLACE


def test_a_slot_is_cleaned_before_a_board_is_ordered_for_it() -> None:
    """Common practice, no source: dirt in an edge connector survives a swap."""
    mostly_slot = check("card.link", ("place", 0.95), ("part", 0.2), false_alarm=0.0005)
    other = CARD.replace("00:01", "00:02")
    base = laptop()
    parts = tuple(
        msgspec.structs.replace(p, id=other, identity="mac:02:00:00:00:00:02")
        if p.id == CARD
        else p
        for p in base.parts
    )
    swapped = msgspec.structs.replace(base, parts=parts)
    present = [reading("pcie.answers", SLOT, True)]
    runs = [
        run(1, base, reading("card.link", CARD, False), *present),
        run(2, swapped, reading("card.link", other, False), *present, known_good=(other,)),
        run(3, swapped, reading("card.link", other, False), *present, known_good=(other,)),
    ]
    found = locate("t", runs, tables(mostly_slot))
    assert found.candidates[0].component == SLOT
    assert found.next_step is not None
    assert (found.next_step.action, found.next_step.target) == (Action.CLEAN_CONTACTS, SLOT)
    again = run(
        4, swapped, reading("card.link", other, False), *present, reseated=(SLOT,),
        known_good=(other,),
    )  # fmt: skip
    after = locate("t", [*runs, again], tables(mostly_slot)).next_step
    assert after is not None
    assert after.action != Action.RESEAT


def test_cleaning_comes_before_a_new_cooling_assembly() -> None:
    inventory = laptop(drive(DRIVE1, PORT1))
    failed = [reading("heat.trip", "machine", False)] * 2
    other = check("heat.fan", ("kind:cooling", 0.5))
    complaint = Complaint.SWITCHES_OFF
    runs = [
        run(1, inventory, *failed, reading("heat.fan", "machine", False), complaint=complaint),
    ]
    found = locate("t", runs, tables(other))
    assert found.component == "cooling@cooling"
    assert found.next_step is not None
    steps = [s.action for s in (found.next_step, *found.alternatives)]
    assert steps[:2] == [Action.CLEAN, Action.REPLACE]
    cleaned = CleanedPart(part="cooling@cooling")
    again = run(2, inventory, reading("heat.trip", "machine", False), answers=(cleaned,))
    cured = [
        run(
            number,
            inventory,
            reading("heat.trip", "machine", True),
            reading("heat.fan", "machine", True),
            answers=(cleaned,) if number == 2 else (),
        )
        for number in (2, 3)
    ]
    done = locate("t", [*runs, *cured], tables(other))
    assert (done.component, done.unit, done.next_step) == ("cooling@cooling", None, None)
    assert "Nothing to order" in done.sentence
    later = locate("t", [*runs, again], tables(other)).next_step
    assert later is None or later.action != Action.CLEAN


ANY = check(
    "machine.starts",
    *((f"kind:{kind}", 0.9) for kind in ("drive", "memory-module", "wireless-card", "battery")),
    ("mainboard", 0.9),
    false_alarm=0.001,
)


def test_many_open_parts_call_for_the_minimum_configuration_and_halves_back() -> None:
    options = ("swap with known-good", "reseat", "test in known-good machine", "longer soak")
    knowledge = tables(ANY)
    full = laptop(drive(DRIVE1, PORT1))
    first = [
        run(1, full, reading("machine.starts", "machine", False), complaint=Complaint.UNSTABLE)
    ]
    found = locate("t", first, knowledge, Resources(cannot=options))
    steps = [s for s in (found.next_step, *found.alternatives) if s is not None]
    minimum = next(s for s in steps if s.action == Action.MINIMUM)
    assert set(minimum.parts) == {DRIVE1, "wireless-card:02:00:00:00:00:01", "battery:INV-B1"}
    assert MODULE1 not in minimum.parts
    bare = msgspec.structs.replace(
        full, parts=tuple(p for p in full.parts if p.id not in minimum.parts)
    )
    passed = run(2, bare, reading("machine.starts", "machine", True), complaint=Complaint.UNSTABLE)
    found = locate("t", [*first, passed], knowledge, Resources(cannot=options))
    steps = [s for s in (found.next_step, *found.alternatives) if s is not None]
    half = next(s for s in steps if s.action in (Action.HALF_BACK, Action.PUT_BACK))
    assert set(half.parts) | {half.target} <= {*minimum.parts, "machine"}


def test_move_goes_to_a_place_of_the_same_kind() -> None:
    step = next(s for s in _steps(ONE_FAIL) if s.action == Action.MOVE)
    assert (step.target, step.to) == (DRIVE1, PORT2)
    alone = laptop(drive(DRIVE1, PORT1))
    one_port = msgspec.structs.replace(
        alone,
        places=tuple(
            p if p.id != PORT2 else Place(id="x:1", kind="card-slot", name="slot", controller=SATA)
            for p in alone.places
        ),
    )
    steps = _steps([run(1, one_port, reading(WORKS, DRIVE1, False))])
    assert all(s.action != Action.MOVE for s in steps)


@pytest.mark.parametrize(("other", "fits"), [("drive", False), ("wireless-card", True)])
def test_no_card_is_moved_to_a_slot_made_for_another_kind(other: str, fits: bool) -> None:
    """An M.2 card of key E does not go into a socket of key M (DSP0134 7.10.1, 15h and 17h).

    The firmware's table of slots tells which is which; where it says nothing, it may fit.
    """
    found = laptop()
    slots = [
        msgspec.structs.replace(place, id=name, expects=made_for)
        for place in found.places
        if place.id == SLOT
        for name, made_for in ((SLOT, "wireless-card"), ("slot:pci:0000:00:1c.4", other))
    ]
    others = [place for place in found.places if place.id != SLOT]
    told = msgspec.structs.replace(found, places=(*others, *slots))
    cannot = ("reseat", "swap with known-good", "test in known-good machine")
    steps = _steps([run(1, told, reading("pcie.answers", CARD, False))], cannot)
    assert any(s.action == Action.MOVE for s in steps) == fits


def _judged(board: float, button: float) -> tuple[SimpleNamespace, SimpleNamespace]:
    """A board and a power button that no trial tells apart any more."""
    plain = RepairGroup(
        members=(0,),
        lead=0,
        side=Side.CONTROLLER,
        unit="mainboard",
        probability=board,
        relevant=True,
        touched=True,
        proven=True,
    )
    other = msgspec.structs.replace(
        plain, members=(1,), lead=1, unit="power-button", probability=button
    )
    parts = [SimpleNamespace(id="mainboard"), SimpleNamespace(id="connector:power-button")]
    graph = SimpleNamespace(components=parts)
    bench = SimpleNamespace(graph=graph, knowledge=tables())
    now = SimpleNamespace(treated={})
    here = SimpleNamespace(symptoms=("it fails",), bench=bench, now=now)
    return here, SimpleNamespace(groups=(plain, other))


@pytest.mark.parametrize(
    ("board", "button", "cost", "expected"),
    [
        (0.8, 0.18, 40.0, ["power-button"]),  # .18 / 40 > .8 / 360, and .98 is left for the board
        (0.8, 0.05, 40.0, []),  # ruled out, it leaves the board at .84: too little to order it
        (0.8, 0.18, 120.0, []),  # .18 / 120 < .8 / 360: not the next of the order
    ],
)
def test_of_two_that_nothing_tells_apart_the_cheaper_goes_first(
    monkeypatch: pytest.MonkeyPatch, board: float, button: float, cost: float, expected: list[str]
) -> None:
    """P over C (Kadane & Simon 1977), when what is left then suffices to order the board."""
    here, judged = _judged(board, button)
    inside = frozenset({"mainboard", "connector:power-button"})
    monkeypatch.setattr(last_resort, "present", lambda _: inside)
    costs = SimpleNamespace(repair=[360.0, cost])
    found = last_resort._cheaper_of_two(here, judged, costs)  # type: ignore[arg-type]
    assert [group.unit for _, group, _ in found] == expected
