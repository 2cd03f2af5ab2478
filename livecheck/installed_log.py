"""Kernel logs that a Linux system kept on a drive of this machine, copied out for reading.

Nothing is mounted and nothing written: ``debugfs`` (e2fsprogs) opens a file system for reading
only and copies single files by their number, so that no name on the customer's disk is part of
a request. ``journalctl`` gives the kernel's own entries of a journal and nobody else's. What is
no ext2, ext3 or ext4 is named and left alone. From Windows' NTFS its event log is copied by
``ntfscat`` (ntfs-3g), which opens for reading only too, by the one name it has everywhere.
btrfs is left alone: ``btrfs restore`` writes files by the names that stand on the disk.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final, NamedTuple

import msgspec

from livecheck import windows_log
from livecheck.host import Host, Unreadable

DEADLINE: Final = 60.0
"""Seconds for one request; a damaged file system may keep debugfs busy for ever."""

MOST_BYTES: Final = 256 << 20
"""Copied from one file system; the newest logs come first. They lie in memory."""

MOST_LOGS: Final = 200
"""Of one file system (systemd keeps at most a hundred: SystemMaxFiles=, journald.conf(5))."""

MOST_SECONDS: Final = 300.0
"""For all requests to one file system; a dying drive takes long over each."""

MOST_LOG_BYTES: Final = 300 << 20
"""Of a Windows log; as installed it holds 20 MB and begins anew (from memory)."""

_EXT: Final = "ext"
_NTFS: Final = "NTFS"
_BITLOCKER: Final = "encrypted (BitLocker)"
_NOT_FOUND: Final = 127
"""A shell's status for a program that is not there (POSIX, sh, "Exit Status")."""
_EVENT_LOG: Final = "Windows/System32/winevt/Logs/System.evtx"
_KINDS: Final = (
    (1080, b"\x53\xef", _EXT),
    (0, b"LUKS\xba\xbe", "encrypted (LUKS)"),
    (3, b"-FVE-FS-", _BITLOCKER),
    (3, b"NTFS    ", _NTFS),
    (65600, b"_BHRfS_M", "btrfs"),
    (0, b"XFSB", "XFS"),
    (536, b"LVM2 001", "a part of a volume group (LVM)"),
)
"""Offset and mark: Linux Documentation/filesystems/ext4 (super block, s_magic), cryptsetup's
LUKS on-disk formats, fs/btrfs, fs/xfs (xfs_sb); NTFS, BitLocker and LVM from memory."""

_ENTRY: Final = re.compile(
    r"/(?P<inode>\d+)/(?P<mode>[0-7]+)/\d*/\d*/(?P<name>[^/]+)/(?P<size>\d*)/"
)
"""A line of ``ls -p`` (debugfs(8))."""

_JOURNAL: Final = re.compile(r"system(?:@[0-9a-f-]+)?\.journal~?")
_ROTATED: Final = re.compile(r"system@.*-([0-9a-f]+)")
_TEXT: Final = re.compile(r"(?:kern\.log|syslog|messages)(?:[.-]\d{1,8})?(?:\.gz|\.xz)?")
_FOLDERS: Final = ("/var/log", "/log", "/")
"""Where logs lie on a root file system, on one of /var, and on one of /var/log."""


class Volume(msgspec.Struct, frozen=True):
    """One file system of an inner drive."""

    device: str
    kind: str
    """``ext``, or what it is instead."""


class Copied(msgspec.Struct, frozen=True):
    """Logs as files that can be read, oldest first, and what was not had."""

    files: tuple[Path, ...]
    missed: tuple[str, ...]


class _Entry(NamedTuple):
    inode: str
    name: str
    size: int
    folder: bool


def volumes(host: Host) -> tuple[Volume, ...]:
    """File systems of drives that are not on USB, where the stick itself is."""
    found = []
    for device in host.udev("block"):
        node = device.properties.get("DEVNAME")
        inner = device.properties.get("DEVTYPE") in ("partition", "disk") and node is not None
        if inner and device.properties.get("ID_BUS") != "usb" and "/usb" not in device.path:
            kind = _kind(host, str(node))
            if kind is not None:
                found.append(Volume(str(node), kind))
    return tuple(found)


def _kind(host: Host, node: str) -> str | None:
    for offset, mark, kind in _KINDS:
        try:
            if host.block(node, offset, len(mark)) == mark:
                return kind
        except Unreadable:
            continue
    return None


def copied(host: Host, volume: Volume, folder: Path) -> Copied:
    """The logs of a file system, in an empty folder."""
    if volume.kind == _NTFS:
        return _event_log(host, volume, folder)
    if volume.kind == _BITLOCKER:
        return Copied((), (f"{volume.device} is locked by BitLocker, and no key is asked for: "
                           f"{windows_log.OTHER_WAY}",))  # fmt: skip
    if volume.kind != _EXT:
        return Copied((), (f"{volume.device} is {volume.kind}: not read",))
    missed: list[str] = []
    for top in _FOLDERS:
        entries = list(_listed(host, volume, top))
        found = list(_journals(host, volume, entries)) or _texts(entries)
        if found:
            files = list(_copies(host, volume, found, folder, missed))
            return Copied(tuple(reversed(files)), tuple(missed))
    return Copied((), (f"no logs were found on {volume.device}",))


def _event_log(host: Host, volume: Volume, folder: Path) -> Copied:
    """Forced: a volume that Windows left open, or wants to check, is read as it is."""
    copy = folder / "System.evtx"
    words = ["sh", "-c", 'exec ntfscat -f "$1" "$2" >"$3"', "sh"]
    limit = ["prlimit", f"--fsize={MOST_LOG_BYTES}"]
    result = host.command([*limit, *words, volume.device, _EVENT_LOG, str(copy)], DEADLINE)
    size = copy.stat().st_size if copy.is_file() else 0
    if not size:
        missing = result.status == _NOT_FOUND
        other = "ntfscat is missing" if missing else "there is no Windows on it, or it is damaged"
        trouble = result.trouble or other
        return Copied((), (f"no event log was had of {volume.device} ({trouble}): "
                           f"{windows_log.OTHER_WAY}",))  # fmt: skip
    whole = result.status == 0
    return Copied((copy,), () if whole else (f"of the event log of {volume.device} only the first "
                                             f"{size / 1e6:.0f} MB were had",))  # fmt: skip


def _journals(host: Host, volume: Volume, entries: Sequence[_Entry]) -> Iterator[_Entry]:
    """Newest first: the one in use, then by the time in their names (systemd-journald)."""
    journals = []
    for top in (e for e in entries if e.folder and e.name == "journal"):
        for machine in _listed(host, volume, f"<{top.inode}>"):
            if machine.folder and re.fullmatch(r"[0-9a-f]{32}", machine.name):
                inside = _listed(host, volume, f"<{machine.inode}>")
                journals += [e for e in inside if _JOURNAL.fullmatch(e.name)]
    times = {e: m[1] if (m := _ROTATED.match(e.name)) else "~" for e in journals}
    yield from sorted(journals, key=lambda e: times[e], reverse=True)


def _texts(entries: Sequence[_Entry]) -> list[_Entry]:
    """Of one program: two would tell the same twice. Newest first: the higher, the older."""
    names = [e for e in entries if not e.folder and _TEXT.fullmatch(e.name)]
    for program in ("kern", "syslog", "messages"):
        own = [e for e in names if e.name.startswith(program)]
        if own:
            return sorted(own, key=lambda e: int("0" + "".join(re.findall(r"\d+", e.name)[:1])))
    return []


def _copies(
    host: Host, volume: Volume, entries: Sequence[_Entry], folder: Path, missed: list[str]
) -> Iterator[Path]:
    """What a name or a size on the disk claims is not relied on: no copy grows beyond its share."""
    left, end = MOST_BYTES, host.clock() + MOST_SECONDS
    for number, entry in enumerate(entries[:MOST_LOGS]):
        raw = folder / f"{len(entries) - number:04d}-{entry.inode}"
        bounded = ["prlimit", f"--fsize={left}", *_debugfs(volume, f"dump <{entry.inode}> {raw}")]
        if entry.size <= left and host.clock() < end:
            host.command(bounded, DEADLINE)
        size = raw.stat().st_size if raw.is_file() else None
        if entry.size > left or size == left or host.clock() >= end:
            raw.unlink(missing_ok=True)
            missed.append(f"older logs on {volume.device}: {MOST_BYTES >> 20} MB were read, or "
                          f"{MOST_SECONDS / 60:.0f} minutes were spent")  # fmt: skip
            return
        if size is None:
            missed.append(f"one log on {volume.device} could not be copied")
            continue
        left -= size
        if entry.name.endswith((".journal", ".journal~")):
            yield from _kernels(host, raw, volume, missed)
        else:
            yield raw
    if len(entries) > MOST_LOGS:
        missed.append(f"older logs on {volume.device}: {MOST_LOGS} were read")


def _kernels(host: Host, raw: Path, volume: Volume, missed: list[str]) -> Iterator[Path]:
    """The kernel's entries of a journal; the copy of all the others is thrown away."""
    fields = "--output-fields=MESSAGE,PRIORITY,_TRANSPORT,_KERNEL_DEVICE"
    words = ["journalctl", f"--file={raw}", "--output=export", fields, "_TRANSPORT=kernel"]
    result = host.command(words, DEADLINE)
    raw.unlink()
    if result.status != 0:
        missed.append(f"one journal on {volume.device} could not be read")
    elif result.out:
        own = raw.with_suffix(".export")
        own.write_bytes(result.out)
        yield own


def _listed(host: Host, volume: Volume, where: str) -> Iterator[_Entry]:
    result = host.command(_debugfs(volume, f"ls -p {where}"), DEADLINE)
    for line in result.out.decode("utf-8", "replace").splitlines():
        match = _ENTRY.fullmatch(line.strip())
        if match is not None and match["name"] not in (".", ".."):
            size = int(match["size"] or 0)
            folder = match["mode"].startswith("04")
            yield _Entry(match["inode"], match["name"], size, folder)


def _debugfs(volume: Volume, request: str) -> list[str]:
    """``-c``: no bitmap is read, and the file system cannot be opened for writing."""
    return ["debugfs", "-c", "-R", request, volume.device]
