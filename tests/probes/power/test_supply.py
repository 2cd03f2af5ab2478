"""Battery and adapter: what is judged, and what is left open."""

from __future__ import annotations

import pytest

from livecheck.inventory import power_supply
from livecheck.probes.power.supply import probe
from livecheck.records import Outcome, Reading
from tests.inventory.fake_host import SYS, FakeHost, attributes, device
from tests.probes.support import context, readings, untested

BAT = f"{SYS}/BAT0"


def run(*, jack: int | None = 1, **battery: str | int) -> dict[str, Reading]:
    values: dict[str, str | int] = {
        "type": "Battery", "present": 1, "status": "Charging", "energy_now": 30_000_000,
        "energy_full": 48_260_000, "energy_full_design": 74_880_000, "capacity": 62,
        "voltage_min_design": 14_400_000, "voltage_now": 16_267_000,
    }  # fmt: skip
    files = attributes(BAT, **{**values, **battery})
    listed = [device("power_supply", "BAT0")]
    if jack is not None:
        files |= attributes(f"{SYS}/AC", type="Mains", online=jack)
        listed.append(device("power_supply", "AC"))
    return readings(probe, context(FakeHost(files, listed), power_supply.find))


def test_recorded_battery_is_worn_but_not_worn_out() -> None:
    """NetBSD acpibat(4), a recorded battery: wear 35.55 %."""
    found = run()["power.battery-wear"]
    assert found.outcome is Outcome.PASSED and found.value == pytest.approx(0.3555, abs=5e-5)
    assert found.at == "battery@bay:BAT0"
    assert run(energy_full=40_000_000)["power.battery-wear"].outcome is Outcome.FAILED
    assert run(energy_full=80_000_000)["power.battery-wear"].value == pytest.approx(-0.0684)
    assert run(energy_full_design=0)["power.battery-wear"].outcome is Outcome.NOT_JUDGED


@pytest.mark.parametrize(
    ("status", "percent", "more", "outcome"),
    [
        ("Charging", 62, {}, Outcome.PASSED),
        ("Full", 100, {}, Outcome.PASSED),
        ("Discharging", 62, {}, Outcome.FAILED),
        ("Not charging", 62, {}, Outcome.FAILED),
        ("Not charging", 97, {}, Outcome.NOT_JUDGED),
        ("Not charging", 62, {"charge_control_end_threshold": 60}, Outcome.NOT_JUDGED),
        ("Discharging", 62, {"charge_behaviour": "auto [force-discharge]"}, Outcome.NOT_JUDGED),
        ("Unknown", 62, {}, Outcome.NOT_JUDGED),
    ],
)
def test_charging_is_judged_by_status_and_threshold(
    status: str, percent: int, more: dict[str, str | int], outcome: Outcome
) -> None:
    """Words of the kernel's power supply class; the judgement is the table's."""
    values: dict[str, str | int] = {"status": status, "capacity": percent, **more}
    found = run(jack=1, **values)["power.charging"]
    assert found.outcome is outcome
    assert (found.why_not is None) == (outcome is not Outcome.NOT_JUDGED)


@pytest.mark.parametrize(
    ("status", "percent", "more", "outcome"),
    [
        ("Not charging", 60, {"charge_control_end_threshold": 60}, Outcome.FAILED),
        ("Charging", 42, {"charge_control_end_threshold": 60}, Outcome.PASSED),
        ("Not charging", 42, {"charge_control_end_threshold": 60}, Outcome.PASSED),
        ("Not charging", 42, {"charge_behaviour": "auto [inhibit-charge]"}, Outcome.FAILED),
        ("Not charging", 42, {"charge_control_end_threshold": 100}, None),
        ("Not charging", 42, {}, None),
        ("Not charging", 80, {}, Outcome.FAILED),
        ("Not charging", 80, {"charge_control_end_threshold": 100}, None),
        ("Not charging", 79, {}, None),
        ("Discharging", 80, {}, None),
        ("Full", 100, {}, Outcome.PASSED),
    ],
)
def test_a_limit_that_somebody_set_is_told(
    status: str, percent: int, more: dict[str, str | int], outcome: Outcome | None
) -> None:
    """Documentation/ABI/testing/sysfs-class-power: above the end threshold charging stops.

    Where no driver tells of one, it may stand at 50, 60 or 80 % all the same (common practice).
    """
    values: dict[str, str | int] = {"status": status, "capacity": percent, **more}
    found = run(jack=1, **values).get("power.charge-limit")
    assert (found.outcome if found is not None else None) is outcome
    assert "power.charge-limit" not in run(jack=0, **values)


@pytest.mark.parametrize(
    ("percent", "volts", "outcome"),
    [(58, 8.9, Outcome.FAILED), (58, 10.2, Outcome.PASSED), (12, 9.0, Outcome.PASSED)],
)
def test_a_half_charged_cell_holds_its_voltage(
    percent: int, volts: float, outcome: Outcome
) -> None:
    """Three cells; cut-off is 2.5 to 3.0 V a cell (cell datasheets), and comes when empty."""
    found = run(capacity=percent, voltage_now=int(volts * 1e6), voltage_min_design=11_400_000,
                energy_full=50_000_000, energy_now=percent * 500_000)  # fmt: skip
    assert found["power.battery-report"].outcome is outcome


def test_without_power_charging_is_not_judged() -> None:
    found = run(jack=0, status="Discharging")
    assert found["power.charging"].why_not == "no power comes in"
    assert found["power.adapter"].outcome is Outcome.NOT_JUDGED
    assert found["power.adapter"].at == "jack:AC"
    assert run(jack=None)["power.charging"].outcome is Outcome.NOT_JUDGED


def test_figures_that_cannot_be_true_fail_the_report() -> None:
    """16.267 V fits four cells; 9.2 V cannot be four cells (cut-off 2.5 to 3.0 V, datasheets)."""
    assert run()["power.battery-report"].outcome is Outcome.PASSED
    assert run(voltage_now=9_200_000)["power.battery-report"].outcome is Outcome.FAILED
    assert run(energy_now=60_000_000)["power.battery-report"].outcome is Outcome.FAILED
    assert run(capacity=10)["power.battery-report"].outcome is Outcome.FAILED
    assert run(health="Dead")["power.battery-report"].outcome is Outcome.FAILED


def test_empty_bay_is_no_fault() -> None:
    found = run(present=0)["power.battery-present"]
    assert found.outcome is Outcome.NOT_JUDGED and found.at == "bay:BAT0"
    assert run()["power.battery-present"].outcome is Outcome.PASSED


def test_nothing_to_test() -> None:
    assert set(untested(probe, context(FakeHost()))) == {"Adapter", "Battery"}
