"""A drive under test is never opened for writing: watched from outside, in a real run.

Outside sources: the kernel's own account of what a process opens (strace, ptrace(2)),
open(2) for the flags, fcntl(2) for the mode of an open descriptor.
"""

from __future__ import annotations

import fcntl
import os
import re
import stat
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

import pytest

from livecheck.live_host import open_block_device
from livecheck.probes.drive import smart

WRITING = ("O_WRONLY", "O_RDWR", "O_CREAT", "O_TRUNC", "O_APPEND")
KERNELS = ("/sys/", "/proc/", "/dev/", "/run/")
HARMLESS = re.compile(r"/dev/(null|tty|pts/\d+|shm/.*)")
"""Devices that hold nobody's data."""

CHANGING = ("unlink", "unlinkat", "rename", "renameat", "renameat2", "mount", "umount2", "mknod",
            "mknodat", "truncate", "mkdir", "mkdirat", "rmdir", "symlink", "symlinkat", "link",
            "linkat", "chmod", "fchmodat", "chown", "fchownat")  # fmt: skip


class Call(NamedTuple):
    """One system call that names a file."""

    name: str
    path: str
    """Absolute, or as given where strace does not know the folder."""
    text: str

    @property
    def writes(self) -> bool:
        """Whether it opens for writing, or changes a folder or a mount."""
        opens = self.name.startswith("open") or self.name == "creat"
        return self.name in (*CHANGING, "creat") or (opens and any(f in self.text for f in WRITING))


_OPENED = re.compile(r" = \d+<([^>]+)>$")
"""The file behind a descriptor that was given, as the kernel knows it: the true one of a path
through /proc/self/fd."""

_LINE = re.compile(r'^(?:\d+ +)?(\w+)\((?:(?:AT_FDCWD|\d+)<([^>]*)>, )?"((?:[^"\\]|\\.)*)"')


def calls(trace: str) -> list[Call]:
    """The calls of a trace by ``strace -f -y -e trace=%file`` that name a file."""
    found = []
    for line in trace.splitlines():
        match = _LINE.match(line)
        if match:
            name, folder, path = match.groups()
            given = _OPENED.search(line) if path.startswith("/proc/self/fd/") else None
            whole = given[1] if given else os.path.join(folder or "", path)  # noqa: PTH118
            found.append(Call(name, whole, line))
    return found


def against_the_rule(found: list[Call], allowed: Path) -> list[str]:
    """Calls that write anywhere but below a folder, or to a device of the kernel's."""
    return [
        call.text
        for call in found
        if call.writes
        and not HARMLESS.fullmatch(call.path)
        and not Path(call.path).is_relative_to(allowed)
    ]


_ASKED = re.compile(r"\bioctl\(\d+<(/dev/[^>]+)>, (\w+)")
LOOKING = re.compile(
    r"BLK(SSZ|GETSIZE|GETSIZE64|ROGET|PBSZGET)|CDROM_DRIVE_STATUS|TCGETS|NVME_IOCTL_ID"
)
"""Requests to drives that only look. SG_IO and NVMe commands are smartctl's own, whose options
are held by another test."""


def asked(trace: str) -> list[tuple[str, str]]:
    """Node and request of every ioctl to a device that may hold somebody's data."""
    found = _ASKED.findall(trace)
    return [(node, request) for node, request in found if not HARMLESS.fullmatch(node)]


def smartctl_calls(found: list[Call]) -> list[list[str]]:
    """Arguments of every smartctl that was started."""
    started = [c for c in found if c.name == "execve" and c.path.endswith("/smartctl")]
    return [re.findall(r'"([^"]*)"', c.text.partition("[")[2].partition("]")[0]) for c in started]


@pytest.fixture(scope="module")
def traced(tmp_path_factory: pytest.TempPathFactory) -> tuple[list[Call], Path]:
    """One run of this machine under strace, and the only folder it may write to."""
    folder = tmp_path_factory.mktemp("traced")
    log = folder.parent / "strace.log"
    environment = {
        **os.environ,
        "TMPDIR": str(folder),
        "PYTHONDONTWRITEBYTECODE": "1",
    }
    watch = ["strace", "-f", "-y", "-s", "4096", "-e", "trace=%file,ioctl", "-o", str(log)]
    # The whole of the drives' probes, the ones that load them too.
    command = [sys.executable, "-m", "livecheck", "run", "--complaint", "part-missing", "--shop"]
    command.append(str(folder))
    done = subprocess.run(
        [*watch, *command],
        env=environment,
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
        timeout=600,
    )
    if "ptrace" in done.stderr and "not permitted" in done.stderr:
        pytest.skip("this machine lets no process watch another (ptrace)")
    assert done.returncode == 0, done.stderr
    text = log.read_text("utf-8", "replace")
    assert asked("ioctl(3</dev/sdx>, SG_IO, 0x7f)") == [("/dev/sdx", "SG_IO")]
    (folder / "asked.txt").write_text("\n".join(" ".join(one) for one in asked(text)))
    return calls(text), folder


def test_run_writes_to_the_shop_drive_only(traced: tuple[list[Call], Path]) -> None:
    """Every file opened for writing, and every folder changed, lies on the shop drive."""
    found, folder = traced
    assert not against_the_rule(found, folder)


def test_trace_saw_the_run(traced: tuple[list[Call], Path]) -> None:
    """What was watched is the run: it looked at the hardware and saved its record."""
    found, folder = traced
    read = {call.path for call in found if call.path.startswith("/sys/")}
    assert len(read) > 20
    saved = [call for call in found if call.writes and Path(call.path).is_relative_to(folder)]
    assert any("run.json" in call.text for call in saved)
    assert any("report.html" in call.text for call in saved)


def test_drives_are_opened_to_be_read_only(traced: tuple[list[Call], Path]) -> None:
    """The read test came to every drive it may open, with O_RDONLY and O_DIRECT."""
    found, _ = traced
    opened = [c for c in found if c.name.startswith("open") and "O_DIRECT" in c.text]
    drives = {c.path for c in opened}
    disks = [p.name for p in Path("/sys/block").glob("*") if re.match(r"sd|vd|nvme|mmcblk", p.name)]
    assert {f"/dev/{name}" for name in disks if os.access(f"/dev/{name}", os.R_OK)} <= drives
    assert all("O_RDONLY" in c.text for c in opened)


def test_smartctl_only_looks(traced: tuple[list[Call], Path]) -> None:
    """Every smartctl of the run has options that read; none begins a test or sets anything."""
    found, _ = traced
    for argv in smartctl_calls(found):
        smart.check_reading(argv)


def test_no_drive_is_told_to_change(traced: tuple[list[Call], Path]) -> None:
    """Requests to device nodes are ones that look (names as strace knows them)."""
    _, folder = traced
    requests = [line.split() for line in (folder / "asked.txt").read_text("utf-8").splitlines()]
    drives = [(n, r) for n, r in requests if re.match(r"/dev/(sd|sr|vd|nvme|mmcblk)", n)]
    assert [one for one in drives if not LOOKING.fullmatch(one[1])] == []


def test_a_smartctl_that_changes_is_seen() -> None:
    """A line as strace prints it: the arguments are found, and refused."""
    line = (
        '12 execve("/usr/sbin/smartctl", ["smartctl", "-t", "long", "/dev/sg0"], 0x7f /* 20 */) = 0'
    )
    (argv,) = smartctl_calls(calls(line))
    with pytest.raises(smart.Refused):
        smart.check_reading(argv)


@pytest.mark.parametrize(
    ("line", "bad"),
    [
        ('12 openat(AT_FDCWD</tmp/x>, "/dev/sda", O_RDWR|O_CLOEXEC) = 3</dev/sda>', True),
        ('12 openat(AT_FDCWD</tmp/x>, "/dev/sda", O_RDONLY|O_NONBLOCK) = 3</dev/sda>', False),
        ('open("/dev/nvme0", O_RDWR) = 3</dev/nvme0>', True),
        ('12 openat(AT_FDCWD</tmp/x>, "run.json", O_WRONLY|O_CREAT, 0644) = 3</tmp/x/r>', False),
        ('12 openat(AT_FDCWD</root>, "run.json", O_WRONLY|O_CREAT, 0644) = 3</root/r>', True),
        ('12 openat(AT_FDCWD</root>, "/dev/null", O_RDWR) = 3</dev/null>', False),
        ('12 mount("/dev/sda1", "/mnt", "ext4", MS_RDONLY, NULL) = 0', True),
        ('12 openat(AT_FDCWD</>, "/sys/block/sda/ro", O_WRONLY) = -1 EACCES', True),
        ('12 unlink("/etc/fstab") = 0', True),
        ('12 openat(AT_FDCWD</>, "/proc/self/fd/6", O_RDWR) = 3</tmp/x/run.json>', False),
        ('12 openat(AT_FDCWD</tmp/x>, "/proc/self/fd/6", O_RDWR) = 3</root/r>', True),
        ('12 openat(AT_FDCWD</tmp/x>, "/proc/self/fd/6", O_RDWR) = -1 EACCES', True),
    ],
)
def test_writing_is_seen(line: str, bad: bool) -> None:
    """Lines as strace 6 prints them, made up for the test."""
    assert len(calls(line)) == 1
    assert bool(against_the_rule(calls(line), Path("/tmp/x"))) == bad


@pytest.mark.parametrize("flag", WRITING)
def test_drives_refuse_flags_that_write(flag: str) -> None:
    """The only function that opens drives takes no flag that lets anything be written."""
    with pytest.raises(ValueError, match="reading only"):
        open_block_device("/dev/null", getattr(os, flag))


def test_a_file_is_no_drive(tmp_path: Path) -> None:
    """Whatever is not a block device is not opened as one."""
    file = tmp_path / "disk.img"
    file.write_bytes(bytes(512))
    with pytest.raises(OSError, match="Block device required"):
        open_block_device(str(file))


def _a_drive() -> str | None:
    for name in sorted(p.name for p in Path("/sys/class/block").glob("*")):
        device = f"/dev/{name}"
        if os.access(device, os.R_OK) and stat.S_ISBLK(Path(device).stat().st_mode):
            try:
                os.close(os.open(device, os.O_RDONLY))
            except OSError:
                continue
            return device
    return None


def test_an_open_drive_cannot_be_written() -> None:
    """The kernel itself calls the descriptor read-only."""
    device = _a_drive()
    if device is None:
        pytest.skip("no block device here that may be read (run as root)")
    descriptor = open_block_device(device, os.O_NONBLOCK)
    try:
        assert fcntl.fcntl(descriptor, fcntl.F_GETFL) & os.O_ACCMODE == os.O_RDONLY
        with pytest.raises(OSError, match="Bad file descriptor"):
            os.write(descriptor, b"")
    finally:
        os.close(descriptor)
