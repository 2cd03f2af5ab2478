"""Batteries and adapters from the kernel's attributes."""

from __future__ import annotations

import pytest

from livecheck.host import UdevDevice
from livecheck.inventory import power_supply, smbios
from livecheck.inventory.power_state import read_battery
from livecheck.inventory.tree import Seen
from livecheck.records import Presence
from tests.inventory import smbios_builder as build
from tests.inventory.fake_host import SYS, FakeHost, attributes, device, seen

BAT = f"{SYS}/BAT0"
ENERGY = attributes(
    BAT, type="Battery", present=1, status="Discharging", manufacturer="Akkuwerk",
    model_name="AW-50", serial_number="01234", technology="Li-ion", cycle_count=312,
    energy_now=47_910_000, energy_full=48_260_000, energy_full_design=74_880_000,
    voltage_min_design=14_400_000, voltage_now=16_267_000, power_now=0, capacity=99,
)  # fmt: skip
"""The battery recorded in the manual page of NetBSD's acpibat(4), in the kernel's units."""


def host(files: dict[str, str], *names: str, **more: str | bytes) -> FakeHost:
    listed: list[UdevDevice] = [device("power_supply", n) for n in names]
    return FakeHost({**files, **more}, listed)


def test_a_recorded_battery_is_read() -> None:
    """Worked from NetBSD acpibat(4): wear 35.55 %, charge 99.27 %."""
    battery = read_battery(host(ENERGY), BAT)
    assert battery.wear == pytest.approx(0.3555, abs=5e-5)
    assert battery.charge == pytest.approx(0.9927, abs=5e-5)
    assert (battery.unit, battery.full, battery.volts) == ("Wh", 48.26, 16.267)


@pytest.mark.parametrize(("now", "charge"), [(48_000_000, 0.8), (1_500_000, 0.025)])
def test_upowers_sample_battery_is_read(now: int, charge: float) -> None:
    """UPower's integration test: full 60 Wh, design 80 Wh; now 48 Wh is 80 %, 1.5 Wh 2.5 %."""
    files = attributes(
        BAT, type="Battery", present=1, status="Discharging", energy_full=60_000_000,
        energy_full_design=80_000_000, energy_now=now, voltage_now=12_000_000,
    )  # fmt: skip
    battery = read_battery(host(files), BAT)
    assert battery.charge == pytest.approx(charge)
    assert battery.wear == pytest.approx(0.25)


def test_charge_and_energy_are_not_mixed() -> None:
    """Kernel documentation, power_supply_class.rst: CHARGE_* in µAh, ENERGY_* in µWh."""
    files = attributes(BAT, energy_now=20_000_000, charge_full=3_000_000, charge_now=1_500_000)
    files |= attributes(BAT, charge_full_design=4_000_000, energy_full=0)
    battery = read_battery(host(files), BAT)
    assert (battery.unit, battery.now, battery.full, battery.design) == ("Ah", 1.5, 3.0, 4.0)
    only_one_end = attributes(BAT, energy_full=50_000_000, charge_full_design=4_000_000)
    assert read_battery(host(only_one_end), BAT).wear is None


def test_unknown_stays_unknown() -> None:
    battery = read_battery(host({}), BAT)
    assert battery.wear is None and battery.charge is None and battery.unit is None
    nonsense = attributes(BAT, energy_full="garbage", energy_full_design=0, cycle_count=-1)
    assert read_battery(host(nonsense), BAT).wear is None
    assert read_battery(host(nonsense), BAT).cycles is None


def test_battery_and_adapter_become_parts() -> None:
    files = ENERGY | attributes(f"{SYS}/AC", type="Mains", online=1)
    found = power_supply.find(host(files, "AC", "BAT0"), Seen())
    parts = {p.kind: p for p in found.parts}
    assert parts["battery"].identity == "serial:AW-50 01234"
    assert parts["battery"].place == "bay:BAT0"
    assert parts["adapter"].id == "adapter@jack:AC" and parts["adapter"].identity is None
    assert {d.name: d.component for d in found.devices} == {
        "AC": "adapter@jack:AC",
        "BAT0": parts["battery"].id,
    }
    assert [c.id for c in found.controllers] == ["power-controller"]


def test_lying_serial_numbers_identify_nothing() -> None:
    for lie in ("", "   ", "0000", "Default string"):
        found = power_supply.find(host({**ENERGY, f"{BAT}/serial_number": lie}, "BAT0"), Seen())
        assert found.parts[0].id == "battery@bay:BAT0"


def test_jack_without_power_says_nothing_of_the_adapter() -> None:
    found = power_supply.find(host(attributes(f"{SYS}/AC", type="Mains", online=0), "AC"), Seen())
    assert found.parts == ()
    assert found.places[0].presence is Presence.UNKNOWN
    assert found.devices[0].component == "jack:AC"


def test_a_usb_c_jack_tells_its_active_type() -> None:
    folder = f"{SYS}/ucsi-source-psy-USBC000:001"
    files = attributes(
        folder, type="USB", online=1, voltage_now=20_000_000, current_max=3_250_000,
        usb_type="C [PD] PD_PPS", voltage_max=20_000_000,
    )  # fmt: skip
    found = power_supply.find(host(files, "ucsi-source-psy-USBC000:001"), Seen())
    assert found.devices[0].attributes["usb_type"] == "PD"
    assert found.devices[0].attributes["volts"] == 20.0
    assert found.parts[0].attributes["max_amperes"] == 3.25


def test_battery_of_a_mouse_is_not_the_machines() -> None:
    files = attributes(f"{SYS}/hid-0", type="Battery", scope="Device", capacity=70)
    found = power_supply.find(host(files, "hid-0"), Seen())
    assert found.parts == () and found.places == () and len(found.devices) == 1


def test_empty_bays_are_places() -> None:
    """ACPI 10.2.1: bit 4 of _STA tells whether a battery is in the bay."""
    acpi = power_supply.ACPI
    files = attributes(f"{acpi}/PNP0C0A:00", status=15, path=r"\_SB_.PCI0.LPCB.EC0_.BAT0")
    files |= attributes(f"{acpi}/PNP0C0A:01", status=0, path=r"\_SB_.PCI0.LPCB.EC0_.BAT1")
    found = power_supply.find(host(files), Seen())
    assert [(p.id, p.presence) for p in found.places] == [("bay:BAT0", Presence.EMPTY)]
    gone = attributes(BAT, type="Battery", present=0)
    there = power_supply.find(host(gone, "BAT0"), Seen())
    assert there.parts == () and there.places[0].presence is Presence.EMPTY


def test_firmware_is_a_second_witness() -> None:
    """SMBIOS type 22 of the builder: 50 Wh, 11.4 V (worked with dmidecode)."""
    table = build.battery() + build.end()
    laptop = host(ENERGY, "BAT0", **{smbios.TABLE: table})
    found = power_supply.find(laptop, seen(laptop))
    battery = found.parts[0]
    assert battery.attributes["firmware_design_wh"] == 50.0
    assert battery.attributes["firmware_design_volts"] == 11.4
    assert battery.attributes["firmware_made"] == "2021-07-15"
