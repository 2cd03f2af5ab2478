"""Network interfaces, radios and switches from the kernel's attributes."""

from __future__ import annotations

from livecheck.inventory import radio
from livecheck.inventory.tree import Contribution, Seen
from livecheck.records import Controller, Device, NetFacts, Part, Place
from tests.inventory.fake_host import FakeHost, attributes, device

CARD = "/sys/devices/pci0000:00/0000:00:1c.0/0000:02:00.0"
WIRED = "/sys/devices/pci0000:00/0000:00:1f.6"
PART = "wireless-card@slot:0000:00:1c.0"


def seen() -> Seen:
    known = Seen()
    place = Place(id="slot:0000:00:1c.0", kind="pcie-slot", name="slot")
    card = Part(id=PART, kind="wireless-card", name="card", place=place.id)
    wired = Controller(id="pci:0000:00:1f.6", kind="network-controller", name="wired")
    functions = (
        Device(subsystem="pci", name="0000:02:00.0", path=CARD, component=PART),
        Device(subsystem="pci", name="0000:00:1f.6", path=WIRED, component=wired.id),
    )
    known.add(Contribution(places=(place,), parts=(card,), controllers=(wired,), devices=functions))
    return known


LISTED = (
    device("net", "lo", "/sys/devices/virtual/net/lo"),
    device("net", "eno1", f"{WIRED}/net/eno1"),
    device("net", "wlan0", f"{CARD}/net/wlan0"),
    device("ieee80211", "phy0", f"{CARD}/ieee80211/phy0"),
    device("bluetooth", "hci0", f"{CARD}/usb/bluetooth/hci0"),
    device("bluetooth", "hci0:12", f"{CARD}/usb/bluetooth/hci0/hci0:12"),
    device("rfkill", "rfkill0", f"{CARD}/ieee80211/phy0/rfkill0"),
    device("rfkill", "rfkill1", "/sys/devices/platform/hotkeys/rfkill/rfkill1"),
)
FILES = (
    attributes(f"{CARD}/net/wlan0", address="02:00:5e:10:20:30", addr_assign_type=0)
    | attributes(f"{CARD}/net/wlan0/phy80211", index=0)
    | attributes(f"{WIRED}/net/eno1", address="02:00:5e:00:00:01", addr_assign_type=1)
    | attributes(f"{CARD}/ieee80211/phy0/rfkill0", type="wlan", soft=1, hard=0, name="phy0")
    | attributes("/sys/devices/platform/hotkeys/rfkill/rfkill1", type="wlan", soft=0, hard=1)
)


def test_every_device_goes_to_its_component() -> None:
    found = {d.name: d for d in radio.find(FakeHost(FILES, LISTED), seen()).devices}
    assert {name: d.component for name, d in found.items()} == {
        "lo": None,
        "eno1": "pci:0000:00:1f.6",
        "wlan0": PART,
        "phy0": PART,
        "hci0": PART,
        "rfkill0": PART,
        "rfkill1": None,
    }
    assert found["wlan0"].facts == NetFacts(wireless=True)
    assert found["wlan0"].attributes["burnt_in"] is True
    assert found["eno1"].attributes["burnt_in"] is False
    assert found["lo"].facts == NetFacts(virtual=True)
    assert found["rfkill0"].attributes["soft_blocked"] is True
    assert found["rfkill1"].attributes["hard_blocked"] is True


def test_components_learn_the_names_of_what_runs_on_them() -> None:
    known = seen()
    known.add(radio.find(FakeHost(FILES, LISTED), known))
    assert known.parts[PART].attributes == {
        "interface": "wlan0",
        "phy": "phy0",
        "bluetooth": "hci0",
    }
    assert known.controllers["pci:0000:00:1f.6"].attributes == {"interface": "eno1"}


def test_a_radio_on_no_bus_is_a_part_of_the_board() -> None:
    """On a board's own bus, or simulated: no PCI function and no USB device carries it."""
    above = "/sys/devices/virtual/mac80211_hwsim/hwsim0"
    listed = (
        device("ieee80211", "phy0", f"{above}/ieee80211/phy0"),
        device("net", "wlan0", f"{above}/net/wlan0"),
        device("rfkill", "rfkill0", f"{above}/ieee80211/phy0/rfkill0"),
    )
    files = attributes(f"{above}/ieee80211/phy0", macaddress="02:00:00:00:00:00")
    known = Seen()
    known.add(radio.find(FakeHost(files, listed), known))
    (part,) = known.parts.values()
    assert part.kind == "wireless-card" and part.soldered
    for name in (("ieee80211", "phy0"), ("net", "wlan0"), ("rfkill", "rfkill0")):
        assert known.devices[name].component == part.id


def test_without_radios_nothing_is_handed_in() -> None:
    assert radio.find(FakeHost(), Seen()) == Contribution()
