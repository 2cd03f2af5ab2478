"""How much memory can be taken without hurting the system."""

from __future__ import annotations

from typing import Final

import msgspec

from livecheck.host import Host, Unreadable, number, text

RESERVE: Final = 256 << 20
RESERVE_SHARE: Final = 16
"""Left free: 256 MiB, or a sixteenth of all, whichever is more (common practice, no source)."""

CGROUPS: Final = "/sys/fs/cgroup"


class Headroom(msgspec.Struct, frozen=True):
    """Bytes; None where the kernel does not say."""

    total: int | None
    """What the kernel manages; less than installed by what firmware and graphics keep."""
    available: int
    limited_by: str | None = None
    """What allows less than the kernel has: a control group's limit."""


def meminfo(host: Host) -> dict[str, int]:
    """/proc/meminfo in bytes (proc(5)); empty when it cannot be read."""
    found: dict[str, int] = {}
    for line in (text(host, "/proc/meminfo") or "").splitlines():
        name, _, rest = line.partition(":")
        words = rest.split()
        if words and words[0].isdigit():
            found[name] = int(words[0]) * (1024 if words[1:] == ["kB"] else 1)
    return found


def measure(host: Host) -> Headroom:
    """What is available now, within the limits of our own control group."""
    info = meminfo(host)
    available = info.get("MemAvailable", 0)
    left = [n for n in (_version_2(host), _version_1(host)) if n is not None]
    if left and min(left) < available:
        return Headroom(info.get("MemTotal"), max(0, min(left)), "the limit of a control group")
    return Headroom(info.get("MemTotal"), available)


def reserve(found: Headroom) -> int:
    """Bytes to leave free for everybody else."""
    return max(RESERVE, min(found.total or 0, found.available) // RESERVE_SHARE)


def _groups(host: Host) -> dict[str, str]:
    """Controllers -> our path below their mount (cgroups(7)); version 2 is the empty name."""
    lines = (text(host, "/proc/self/cgroup") or "").splitlines()
    split = (line.split(":", 2) for line in lines if line.count(":") >= 2)
    return {name: path for _, names, path in split for name in names.split(",")}


def _version_2(host: Host) -> int | None:
    """Least headroom of our group and all above it (kernel admin-guide/cgroup-v2.rst)."""
    path = _groups(host).get("")
    return None if path is None else _least(host, CGROUPS, path, "memory.max", "memory.current")


def _version_1(host: Host) -> int | None:
    """The same for the older interface (kernel admin-guide/cgroup-v1/memory.rst)."""
    path = _groups(host).get("memory")
    if path is None:
        return None
    names = ("memory.limit_in_bytes", "memory.usage_in_bytes")
    return _least(host, f"{CGROUPS}/memory", path, *names)


def _least(host: Host, mount: str, path: str, limit_name: str, usage_name: str) -> int | None:
    left: list[int] = []
    while True:
        folder = f"{mount}{path.rstrip('/')}"
        limit, used = number(host, f"{folder}/{limit_name}"), number(host, f"{folder}/{usage_name}")
        if limit is not None and used is not None:
            left.append(limit - used + _cache(host, folder))
        if path in ("", "/"):
            return min(left, default=None)
        path = path.rsplit("/", 1)[0]


def _cache(host: Host, folder: str) -> int:
    """File pages charged to the group that the kernel would drop first."""
    try:
        lines = host.read(f"{folder}/memory.stat").decode("ascii", "replace").splitlines()
    except Unreadable:
        return 0
    pairs = dict(line.split(" ", 1) for line in lines if " " in line)
    value = pairs.get("inactive_file", "0")
    return int(value) if value.isdigit() else 0
