"""Made-up courses of a laptop's last minutes, and the host they would have been read from."""

from __future__ import annotations

from collections.abc import Callable

from livecheck.meters import Channel, Sample, Sort
from livecheck.recorder.lines import Closing, Header, LastMessage, Recorded
from livecheck.records import Machine
from tests.inventory.fake_host import SYS, FakeHost, attributes, device

MACHINE = Machine(vendor="Example", product="Bench 14", uuid="7d1e8b52-9a44-4c31-8f0e-52d1c7a90b11")
BOOT, NEXT = "11111111-0000-4000-8000-000000000001", "22222222-0000-4000-8000-000000000002"

CHANNELS = (
    Channel(key="temperature:coretemp/Package", sort=Sort.TEMPERATURE, name="coretemp Package",
            source="t", limit=100.0, trips=True, processor=True),
    Channel(key="adapter:AC", sort=Sort.ADAPTER, name="adapter at AC", source="a"),
    Channel(key="battery-charge:BAT0", sort=Sort.CHARGE, name="battery charge", source="c"),
    Channel(key="battery-volts:BAT0", sort=Sort.VOLTS, name="battery voltage", source="v"),
    Channel(key="battery-status:BAT0", sort=Sort.STATUS, name="battery", source="s"),
    Channel(key="load", sort=Sort.LOAD, name="load", source="l"),
)  # fmt: skip

Value = float | None
Course = Callable[[int], Value]


def record(
    seconds: int = 60,
    *,
    heat: Course = lambda t: 52.0,
    adapter: Course = lambda t: 1.0,
    charge: Course = lambda t: 80.0,
    volts: Course = lambda t: 12.1,
    status: Course = lambda t: 2.0,
    load: Course = lambda t: 97.0,
    told: tuple[LastMessage, ...] = (),
    closing: Closing | None = None,
    panics: tuple[str, ...] = (),
) -> Recorded:
    """A record of so many seconds."""
    courses = (heat, adapter, charge, volts, status, load)
    samples = tuple(
        Sample(
            seconds=100.0 + t,
            wall=1_772_000_000.0 + t,
            step="processor",
            values=tuple(course(t) for course in courses),
        )
        for t in range(seconds)
    )
    header = Header(boot=BOOT, started="2026-03-01T10:00:00+00:00", machine=MACHINE,
                    program="0.1.0", channels=CHANNELS, panics=panics)  # fmt: skip
    return Recorded(header=header, samples=samples, told=told, closing=closing)


def laptop() -> FakeHost:
    """A laptop's sysfs with one of each meter."""
    hwmon, zone, supply, battery = (f"{SYS}/{n}" for n in ("hwmon0", "tz", "AC", "BAT0"))
    rapl = f"{SYS}/intel-rapl:0"
    files = attributes(hwmon, name="coretemp", temp1_input=61_000, temp1_crit=100_000,
                       temp1_label="Package id 0", fan1_input=2780)  # fmt: skip
    files |= attributes(zone, type="acpitz", temp=48_000, trip_point_0_temp=105_000,
                        trip_point_0_type="critical")  # fmt: skip
    files |= attributes(supply, type="Mains", online=1)
    files |= attributes(battery, type="Battery", status="Charging", voltage_now=12_340_000,
                        current_now=1_250_000, capacity=71)  # fmt: skip
    files |= attributes(rapl, name="package-0", energy_uj=1_000_000,
                        max_energy_range_uj=262_143_328_850)  # fmt: skip
    cpu = "/sys/devices/system/cpu/cpu0"
    files |= attributes(f"{cpu}/cpufreq", scaling_cur_freq=1_800_000)
    files |= attributes(f"{cpu}/thermal_throttle", package_throttle_count=3)
    files |= attributes("/sys/devices/system/edac/mc/mc0", ce_count=0, ue_count=0)
    files |= {"/proc/uptime": "1000.00 900.00\n", "/proc/sys/kernel/random/boot_id": f"{BOOT}\n"}
    files |= attributes("/sys/class/dmi/id", sys_vendor="Example", product_name="Bench 14",
                        product_uuid=MACHINE.uuid or "")  # fmt: skip
    listed = [
        device("hwmon", "hwmon0", hwmon), device("thermal", "thermal_zone0", zone),
        device("power_supply", "AC", supply), device("power_supply", "BAT0", battery),
        device("powercap", "intel-rapl:0", rapl),
    ]  # fmt: skip
    return FakeHost(files, listed)
