"""What stands on the customer's disk: file systems and logs that are not what they seem.

Sources: Linux Documentation/filesystems/ext4 (super block, group descriptors, inodes, folders);
mke2fs(8) and debugfs(8), which make and open them; symlink(7); RFC 2781 (byte order mark).
"""

from __future__ import annotations

import hashlib
import os
import random
import struct
import subprocess
import time
from pathlib import Path
from typing import Final

import pytest

from livecheck import installed_log, inventory, saved_log
from tests.hostile.drives import command
from tests.test_installed_log import UNC, ImageHost, _image
from tests.testbeds import laptops
from tests.testbeds.bed import BedHost

LOG: Final = f"Mar  1 10:00:00 bench kernel: {UNC}\n".encode() * 9
SECRET: Final = b"nobody but root may read this"


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    folder = tmp_path_factory.mktemp("ext4")
    return _image(folder / "sda1", {"var/log/kern.log": LOG, "etc/passwd": b"x"}).read_bytes()


def _copied(image: Path, to: Path) -> bytes:
    """All that is read of a file system; the file system stays as it was."""
    before = hashlib.sha256(image.read_bytes()).digest()
    to.mkdir()
    host = ImageHost({"sda1": image})
    begun = time.monotonic()
    read = b""
    for volume in installed_log.volumes(host):
        copied = installed_log.copied(host, volume, to)
        read += b"".join(file.read_bytes() for file in copied.files)
    assert time.monotonic() - begun < 60
    assert hashlib.sha256(image.read_bytes()).digest() == before
    return read


@pytest.mark.slow
def test_any_byte_of_a_file_system(sound: bytes, tmp_path: Path) -> None:
    """I01: of the super block, the group table, inodes and folders; by dice, ninety of them."""
    dice = random.Random(23)
    used = [at for at in range(1024, len(sound) >> 1, 256) if any(sound[at : at + 256])]
    for number in range(90):
        at = 1024 + number * 11 if number < 30 else dice.choice(used) + dice.randrange(256)
        bad = bytearray(sound)
        bad[at] ^= dice.choice((1, 0x80, 0xFF))
        image = tmp_path / "image"
        image.write_bytes(bad)
        read = _copied(image, tmp_path / str(number))
        assert not read.replace(LOG, b"") or len(read) <= len(LOG), at


def test_links_within_a_file_system(tmp_path: Path) -> None:
    """I02: they lead about that file system, and never into the one that runs."""
    (tmp_path / "secret").write_bytes(SECRET)
    for number, (name, to) in enumerate((
        ("var/log", "/etc"), ("var/log", str(tmp_path)), ("var", ".."), ("var/log", "log"),
        ("var/log/kern.log", str(tmp_path / "secret")), ("var/log/kern.log", "kern.log"),
        ("var/log/syslog", "/proc/self/environ"), ("var/log/journal", str(tmp_path)),
        ("var/log/kern.log", "../" * 40 + "etc/passwd"),
    )):  # fmt: skip
        tree = tmp_path / f"tree{number}"
        link = tree / name
        link.parent.mkdir(parents=True)
        link.symlink_to(to)
        (tree / "kern.log").write_bytes(b"")
        image = tmp_path / f"image{number}"
        with image.open("wb") as file:
            file.truncate(8 << 20)
        subprocess.run(["/usr/sbin/mke2fs", "-q", "-t", "ext4", "-d", tree, image], check=True)
        assert SECRET not in _copied(image, tmp_path / f"to{number}")


SUPER: Final = {
    "block size": (0x18, "<I", 255), "inode size": (0x58, "<H", 0), "inodes": (0x00, "<I", 0),
    "inodes a group": (0x28, "<I", 0), "blocks a group": (0x20, "<I", 0),
    "blocks": (0x04, "<I", 0xFFFFFFFF), "first inode": (0x54, "<I", 0xFFFFFFFF),
    "descriptor size": (0xFE, "<H", 0xFFFF), "blocks above": (0x150, "<I", 0xFFFFFFFF),
    "features": (0x60, "<I", 0xFFFFFFFF), "read-only features": (0x64, "<I", 0xFFFFFFFF),
    "journal": (0xE0, "<I", 0xFFFFFFFF), "first block": (0x14, "<I", 0xFFFFFFFF),
    "revision": (0x4C, "<I", 0xFFFFFFFF), "flexible groups": (0x174, "<B", 255),
}  # fmt: skip


@pytest.mark.parametrize("what", SUPER)
def test_a_super_block_that_cannot_be(what: str, sound: bytes, tmp_path: Path) -> None:
    """I03: debugfs says what is wrong, or reads; it is bounded by its deadline."""
    at, form, value = SUPER[what]
    bad = bytearray(sound)
    struct.pack_into(form, bad, 1024 + at, value)
    image = tmp_path / "image"
    image.write_bytes(bad)
    _copied(image, tmp_path / "to")


def _files(folder: Path) -> dict[str, Path]:
    made = {
        "a Windows event log": b"ElfFile\0" + bytes(120) + b"ElfChnk\0" + os.urandom(65536),
        "half a journal": b"LPKSHHRH" + bytes(16) + os.urandom(65536),
        "an NTFS boot sector": b"\xebR\x90NTFS    " + os.urandom(501),
        "a picture": b"\x89PNG\r\n\x1a\n" + os.urandom(99_999), "nothing": b"",
        "one NUL": b"\0", "one line": b"x" * (8 << 20),
    }  # fmt: skip
    for name, data in made.items():
        (folder / name).write_bytes(data)
    with (folder / "a sparse TiB").open("wb") as file:
        file.truncate(1 << 40)
    (folder / "a folder").mkdir()
    (folder / "a link to itself").symlink_to("a link to itself")
    os.mkfifo(folder / "a pipe")
    found = {path.name: path for path in folder.iterdir()}
    return {**found, "/dev/zero": Path("/dev/zero"), "not there": folder / "none",
            "a path within a file": folder / "nothing/x"}  # fmt: skip


def test_what_is_no_log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """I04: words of what it is or that nothing was in it, and no waiting for a pipe."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    case = _case(tmp_path)
    (tmp_path / "odd").mkdir()
    for what, path in _files(tmp_path / "odd").items():
        begun = time.monotonic()
        status, out, err = command("read-log", "--case", case, str(path))
        assert time.monotonic() - begun < 60, what
        assert status in (0, 2, 3), what
        assert len(out + err) > 10 and not set(out + err) & set("\x00\x1b\x9b"), what


def _case(tmp_path: Path) -> str:
    capture = Path(installed_log.__file__).parent / "demo/contact-1.capture.gz"
    shop = tmp_path / "drive"
    shop.mkdir()
    words = (
        "run",
        "--from",
        str(capture),
        "--probes",
        "power",
        "--shop",
        str(shop),
        "--ticket",
        "T",
    )
    assert command(*words)[0] == 0
    return str(next((shop / "livecheck-cases").glob("2*")))


CODES: Final = {
    "UTF-16 with its mark": lambda text: text.encode("utf-16"),
    "UTF-16, big, with its mark": lambda text: b"\xfe\xff" + text.encode("utf-16-be"),
    "UTF-16 without": lambda text: text.encode("utf-16-le"),
    "UTF-8 with a mark": lambda text: text.encode("utf-8-sig"),
    "Latin-1": lambda text: text.replace("bench", "b\xe4nk").encode("latin-1"),
    "CRLF": lambda text: text.replace("\n", "\r\n").encode(),
    "CR": lambda text: text.replace("\n", "\r").encode(),
    "NULs after each line": lambda text: text.replace("\n", "\n\0\0\0").encode(),
}


@pytest.mark.parametrize("code", CODES)
def test_a_log_written_in_another_way(code: str, tmp_path: Path) -> None:
    """I05: as Windows' own shell and old editors save what is pasted into them."""
    file = tmp_path / "log"
    file.write_bytes(CODES[code](LOG.decode()))
    log = saved_log.read_files([file], inventory.take(BedHost(laptops.ahci())), 2026)
    assert len(log.events) == 9 or log.missed, log
