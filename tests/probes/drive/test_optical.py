"""Optical drives: tray and disc as the kernel tells them, and the reading of a disc.

Outside sources: CDROM_DRIVE_STATUS and its answers, Linux ``include/uapi/linux/cdrom.h``
(held against the system's own header where it is installed); an ISO 9660 image's size in
sectors of 2048 bytes (ECMA-119) stands for a disc.
"""

from __future__ import annotations

import errno
import os
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from livecheck import knowledge, live_host
from livecheck.capture import RecordingHost
from livecheck.host import Unreadable
from livecheck.live_host import LiveHost
from livecheck.probes import Context
from livecheck.probes.drive import optical, read_plan
from livecheck.records import Inventory, NotTested, Outcome, Part, Reading
from tests.inventory.fake_host import FakeHost, device
from tests.loops import loop_device

DRIVE = Part(id="optical-drive:O", kind="optical-drive", name="an optical drive",
             place="ata:x:2", block="sr0")  # fmt: skip
HEADER = Path("/usr/include/linux/cdrom.h")


class _Drive(FakeHost):
    """An optical drive in one state, over an image or over nothing."""

    def __init__(self, state: int | None, image: Path | None = None, media: bool = False) -> None:
        listed = [device("block", "sr0", **({"ID_CDROM_MEDIA": "1"} if media else {}))]
        size = image.stat().st_size // 512 if image else 0
        super().__init__({"/sys/class/block/sr0/size": f"{size}\n"}, listed)
        self.state, self.image = state, image
        self.opened = 0

    def tray(self, device: str) -> int:
        assert device == "/dev/sr0"
        if self.state is None:
            raise Unreadable(device, errno.ENOTTY)
        return self.state

    def open_disk(self, device: str) -> int:
        assert self.image is not None
        self.opened += 1
        return os.open(self.image, os.O_RDONLY)


def test_numbers_are_the_kernels() -> None:
    """The request and its answers, as the header has them."""
    if not HEADER.is_file():
        pytest.skip("no kernel headers here (package linux-libc-dev)")
    text = HEADER.read_text("utf-8")
    found = {name: int(value, 0) for name, value in re.findall(r"#define (CD\w+)\s+(\w+)\s", text)
             if re.fullmatch(r"0x[0-9a-fA-F]+|\d+", value)}  # fmt: skip
    assert found["CDROM_DRIVE_STATUS"] == live_host.CDROM_DRIVE_STATUS
    assert [found[f"CDS_{n}"] for n in ("NO_DISC", "TRAY_OPEN", "DRIVE_NOT_READY", "DISC_OK")] == [
        optical.NO_DISC, optical.TRAY_OPEN, optical.NOT_READY, optical.DISC_IN,
    ]  # fmt: skip
    # CDSL_CURRENT is INT_MAX.
    assert live_host.CDSL_CURRENT == 2**31 - 1


@pytest.mark.parametrize(
    ("state", "media", "outcome", "value"),
    [
        (optical.DISC_IN, True, Outcome.PASSED, "disc"),
        (optical.DISC_IN, False, Outcome.PASSED, "disc"),
        (optical.NO_DISC, False, Outcome.NOT_JUDGED, "no disc"),
        (optical.TRAY_OPEN, False, Outcome.NOT_JUDGED, "tray open"),
        (optical.NOT_READY, False, Outcome.NOT_JUDGED, "not ready"),
        (0, False, Outcome.NOT_JUDGED, "no disc"),
        (None, True, Outcome.PASSED, "disc"),
    ],
)
def test_a_missing_disc_is_no_fault_and_says_what_to_do(
    state: int | None, media: bool, outcome: Outcome, value: str
) -> None:
    """No disc is no fault, and says what to do about it."""
    found = optical.medium(_Drive(state, media=media), "sr0")
    assert (found.outcome, found.value) == (outcome, value)
    if outcome is Outcome.NOT_JUDGED:
        assert "pressed disc" in (found.why_not or "")


def _probe(host: FakeHost, depth: str = "quick") -> list[Reading | NotTested]:
    context = Context(
        host=host, inventory=Inventory(parts=(DRIVE,)), events=(), knowledge=knowledge.load(),
        depth=depth,
    )  # fmt: skip
    return [one for one in optical.probe(context) if isinstance(one, Reading | NotTested)]


@pytest.fixture
def disc(tmp_path: Path) -> Path:
    """An image of 300 sectors of 2048 bytes."""
    path = tmp_path / "disc"
    path.write_bytes(os.urandom(300 * 2048))
    return path


@pytest.mark.parametrize("depth", ["quick", "full"])
def test_a_disc_is_read_to_its_end_and_its_bad_places_are_found(disc: Path, depth: str) -> None:
    """A disc that is in is read, and only then is the drive opened so that it locks the tray."""
    host = _Drive(optical.DISC_IN, disc)
    (found,) = _probe(host, depth)
    assert isinstance(found, Reading)
    assert (found.check, found.outcome) == (optical.READ, Outcome.PASSED)
    assert host.opened == 1


@pytest.mark.parametrize("state", [optical.NO_DISC, optical.TRAY_OPEN, optical.NOT_READY, None])
def test_without_a_disc_nothing_is_tested(disc: Path, state: int | None) -> None:
    """Not tested, with what to do; the drive is not opened for reading."""
    host = _Drive(state, disc)
    (found,) = _probe(host)
    assert isinstance(found, NotTested)
    assert "insert a known-good pressed disc" in found.why
    assert host.opened == 0


def test_a_disc_without_data_is_not_tested(tmp_path: Path) -> None:
    """An audio disc, or one the drive sees nothing on: no size, not tested."""
    empty = tmp_path / "disc"
    empty.touch()
    (found,) = _probe(_Drive(optical.DISC_IN, empty))
    assert isinstance(found, NotTested)


def test_a_full_disc_is_sampled_in_few_moves() -> None:
    """A disc of 4.7 GB: far fewer far moves than of a disk."""
    planned = optical.disc_plan(4_700_000_000, "quick")
    assert len(planned) == optical.SAMPLES + optical.RANDOM_READS
    assert len(planned) < len(read_plan.plan(4_700_000_000, "quick")) / 5
    last = planned.request(optical.SAMPLES - 1)
    assert last[0] + last[1] > 0.99 * 4_700_000_000


def test_the_tray_is_recorded_and_replayed() -> None:
    """What a drive said of its tray is in a capture, errors too."""
    for state in (optical.NO_DISC, None):
        recording = RecordingHost(_Drive(state))
        if state is None:
            with pytest.raises(Unreadable):
                recording.tray("/dev/sr0")
        else:
            assert recording.tray("/dev/sr0") == state
        assert "tray /dev/sr0" in recording.scopes[""]


@pytest.fixture
def loop(tmp_path: Path) -> Iterator[str]:
    """A loop device over an empty file."""
    with loop_device(tmp_path, 1 << 20) as node:
        yield node


def test_a_device_that_is_no_optical_drive_has_no_tray(loop: str) -> None:
    """The kernel refuses the question at any other block device; that is an errno, no crash."""
    with pytest.raises(Unreadable):
        LiveHost().tray(loop)
