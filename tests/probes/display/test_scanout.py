"""What leaves the chip, read through the kernel's files, judged as one reading.

No driver of a test guest gives checksums: Debian's kernel has no ``vkms``, and bochs, qxl and
virtio have none. A named pipe and made-up files stand in for debugfs.
"""

from __future__ import annotations

import errno
import os
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from livecheck.host import Unreadable
from livecheck.live_host import LiveHost
from livecheck.probes.display.scanout import CHECK, SECONDS, ScanHost, ScanOut
from livecheck.probes.finding import Finding
from livecheck.records import Outcome
from tests.graphics.test_frames import HARMED, NEXT, STILL, printed
from tests.inventory.fake_host import FakeHost, device
from tests.probes.support import context

CHIP = "/sys/devices/pci0000:00/0000:00:02.0/drm"
OTHER_CHIP = "/sys/devices/pci0000:00/0000:01:00.0/drm"
PIPE = "/sys/kernel/debug/dri/1/crtc-0/crc"
SOUND = printed((STILL, 100), (NEXT, 100))
BAD = printed((STILL, 60), (HARMED, 1), (STILL, 60), (HARMED, 2), (STILL, 60))


class Scanning(FakeHost):
    """Its second card's first pipe gives these lines, one look after another."""

    def __init__(self, *looks: bytes | int) -> None:
        control = {f"/sys/kernel/debug/dri/{n}/crtc-0/crc/control": "auto*\n" for n in (0, 1)}
        super().__init__(control, [
            device("drm", "card0", f"{OTHER_CHIP}/card0"),
            device("drm", "card1", f"{CHIP}/card1"),
            device("drm", "renderD129", f"{CHIP}/renderD129"),
        ])  # fmt: skip
        self._looks: Iterator[bytes | int] = iter(looks)
        self.asked: list[tuple[str, float]] = []

    def frames(self, path: str, seconds: float, stopped: Callable[[], bool]) -> bytes:
        self.asked.append((path, seconds))
        answer = next(self._looks)
        if isinstance(answer, int):
            raise Unreadable(path, answer)
        return answer


def _found(host: FakeHost, looks: int = 2) -> Finding:
    given = context(host)
    sent = ScanOut(given, host.udev("drm")[-1])
    for number in range(looks):
        sent.look(f"look {number}", lambda: False)
    return sent.found()


def test_only_pipes_of_this_chip_are_read() -> None:
    host = Scanning(SOUND, SOUND)
    assert _found(host).outcome is Outcome.PASSED
    assert host.asked == [(f"{PIPE}/data", SECONDS["quick"])] * 2


def test_disturbed_frames_before_and_after_a_load() -> None:
    found = _found(Scanning(SOUND, BAD))
    assert (found.check, found.outcome, found.value) == (CHECK, Outcome.FAILED, 3)
    assert found.details == (
        "crtc-0, look 0: 200 frames, 0 disturbed",
        "crtc-0, look 1: 183 frames, 3 disturbed",
    )


def test_single_frames_are_not_seen_by_anybody() -> None:
    once = printed((STILL, 60), (HARMED, 1), (STILL, 60))
    assert _found(Scanning(once, once)).outcome is Outcome.PASSED


@pytest.mark.parametrize(
    ("host", "says"),
    [
        (Scanning(errno.EIO, errno.EIO), "no screen is on"),
        (Scanning(SOUND[:200], b""), "frames came"),
        (Scanning(errno.EPERM, errno.EPERM), "Operation not permitted"),
        (FakeHost(devices=[device("drm", "renderD128", f"{CHIP}/renderD128")]), "no checksums"),
    ],
)
def test_what_cannot_be_read_is_not_judged(host: FakeHost, says: str) -> None:
    """EIO: the pipe shows nothing (crtc_crc_open); EPERM: a kernel that is locked down."""
    found = _found(host)
    assert found.outcome is Outcome.NOT_JUDGED and says in (found.why_not or "")


def test_a_host_without_that_ability_judges_nothing() -> None:
    scanning = Scanning()
    host = FakeHost(scanning.files, scanning.devices)
    assert not isinstance(host, ScanHost)
    assert _found(host).outcome is Outcome.NOT_JUDGED


def test_the_real_reader_takes_what_comes_in_its_time(tmp_path: Path) -> None:
    """A pipe in place of the file: lines come one by one, and then no more."""
    host, path = LiveHost(), tmp_path / "data"
    assert isinstance(host, ScanHost)
    os.mkfifo(path)
    holder = os.open(path, os.O_RDWR)
    lines = printed((STILL, 5))

    def feed() -> None:
        for line in lines.splitlines(keepends=True):
            os.write(holder, line)

    writer = threading.Thread(target=feed)
    writer.start()
    assert host.frames(str(path), 0.5, lambda: False) == lines
    writer.join()
    assert host.frames(str(path), 60.0, lambda: True) == b""
    os.close(holder)
    with pytest.raises(Unreadable):
        host.frames(str(tmp_path / "none"), 0.1, lambda: False)
