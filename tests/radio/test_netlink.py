"""The way to the kernel, with what every Linux has: its own netlink families."""

from __future__ import annotations

import errno
import json
import os
import struct
import subprocess
from pathlib import Path

import msgspec
import pytest

from livecheck.capture import CapturedHost, RecordingHost
from livecheck.host import Unreadable
from livecheck.live_host import LiveHost
from livecheck.radio import attributes, netlink
from tests.inventory.fake_host import FakeHost


def test_a_dump_of_the_kernels_own_families(monkeypatch: pytest.MonkeyPatch) -> None:
    """Source: the list ``genl`` shows; here the family nlctrl is asked for all families.

    It has the same headers and the same kind of dump as nl80211 has.
    """
    monkeypatch.setitem(netlink.QUESTIONS, "families", 3)
    bodies = netlink.ask("families", family="nlctrl")
    # CTRL_ATTR_FAMILY_ID 1, CTRL_ATTR_FAMILY_NAME 2 (include/uapi/linux/genetlink.h).
    found = {
        attributes.word(t[2]): attributes.unsigned(t[1]) for t in map(attributes.table, bodies)
    }
    assert found["nlctrl"] == 0x10


def test_a_family_the_kernel_does_not_have() -> None:
    """No radio driver in the kernel: an errno, not a crash and not a word on the screen."""
    with pytest.raises(netlink.KernelRefused) as refused:
        netlink.ask("wiphy", family="no-such-family")
    assert refused.value.errno == errno.ENOENT


def _spare_interface() -> str | None:
    for folder in sorted(Path("/sys/class/net").iterdir()):
        down = int((folder / "flags").read_text(), 16) & 1 == 0 if folder.is_dir() else False
        if down and not (folder / "device").exists():
            return folder.name
    return None


@pytest.mark.skipif(os.geteuid() != 0, reason="switching an interface on needs root")
def test_an_interface_is_switched_on_and_left_as_it_was() -> None:
    """Source: what ``ip`` says of the same interface."""
    name = _spare_interface()
    if name is None:
        pytest.skip("this machine has no virtual interface that is down")
    index = int(Path(f"/sys/class/net/{name}/ifindex").read_text())

    def up() -> bool:
        said = subprocess.run(["ip", "-j", "link", "show", name], capture_output=True, check=True)
        return "UP" in json.loads(said.stdout)[0]["flags"]

    assert not up()
    with LiveHost().switched_on(index) as changed:
        assert changed and up()
    assert not up()
    with pytest.raises(ZeroDivisionError), LiveHost().switched_on(index):
        raise ZeroDivisionError
    assert not up()


def test_an_interface_that_is_gone() -> None:
    """A card that fell off meanwhile."""
    with pytest.raises(Unreadable) as gone, LiveHost().switched_on(999_999):
        pass
    assert gone.value.errno == errno.ENODEV


def test_events_in_one_datagram() -> None:
    """struct nlmsghdr and genlmsghdr, two messages padded to four bytes."""
    body = attributes.pack({3: struct.pack("=I", 4)})
    one = struct.pack("=IHHIIBBH", 20 + len(body), 28, 0, 0, 0, netlink.SCAN_DONE, 1, 0) + body
    assert list(netlink.parse(one + one)) == [(netlink.SCAN_DONE, body)] * 2
    assert list(netlink.parse(one[:-2])) == []


def test_radios_are_recorded_and_replayed() -> None:
    """What a host was told is told again, refusals too."""
    host = FakeHost()
    host.radios = {"wiphy": (b"\x01\x02", b"\xff")}
    recording = RecordingHost(host, "probe:wireless")
    assert recording.radio("wiphy") == (b"\x01\x02", b"\xff")
    with pytest.raises(Unreadable):
        recording.radio("reg")
    scopes = {n: {q: [msgspec.Raw(a) for a in answers] for q, answers in seen.items()}
              for n, seen in recording.scopes.items()}  # fmt: skip
    replay = CapturedHost(scopes, "probe:wireless")
    assert replay.radio("wiphy") == (b"\x01\x02", b"\xff")
    with pytest.raises(Unreadable):
        replay.radio("reg")
