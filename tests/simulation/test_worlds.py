"""The worlds are fair and repeatable: what is drawn is there, can be cured, and is judged right.

Nothing here looks at how the engine fares in them.
"""

from __future__ import annotations

import itertools
from collections import Counter
from functools import cache

import msgspec
import pytest

from livecheck import knowledge
from livecheck.diagnosis.steps.actions import Action
from livecheck.records import Outcome, Run, encode
from tests.simulation import play
from tests.simulation.worlds import kind as kinds
from tests.simulation.worlds.bench import ALL
from tests.simulation.worlds.technician import WORDS, Technician

TABLES = knowledge.load()
MANY = 1500


@cache
def _machines() -> tuple[Technician, ...]:
    return tuple(Technician(seed, TABLES) for seed in range(MANY))


def _share(found: list[bool]) -> float:
    return sum(found) / len(found)


def test_a_seed_is_a_world() -> None:
    first, again = (play.play("fixed_order", 4711, TABLES, play.WORLDS) for _ in range(2))
    assert first == again
    runs = [Technician(4711, TABLES).look() for _ in range(2)]
    assert encode(runs[0]) == encode(runs[1])
    assert encode(Technician(4712, TABLES).look()) != encode(runs[0])


def test_there_are_36_kinds_of_fault_or_more_and_all_are_met() -> None:
    assert len({kind.name for kind in ALL}) == len(ALL) >= 36
    met = Counter(name for machine in _machines() for name, _ in machine.types())
    assert len(met) >= len(ALL) - 3
    assert {seat for machine in _machines() for _, seat in machine.types()} == {
        *(kinds.PART, kinds.PLACE, kinds.LEAD, kinds.CONTACT, kinds.CONTROLLER, kinds.BOARD),
        *(kinds.FIRMWARE, kinds.SOFTWARE, kinds.SETTING, kinds.HUNG, kinds.UNKNOWN),
    }


def test_every_complaint_is_met_and_sound_machines_and_software_are_as_usual_as_assumed() -> None:
    machines = _machines()
    assert len({machine.complaint for machine in machines}) == 8
    assert 0.10 <= _share([not m.types() for m in machines]) <= 0.15
    software = [any(seat == kinds.SOFTWARE for _, seat in m.types()) for m in machines]
    assert 0.15 <= _share(software) <= 0.25
    assert 0.17 <= _share([m.odd.thin for m in machines]) <= 0.29
    assert 0.17 <= _share([m.odd.wear > 0.4 for m in machines]) <= 0.30


def test_the_tables_know_the_checks_that_are_read_and_the_records_are_whole() -> None:
    for machine in _machines()[:150]:
        run = machine.look(depth="full")
        assert {reading.check for reading in run.readings} <= set(TABLES.checks)
        assert msgspec.json.decode(encode(run), type=Run) == run


def test_sound_machines_alarm_for_reasons_and_seldom_without() -> None:
    sound = [m for m in _machines() if not m.types() and not m.laptop.dead][:120]
    failed = [
        sum(r.outcome is Outcome.FAILED for r in machine.look().readings) for machine in sound
    ]
    assert _share([count > 0 for count in failed]) > 0.5
    plain = [
        count
        for count, machine in zip(failed, sound, strict=True)
        if not (machine.odd.thin or machine.odd.chatty or machine.odd.no_firmware)
        and not (machine.odd.noisy or machine.odd.past_links or machine.odd.past_sectors)
    ]
    assert sum(plain) / len(plain) < sum(failed) / len(failed)


def test_readings_of_heat_fail_together() -> None:
    """One hidden number: of a machine that stops for heat under load, the rest is hot too."""
    found = []
    for machine in _machines():
        if machine.complaint != "slow" or machine.laptop.dead:
            continue
        by_check = {r.check: r.outcome is Outcome.FAILED for r in machine.look().readings}
        if "heat.cooling" in by_check and "heat.temperature" in by_check:
            found.append((by_check["heat.cooling"], by_check["heat.temperature"]))
    both = Counter(found)
    assert both[True, True] > 10
    assert both[True, False] < both[True, True] / 2


@pytest.mark.parametrize("name", sorted(kind.name for kind in ALL))
def test_what_can_be_cured_is_cured_by_the_right_hands(name: str) -> None:
    machine = next((m for s in itertools.count() if _only(m := Technician(s, TABLES), name)), None)
    assert machine is not None
    machine.look()
    fault = machine.came_with[0]
    fault.reseats = True
    machine.habits = machine.habits._replace(not_done=0.0, unplugs=1.0, bad_spare=0.0)
    seat = fault.kind.seat
    assert machine.accepts(None) == (seat == kinds.UNKNOWN)
    if seat == kinds.UNKNOWN:
        return
    assert machine.accepts(machine.unit(fault))
    if seat in (*kinds.FREE, kinds.FIRMWARE):
        for how in fault.kind.cured_by:
            machine.cure(how, {fault.where})
        assert fault.gone
        assert machine.cured_for_nothing()
    elif seat == kinds.SOFTWARE:
        machine.reinstall()
    else:
        unit = machine.unit(fault)
        machine.order(unit, machine.items[unit].kind if unit in machine.items else unit)
        assert machine.wrong_orders == 0
    assert not machine.left()
    assert not machine.close()


def _only(machine: Technician, name: str) -> bool:
    return [known for known, _ in machine.types()] == [name]


def test_a_part_that_was_replaced_stays_bad_and_is_not_bought_twice() -> None:
    machine = next(m for s in itertools.count() if _only(m := Technician(s, TABLES), "bad module"))
    machine.look()
    machine.habits = machine.habits._replace(bad_spare=0.0)
    fault = machine.came_with[0]
    if machine.items[fault.where].soldered:
        pytest.skip("the module is soldered in this world")
    machine.order(fault.where, "memory-module")
    assert not machine.left()
    place = machine.home(machine.items[fault.where])
    machine.perform(Action.PUT_BACK, fault.where, place, (), ())
    assert machine.left() == [fault]
    machine.order(fault.where, "memory-module")
    assert not machine.left()
    assert machine.orders == [fault.where]
    assert machine.wrong_orders == 0


def test_a_sound_board_that_is_bought_is_counted_and_cures_nothing() -> None:
    machine = next(m for s in itertools.count() if _only(m := Technician(s, TABLES), "worn medium"))
    machine.look()
    if machine.unit(machine.came_with[0]) == "mainboard":
        pytest.skip("the drive is soldered in this world")
    machine.order("mainboard", "mainboard")
    assert (machine.wrong_boards, machine.wrong_orders) == (1, 1)
    assert machine.left()


def test_every_step_of_the_engine_has_hands_and_an_unknown_one_is_said_to_be_impossible() -> None:
    repairs = {Action.REPLACE, Action.REPAIR_SYSTEM}
    assert set(WORDS) >= set(Action) - repairs
    machine = Technician(3, TABLES)
    machine.look()
    machine.perform("dance around it", "machine", None, (), ())
    assert "dance around it: machine" in machine.cannot
    assert len(machine.runs) == 1


@pytest.mark.parametrize(
    ("name", "step"),
    [
        ("hung power controller", "take all power away"),
        ("residue of a spill", "inspect inside"),
        ("oxidised module contacts", "clean contacts"),
        ("drive lead", "exchange lead"),
    ],
)
def test_steps_the_plan_asks_for_cure_what_they_are_meant_for(name: str, step: str) -> None:
    cured = []
    for seed in range(6000):
        machine = Technician(seed, TABLES)
        if not _only(machine, name):
            continue
        machine.look()
        machine.habits = machine.habits._replace(not_done=0.0)
        machine.came_with[0].reseats = True
        machine.perform(step, machine.came_with[0].where, None, (), ())
        cured.append(not machine.left())
        if len(cured) == 8:
            break
    assert sum(cured) >= 5


def test_worlds_differ_in_how_readily_a_fault_shows() -> None:
    chances = [m.world.detect("worn medium", "storage.health", 0.3) for m in _machines()[:300]]
    assert min(chances) < 0.1 < 0.6 < max(chances)
    alarms = [m.world.alarm("kernel.usb", 0.02) for m in _machines()[:300]]
    assert max(alarms) > 8 * min(alarms)
