"""Configuration space against pciutils: every function of 35 recorded dumps.

Reference: ``lspci -F FILE -vv`` on the dumps in the tests folder of pciutils 3.9.0.
"""

from __future__ import annotations

import re
import subprocess
from pathlib import Path
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from livecheck.inventory import config_space
from livecheck.inventory.ids import IdDatabase
from tests import datasets

pytestmark = pytest.mark.slow

DUMPS: Final = 35
HEX_LINE: Final = re.compile(r"^([0-9a-f]{2,3}): ((?:[0-9a-f]{2} ?)+)$")
HEAD: Final = re.compile(r"^(?:0000:)?((?:[0-9a-f]{4,8}:)?[0-9a-f]{2}:[0-9a-f]{2}\.[0-7]) (.*)$")

LSPCI_UNCORRECTABLE: Final = (
    ("DLP", 4), ("SDES", 5), ("TLP", 12), ("FCP", 13), ("CmpltTO", 14), ("CmpltAbrt", 15),
    ("UnxCmplt", 16), ("RxOF", 17), ("MalfTLP", 18), ("ECRC", 19), ("UnsupReq", 20),
    ("ACSViol", 21),
)  # fmt: skip
LSPCI_CORRECTABLE: Final = (
    ("RxErr", 0), ("BadTLP", 6), ("BadDLLP", 7), ("Rollover", 8), ("Timeout", 12),
    ("AdvNonFatalErr", 13),
)  # fmt: skip
LSPCI_DEVICE_STATUS: Final = (
    ("CorrErr", 0), ("NonFatalErr", 1), ("FatalErr", 2), ("UnsupReq", 3), ("AuxPwr", 4),
    ("TransPend", 5),
)  # fmt: skip
"""lspci's names in the order of its output (3.9.0), with the bits of linux/pci_regs.h."""


def _dumps() -> list[Path]:
    folder = datasets.debian_source(*datasets.PCIUTILS) / "tests"
    return [p for p in sorted(folder.iterdir()) if _configs(p)]


def _configs(path: Path) -> dict[str, bytes]:
    """Address -> configuration space of a dump."""
    found: dict[str, bytearray] = {}
    current = bytearray()
    for line in path.read_text("utf-8", "replace").splitlines():
        head = HEAD.match(line)
        row = HEX_LINE.match(line.rstrip())
        if head:
            current = found.setdefault(head[1], bytearray())
        elif row:
            at = int(row[1], 16)
            current.extend(b"\0" * max(0, at - len(current)))
            current[at : at + 16] = bytes.fromhex(row[2])
    return {address: bytes(config) for address, config in found.items() if config}


def _lspci(path: Path, *options: str) -> dict[str, str]:
    """Address -> lspci's text on it."""
    words = ["lspci", "-F", str(path), *options]
    done = subprocess.run(words, capture_output=True, text=True, check=True, errors="replace")
    blocks: dict[str, list[str]] = {}
    for line in done.stdout.splitlines():
        head = HEAD.match(line)
        if head:
            blocks[head[1]] = [head[2]]
        elif line.strip():
            blocks[next(reversed(blocks))].append(line.strip())
    return {address: "\n".join(lines) for address, lines in blocks.items()}


def _flags(text: str, label: str, names: tuple[tuple[str, int], ...]) -> int | None:
    """A register from lspci's ``Name+ Name-`` words; None when there is no such line."""
    # pciutils 3.13 goes on in a line of flags alone.
    line = re.search(rf"^{label}:\s+(.*(?:\n(?:\w+[+-]\s*)+$)*)", text, re.MULTILINE)
    if not line:
        return None
    words = {w[:-1]: w[-1] == "+" for w in re.findall(r"\S+[+-]", line[1])}
    return sum(1 << bit for name, bit in names if words[name])


def _mask(value: int | None, names: tuple[tuple[str, int], ...]) -> int | None:
    return None if value is None else value & sum(1 << bit for _, bit in names)


def _speed(text: str, label: str) -> tuple[float | None, int] | None:
    found = re.search(rf"^{label}:.*?Speed (\S+?)(?:GT/s)?(?: \(\w+\))?, Width x(\d+)", text, re.M)
    if not found:
        return None
    return None if found[1] == "unknown" else float(found[1]), int(found[2])


@pytest.fixture(scope="module")
def dumps() -> list[Path]:
    return _dumps()


def test_all_dumps_are_there(dumps: list[Path]) -> None:
    """The set is whole: a dump lost on the way is a check lost."""
    assert len(dumps) == DUMPS


def test_links_and_status_agree_with_lspci(dumps: list[Path]) -> None:
    """Speed, width, device status and error bits of every function."""
    compared = {"functions": 0, "links": 0, "status": 0, "errors": 0}
    for dump in dumps:
        texts = _lspci(dump, "-vv")
        for address, config in _configs(dump).items():
            found, text, where = config_space.decode(config), texts[address], (dump.name, address)
            compared["functions"] += 1
            if found is None:
                assert "!!!" in text or "rev ff" in text, where
                continue
            link, errors = found.link, found.errors
            now = (link.speed_gts, link.width) if link else None
            most = (link.max_speed_gts, link.max_width) if link else None
            assert now == _speed(text, "LnkSta"), where
            assert most == _speed(text, "LnkCap"), where
            status = _flags(text, "DevSta", LSPCI_DEVICE_STATUS)
            assert _mask(found.device_status, LSPCI_DEVICE_STATUS) == status, where
            bad = _flags(text, "UESta", LSPCI_UNCORRECTABLE)
            weak = _flags(text, "CESta", LSPCI_CORRECTABLE)
            assert _mask(errors.uncorrectable if errors else None, LSPCI_UNCORRECTABLE) == bad, (
                where
            )
            assert _mask(errors.correctable if errors else None, LSPCI_CORRECTABLE) == weak, where
            compared["links"] += now is not None
            compared["status"] += status is not None
            compared["errors"] += weak is not None
    print(compared)
    assert min(compared.values()) > 10, compared


def test_slots_agree_with_lspci(dumps: list[Path]) -> None:
    """Whether a port has a slot, its number, and its presence detect state."""
    compared = 0
    for dump in dumps:
        texts = _lspci(dump, "-vv")
        for address, config in _configs(dump).items():
            found = config_space.decode(config)
            if found is None or found.slot is None:
                continue
            number = re.search(r"Slot #(\d+)", texts[address])
            presence = re.search(r"SltSta:.*PresDet([+-])", texts[address])
            assert number and presence, (dump.name, address)
            assert found.slot.number == int(number[1]), (dump.name, address)
            assert found.slot.presence == (presence[1] == "+"), (dump.name, address)
            compared += 1
    print(compared, "slots")
    assert compared > 5


def test_serial_numbers_agree_with_lspci(dumps: list[Path]) -> None:
    compared = 0
    for dump in dumps:
        texts = _lspci(dump, "-vv")
        for address, config in _configs(dump).items():
            found = config_space.decode(config)
            told = re.search(r"Device Serial Number ([0-9a-f-]+)", texts[address])
            if found is None or not told:
                continue
            digits = told[1].replace("-", "")
            expected = None if set(digits) == {"0"} else digits
            assert found.serial_number == expected, (dump.name, address)
            compared += 1
    print(compared, "serial numbers")
    assert compared > 0


def test_names_agree_with_lspci(dumps: list[Path]) -> None:
    """IdDatabase of vendors, devices and classes by hwdata, against lspci reading the same file."""
    ids = Path("/usr/share/hwdata/pci.ids")
    names = IdDatabase(pci=ids.read_bytes())
    compared = 0
    for dump in dumps:
        texts = _lspci(dump, "-mm", "-O", "hwdb.disable=1", "-i", str(ids))
        numbers = _lspci(dump, "-mm", "-n")
        for address, text in texts.items():
            kind, vendor, device = re.findall(r'"([^"]*)"', text)[:3]
            code, vendor_id, device_id = (
                int(n, 16) for n in re.findall(r'"([^"]*)"', numbers[address])[:3]
            )
            found = names.pci_vendor(vendor_id), names.pci_device(vendor_id, device_id)
            # lspci prints "Vendor 1234" and "Device 5678" for what the database lacks.
            assert (found[0] or f"Vendor {vendor_id:04x}") == vendor, (dump.name, address)
            assert (found[1] or f"Device {device_id:04x}") == device, (dump.name, address)
            if not kind.startswith("Class"):
                # lspci adds the number of a subclass that has no name.
                assert names.pci_class(code) == kind.partition(" [")[0], (dump.name, address)
            compared += 1
    print(compared, "names")
    assert compared > 50


@given(st.binary(max_size=4096))
def test_any_bytes_decode(raw: bytes) -> None:
    """A function that lies about itself costs no run."""
    found = config_space.decode(raw)
    assert found is None or len(raw) >= 64


@given(st.integers(0x40, 0xFF), st.integers(0, 255))
def test_looped_lists_end(start: int, filling: int) -> None:
    """A capability list that points at itself ends."""
    config = bytearray([filling]) * 4096
    config[0:4], config[6], config[0x34] = b"\x86\x80\x00\x01", 0x10, start
    config[start & 0xFC], config[(start & 0xFC) + 1] = 0x01, start & 0xFC
    config_space.decode(bytes(config))
    assert len(list(config_space.capabilities(bytes(config)))) == 1


def test_all_ones_is_nobody() -> None:
    """A function that has gone from the bus reads as ones (PCI)."""
    assert config_space.decode(b"\xff" * 256) is None
