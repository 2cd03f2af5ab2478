"""A folder in the memory of a system that was started from a stick keeps nothing."""

from __future__ import annotations

from pathlib import Path

from livecheck.casefile.presence import lasts
from tests.inventory.fake_host import FakeHost

# proc_pid_mountinfo(5), lines as live-boot's overlay and a mounted FAT make them.
MEMORY = "21 1 0:20 / / rw,noatime shared:1 - overlay overlay rw,upperdir=/run/live/overlay/rw"
SYSTEM = "22 21 7:0 / /run/live/rootfs/filesystem.squashfs ro - squashfs /dev/loop0 ro"
STICK = "40 21 8:1 / /media/shopdrive rw,noatime shared:9 - vfat /dev/sda1 rw"


def _host(*lines: str) -> FakeHost:
    return FakeHost({"/proc/self/mountinfo": "\n".join(lines) + "\n"}, [])


def test_only_what_lies_on_a_drive_outlives_the_machine() -> None:
    both = _host(MEMORY, SYSTEM, STICK)
    assert lasts(both, Path("/media/shopdrive/livecheck-cases"))
    assert not lasts(both, Path("/root/reports/livecheck-cases"))
    assert not lasts(_host(MEMORY, SYSTEM), Path("/media/shopdrive/livecheck-cases"))


def test_nothing_is_claimed_where_no_drive_is_told_of() -> None:
    """As in a container: no real file system is told of, nor was it started from a stick."""
    inside = _host(MEMORY.replace("/run/live", "/var/lib"))
    assert lasts(inside, Path("/root/reports/livecheck-cases"))
