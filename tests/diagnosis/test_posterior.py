"""The posterior by plain enumeration, the swap tables, and what cases come out as.

The formula written out below is the design's own noisy-OR (Pearl 1988, section
4.3); tests/diagnosis/test_oracle.py holds it against a Bayesian-network library.
"""

from __future__ import annotations

import random
from itertools import combinations
from math import prod

import pytest

from livecheck import knowledge
from livecheck.diagnosis import locate, patterns
from livecheck.diagnosis.factors import Factor
from livecheck.diagnosis.model.evidence import MOSTLY, NOW_AND_THEN
from livecheck.diagnosis.model.posterior import posterior
from livecheck.diagnosis.model.priors import CorrelationParameters
from livecheck.diagnosis.steps.actions import Action
from livecheck.records import Complaint, Outcome, Reading, Side
from livecheck.topology.ids import ComponentId
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

LINK = "storage.link-errors"


def by_hand(
    factors: list[Factor], weights: list[float], by_size: list[float]
) -> dict[tuple[int, ...], float]:
    """Every set's posterior from the textbook formula, reading by reading."""
    mass: dict[tuple[int, ...], float] = {}
    for size, share in enumerate(by_size):
        sets = list(combinations(range(len(weights)), size))
        whole = sum(prod(weights[n] for n in members) for members in sets)
        for members in sets:
            value = share * prod(weights[n] for n in members) / whole
            for factor in factors:
                misses = zip(factor.members, factor.misses, strict=True)
                missed = (1 - factor.false_alarm) * prod(m for n, m in misses if n in members)
                value *= (1 - missed) ** factor.fails * missed**factor.passes
            mass[members] = value
    total = sum(mass.values())
    return {members: value / total for members, value in mass.items()}


@pytest.mark.parametrize("seed", range(20))
def test_without_repeated_alarms_it_is_the_textbook_formula(seed: int) -> None:
    dice = random.Random(seed)
    weights = [dice.uniform(0.1, 3) for _ in range(6)]
    factors = []
    for _ in range(8):
        members = tuple(sorted(dice.sample(range(6), dice.randint(1, 5))))
        misses = tuple(dice.uniform(0.05, 0.95) for _ in members)
        fails, passes = dice.choice([(0, 1), (1, 0), (2, 1), (0, 3)])
        factors.append(
            Factor(members=members, misses=misses, false_alarm=0.02, fails=fails, passes=passes)
        )
    by_size = [0.2, 0.6, 0.15, 0.05]
    expected = by_hand(factors, weights, by_size)
    found = posterior(factors, weights, by_size)
    assert dict(found.sets) == pytest.approx(
        {members: p for members, p in expected.items() if members in dict(found.sets)}, abs=1e-9
    )
    assert sum(dict(found.sets).values()) == pytest.approx(1.0, abs=1e-6)
    for number in range(6):
        share = sum(p for members, p in expected.items() if number in members)
        assert found.marginals[number] == pytest.approx(share, abs=1e-9)


def test_a_false_alarm_that_stays_bounds_what_repeats_are_worth() -> None:
    """By hand: with share s of the alarms f staying, n failures of a sound machine have
    chance s f + (1 - s f) g**n, with g = (f - s f) / (1 - s f), and so f for one."""
    f, s, shows = 0.01, 0.3, 0.6
    stays = s * f
    g = (f - stays) / (1 - stays)

    def odds(fails: int, passes: int = 0) -> float:
        factor = Factor(
            members=(0,), misses=(1 - shows,), false_alarm=f, fails=fails, passes=passes
        )
        found = posterior([factor], [1.0], [0.5, 0.5], CorrelationParameters(persistent_alarms=s))
        return found.marginals[0] / found.none

    for n in (1, 2, 5):
        fault = stays + (1 - stays) * (1 - (1 - g) * (1 - shows)) ** n
        assert odds(n) == pytest.approx(fault / (stays + (1 - stays) * g**n))
    assert odds(1) == pytest.approx((1 - 0.99 * 0.4) / 0.01)
    assert odds(500) < 1 / stays
    # A pass rules out that the alarm is there always: it is there mostly, or now and then (h).

    def both(alone: float, fails: int, passes: int) -> tuple[float, float]:
        sound = alone**fails * (1 - alone) ** passes
        return sound, (1 - (1 - alone) * 0.4) ** fails * ((1 - alone) * 0.4) ** passes

    for fails, passes, h in ((2, 1, MOSTLY), (3, 4, NOW_AND_THEN)):
        (sound, fault), (rare, shown) = both(h, fails, passes), both(g, fails, passes)
        expected = (stays * fault + (1 - stays) * shown) / (stays * sound + (1 - stays) * rare)
        assert odds(fails, passes) == pytest.approx(expected)


# The swap tables: runs of (part, place, failed) and the set of minimal explanations when a
# pass clears all it looked at; standard swap reasoning, worked out by enumeration.
Trials = list[tuple[str, str, bool]]
FOLLOWS: Trials = [("D1", "P1", True), ("D2", "P1", False), ("D1", "P2", True)]
STAYS = [("D1", "P1", True), ("D2", "P1", True), ("D1", "P2", False)]
VANISHES = [("D1", "P1", True), ("D2", "P1", False), ("D1", "P2", False)]
COMMON = [("D1", "P1", True), ("D2", "P1", True), ("D1", "P2", True), ("D2", "P2", True)]


@pytest.mark.parametrize(
    ("trials", "pattern"),
    [
        (FOLLOWS, patterns.FOLLOWS),
        (STAYS, patterns.STAYS),
        (VANISHES, patterns.VANISHES),
        (COMMON, patterns.COMMON),
        ([("D1", "P1", True), ("D1", "P1", False)], patterns.VANISHES),
        ([("D1", "P1", True)], None),
        ([("D1", "P1", False), ("D2", "P1", False)], None),
        (FOLLOWS[::-1], patterns.FOLLOWS),
    ],
)
def test_patterns_by_name(trials: Trials, pattern: str | None) -> None:
    ids = [
        patterns.SwapTrial(ComponentId(key=part), ComponentId(key=place), bad)
        for part, place, bad in trials
    ]
    assert patterns.name(ids) == pattern


@pytest.mark.parametrize(
    ("trials", "likeliest"),
    [(FOLLOWS, "D1"), (STAYS, "P1"), (COMMON, "H"), (VANISHES, "contact D1 P1")],
)
def test_patterns_fall_out_of_the_model(trials: Trials, likeliest: str) -> None:
    """The likeliest explanation is the one the table leaves when a pass clears (nearly) all.

    Components D1, D2, P1, P2, H (host) as in the table, and the contact of each
    pairing as a component of its own; all weigh the same, faults show in 95 % of runs.
    """
    names = ["D1", "D2", "P1", "P2", "H"]
    names += [f"contact {d} {p}" for d in ("D1", "D2") for p in ("P1", "P2")]
    factors = []
    for part, place, failed in trials:
        members = sorted(names.index(n) for n in (part, place, "H", f"contact {part} {place}"))
        factors.append(
            Factor(
                members=tuple(members),
                misses=(0.05,) * 4,
                false_alarm=0.001,
                fails=int(failed),
                passes=int(not failed),
            )
        )
    found = posterior(factors, [1.0] * len(names), [0.1, 0.8, 0.1])
    best = max(range(len(names)), key=lambda n: found.marginals[n])
    assert names[best] == likeliest
    assert found.marginals[best] > 0.7


def test_fault_follows_the_drive() -> None:
    runs = [
        run(1, laptop(drive(DRIVE1, PORT1)), reading(WORKS, DRIVE1, False)),
        run(2, laptop(drive(DRIVE2, PORT1)), reading(WORKS, DRIVE2, True), known_good=SPARE),
        run(3, laptop(drive(DRIVE1, PORT2)), reading(WORKS, DRIVE1, False)),
    ]
    found = locate("t", runs, tables())
    assert (found.side, found.component, found.unit) == (Side.DEVICE, DRIVE1, "drive")
    assert found.pattern == patterns.FOLLOWS
    assert found.probability >= 0.9


def test_fault_stays_with_the_port() -> None:
    runs = [
        run(
            1,
            laptop(drive(DRIVE1, PORT1)),
            reading(WORKS, DRIVE1, False),
            reading(LINK, DRIVE1, False),
        ),
        run(
            2,
            laptop(drive(DRIVE2, PORT1)),
            reading(WORKS, DRIVE2, False),
            reading(LINK, DRIVE2, False),
            known_good=SPARE,
        ),
        run(
            3,
            laptop(drive(DRIVE1, PORT2)),
            reading(WORKS, DRIVE1, True),
            reading(LINK, DRIVE1, True),
        ),
    ]
    open_yet = locate("t", runs, tables(), NO_LEADS)
    assert open_yet.candidates[0].component == PORT1
    assert open_yet.next_step is not None
    # Dirt outlives a swap: the port's contact is made anew before a board is ordered for it.
    assert (open_yet.next_step.action, open_yet.next_step.to) == (Action.MOVE, PORT1)
    back = (reading(WORKS, DRIVE1, False), reading(LINK, DRIVE1, False))
    whole = [*runs, run(4, laptop(drive(DRIVE1, PORT1)), *back)]
    found = locate("t", whole, tables(), NO_LEADS)
    assert (found.side, found.component, found.unit) == (Side.CONTROLLER, PORT1, "mainboard")
    assert found.pattern == patterns.STAYS
    assert found.probability >= 0.95


def test_drive_that_passes_in_a_known_good_machine_proves_the_board_side() -> None:
    runs = [
        run(1, laptop(drive(DRIVE1, PORT1)), reading(WORKS, DRIVE1, False)),
        run(2, laptop(drive(DRIVE1, PORT2), board_serial="BRD-90001"), in_known_good_machine=True),
    ]
    passed = [reading(WORKS, DRIVE1, True), reading("storage.medium-errors", DRIVE1, True)]
    proven = [
        runs[0],
        run(
            2,
            laptop(drive(DRIVE1, PORT2), board_serial="BRD-90001"),
            *passed,
            in_known_good_machine=True,
        ),
    ]
    before = _share(locate("t", runs, tables()).candidates, DRIVE1)
    after = _share(locate("t", proven, tables()).candidates, DRIVE1)
    assert after < before
    # Nothing of the known-good machine is a candidate for the suspect one's fault.
    named = [c.component for c in locate("t", proven, tables()).candidates[:4]]
    assert not any(name.startswith("bench/") for name in named)


def _share(candidates: object, component: str) -> float:
    assert isinstance(candidates, tuple)
    return next((c.probability for c in candidates if c.component == component), 0.0)


def test_the_board_is_not_named_before_a_swap() -> None:
    """However clear the readings are: link errors alone, no swap, no direct observation."""
    link = [reading("storage.link-errors", DRIVE1, False) for _ in range(6)]
    runs = [run(n, laptop(drive(DRIVE1, PORT1)), *link) for n in (1, 2, 3)]
    found = locate("t", runs, tables())
    assert found.side is Side.UNDETERMINED
    assert found.component is None
    assert found.next_step is not None


def test_a_direct_observation_replaces_the_swap() -> None:
    direct = check("bench.port", ("place", 0.99), false_alarm=0.0005, direct=True)
    inventory = laptop(drive(DRIVE1, PORT1))
    runs = [run(1, inventory, reading("bench.port", PORT1, False), reading(WORKS, DRIVE1, False))]
    found = locate("t", runs, tables(direct))
    assert (found.side, found.component) == (Side.CONTROLLER, PORT1)
    indirect = check("bench.port", ("place", 0.99), false_alarm=0.0005)
    assert locate("t", runs, tables(indirect)).side is Side.UNDETERMINED


def test_contact_names_no_part() -> None:
    """A fault that both swaps make vanish is a contact or intermittent, never a part."""
    runs = [
        run(1, laptop(drive(DRIVE1, PORT1)), reading(WORKS, DRIVE1, False)),
        run(2, laptop(drive(DRIVE2, PORT1)), reading(WORKS, DRIVE2, True), known_good=SPARE),
        run(3, laptop(drive(DRIVE1, PORT2)), reading(WORKS, DRIVE1, True)),
    ]
    found = locate("t", runs, tables())
    assert found.side is Side.UNDETERMINED
    assert found.unit is None
    assert found.pattern == patterns.VANISHES


def test_a_reseat_that_cures_for_good_is_a_contact() -> None:
    inventory = laptop(drive(DRIVE1, PORT1))
    runs = [
        run(
            1,
            inventory,
            reading(WORKS, DRIVE1, False),
            reading("storage.link-errors", DRIVE1, False),
        ),
        *(
            run(n, inventory, reading(WORKS, DRIVE1, True), reseated=(PORT1,) if n == 2 else ())
            for n in range(2, 9)
        ),
    ]
    found = locate("t", runs, tables())
    assert found.candidates[0].component.startswith("contact:")
    assert found.pattern == patterns.VANISHES
    assert (found.side, found.unit) == (Side.UNDETERMINED, None)


def test_two_faults_at_once() -> None:
    """A worn battery beside a bad port: the port is the complaint's, the battery is told too."""
    worn = reading("power.battery-wear", "battery:INV-B1", False, "The battery holds 40 %")
    runs = [
        run(
            1,
            laptop(drive(DRIVE1, PORT1)),
            reading(WORKS, DRIVE1, False),
            reading(LINK, DRIVE1, False),
            worn,
        ),
        run(
            2,
            laptop(drive(DRIVE2, PORT1)),
            reading(WORKS, DRIVE2, False),
            reading(LINK, DRIVE2, False),
            worn,
            known_good=SPARE,
        ),
        run(
            3,
            laptop(drive(DRIVE1, PORT2)),
            reading(WORKS, DRIVE1, True),
            reading(LINK, DRIVE1, True),
            worn,
        ),
        run(
            4,
            laptop(drive(DRIVE1, PORT1)),
            reading(WORKS, DRIVE1, False),
            reading(LINK, DRIVE1, False),
            worn,
        ),
    ]
    found = locate("t", runs, tables(), NO_LEADS)
    assert found.component == PORT1
    assert any("battery" in sentence for sentence in found.explanation)


def test_all_passes_under_a_complaint_speak_for_the_installed_system() -> None:
    storage = ("storage.works", "storage.medium-errors", "storage.link-errors", "storage.health")
    readings = [reading(name, DRIVE1, True) for name in storage]
    readings += [reading("memory.march", MODULE1, True), reading("heat.trip", "machine", True)]
    inventory = laptop(drive(DRIVE1, PORT1))
    blank = run(1, inventory, complaint=Complaint.SLOW)
    passed = run(1, inventory, *readings, complaint=Complaint.SLOW)
    before = locate("t", [blank], tables()).sides["software"]
    after = locate("t", [passed], tables()).sides["software"]
    assert after > 1.3 * before


def test_a_place_where_nothing_answers_has_a_part_that_could_be_at_fault() -> None:
    inventory = laptop(drive(DRIVE1, PORT1), silent=(SLOT,))
    found = locate("t", [run(1, inventory, reading("pcie.answers", SLOT, False))], tables())
    assert found.candidates[0].component == f"wireless-card@{SLOT}"
    assert {c.component for c in found.candidates} >= {SLOT, f"wireless-card@{SLOT}"}


def test_the_part_is_not_blamed_for_its_place() -> None:
    """A check that only the place can fail leaves the part's odds as they were."""
    only_place = check("place.only", ("place", 0.9))
    inventory = laptop(drive(DRIVE1, PORT1))
    before = locate("t", [run(1, inventory)], tables(only_place))
    after = locate(
        "t", [run(1, inventory, reading("place.only", DRIVE1, False))], tables(only_place)
    )
    assert _share(after.candidates, DRIVE1) < _share(before.candidates, DRIVE1)


def test_not_judged_is_no_evidence() -> None:
    inventory = laptop(drive(DRIVE1, PORT1))
    silent = Reading(check=WORKS, at=DRIVE1, outcome=Outcome.NOT_JUDGED, why_not="needs root")
    without = locate("t", [run(1, inventory)], tables())
    with_it = locate("t", [run(1, inventory, silent)], tables())
    assert with_it.candidates == without.candidates


def test_shares_of_sides_add_up() -> None:
    runs = [run(1, laptop(drive(DRIVE1, PORT1)), reading(WORKS, DRIVE1, False))]
    found = locate("t", runs, tables())
    assert sum(found.sides.values()) == pytest.approx(1.0)
    assert {"device", "controller", "software", "no-fault"} <= set(found.sides)


def test_three_faults_on_demand() -> None:
    readings = [
        reading("storage.health", DRIVE1, False),
        reading("memory.march", MODULE1, False),
        reading("power.battery-wear", "battery:INV-B1", False),
    ]
    runs = [run(1, laptop(drive(DRIVE1, PORT1)), *readings, *readings)]
    shares = {
        most: [
            _share(locate("t", runs, tables(), max_faults=most).candidates, part)
            for part in (DRIVE1, MODULE1, "battery:INV-B1")
        ]
        for most in (2, 3)
    }
    assert sum(shares[3]) > sum(shares[2])


def test_no_runs_is_no_verdict() -> None:
    found = locate("t", [], tables())
    assert found.side is Side.UNDETERMINED
    assert found.next_step is None


def test_processor_against_board_on_the_invented_laptop() -> None:
    """Common practice, no source: the processor is the cause in about one of 75 machines
    in which processor or mainboard is."""
    kinds = knowledge.load().kinds
    inventory = laptop(drive(DRIVE1, PORT1))
    board = kinds["mainboard"].weight + sum(
        kinds[c.kind].weight for c in inventory.controllers if kinds[c.kind].unit == "mainboard"
    )
    # Graphics and USB belong to every laptop's board too.
    board += kinds["display-controller"].weight + 2 * kinds["usb-controller"].weight
    processor = kinds["processor"].weight
    assert 60 <= (processor + board) / processor <= 90


def test_wireless_path_and_controller_ids_follow_the_contract() -> None:
    runs = [run(1, laptop(drive(DRIVE1, PORT1)), reading("wireless.present", CARD, False))]
    found = locate("t", runs, tables())
    named = {c.component for c in found.candidates}
    assert {CARD, SLOT} <= named
    runs = [run(1, laptop(drive(DRIVE1, PORT1)), reading(WORKS, DRIVE1, False))]
    assert SATA in {c.component for c in locate("t", runs, tables()).candidates}
