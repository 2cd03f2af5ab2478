"""Wireless cards: how far each half came, what stops it, and the switches of rfkill."""

from __future__ import annotations

import msgspec
import pytest

from livecheck import kernel_log, knowledge
from livecheck.host import KernelMessage
from livecheck.probes import Context
from livecheck.probes.wireless import bring_up
from livecheck.probes.wireless.rfkill import Switch, blocked, lifts
from livecheck.records import (
    Device,
    Inventory,
    NotTested,
    Outcome,
    Part,
    Place,
    Presence,
    Reading,
    UsbFacts,
)
from tests.inventory.fake_host import FakeHost, attributes, device
from tests.radio import messages
from tests.testbeds.devices import RADIOS

CARD = Part(id="wireless-card:W", kind="wireless-card", name="a card", place="slot:x")
PCI = Device(
    subsystem="pci", name="0000:02:00.0", path="/sys/c", component=CARD.id, driver="iwlwifi"
)
NET = Device(subsystem="net", name="wlan0", path="/sys/c/net/wlan0", component=CARD.id)
PHY = Device(subsystem="ieee80211", name="phy0", path="/sys/c/phy0", component=CARD.id)
USB = Device(subsystem="usb", name="1-7", path="/sys/u", component=CARD.id, driver="usb",
             facts=UsbFacts(bluetooth=True))  # fmt: skip
BTUSB = Device(subsystem="usb_interface", name="1-7:1.0", path="/sys/u/1-7:1.0", driver="btusb",
               component=CARD.id)  # fmt: skip
HCI = Device(subsystem="bluetooth", name="hci0", path="/sys/u/hci0", component=CARD.id)
SLOT = Place(id="slot:x", kind="pcie-slot", name="the slot")


def run(
    devices: tuple[Device, ...],
    files: dict[str, str] | None = None,
    *log: str,
    places: tuple[Place, ...] = (SLOT,),
    switch: str = "/sys/c/phy0/rfkill0",
) -> dict[str, Reading]:
    inventory = Inventory(parts=(CARD,), devices=devices, places=places)
    events = kernel_log.events([KernelMessage(1.0, 3, line) for line in log])
    host = FakeHost(files or {}, [device("rfkill", "rfkill0", switch)])
    host.radios = dict(RADIOS)
    context = Context(
        host=host,
        inventory=inventory,
        events=kernel_log.attach(events, inventory),
        knowledge=knowledge.load(),
    )
    found = [one for one in bring_up.probe(context) if isinstance(one, Reading)]
    for one in found:
        assert one.check in context.knowledge.checks
    return {one.check: one for one in found}


def test_a_working_card_passes() -> None:
    """Driver, interface, radio and address pass."""
    found = run((PCI, NET, PHY), attributes(NET.path, address="02:11:22:33:44:55"))
    for check in ("present", "driver", "firmware", "address", "radio"):
        assert found[f"wireless.{check}"].outcome is Outcome.PASSED
    assert "2.4 GHz (2 channels), 5 GHz (2 channels)" in found["wireless.radio"].says
    assert "rules in force: 00 (the kernel's)" in found["wireless.radio"].details


def test_a_card_gone_from_its_bus_is_not_present() -> None:
    """The kernel lists it, and its registers read all ones (PCI Local Bus 3.0, 6.1)."""
    gone = msgspec.structs.replace(CARD, answers=False)
    inventory = Inventory(parts=(gone,), devices=(PCI, NET, PHY), places=(SLOT,))
    host = FakeHost()
    host.radios = dict(RADIOS)
    context = Context(host=host, inventory=inventory, events=(), knowledge=knowledge.load())
    found = [one for one in bring_up.probe(context) if isinstance(one, Reading)]
    assert [(one.check, one.outcome) for one in found] == [("wireless.present", Outcome.FAILED)]


def test_a_radio_without_channels_fails() -> None:
    """Registered, and everything is disabled: its own memory or its rules are broken."""
    inventory = Inventory(parts=(CARD,), devices=(PCI, NET, PHY))
    host = FakeHost()
    host.radios = {**RADIOS, "wiphy": (messages.wiphy(0, "phy0", {0: messages.band(
        messages.channel(2412, 2))}),)}  # fmt: skip
    context = Context(host=host, inventory=inventory, events=(), knowledge=knowledge.load())
    (one,) = [r for r in bring_up.probe(context)
              if isinstance(r, Reading) and r.check == "wireless.radio"]  # fmt: skip
    assert one.outcome is Outcome.FAILED


def test_a_card_its_driver_could_not_start_fails() -> None:
    """A driver took it and no interface came: failed. No driver at all says nothing."""
    assert run((PCI,))["wireless.driver"].outcome is Outcome.FAILED
    bare = msgspec.structs.replace(PCI, driver=None)
    found = run((bare,))
    assert found["wireless.driver"].outcome is Outcome.NOT_JUDGED
    assert "no driver" in str(found["wireless.driver"].why_not)


MISSING = "iwlwifi 0000:02:00.0: Direct firmware load for iwlwifi-9.ucode failed with error -2"
"""drivers/base/firmware_loader/main.c."""


def test_missing_firmware_is_not_the_cards_fault_and_is_named() -> None:
    found = run((PCI,), None, MISSING, "iwlwifi 0000:02:00.0: no suitable firmware found!")
    assert found["wireless.firmware"].outcome is Outcome.NOT_JUDGED
    assert found["wireless.firmware"].value == "iwlwifi-9.ucode"
    assert found["wireless.driver"].outcome is Outcome.NOT_JUDGED


def test_an_older_firmware_file_will_do() -> None:
    """The driver goes down the versions; a card that runs has its firmware."""
    found = run((PCI, NET), None, MISSING)
    assert found["wireless.firmware"].outcome is Outcome.PASSED
    assert "iwlwifi-9.ucode" in found["wireless.firmware"].details[0]


@pytest.mark.parametrize(
    "line",
    [
        "iwlwifi 0000:02:00.0: Direct firmware load for iwlwifi-9.ucode failed with error -5",
        "iwlwifi 0000:02:00.0: Failed to start INIT ucode: -110",
    ],
)
def test_firmware_that_is_there_and_does_not_start_fails(line: str) -> None:
    """Not the stick's lack: the card (drivers/net/wireless/intel/iwlwifi/mvm/fw.c)."""
    found = run((PCI,), None, line)
    assert found["wireless.firmware"].outcome is Outcome.FAILED
    assert found["wireless.driver"].outcome is Outcome.FAILED


@pytest.mark.parametrize(
    "address", ["00:00:00:00:00:00", "ff:ff:ff:ff:ff:ff", "01:00:5e:00:00:01", "00:11:22:33:44:55"]
)
def test_a_card_without_an_address_of_its_own_fails(address: str) -> None:
    """Zeros, ones and groups are no station's (IEEE 802); the last is a stand-in."""
    found = run((PCI, NET), attributes(NET.path, address=address))
    assert found["wireless.address"].outcome is Outcome.FAILED


@pytest.mark.parametrize(
    ("hard", "soft", "where", "word"),
    [
        (1, 0, "/sys/c/phy0/rfkill0", "the slot's radio-off line"),
        (1, 1, "/sys/devices/platform/keys/rfkill0", "slider"),
        (0, 1, "/sys/c/phy0/rfkill0", "rfkill unblock"),
    ],
)
def test_a_blocked_switch_is_named_with_what_lifts_it(
    hard: int, soft: int, where: str, word: str
) -> None:
    """Hard and soft are told apart, and what lifts each (driver-api/rfkill.rst)."""
    files = attributes(where, hard=hard, soft=soft, name="phy0", type="wlan")
    own = Device(subsystem="rfkill", name="rfkill0", path=where, component=CARD.id)
    found = run((PCI, NET, own), files, switch=where)
    by = {True: Outcome.FAILED, False: Outcome.PASSED}
    assert found["wireless.blocked"].outcome is by[bool(hard)]
    # One key may tell both, so that the second of them is no evidence of its own.
    told = Outcome.NOT_JUDGED if hard and soft else by[bool(soft)]
    assert found["wireless.soft-block"].outcome is told
    assert word in found["wireless.blocked"].says + found["wireless.soft-block"].says
    sides = knowledge.load().checks
    blames = {b.who for b in sides["wireless.blocked"].blames}
    assert blames == {"kind:setting", "software", "place", "mainboard"}
    assert sides["wireless.soft-block"].blames[0].who == "software"


def test_a_setting_kept_by_the_firmware_is_named() -> None:
    """persistent (sysfs-class-rfkill): the state outlives a restart."""
    kept = Switch(device="rfkill1", name="radio", kind="wlan", hard=False, soft=True, kept=True,
                  component=None)  # fmt: skip
    assert "kept in the firmware" in lifts(kept)
    hard = msgspec.structs.replace(kept, device="rfkill0", hard=True)
    assert blocked([kept, hard], CARD.id, "wlan") == hard
    assert blocked([kept, hard], CARD.id, "bluetooth") is None


# --- Two halves


def test_both_halves_that_answer_pass() -> None:
    found = run((PCI, NET, USB, BTUSB, HCI))
    assert found["wireless.halves"].outcome is Outcome.PASSED
    assert found["bluetooth.driver"].outcome is Outcome.PASSED
    assert found["bluetooth.driver"].value == "btusb"


def test_bluetooth_firmware_is_told_from_the_wireless_halfs() -> None:
    """drivers/bluetooth/btintel.c asks for intel/ibt-….sfi; the other half runs."""
    line = "bluetooth hci0: Direct firmware load for intel/ibt-12-16.sfi failed with error -2"
    hci = "Bluetooth: hci0: Failed to load Intel firmware file intel/ibt-12-16.sfi (-2)"
    found = run((PCI, NET, USB, BTUSB), None, line, hci)
    assert found["wireless.firmware"].outcome is Outcome.PASSED
    assert found["bluetooth.firmware"].outcome in (Outcome.NOT_JUDGED, Outcome.PASSED)
    assert found["bluetooth.driver"].outcome is not Outcome.PASSED


def test_bluetooth_alone_points_at_the_slots_pci_express_lines() -> None:
    """The fault is narrowed to the slot's PCI Express half."""
    silent = msgspec.structs.replace(SLOT, id="slot:y", presence=Presence.NOTHING_ANSWERS)
    card = msgspec.structs.replace(CARD, place="usb:1-7")
    inventory = Inventory(parts=(card,), devices=(USB, BTUSB, HCI), places=(silent,))
    context = Context(host=FakeHost(), inventory=inventory, events=(), knowledge=knowledge.load())
    (one,) = [r for r in bring_up.probe(context)
              if isinstance(r, Reading) and r.check == "wireless.halves"]  # fmt: skip
    assert (one.at, one.outcome) == ("slot:y", Outcome.FAILED)


def test_wireless_alone_points_at_the_usb_lines_where_a_port_inside_has_errors() -> None:
    """drivers/usb/core/hub.c: something at the port never answered."""
    port = Place(id="usb:1-7", kind="usb-port", name="USB port 1-7 (inside)")
    line = "usb 1-7: device descriptor read/64, error -71"
    found = run((PCI, NET), None, line, places=(SLOT, port))
    assert found["wireless.halves"].outcome is Outcome.FAILED
    assert "wireless.halves" not in run((PCI, NET), None, places=(SLOT, port))


def test_without_a_card_wireless_is_not_tested() -> None:
    """No card is no result: whether there ought to be one is not known here."""
    context = Context(host=FakeHost(), inventory=Inventory(), events=(), knowledge=knowledge.load())
    assert [type(one) for one in bring_up.probe(context)] == [NotTested]
