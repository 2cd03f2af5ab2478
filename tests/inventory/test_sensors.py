"""Sensors of the hwmon and thermal classes."""

from __future__ import annotations

from livecheck.inventory import sensors
from livecheck.inventory.tree import Contribution, Seen
from livecheck.records import Device, Part
from tests.inventory.fake_host import SYS, FakeHost, attributes, device

HWMON = f"{SYS}/hwmon0"
ZONE = f"{SYS}/thermal_zone0"


def test_temperatures_in_degrees() -> None:
    """hwmon ABI: millidegrees; coretemp's own documentation gives a TjMax of 105 °C."""
    files = attributes(
        HWMON, name="coretemp", temp1_input=48_000, temp1_label="Package id 0",
        temp1_max=105_000, temp1_crit=105_000, temp1_crit_alarm=0, temp10_input=-5000,
        temp2_input="nonsense", temp2_fault=1,
    )  # fmt: skip
    first, second, tenth = sensors.temperatures(FakeHost(files, [device("hwmon", "hwmon0")]))
    assert (first.celsius, first.critical, first.label) == (48.0, 105.0, "Package id 0")
    assert first.critical_alarm is False and not first.fault
    assert second.celsius is None and second.fault
    assert tenth.celsius == -5.0


def test_counted_fans_are_read_with_their_faults() -> None:
    files = attributes(HWMON, name="nct6775", fan1_input=2780, fan2_input=0, fan2_fault=1)
    first, second = sensors.fans(FakeHost(files, [device("hwmon", "hwmon0")]))
    assert first.rpm == 2780 and second.rpm == 0 and second.fault


def test_trip_points_are_those_of_the_kernels_sample() -> None:
    """Kernel thermal sysfs-api sample: 100 critical, 80 passive, 70 active0, 60 active1."""
    files = attributes(ZONE, type="acpitz", temp=37_000)
    for n, (kind, temp) in enumerate(
        [("critical", 100_000), ("passive", 80_000), ("active0", 70_000), ("active1", 60_000)]
    ):
        files[f"{ZONE}/trip_point_{n}_temp"] = f"{temp}\n"
        files[f"{ZONE}/trip_point_{n}_type"] = f"{kind}\n"
    files |= attributes(ZONE, trip_point_4_temp=-274_000, trip_point_4_type="hot")
    (zone,) = sensors.zones(FakeHost(files, [device("thermal", "thermal_zone0")]))
    assert [(t.kind, t.celsius) for t in zone.trips] == [
        ("critical", 100.0),
        ("passive", 80.0),
        ("active", 70.0),
        ("active", 60.0),
    ]


def test_sensors_belong_to_what_they_measure() -> None:
    seen = Seen()
    cpu = Part(id="processor@socket:0", kind="processor", name="cpu", place="socket:0")
    drive = Device(subsystem="pci", name="d", path="/sys/devices/pci0/d", component="drive:X")
    seen.add(Contribution(parts=(cpu,), devices=(drive,)))
    listed = [
        device("hwmon", "hwmon0"),
        device("hwmon", "hwmon1", "/sys/devices/pci0/d/nvme/hwmon1"),
        device("thermal", "cooling_device0"),
        device("powercap", "intel-rapl:0"),
    ]
    files = attributes(HWMON, name="k10temp", temp1_input=40_000)
    files |= attributes("/sys/devices/pci0/d/nvme/hwmon1", name="nvme")
    files |= attributes(f"{SYS}/cooling_device0", type="Fan")
    files |= attributes(f"{SYS}/intel-rapl:0", name="package-0")
    found = sensors.find(FakeHost(files, listed), seen)
    assert {d.name: d.component for d in found.devices} == {
        "hwmon0": "processor@socket:0",
        "hwmon1": "drive:X",
        "cooling_device0": "cooling@cooling",
        "intel-rapl:0": "processor@socket:0",
    }
    assert [p.id for p in found.parts] == ["cooling@cooling"]


def test_no_sensors_no_cooling_part() -> None:
    assert sensors.find(FakeHost(), Seen()) == Contribution()
