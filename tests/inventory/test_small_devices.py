"""Clock, lid, TPM and other devices of one node from the kernel's attributes."""

from __future__ import annotations

from livecheck.inventory import clock, small_devices
from livecheck.inventory.tree import Seen
from tests.inventory.fake_host import FakeHost, attributes, device


def test_lid_clock_and_the_rest_are_listed() -> None:
    listed = [
        device("rtc", "rtc0"),
        device("tpm", "tpm0"),
        device("video4linux", "video0"),
    ]
    files = {"/proc/acpi/button/lid/LID0/state": "state:      open\n"}
    files |= attributes("/sys/devices/platform/tpm0", tpm_version_major=2)
    host = FakeHost(files, listed)
    found = [finder(host, Seen()) for finder in (clock.find, small_devices.find)]
    devices = {d.name: d for one in found for d in one.devices}
    assert set(devices) == {"rtc0", "tpm0", "video0", "LID0"}
    assert devices["LID0"].attributes["open"] is True
    assert devices["tpm0"].attributes["version"] == 2
    assert devices["rtc0"].component == "coin-cell@internal:clock-battery"
    assert [p.kind for p in found[0].parts] == ["coin-cell"]
