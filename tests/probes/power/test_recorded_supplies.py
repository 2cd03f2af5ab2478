"""Recorded and published battery sets, and USB Power Delivery.

Outside sources: the attribute sets of UPower 1.90.9's integration tests (GPL-2.0+; fetched,
not copied) with the percentages those tests expect; the kernel's ABI documents for
usb_power_delivery; power bands of USB PD (15, 27, 45, 60, 100 W; second-hand).
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache

import pytest

from livecheck.inventory import power_supply
from livecheck.inventory.power_state import BatteryState, read_battery
from livecheck.inventory.usb_power import TYPEC, deliveries
from livecheck.probes.power.supply import probe
from livecheck.records import Outcome, Reading
from tests import datasets
from tests.inventory.fake_host import SYS, FakeHost, attributes, device
from tests.probes.support import context, readings

UPOWER = (
    "pool/main/u/upower/upower_1.90.9.orig.tar.bz2",
    "ca6018535817c2ea687e389e6b47583342154123c0eea0497b409c49dff319b6",
)


@cache
def sets() -> dict[str, list[dict[str, str]]]:
    """Test's name -> attributes of each system battery it makes, as far as they are literal."""
    source = datasets.debian_source(*UPOWER) / "src" / "linux" / "integration-test.py"
    found: dict[str, list[dict[str, str]]] = {}
    for function in ast.walk(ast.parse(source.read_text("utf-8"))):
        if isinstance(function, ast.FunctionDef) and function.name.startswith("test"):
            for values in _batteries(function):
                found.setdefault(function.name, []).append(values)
    return found


def _batteries(function: ast.FunctionDef) -> Iterator[dict[str, str]]:
    for call in ast.walk(function):
        if not isinstance(call, ast.Call) or not ast.unparse(call.func).endswith("add_device"):
            continue
        try:
            listed = ast.literal_eval(call.args[3])
        except (IndexError, ValueError):
            continue
        values = dict(zip(listed[::2], listed[1::2], strict=False))
        if values.get("type", "").strip() == "Battery" and "scope" not in values:
            yield {name: value.strip() for name, value in values.items()}


def seen(values: dict[str, str]) -> tuple[BatteryState, dict[str, Reading]]:
    """The battery read, and the readings of the probe with an adapter in."""
    folder = f"{SYS}/BAT0"
    files = attributes(folder, **values) | attributes(f"{SYS}/AC", type="Mains", online=1)
    host = FakeHost(files, [device("power_supply", "BAT0"), device("power_supply", "AC")])
    found = readings(probe, context(host, power_supply.find))
    return read_battery(host, folder), found


@pytest.mark.slow
def test_every_set_can_be_read() -> None:
    """Wear and charge of each are those of one family of attributes, or unknown."""
    count = 0
    for batteries in sets().values():
        for values in batteries:
            battery, _ = seen(values)
            count += 1
            told = [
                1 - int(values[f"{k}_full"]) / int(values[f"{k}_full_design"])
                for k in ("energy", "charge")
                if f"{k}_full" in values and f"{k}_full_design" in values
            ]
            assert battery.wear == (pytest.approx(told[0]) if told else None)
    assert count >= 40


@pytest.mark.parametrize(
    ("test", "charge"),
    [
        # Percentages UPower's own tests expect of these sets.
        ("test_battery_charge", 0.75),
        ("test_battery_energy_charge_mixed", 0.40),
        ("test_multiple_batteries_one_offline", 0.80),
        ("test_battery_zero_power_draw", 1.0),
    ],
)
def test_charge_is_of_one_family_of_units(test: str, charge: float) -> None:
    battery, _ = seen(sets()[test][0])
    assert battery.charge == pytest.approx(charge)


def test_mixed_units_are_not_mixed() -> None:
    """Charge and energy in one set: the capacity comes in ampere-hours, wear of 1 in 22."""
    battery, found = seen(sets()["test_battery_energy_charge_mixed"][0])
    assert battery.unit == "Ah" and battery.wear == pytest.approx(0.5 / 11)
    assert found["power.battery-wear"].outcome is Outcome.PASSED


def test_overfull_is_seen() -> None:
    """11 Ah in a battery that holds 10 Ah: 110 %, which gauges do; 130 % cannot be true."""
    values = sets()["test_battery_overfull"][0]
    battery, found = seen(values)
    assert battery.charge == pytest.approx(1.1)
    assert found["power.battery-report"].outcome is Outcome.PASSED
    _, found = seen({**values, "charge_now": "13000000"})
    assert found["power.battery-report"].outcome is Outcome.FAILED


def test_cycles_of_zero_are_not_known() -> None:
    """2000 cycles are told; 0 and −1 mean that nobody counts."""
    cycles = [seen(values)[0].cycles for values in sets()["test_charge_cycles"]]
    assert sorted(c or 0 for c in cycles) == [0, 0, 0, 2000]
    (worn,) = (v for v in sets()["test_charge_cycles"] if v.get("cycle_count") == "2000")
    assert "2000 charge cycles" in seen(worn)[1]["power.battery-wear"].says


def test_unknown_status_is_not_judged() -> None:
    _, found = seen(sets()["test_full_guessing"][0])
    assert found["power.charging"].outcome is Outcome.NOT_JUDGED


def test_waiting_at_40_percent_with_power_is_a_failure() -> None:
    """Adapter seen, battery not full, no charge: the sign of the board's side."""
    _, found = seen(sets()["test_display_pending_charge_one_battery"][0])
    assert found["power.charging"].outcome is Outcome.FAILED


def usb_c(amperes: int, asked: int | None) -> FakeHost:
    """A USB-C adapter of 5, 9, 15 and 20 V, and a machine that asks for 20 V."""
    adapter, own = f"{SYS}/pd1", f"{SYS}/pd0"
    files: dict[str, str] = {}
    for k, volts in enumerate((5000, 9000, 15000, 20000), 1):
        folder = f"{adapter}/source-capabilities/{k}:fixed_supply"
        current = amperes if volts == 20000 else 3000
        files |= attributes(folder, voltage=f"{volts}mV", maximum_current=f"{current}mA")
    if asked is not None:
        folder = f"{own}/sink-capabilities/2:fixed_supply"
        files |= attributes(folder, voltage="20000mV", operational_current=f"{asked}mA")
    files |= attributes(f"{TYPEC}/port0", power_operation_mode="usb_power_delivery")
    files |= attributes(f"{SYS}/ucsi", type="USB", online=1)
    links = {
        f"{TYPEC}/port0-partner/usb_power_delivery": adapter,
        f"{TYPEC}/port0/usb_power_delivery": own,
    }
    return FakeHost(files, [device("power_supply", "ucsi")], links=links)


@pytest.mark.parametrize(
    ("amperes", "asked", "watts", "outcome"),
    [
        (3250, 3250, 65.0, Outcome.PASSED),
        (2250, 3250, 45.0, Outcome.FAILED),
        (5000, 3250, 100.0, Outcome.PASSED),
        (3250, None, 65.0, Outcome.NOT_JUDGED),
    ],
)
def test_an_adapter_is_rated_against_what_the_machine_asks_for(
    amperes: int, asked: int | None, watts: float, outcome: Outcome
) -> None:
    """Volts times amperes of the strongest offer, against what the port asks for."""
    host = usb_c(amperes, asked)
    found = readings(probe, context(host, power_supply.find))["power.adapter-rating"]
    assert found.value == watts and found.outcome is outcome
    assert found.at == "adapter@jack:ucsi" and "5 V, 9 V, 15 V, 20 V" in found.says


def test_offers_of_every_kind_are_read() -> None:
    """Battery offers tell a power, programmable ones a range; their units are the ABI's."""
    host = usb_c(3000, 3000)
    folder = f"{SYS}/pd1/source-capabilities"
    host.files |= attributes(f"{folder}/5:battery", maximum_voltage="20000mV",
                             maximum_power="45000mW")  # fmt: skip
    host.files |= attributes(f"{folder}/6:programmable_supply", maximum_voltage="21000mV",
                             maximum_current="5000mA")  # fmt: skip
    (found,) = deliveries(host)
    assert {o.kind: o.watts for o in found.offers} == {
        "fixed": 60.0, "battery": 45.0, "programmable": 105.0,
    }  # fmt: skip
    assert not deliveries(FakeHost())
