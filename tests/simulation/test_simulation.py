"""The simulation itself: it is fair, repeatable, and its figures mean what they say."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from livecheck import knowledge
from livecheck.records import Outcome
from tests.simulation import faults, play, score, small
from tests.simulation.policies import POLICIES
from tests.simulation.population import OWN, SHIFTED
from tests.simulation.world import World

TABLES = knowledge.load()


@pytest.mark.slow
def test_a_seed_is_a_machine() -> None:
    first, again = (play.play("ours", 11, TABLES) for _ in range(2))
    assert first == again
    assert World(11, TABLES).true_units() == World(11, TABLES).true_units()


def test_every_policy_meets_the_same_machine() -> None:
    played = [play.play(policy, 23, TABLES) for policy in POLICIES]
    assert len({(one.types, one.complaint) for one in played}) == 1


def test_every_kind_of_fault_is_in_the_population() -> None:
    roles = {role for seed in range(400) for role in _roles(seed)}
    assert roles == {"part", "place", "contact", "controller", "board", "software"}
    counts = [len(_roles(seed)) for seed in range(400)]
    assert counts.count(0) > 0
    assert counts.count(2) > 0


def _roles(seed: int) -> list[str]:
    return [fault.type.role for fault in World(seed, TABLES).faults]


def test_the_checks_it_reads_are_the_tables() -> None:
    """A symptom no check of the table asks for would silently not count."""
    asked = {r.check for seed in range(60) for r in World(seed, TABLES).look().readings}
    assert asked <= set(TABLES.checks)
    shown = {check for kind in faults.TYPES for check in kind.shows}
    assert len(shown & set(TABLES.checks)) / len(shown) > 0.9


def test_a_sound_machine_seldom_fails_a_check() -> None:
    sound = [w for seed in range(600) if not (w := World(seed, TABLES)).faults]
    readings = [r for world in sound for r in world.look().readings]
    failed = sum(r.outcome is Outcome.FAILED for r in readings)
    expected = sum(TABLES.checks[r.check].false_alarm for r in readings)
    assert failed == pytest.approx(expected, rel=0.5)


def test_the_right_order_repairs_and_a_wrong_one_is_counted() -> None:
    world = next(w for s in range(400) if _types(w := World(s, TABLES)) == ["worn medium"])
    unit = world.faults[0].unit()
    world.look()
    world.order("mainboard", "mainboard")
    assert world.wrong_boards == 1
    assert world.left()
    world.order(unit, "drive")
    assert not world.left()
    assert world.wrong_boards == world.wrong_orders == 1
    assert not world.close()


def _types(world: World) -> list[str]:
    return [fault.type.name for fault in world.faults]


def test_a_fault_handed_back_is_paid_for() -> None:
    world = next(w for s in range(400) if _types(w := World(s, TABLES)) == ["worn battery"])
    before = world.minutes
    assert world.close()
    assert world.minutes > before + 45
    assert world.money == TABLES.kinds["battery"].price


@pytest.mark.slow
@pytest.mark.parametrize("model", small.MODELS[::3])
def test_ours_is_near_the_best_possible_on_a_small_machine(model: small.Small) -> None:
    """Exhaustive search under the same model; never better than it, at most a tenth worse."""
    game = small.Game(model)
    weights, first = game.start(), (game.run(1, small.State(), True),)
    optimum = small.best(game, weights, small.State()).total
    ours = small.ours(game, weights, small.State(), first).total
    assert optimum * 0.999 <= ours <= optimum * 1.1


@pytest.mark.slow
def test_ours_beats_the_fixed_order() -> None:
    """On 60 machines: fewer wrong boards, more first verdicts right."""
    ours, fixed = (
        score.scores([play.play(policy, seed, TABLES) for seed in range(60)])
        for policy in ("ours", "fixed_order")
    )
    assert ours["isolated_to_one"] > fixed["isolated_to_one"]
    assert ours["wrong_mainboard"] < fixed["wrong_mainboard"]
    assert ours["money"] < fixed["money"]


def test_a_step_without_hands_is_said_to_be_impossible() -> None:
    world = World(5, TABLES)
    world.look()
    world.perform("dance around it", "machine", None, (), ())
    assert world.cannot == ("dance around it: machine",)
    assert len(world.runs) == 1


@pytest.mark.slow
def test_the_command_prints_scores_for_every_policy() -> None:
    command = [sys.executable, "-m", "tests.simulation", "--cases", "20", "--json"]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    found = json.loads(done.stdout)
    keys = {"detected", "isolated_to_one", "isolated_to_two", "wrong_mainboard", "wrong_order"}
    keys |= {"sound_unbought", "sound_told", "software_named", "bench_minutes", "money"}
    for policy in ("ours", "fixed_order", "random"):
        assert keys <= set(found[policy])
    assert {"optimum", "ours_on_small", "calibration"} <= set(found)
    assert found["ours"]["minutes_of_fixed_order"] > 0


@pytest.mark.slow
def test_every_decided_case_falls_into_one_bin_of_the_calibration() -> None:
    played = [play.play("ours", seed, TABLES) for seed in range(40)]
    table = score.calibration(played)
    assert all(one.lead_probability <= 1.0 for one in played)
    sure = [one for one in played if one.lead_probability >= 0.5]
    assert sum(row["cases"] for row in table.values()) == len(sure)
    right = sum(row["cases"] * row["right"] for row in table.values())
    assert right == pytest.approx(sum(one.lead_right for one in sure), abs=0.1)


def test_the_population_kept_apart_behaves_otherwise() -> None:
    """The same seeds, other machines: shares, signs and steadiness all differ."""
    names = [kind.name for kind in faults.TYPES]
    usual = [OWN.share(kind.name, kind.share) for kind in faults.TYPES]
    shifted = [SHIFTED.share(kind.name, kind.share) for kind in faults.TYPES]
    assert usual == [kind.share for kind in faults.TYPES]
    assert all(a != b for a, b in zip(usual, shifted, strict=True))
    assert SHIFTED.rate(names[0], "storage.health", 0.5) != 0.5
    acts = [
        [f.acts == 1.0 for seed in range(300) for f in World(seed, TABLES, one).faults]
        for one in (OWN, SHIFTED)
    ]
    steady = [sum(some) / len(some) for some in acts]
    assert steady[1] < steady[0] - 0.05
