"""Wireless cards: driver, firmware, address, and the switches of rfkill."""

from __future__ import annotations

import msgspec
import pytest

from livecheck import kernel_log, knowledge
from livecheck.host import KernelMessage
from livecheck.probes import Context, wireless
from livecheck.records import Device, Inventory, NotTested, Outcome, Part, Reading
from tests.inventory.fake_host import FakeHost, attributes, device

CARD = Part(id="wireless-card:W", kind="wireless-card", name="a card", place="slot:x")
PCI = Device(
    subsystem="pci", name="0000:02:00.0", path="/sys/c", component=CARD.id, driver="iwlwifi"
)
NET = Device(subsystem="net", name="wlan0", path="/sys/c/net/wlan0", component=CARD.id)


def _probe(
    devices: tuple[Device, ...], files: dict[str, str] | None = None, log: str = ""
) -> dict[str, Reading]:
    inventory = Inventory(parts=(CARD,), devices=devices)
    events = kernel_log.events([KernelMessage(1.0, 3, log)])
    host = FakeHost(files or {}, [device("rfkill", "rfkill0", "/sys/r")])
    context = Context(
        host=host,
        inventory=inventory,
        events=kernel_log.attach(events, inventory),
        knowledge=knowledge.load(),
    )
    found = [one for one in wireless.probe(context) if isinstance(one, Reading)]
    return {one.check: one for one in found}


def test_a_working_card() -> None:
    """Driver, interface and address pass."""
    found = _probe((PCI, NET), attributes(NET.path, address="02:11:22:33:44:55"))
    for check in ("present", "driver", "firmware", "address"):
        assert found[f"wireless.{check}"].outcome is Outcome.PASSED


def test_a_card_its_driver_could_not_start() -> None:
    """A driver took it and no interface came: failed. No driver at all says nothing."""
    assert _probe((PCI,))["wireless.driver"].outcome is Outcome.FAILED
    bare = msgspec.structs.replace(PCI, driver=None)
    assert _probe((bare,))["wireless.driver"].outcome is Outcome.NOT_JUDGED


def test_missing_firmware_is_not_the_cards_fault() -> None:
    """The wording of drivers/base/firmware_loader: the file is missing here."""
    line = "iwlwifi 0000:02:00.0: Direct firmware load for iwlwifi-9.ucode failed with error -2"
    found = _probe((PCI,), log=line)
    assert found["wireless.firmware"].outcome is Outcome.NOT_JUDGED
    assert found["wireless.driver"].outcome is Outcome.NOT_JUDGED


@pytest.mark.parametrize("address", ["00:00:00:00:00:00", "ff:ff:ff:ff:ff:ff"])
def test_a_card_without_an_address(address: str) -> None:
    """Zeros or ones are no address (IEEE 802: neither is a station's)."""
    found = _probe((PCI, NET), attributes(NET.path, address=address))
    assert found["wireless.address"].outcome is Outcome.FAILED


@pytest.mark.parametrize(("hard", "outcome"), [(0, Outcome.PASSED), (1, Outcome.FAILED)])
def test_hardware_switch(hard: int, outcome: Outcome) -> None:
    """rfkill's hard state is 1 when a switch or the firmware holds the radio off."""
    found = _probe((PCI, NET), attributes("/sys/r", hard=hard, soft=1, name="phy0", type="wlan"))
    assert found["wireless.blocked"].outcome is outcome


def test_no_card() -> None:
    """No card is no result: whether there ought to be one is not known here."""
    context = Context(host=FakeHost(), inventory=Inventory(), events=(), knowledge=knowledge.load())
    assert [type(one) for one in wireless.probe(context)] == [NotTested]
