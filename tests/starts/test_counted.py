"""Starts counted: which came, which did not, and how many fail in the long run.

Outside sources: scipy's ``binomtest`` and the worked figures of Newcombe, "Two-sided confidence
intervals for the single proportion", Statistics in Medicine 17 (1998), table I, method 3 (from
memory) for Wilson's interval; systemd's order of a start (bootup(7)) for the stages.
"""

from __future__ import annotations

import msgspec
import pytest

from livecheck import knowledge
from livecheck.diagnosis import locate
from livecheck.records import Complaint, Outcome, Part, Reading, Run
from livecheck.starts import judged, planned
from livecheck.starts.planned import Arrival, StartsPlan
from livecheck.starts.planned import HowFar as How
from livecheck.starts.planned import StartKind as Kind
from tests.factories import inventory as some_inventory

stats = pytest.importorskip("scipy.stats", reason="scipy is not installed")

CARD = Part(id="wireless-card:1", kind="wireless-card", name="Card", place="slot:1")


def _plan(warm: int = 0, cold: int = 0) -> StartsPlan:
    return StartsPlan(warm=warm, cold=cold, alarm=60, boots=("b0",), parts=(CARD,))


def _here(boot: str, since: float | None, *notes: str) -> Arrival:
    return Arrival(boot=boot, since=since, notes=notes, seconds=20.0)


def _came(plan: StartsPlan, boot: str, now: float, gone: tuple[str, ...] = ()) -> StartsPlan:
    """One start that was ordered, came in half a minute, and was looked at."""
    kind = planned.following(plan)
    assert kind is not None
    due = now + (plan.alarm if kind is Kind.COLD else 0)
    begun = planned.arrived(planned.ordered(plan, kind, now), _here(boot, due + 30.0, boot))
    return planned.counted(begun, gone, ())


def _readings(plan: StartsPlan) -> dict[str, Reading]:
    return {f"{r.check} {r.at}": r for r in judged.readings(plan)}


@pytest.mark.parametrize(("failed", "of"), [(0, 1), (0, 20), (1, 29), (15, 148), (81, 263), (3, 3)])
def test_the_interval_is_wilsons(failed: int, of: int) -> None:
    """As scipy has it."""
    wanted = stats.binomtest(failed, of).proportion_ci(0.95, method="wilson")
    assert judged.interval(failed, of) == pytest.approx((wanted.low, wanted.high), abs=1e-9)


@pytest.mark.parametrize(
    ("failed", "of", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611),
     (1, 29, 0.0061, 0.1718)],
)  # fmt: skip
def test_the_interval_is_as_published(failed: int, of: int, low: float, high: float) -> None:
    """Newcombe 1998, table I."""
    assert judged.interval(failed, of) == pytest.approx((low, high), abs=5e-5)


def test_warm_starts_come_first_and_it_ends_by_itself() -> None:
    """As many of each as was asked for."""
    plan, kinds = _plan(warm=2, cold=1), []
    for number in range(3):
        kind = planned.following(plan)
        assert kind is not None
        kinds.append(kind)
        plan = _came(plan, f"b{number + 1}", 1000.0 * number)
    assert kinds == [Kind.WARM, Kind.WARM, Kind.COLD]
    assert planned.following(plan) is None
    found = _readings(plan)
    assert {reading.outcome for reading in found.values()} == {Outcome.PASSED}
    assert found["starts.warm machine"].value == 0
    assert "wireless-card:1" in "".join(found)


def test_a_start_that_did_not_come_by_itself_is_told_by_the_next() -> None:
    """Switched on by hand ten minutes later: no note of a start lies between."""
    plan = planned.ordered(_plan(warm=1), Kind.WARM, 1000.0)
    plan = planned.arrived(plan, _here("b1", 1600.0, "b1"))
    assert plan.starts[-1].how is How.LATE
    assert planned.following(plan) is None
    (reading,) = judged.readings(plan)
    assert (reading.check, reading.outcome, reading.value) == ("starts.warm", Outcome.FAILED, 1)
    assert reading.says.startswith("1 of 1 ")


def test_a_start_that_hung_is_told_by_its_note() -> None:
    """The stick was mounted in it, and it came no further."""
    plan = planned.ordered(_plan(warm=1), Kind.WARM, 1000.0)
    plan = planned.arrived(plan, _here("b2", 1090.0, "b1", "b2"))
    assert plan.starts[-1].how is How.HUNG
    assert plan.starts[-1].boot == "b1"


def test_a_start_that_hung_while_its_parts_were_looked_at_is_told() -> None:
    """livecheck had said its first word in it."""
    plan = planned.ordered(_plan(warm=1), Kind.WARM, 1000.0)
    plan = planned.arrived(plan, _here("b1", 1030.0, "b1"))
    assert plan.starts[-1].how is How.BEGUN
    plan = planned.arrived(plan, _here("b2", 1200.0, "b1", "b2"))
    assert plan.starts[-1].how is How.HUNG


def test_a_start_by_hand_after_one_that_hung_is_none_of_those_counted() -> None:
    """Its note does not make the next one hang."""
    plan = planned.ordered(_plan(warm=2), Kind.WARM, 1000.0)
    plan = planned.arrived(plan, _here("b2", 1090.0, "b1", "b2"))
    plan = planned.ordered(plan, Kind.WARM, 1200.0)
    plan = planned.arrived(plan, _here("b3", 1230.0, "b1", "b2", "b3"))
    plan = planned.counted(plan, (), ())
    assert [start.how for start in plan.starts] == [How.HUNG, How.CAME]


def test_the_program_started_twice_in_one_start_counts_once() -> None:
    """A console that ended and came back."""
    plan = _came(_plan(warm=2), "b1", 1000.0)
    assert planned.arrived(plan, _here("b1", 1030.0, "b1")) == plan


def test_a_clock_that_was_lost_says_nothing_of_how_late_it_is() -> None:
    """The kernel's start lies before the order: nobody knows how long it took."""
    plan = planned.ordered(_plan(warm=1), Kind.WARM, 1000.0)
    assert planned.arrived(plan, _here("b1", 5.0, "b1")).starts[-1].how is How.BEGUN
    assert planned.arrived(plan, _here("b1", None, "b1")).starts[-1].how is How.BEGUN


def _never_by_alarm() -> StartsPlan:
    plan = _plan(cold=5)
    for number in range(2):
        plan = planned.ordered(plan, Kind.COLD, 1000.0 * number)
        plan = planned.arrived(plan, _here(f"b{number + 1}", 1000.0 * number + 900.0))
    return plan


def test_an_alarm_that_never_switched_it_on_is_no_fault_of_its_starts() -> None:
    """Many machines' clocks cannot: after two it is left, not judged, and told to be counted."""
    plan = _never_by_alarm()
    assert planned.following(plan) is None
    assert [r.check for r in judged.readings(plan)] == []
    assert any("by hand" in one.why for one in judged.not_tested(plan))


def test_an_alarm_that_once_switched_it_on_makes_the_others_count() -> None:
    """Then what did not come is the machine's."""
    plan = _came(_plan(cold=2), "b1", 0.0)
    plan = planned.ordered(plan, Kind.COLD, 1000.0)
    plan = planned.arrived(plan, _here("b2", 9000.0, "b2"))
    assert _readings(plan)["starts.cold machine"].value == 1


def test_a_part_that_a_start_lost_is_told_at_its_place() -> None:
    """Once of two; the start itself came."""
    plan = _came(_came(_plan(warm=2), "b1", 0.0, ("wireless-card:1",)), "b2", 1000.0)
    found = _readings(plan)
    lost = found["starts.keeps-parts slot:1"]
    assert (lost.outcome, lost.value) == (Outcome.FAILED, 1)
    assert found["starts.warm machine"].outcome is Outcome.PASSED


def test_what_no_system_sees_is_said() -> None:
    """Memory trained anew happens before any kernel."""
    whats = [one.what for one in judged.not_tested(_came(_plan(warm=1), "b1", 0.0))]
    assert any("emory" in what for what in whats)


def test_nobody_is_named_surely_by_starts_alone() -> None:
    """Three of ten cold ones failed: board, memory, firmware and supply could each be it."""
    plan = _plan(cold=10)
    for number in range(10):
        if number % 3 == 2:
            plan = planned.ordered(plan, Kind.COLD, 1000.0 * number)
            plan = planned.arrived(plan, _here(f"b{number}", 1000.0 * number + 900.0))
        else:
            plan = _came(plan, f"b{number + 1}", 1000.0 * number)
    run = Run(number=1, started="2026-03-06T12:00:00Z", complaint=Complaint.UNSTABLE,
              inventory=some_inventory([]), readings=judged.readings(plan))  # fmt: skip
    found = locate("c", [run], knowledge.load())
    assert found.probability < 0.9
    assert found.side != "software"


def test_a_plan_is_read_as_it_was_written() -> None:
    """It comes from a drive."""
    plan = _came(_plan(warm=1, cold=1), "b1", 0.0)
    assert msgspec.json.decode(msgspec.json.encode(plan), type=StartsPlan) == plan
