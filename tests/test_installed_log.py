"""Logs of an installed Linux system, read from its file system without mounting it.

The file systems are made by mke2fs, the journals by systemd-journal-remote (its own writer of
the journal's format); what is read is held against what was put in.
"""

from __future__ import annotations

import gzip
import hashlib
import json
import re
import shutil
import subprocess
from collections.abc import Mapping, Sequence
from pathlib import Path

import pytest

from livecheck import installed_log, inventory, saved_log
from livecheck.cli import main
from livecheck.commands import read_log
from livecheck.host import CommandResult, UdevDevice, Unreadable
from livecheck.installed_log import Volume
from livecheck.live_host import LiveHost
from tests.testbeds import laptops
from tests.testbeds.bed import BedHost

UNC = "ata1.00: error: { UNC }"
NOON = 1772798400
"""2026-03-06T12:00:00Z."""
MACHINE = "0123456789abcdef0123456789abcdef"
REMOTE = "/lib/systemd/systemd-journal-remote"


class ImageHost(LiveHost):
    """A machine whose drives are the images given, by the names of their partitions."""

    def __init__(self, images: Mapping[str, Path], usb: str = "") -> None:
        super().__init__()
        self._images = images
        self._usb = usb
        self.asked: list[str] = []

    def udev(self, subsystem: str) -> tuple[UdevDevice, ...]:
        return tuple(
            UdevDevice(
                subsystem,
                name,
                f"/sys/devices/{name}",
                None,
                None,
                {"DEVNAME": str(path), "DEVTYPE": "partition",
                 **({"ID_BUS": "usb"} if name == self._usb else {})},
            )
            for name, path in self._images.items()
        )  # fmt: skip

    def block(self, device: str, offset: int, length: int) -> bytes:
        with Path(device).open("rb") as file:
            file.seek(offset)
            return file.read(length)

    def command(self, argv: Sequence[str], deadline: float) -> CommandResult:
        self.asked.append(" ".join(argv))
        return super().command(argv, deadline)


def _image(path: Path, files: Mapping[str, bytes]) -> Path:
    """An ext4 file system that holds the files."""
    tree = path.with_suffix(".tree")
    for name, content in files.items():
        (tree / name).parent.mkdir(parents=True, exist_ok=True)
        (tree / name).write_bytes(content)
    with path.open("wb") as file:
        file.truncate(32 << 20)
    subprocess.run(["/usr/sbin/mke2fs", "-q", "-t", "ext4", "-d", tree, path], check=True)
    shutil.rmtree(tree)
    return path


def _journal(path: Path, *entries: tuple[int, str, str]) -> bytes:
    """A journal as systemd writes it: second, transport, message."""
    export = "".join(
        f"__REALTIME_TIMESTAMP={second}000000\n__MONOTONIC_TIMESTAMP=1000000\n"
        f"_BOOT_ID={MACHINE}\n_TRANSPORT={transport}\nPRIORITY=3\nMESSAGE={message}\n\n"
        for second, transport, message in entries
    )
    path.unlink(missing_ok=True)
    subprocess.run([REMOTE, "-o", path, "-"], input=export.encode(), check=True,
                   capture_output=True)  # fmt: skip
    return path.read_bytes()


def _read(host: ImageHost, folder: Path) -> tuple[saved_log.LogRead, tuple[str, ...]]:
    found = inventory.take(BedHost(laptops.ahci()))
    files: list[Path] = []
    missed: tuple[str, ...] = ()
    for number, volume in enumerate(installed_log.volumes(host)):
        own = folder / f"copies{number}"
        own.mkdir()
        copied = installed_log.copied(host, volume, own)
        files += copied.files
        missed += copied.missed
    return saved_log.read_files(files, found, 2026), missed


def test_the_kernels_lines_of_a_journal_are_read_and_no_others(tmp_path: Path) -> None:
    """From several files in the order of time, with the journal's own dates."""
    old = _journal(
        tmp_path / "old.journal",
        (NOON, "kernel", "Linux version 6.1.0-9-amd64"),
        (NOON + 1, "kernel", UNC),
        (NOON + 2, "syslog", "a letter to a friend"),
    )
    new = _journal(tmp_path / "new.journal", (NOON + 9000, "kernel", UNC))
    where = f"var/log/journal/{MACHINE}"
    image = _image(
        tmp_path / "root.img",
        {
            f"{where}/system@{MACHINE}-0000000000000001-00064c5000000000.journal": old,
            f"{where}/system.journal": new,
            f"{where}/user-1000.journal": old,
            "var/log/kern.log": f"Mar  6 12:00:00 host kernel: [ 5.0] {UNC}\n".encode(),
        },
    )
    before = hashlib.sha256(image.read_bytes()).digest()
    log, missed = _read(ImageHost({"sda2": image}), tmp_path)
    assert [event.seconds for event in log.events] == [NOON + 1, NOON + 9000]
    assert (log.messages, log.dated, missed) == (3, True, ())
    assert hashlib.sha256(image.read_bytes()).digest() == before
    left = [path for path in tmp_path.rglob("copies*/*") if b"a letter" in path.read_bytes()]
    assert left == []


def test_text_logs_are_read_where_there_is_no_journal(tmp_path: Path) -> None:
    """Oldest first, packed or not, of one program: two would tell the same twice."""
    line = f"Mar  %d 12:00:00 host kernel: [ 5.0] {UNC}\n"
    files = {
        "log/kern.log": (line % 7).encode(),
        "log/kern.log.1": (line % 6).encode(),
        "log/kern.log.2.gz": gzip.compress((line % 5).encode()),
        "log/syslog": (line % 7).encode() * 5,
    }
    image = _image(tmp_path / "var.img", files)
    log, _ = _read(ImageHost({"sda3": image}), tmp_path)
    days = [(event.seconds - NOON) // 86400 for event in log.events]
    assert days == [-1, 0, 1]


@pytest.mark.parametrize(
    ("offset", "mark", "word"),
    [
        (0, b"LUKS\xba\xbe", "encrypted"),
        (3, b"-FVE-FS-", "BitLocker"),
        (65600, b"_BHRfS_M", "btrfs"),
    ],
)
def test_what_is_locked_or_of_another_kind_is_said(
    tmp_path: Path, offset: int, mark: bytes, word: str
) -> None:
    """It is named and not touched."""
    image = tmp_path / "other.img"
    image.write_bytes(bytes(offset) + mark + bytes(1 << 17))
    host = ImageHost({"sda2": image})
    _, missed = _read(host, tmp_path)
    assert word in missed[0]
    assert host.asked == []


def test_the_sticks_own_file_system_is_not_looked_at(tmp_path: Path) -> None:
    """The stick is on USB; logs there are the shop's."""
    image = _image(tmp_path / "stick.img", {"var/log/kern.log": b"x"})
    assert installed_log.volumes(ImageHost({"sdb1": image}, usb="sdb1")) == ()


def test_names_on_the_disk_are_no_part_of_a_request(tmp_path: Path) -> None:
    """Files are asked for by number; a name that looks like a line of a listing is none."""
    hostile = "kern.log\n/2/040755/0/0/kern.log.1/9/"
    image = _image(tmp_path / "root.img", {"var/log/kern.log": b"", "var/log/x; rm -rf": b"",
                                           "var/log/journal": b""})  # fmt: skip
    host = ImageHost({"sda2": image})
    _read(host, tmp_path)
    assert all("rm -rf" not in words and hostile not in words for words in host.asked)
    assert all(" -w" not in words for words in host.asked)


@pytest.mark.parametrize("damage", ["cut", "noise", "no journal"])
def test_a_damaged_file_system_costs_its_logs_and_no_more(tmp_path: Path, damage: str) -> None:
    """Cut off, overwritten in its tables, or with a journal that is none."""
    content = _journal(tmp_path / "a.journal", (NOON, "kernel", UNC))
    name = f"var/log/journal/{MACHINE}/system.journal"
    image = _image(
        tmp_path / "root.img", {name: b"x" * 5000 if damage == "no journal" else content}
    )
    raw = bytearray(image.read_bytes())
    if damage == "cut":
        raw = raw[: 1 << 16]
    elif damage == "noise":
        raw[4096 : 1 << 20] = bytes(range(256)) * (((1 << 20) - 4096) // 256)
    image.write_bytes(raw)
    log, missed = _read(ImageHost({"sda2": image}), tmp_path)
    assert log.messages == 0
    assert missed


def test_nothing_is_read_before_the_customer_agreed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Without a terminal to ask at, --agreed must say so."""
    assert main(["read-log", "--installed", "--shop", str(tmp_path)]) == 2
    assert "agreed" in capsys.readouterr().err


def test_the_consent_stands_in_the_run(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """With what was read, and what could not be."""
    log = f"Mar  6 12:00:00 host kernel: [ 5.0] {UNC}\n".encode()
    images = {"sda2": _image(tmp_path / "root.img", {"var/log/kern.log": log})}
    monkeypatch.setattr("livecheck.live_host.LiveHost", lambda: ImageHost(images))
    (tmp_path / "shop").mkdir()
    words = ["read-log", "--installed", "--agreed", "--shop", str(tmp_path / "shop"), "--json"]
    assert main(words) == 0
    told = json.loads(capsys.readouterr().out)
    run = json.loads(Path(told["run_file"]).read_text())
    assert run["inside"] is True
    assert read_log.CONSENT in [answer.get("words") for answer in run["answers"]]


def test_a_drive_that_cannot_be_read_is_passed_over(tmp_path: Path) -> None:
    """Errors of single reads are no reason to stop."""

    class Deaf(ImageHost):
        def block(self, device: str, offset: int, length: int) -> bytes:
            raise Unreadable(device, 5)

    assert installed_log.volumes(Deaf({"sda2": tmp_path})) == ()
    assert installed_log.copied(Deaf({}), Volume(str(tmp_path / "no"), "ext"), tmp_path).missed


def _forged(path: Path, claimed: int) -> Path:
    """A log that is 64 MiB of nothing, of which a file's name claims another size: debugfs
    writes names into its lines as they are, and a name on the disk may hold anything."""
    tree = path.with_suffix(".tree")
    (tree / "var/log").mkdir(parents=True)
    with (tree / "var/log/other").open("wb") as file:
        file.truncate(64 << 20)
    for inode in range(10, 30):
        (tree / f"var/log/x%&{inode}&100644&0&0&kern.log&{claimed}&%y").touch()
    with path.open("wb") as file:
        file.truncate(16 << 20)
    plain = [
        "/usr/sbin/mke2fs",
        "-q",
        "-t",
        "ext4",
        "-O",
        "^metadata_csum",
        "-d",
        str(tree),
        str(path),
    ]
    subprocess.run(plain, check=True)
    shutil.rmtree(tree)
    raw = path.read_bytes()
    names = re.sub(
        rb"x%[0-9a-z.&]+%y", lambda m: m[0].translate(bytes.maketrans(b"%&", b"\n/")), raw
    )
    path.write_bytes(names)
    return path


def test_a_forged_size_lets_no_copy_fill_the_memory(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(installed_log, "MOST_BYTES", 1 << 20)
    sizes: list[int] = []

    class Watched(ImageHost):
        def command(self, argv: Sequence[str], deadline: float) -> CommandResult:
            result = super().command(argv, deadline)
            sizes.extend(p.stat().st_size for p in tmp_path.rglob("copies*/*"))
            return result

    _, missed = _read(Watched({"sda2": _forged(tmp_path / "root.img", 1)}), tmp_path)
    assert max(sizes) <= 1 << 20
    assert any("older logs" in one for one in missed)


def test_of_thousands_of_logs_the_newest_are_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each costs two programs; a folder may list as many as it likes."""
    monkeypatch.setattr(installed_log, "MOST_LOGS", 3)
    line = f"Mar  6 12:00:00 host kernel: [ 5.0] {UNC}\n".encode()
    files = {f"var/log/kern.log.{number}": line for number in range(1, 9)}
    log, missed = _read(ImageHost({"sda2": _image(tmp_path / "root.img", files)}), tmp_path)
    assert log.messages == 3
    assert any("3 were read" in one for one in missed)


def test_a_drive_that_takes_long_over_each_request_is_left_in_time(tmp_path: Path) -> None:
    class Slow(ImageHost):
        def clock(self) -> float:
            return 30.0 * len(self.asked)

    line = f"Mar  6 12:00:00 host kernel: [ 5.0] {UNC}\n".encode()
    files = {f"var/log/kern.log.{number}": line for number in range(1, 40)}
    host = Slow({"sda2": _image(tmp_path / "root.img", files)})
    _, missed = _read(host, tmp_path)
    assert len(host.asked) < 15
    assert any("minutes were spent" in one for one in missed)
