"""The running system taken from the stick into memory, so that the stick may be pulled.

The system is one file on the stick, mounted by a loop device. Once the file stands in memory
too, the mounted device is told to go on with that copy: LOOP_CHANGE_FD, which Linux allows on
a read-only loop device for a file of the same size (drivers/block/loop.c, loop_change_fd).
livecheck's console shows what is said of it.
"""

from __future__ import annotations

import fcntl
import os
import re
import sys
from pathlib import Path
from typing import Final

STATE: Final = Path("/run/livecheck/stick")
"""Whether the stick may be pulled, and why, in a sentence."""
COPYING: Final = "The stick must stay in: the system is still being copied to memory."
FREE: Final = "The stick may be pulled: the system runs from memory."
STAYS: Final = "The stick must stay in: {why}."

SHARE: Final = 8
"""An eighth of the memory at most goes to the system: what it fills, the memory test does not
reach (assumed; the memory test of the boot menu comes before the system and reaches all)."""
LEFT: Final = 512 << 20
"""Bytes that stay available: twice what the memory test leaves free."""
AT_ONCE: Final = 1 << 20
LOOP_CHANGE_FD: Final = 0x4C06
"""include/uapi/linux/loop.h."""


def loop_of(mountinfo: str) -> str | None:
    """Name of the system's loop device as live-boot mounts it (proc_pid_mountinfo(5))."""
    found = re.search(r" /run/live/rootfs/\S+ .* - squashfs /dev/(loop\d+) ", mountinfo)
    return found[1] if found else None


def why_not(size: int, meminfo: str) -> str | None:
    """Why a system of that many bytes stays on the stick (proc_meminfo(5)); None: it need not."""
    kib = dict(re.findall(r"^(\w+): +(\d+) kB$", meminfo, re.MULTILINE))
    total, available = (int(kib.get(name, 0)) << 10 for name in ("MemTotal", "MemAvailable"))
    if size * SHARE <= total and available - size >= LEFT:
        return None
    return (
        f"this machine has {total >> 20} MiB of memory, {available >> 20} of them free, too "
        f"little for the system's {size >> 20} and its own test"
    )


def copied(source: int, size: int) -> int:
    """A file in memory with what an open file holds. Raises OSError."""
    copy = os.memfd_create("livecheck-system")
    done = 0
    while done < size:
        part = os.sendfile(copy, source, done, AT_ONCE)
        if part == 0:
            raise OSError(0, f"it ended after {done} of {size} bytes")
        done += part
    # What was read is in the cache as well, where nobody asks for it any more.
    os.posix_fadvise(source, 0, 0, os.POSIX_FADV_DONTNEED)
    return copy


def to_memory(loop: str, file: Path) -> str:
    """Copy the system's file and have the loop device go on with it; returns how it stands."""
    source = os.open(file, os.O_RDONLY)
    size = os.fstat(source).st_size
    if why := why_not(size, Path("/proc/meminfo").read_text()):
        return STAYS.format(why=why)
    fcntl.ioctl(os.open(f"/dev/{loop}", os.O_RDONLY), LOOP_CHANGE_FD, copied(source, size))
    return FREE


def _say(state: str) -> None:
    STATE.parent.mkdir(exist_ok=True)
    fresh = STATE.with_suffix(".new")
    fresh.write_text(f"{state}\n", encoding="utf-8")
    fresh.rename(STATE)


def main() -> int:
    """Do it once, after the start."""
    loop = loop_of(Path("/proc/self/mountinfo").read_text())
    if loop is None:
        return 0
    file = Path(Path(f"/sys/block/{loop}/loop/backing_file").read_text().rstrip("\n"))
    if " toram" in Path("/proc/cmdline").read_text():
        _say(FREE)
        return 0
    _say(COPYING)
    try:
        _say(to_memory(loop, file))
    except OSError as error:
        _say(STAYS.format(why=f"the system could not be copied to memory ({error.strerror})"))
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
