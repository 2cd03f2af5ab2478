"""USB links and sockets: what is slow, what is only small, which socket was tried.

Outside sources: the BOS descriptors of Linux 6.12 ``drivers/usb/gadget/udc/dummy_hcd.c``
(usb3_bos_desc) and of the USB 3.2 specification's layout (9.6.2);
Documentation/ABI/testing/sysfs-bus-usb and sysfs-devices-physical_location;
the kernel's wording in ``drivers/usb/core/hub.c``.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from livecheck import kernel_log, knowledge
from livecheck.host import KernelMessage
from livecheck.inventory import take, usb_speed
from livecheck.probes import Context
from livecheck.probes.bus import usb
from livecheck.records import Inventory, NotTested, Outcome, Reading
from tests.testbeds import devices
from tests.testbeds.bed import Bed, BedHost, Content, Node

ROOT = f"{devices.ROOT}/0000:00:14.0"

SUPERSPEED = bytes.fromhex("050f0f00010a100300080003000000")
"""dummy_hcd.c: five bytes of head, one SuperSpeed capability with the 5 Gb/s bit alone."""
LINK_POWER = bytes.fromhex("050f0c000107100206000000")
"""A high-speed device with link power management: capability 2 alone (USB 2.0 extension)."""
TEN = bytes.fromhex("050f2a0003071002060000000a1003000e00010aff07") + bytes.fromhex(
    "14100a0001000000001100003040 0a00 b040 0a00".replace(" ", "")
)
"""SuperSpeedPlus beside the others: the layout of 9.6.2.5, two sublinks of 10 Gb/s."""


@pytest.mark.parametrize(
    ("bos", "expected"),
    [(SUPERSPEED, 5000), (LINK_POWER, 480), (TEN, 10000), (b"", None), (b"\x12\x01", None),
     (SUPERSPEED[:9], 480), (b"\x05\x0f\xff\xff\x09\x00\x10\x03", 480)],
)  # fmt: skip
def test_a_device_can_do_what_its_descriptor_says(bos: bytes, expected: int | None) -> None:
    """The capability decides, not the speed it happens to run at; a stump says nothing."""
    assert usb_speed.fastest(bos) == expected


@given(st.binary(max_size=80))
def test_any_descriptor_is_survived(noise: bytes) -> None:
    """Devices lie: nothing raises, and nothing loops."""
    assert usb_speed.fastest(noise) in (None, 480, 5000, 10000)
    assert usb_speed.fastest(b"\x05\x0f" + noise) in (None, 480, 5000, 10000)


class _Paired(BedHost):
    """Port 1 of the slow and port 3 of the fast root hub are halves of one socket."""

    def target(self, path: str) -> str | None:
        slow, fast = f"{ROOT}/usb1/1-0:1.0/usb1-port1", f"{ROOT}/usb2/2-0:1.0/usb2-port3"
        return {f"{slow}/peer": fast, f"{fast}/peer": slow}.get(path) or super().target(path)


def _bed(
    speed: str, bos: bytes | None, located: bool = True, paired: bool = True, currents: int = 0
) -> Inventory:
    """A stick in port 1 of bus 1, whose socket may have a fast half on bus 2."""
    where: dict[str, Content] = {"location": "0x80000000" if located else "0x00000000"}
    slow = "1-0:1.0/usb1-port1"
    halves: dict[str, Content] = {
        f"{slow}/{k}": v
        for k, v in {
            **where,
            "over_current_count": str(currents),
            "connect_type": "hotplug",
            "physical_location/panel": "left",
            "physical_location/vertical_position": "upper",
            "physical_location/horizontal_position": "center",
            "physical_location/dock": "no",
        }.items()
    }
    fast: dict[str, Content] = {
        "speed": "5000",
        **{f"2-0:1.0/usb2-port3/{k}": v for k, v in where.items()},
        "2-0:1.0/usb2-port3/connect_type": "hotplug",
    }
    first, interface = devices.hub_root(1, {1: "hotplug", 2: "hotplug"})
    second, other = devices.hub_root(2, {3: "hotplug"})
    stick: dict[str, Content] = {
        "idVendor": "1234", "idProduct": "0002", "bDeviceClass": "00", "speed": speed,
        "removable": "removable", "serial": "S1",
    }  # fmt: skip
    if bos is not None:
        stick["bos_descriptors"] = bos
    nodes = [
        _with(first, halves),
        interface,
        Node("usb", f"{ROOT}/usb1/1-1", stick, {"DEVTYPE": "usb_device"}),
    ]
    if paired:
        nodes += [_with(second, fast), other]
    bed = Bed(nodes=(*devices.board(), *nodes))
    return take(_Paired(bed) if paired else BedHost(bed))


def _with(node: Node, files: dict[str, Content]) -> Node:
    return Node(node.subsystem, node.path, {**node.files, **files}, node.properties, node.driver)


def _probe(inventory: Inventory, *lines: str) -> list[Reading | NotTested]:
    messages = [KernelMessage(float(n), 6, line) for n, line in enumerate(lines)]
    context = Context(
        host=BedHost(Bed(nodes=())),
        inventory=inventory,
        events=kernel_log.attach(kernel_log.events(messages), inventory),
        knowledge=knowledge.load(),
    )
    return [one for one in usb.probe(context) if isinstance(one, Reading | NotTested)]


def _outcome(found: list[Reading | NotTested], check: str) -> Outcome | None:
    return next((r.outcome for r in found if isinstance(r, Reading) and r.check == check), None)


@pytest.mark.parametrize(
    ("speed", "bos", "located", "paired", "outcome"),
    [
        # Both can do 5 Gb/s and the link runs at 480 Mb/s.
        ("480", SUPERSPEED, True, True, Outcome.FAILED),
        # The socket has no fast half: a fast device there is as fast as it can be.
        ("480", SUPERSPEED, True, False, Outcome.PASSED),
        # The kernel guessed which halves belong together: nothing to judge by.
        ("480", SUPERSPEED, False, True, Outcome.NOT_JUDGED),
        # A device for 480 Mb/s in a fast socket.
        ("480", LINK_POWER, True, True, Outcome.PASSED),
        # An older kernel shows no BOS descriptor: no word about the device, no reading.
        ("480", None, True, True, None),
        ("5000", SUPERSPEED, True, True, Outcome.PASSED),
        # 10 Gb/s device at 5: cable and port decide.
        ("5000", TEN, True, True, Outcome.NOT_JUDGED),
        # Slow devices are slow.
        ("12", None, True, True, None),
        ("1.5", None, True, True, None),
    ],
)
def test_a_link_is_slow_only_against_device_and_socket(
    speed: str, bos: bytes | None, located: bool, paired: bool, outcome: Outcome | None
) -> None:
    """Slow only against what both ends can do, and only where both say so."""
    assert _outcome(_probe(_bed(speed, bos, located, paired)), usb.SPEED) is outcome


def test_a_high_speed_device_at_full_speed_fails_only_where_the_socket_can_do_more() -> None:
    """The kernel's own message (hub.c, check_highspeed) makes it a fault at a fast socket."""
    line = "usb 1-1: not running at top speed; connect to a high speed hub"
    assert _outcome(_probe(_bed("12", None), line), usb.SPEED) is Outcome.FAILED
    assert _outcome(_probe(_bed("12", None, located=False), line), usb.SPEED) is Outcome.NOT_JUDGED


def test_sockets_are_named_by_where_they_are() -> None:
    """_PLD by the kernel: left panel, upper; the tried one passes, the other is not tested."""
    found = _probe(_bed("480", LINK_POWER, paired=False))
    tried = next(r for r in found if isinstance(r, Reading) and r.check == usb.ANSWERS)
    assert tried.at == "usb:1-1"
    assert "USB port (left side, upper)" in tried.says
    assert [n.at for n in found if isinstance(n, NotTested)] == ["usb:1-2"]


def test_over_current_is_counted_once() -> None:
    """The socket's own count fails; where the kernel's message is a reading already, it is told."""
    assert _outcome(_probe(_bed("480", None)), usb.OVER_CURRENT) is Outcome.PASSED
    assert _outcome(_probe(_bed("480", None, currents=2)), usb.OVER_CURRENT) is Outcome.FAILED
    line = "usb usb1-port1: over-current condition"
    found = _probe(_bed("480", None, currents=2), line)
    assert _outcome(found, usb.OVER_CURRENT) is Outcome.NOT_JUDGED


def test_resets_are_counted_and_not_judged() -> None:
    """hub.c: ``reset high-speed USB device number 4 using xhci_hcd``."""
    line = "usb 1-1: reset high-speed USB device number 4 using xhci_hcd"
    found = [r for r in _probe(_bed("480", None), line, line) if isinstance(r, Reading)]
    told = next(r for r in found if r.check == usb.RESETS)
    assert (told.outcome, told.value) == (Outcome.NOT_JUDGED, 2)
