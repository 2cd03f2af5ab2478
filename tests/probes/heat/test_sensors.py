"""Heat: limits are the chips' own, faulty sensors are not trusted."""

from __future__ import annotations

import pytest

from livecheck.inventory import sensors, smbios
from livecheck.probes.heat.sensors import CPUS, probe
from livecheck.records import Outcome, Reading
from tests.inventory.fake_host import SYS, FakeHost, attributes, device
from tests.probes.support import context, readings, untested

HWMON = f"{SYS}/hwmon0"
ZONE = f"{SYS}/thermal_zone0"


def run(files: dict[str, str]) -> dict[str, Reading]:
    listed = [device("hwmon", "hwmon0"), device("thermal", "thermal_zone0")]
    return readings(probe, context(FakeHost(files, listed), smbios.find, sensors.find))


def chip(celsius: float, **more: str | int) -> dict[str, str]:
    values: dict[str, str | int] = {"name": "coretemp", "temp1_input": round(celsius * 1000)}
    return attributes(HWMON, **{**values, "temp1_crit": 105_000, **more})


@pytest.mark.parametrize(
    ("celsius", "outcome"),
    # coretemp's documentation: TjMax 105 °C for mobile i5/i7 3xxx; the margin is ours.
    [(48.0, Outcome.PASSED), (100.0, Outcome.PASSED), (100.5, Outcome.FAILED)],
)
def test_room_to_the_chips_limit(celsius: float, outcome: Outcome) -> None:
    found = run(chip(celsius))["heat.temperature"]
    assert found.outcome is outcome and found.value == celsius
    assert found.at == "processor@socket:0"


def test_faulty_and_unwired_sensors_are_not_trusted() -> None:
    """hwmon ABI: with temp*_fault set the value is not to be trusted."""
    assert run(chip(104, temp1_fault=1))["heat.temperature"].outcome is Outcome.NOT_JUDGED
    assert run(chip(127))["heat.temperature"].outcome is Outcome.NOT_JUDGED
    without_limit = run(chip(60, temp1_crit=0))["heat.temperature"]
    assert without_limit.outcome is Outcome.NOT_JUDGED and without_limit.value == 60.0


def test_a_fan_is_called_a_fan_by_whatever_its_label_is() -> None:
    """fan*_label of the hwmon ABI is often the name of what it cools."""
    for more, name in (({"fan1_label": "CPU"}, "Fan CPU"), ({}, "The fan of coretemp")):
        says = run(chip(85, fan1_input=0, **more))["heat.fan"].says
        assert says == f"{name} stands still while it is 85 °C inside."


@pytest.mark.parametrize(
    ("rpm", "celsius", "more", "outcome"),
    [
        (2780, 50.0, {}, Outcome.PASSED),
        (0, 50.0, {}, Outcome.NOT_JUDGED),
        (0, 85.0, {}, Outcome.FAILED),
        (0, 50.0, {"fan1_fault": 1}, Outcome.FAILED),
    ],
)
def test_a_fan_fails_only_where_it_stands_still_in_heat(
    rpm: int, celsius: float, more: dict[str, int], outcome: Outcome
) -> None:
    found = run(chip(celsius, fan1_input=rpm, **more))["heat.fan"]
    assert found.outcome is outcome and found.at == "cooling@cooling"


@pytest.mark.parametrize(
    ("celsius", "outcome"), [(37, Outcome.PASSED), (81, Outcome.FAILED), (96, Outcome.FAILED)]
)
def test_a_zone_near_its_trip_point_fails(celsius: int, outcome: Outcome) -> None:
    """Trip points of the kernel's sample: critical 100 °C, passive 80 °C, active 70 °C."""
    files = attributes(
        ZONE, type="acpitz", temp=celsius * 1000, trip_point_0_temp=100_000,
        trip_point_0_type="critical", trip_point_1_temp=80_000, trip_point_1_type="passive",
        trip_point_2_temp=70_000, trip_point_2_type="active0",
    )  # fmt: skip
    assert run(files)["heat.trip"].outcome is outcome


def test_throttling_is_counted_and_told() -> None:
    """sysfs-devices-system-cpu: counts since the start; a package's stands at each of its cpus."""
    files: dict[str, str] = {}
    for cpu in ("cpu0", "cpu1"):
        folder = f"{CPUS}/{cpu}/thermal_throttle"
        files |= attributes(folder, core_throttle_count=0, package_throttle_count=7)
        files |= attributes(folder, package_throttle_total_time_ms=40)
    found = run(files)["heat.throttled"]
    assert found.outcome is Outcome.PASSED and found.value == 7
    files |= attributes(f"{CPUS}/cpu0/thermal_throttle", package_throttle_total_time_ms=90_000)
    assert run(files)["heat.throttled"].outcome is Outcome.FAILED


def test_nothing_to_test() -> None:
    assert set(untested(probe, context(FakeHost()))) == {
        "Temperatures",
        "Fans",
        "Throttling since the start",
    }
