"""Batteries, adapters, sensors and fans that tell what cannot be.

Sources: Linux Documentation/power/power_supply_class.rst (µV, µAh, µWh);
Documentation/hwmon/sysfs-interface.rst (millidegrees, revolutions a minute);
Documentation/driver-api/thermal/sysfs-api.rst. Figures beyond which nothing is believed are the
attacks' own: 65535 revolutions, ten times the design, a trip point at 1 °C.
"""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest

from livecheck.records import Run
from tests.hostile.outsider.support import (
    accused,
    defects,
    located,
    looked,
    of,
    outcomes,
    run_of,
    with_files,
)
from tests.testbeds import laptops
from tests.testbeds.bed import BedHost

BATTERY = of("power_supply", "BAT0")
CHIP, FAN, ZONE = of("hwmon", "hwmon0"), of("hwmon", "hwmon1"), of("thermal")
NUMBERS = ("", "0", "-1", "-273000", "4294967295", "18446744073709551615", "9" * 5000, "nan", "1e9",
           "0x10", " 12 34", "-9223372036854775808")  # fmt: skip


def _battery(**files: str) -> Run:
    return run_of(with_files(laptops.ahci(), BATTERY, **files))


@pytest.mark.parametrize(
    "files",
    [
        {"energy_full": "500000000"},
        {"energy_full": "50000000", "energy_full_design": "5000"},
        {"energy_full": "4300", "energy_now": "4300"},
        {"energy_full": "43", "energy_now": "43", "energy_full_design": "50000000"},
        {"energy_full": "-43000000", "energy_now": "-43000000"},
        {"energy_full_design": "-50000000"},
        {"energy_full_design": "9223372036854775807"},
        {"energy_full_design": "65535000000"},
        {"energy_full": "43100000", "energy_full_design": "50000"},
    ],
    ids=repr,
)
def test_a_capacity_that_cannot_be_is_no_wear(files: dict[str, str]) -> None:
    """H06: ten times the design, a thousandth of it (another unit), negative."""
    run = _battery(**files)
    assert outcomes(run, "power.battery-wear") == {"not judged"}
    assert not accused(located(run))


def test_without_a_design_there_is_no_wear() -> None:
    """H06: nothing to compare with; and a worn battery is still worn."""
    assert outcomes(_battery(energy_full_design="0"), "power.battery-wear") == {"not judged"}
    assert outcomes(_battery(energy_full="0"), "power.battery-wear") == {"not judged"}
    worn = _battery(energy_full="10000000", energy_now="10000000")
    assert outcomes(worn, "power.battery-wear") == {"failed"}


@pytest.mark.parametrize("now", ["-5000000", "500000000", "9223372036854775807", "1"])
def test_a_charge_that_cannot_be(now: str) -> None:
    """H06: a battery that claims what it cannot hold lies about itself; it is not the culprit."""
    assert not accused(located(_battery(energy_now=now)))


@pytest.mark.parametrize("volts", ["0", "-12000000", "65535000", "2147483648000000", "1"])
def test_a_voltage_that_cannot_be_is_not_judged(volts: str) -> None:
    """H07: 65.535 V is a field of ones; nothing or less is a gauge that does not answer."""
    run = _battery(voltage_now=volts)
    assert "failed" not in outcomes(run, "power.battery-report")
    assert not accused(located(run))
    run = _battery(voltage_min_design=volts)
    assert "failed" not in outcomes(run, "power.battery-report")
    assert not accused(located(run))


def test_any_figure_of_a_battery_or_adapter() -> None:
    """H06, H07: each file in turn is each absurd number, and is any status at all."""
    bed = laptops.ahci()
    for node in bed.nodes:
        if node.subsystem != "power_supply":
            continue
        for name, value in itertools.product(node.files, NUMBERS):
            if name in ("type", "model_name", "serial_number", "manufacturer"):
                continue
            host = BedHost(with_files(bed, of("power_supply", node.name), **{name: value}))
            run = looked(host, "power")
            assert defects(run) == []
            assert not accused(located(run)), (name, value)
    for status in ("Unknown", "Not charging", "charging", "\x1b[2J", "F" * 65536):
        assert not accused(located(_battery(status=status, capacity="255")))


@pytest.mark.parametrize("rpm", ["65535", "-1", "-2300", "4294967295", "100000"])
def test_a_fan_that_cannot_turn_so(rpm: str) -> None:
    """H08: a counter of ones is a fan that was not counted."""
    run = run_of(with_files(laptops.ahci(), FAN, fan1_input=rpm))
    assert outcomes(run, "heat.fan") == {"not judged"}


def test_a_fan_that_a_machine_does_not_have() -> None:
    """H08: some firmware tells of a fan that is not there, for ever at 0."""
    for heat in ("20000", "47000"):
        bed = with_files(laptops.ahci(), FAN, fan1_input="0")
        bed = with_files(with_files(bed, CHIP, temp1_input=heat), ZONE, temp=heat)
        run = run_of(bed)
        assert outcomes(run, "heat.fan") == {"not judged"}
        assert not accused(located(run))


@pytest.mark.parametrize(
    "files",
    [
        {"temp1_input": "0"}, {"temp1_input": "-273150"}, {"temp1_input": "127500"},
        {"temp1_input": "128000"}, {"temp1_input": "255000"}, {"temp1_input": "-128000"},
        {"temp1_crit": "0", "temp1_max": "0"}, {"temp1_crit": "10000", "temp1_max": "10000"},
        {"temp1_crit": "-1000", "temp1_max": "-1000"},
        {"temp1_crit": "41000", "temp1_max": "41000"},
        {"temp1_crit": "127000", "temp1_max": "127000"}, {"temp1_label": ""},
        {"temp1_crit": "9223372036854775807"},
    ],
    ids=repr,
)  # fmt: skip
def test_a_temperature_or_limit_that_cannot_be(files: dict[str, str]) -> None:
    """H09: a limit that a machine at rest has passed is a placeholder."""
    run = run_of(with_files(laptops.ahci(), CHIP, **files))
    assert "failed" not in outcomes(run, "heat.temperature")
    assert not accused(located(run))
    fan_off = with_files(with_files(laptops.ahci(), CHIP, **files), FAN, fan1_input="0")
    run = run_of(fan_off)
    assert "failed" not in outcomes(run, "heat.fan")
    assert not accused(located(run))


@pytest.mark.parametrize("kind", ["passive", "hot", "critical", "active", "", "x" * 9999])
@pytest.mark.parametrize("trip", ["0", "1000", "20000", "46000", "-273000", "2147483647000", ""])
def test_a_trip_point_that_cannot_be(kind: str, trip: str) -> None:
    """H10: a cool machine that is past it is no hot machine."""
    files = {"trip_point_0_type": kind, "trip_point_0_temp": trip, "temp": "38000"}
    run = run_of(with_files(laptops.ahci(), ZONE, **files))
    hot = kind == "passive" and trip == "46000"
    assert hot or "failed" not in outcomes(run, "heat.trip")
    assert not accused(located(run))


def test_zones_that_are_stuck() -> None:
    """H10: a zone at 255 degrees, at 0 and at the ice point in tenths of kelvin."""
    for heat in ("255000", "0", "2732000", "-274000", "127000", "126900"):
        bed = with_files(laptops.ahci(), ZONE, temp=heat)
        fan_off = with_files(bed, FAN, fan1_input="0")
        for one in (bed, fan_off, replace(bed, extra={**bed.extra})):
            run = run_of(one)
            if heat != "126900":
                assert "failed" not in outcomes(run, "heat.trip") | outcomes(run, "heat.fan")
                assert not accused(located(run)), heat
