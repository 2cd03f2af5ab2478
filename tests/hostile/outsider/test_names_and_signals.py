"""Machines that say nothing of themselves, networks and screens that lie.

Sources: DSP0134 3.7, 6.1.3 (strings); Linux include/uapi/linux/netlink.h (attributes and their
lengths), nl80211.h; IEEE 802.11-2020, 9.4.2.2 (a name is 0 to 32 bytes); VESA DisplayPort 1.4, 2.9
(registers).
"""

from __future__ import annotations

import contextlib
import random
import struct
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Final

import msgspec
import pytest

from livecheck.casefile import Shop
from livecheck.records import Complaint, Machine
from livecheck.wording import clean
from tests.displayport.sink import Sink
from tests.hostile.outsider.support import accused, defects, located, looked
from tests.probes.wireless.test_scan import RadioBed
from tests.probes.wireless.test_scan import run as scanned
from tests.radio import messages
from tests.testbeds import laptops, screens
from tests.testbeds.bed import BedHost

BLANKS: Final = ("", "   ", "To be filled by O.E.M.", "\u200b\u2060", "W" * 65536, "\x1b[2J",
                 "Default string", "0", "\u202etxet", "../../x", "\ud800")  # fmt: skip


@pytest.mark.parametrize("name", BLANKS)
def test_a_machine_that_says_nothing_of_itself(name: str, tmp_path: Path) -> None:
    """H28: two looks by one ticket are one case, by two tickets two; names lead nowhere else."""
    run = looked(BedHost(laptops.ahci()))
    machine = Machine(vendor=name, product=name, serial=name, board_serial=name, uuid=name)
    found = msgspec.structs.replace(run.inventory, machine=machine)
    shop = Shop(tmp_path)
    opened = []
    for ticket in ("A-1", "A-1", "A-2", None):
        case = shop.find(found, ticket, Complaint.SLOW) if ticket else None
        with contextlib.suppress(UnicodeEncodeError):
            opened.append(
                case or shop.open_case(found, ticket, Complaint.SLOW, "2026-03-02T09:00:00Z")
            )
    paths = [case.path for case in opened]
    assert name == "\ud800" or (paths[0] == paths[1] and len(set(paths)) == 3)
    assert {path.parent for path in paths} <= {shop.cases_folder}


def _cells(kind: str) -> tuple[bytes, ...]:
    names = (bytes(32), b"\x1b[2J\x9b", "\u202etxet".encode(), b"\xff" * 32, b"<script>", b"")
    if kind == "names":
        return tuple(messages.cell(f"02:00:00:00:00:{n:02x}", 2412, -50, ssid=name)
                     for n, name in enumerate(names))  # fmt: skip
    if kind == "five thousand":
        return tuple(messages.cell(f"02:00:00:00:{n >> 8:02x}:{n & 255:02x}", 2412, -50)
                     for n in range(5000))  # fmt: skip
    sound = messages.cell("02:00:00:00:00:01", 2412, -50)
    if kind == "levels":
        return tuple(
            messages.cell("02:00:00:00:00:01", mhz, dbm, {0: level, 255: level})
            for mhz in (0, 1 << 31)
            for dbm in (-2e7, 0.0, 2e7)
            for level in (-128, 127)
        )
    if kind == "lengths":
        return tuple(
            struct.pack("=HH", length, sort) + sound[4:]
            for length in (0, 1, 3, 5, 65535)
            for sort in (3, 47, 0x8000 | 47, 65535)
        )
    nested = b"x"
    for _ in range(15_000):
        nested = struct.pack("=HH", (len(nested) + 4) & 0xFFFF, 0x8000 | 47) + nested
    return (nested, sound[: len(sound) // 2], b"", bytes(65536), b"\xff" * 65536)


@pytest.mark.parametrize("kind", ["names", "five thousand", "levels", "lengths", "nested"])
def test_networks_that_lie(kind: str) -> None:
    """H36: in the scan, and in each other answer of nl80211, too; no name comes raw."""
    bed, cells = laptops.ahci(), _cells(kind)
    questions = {"scan": cells, "wiphy": cells, "interface": cells, "reg": cells, "station": cells}
    for radios in ({**bed.radios, "scan": cells}, questions):
        begun = time.process_time()
        run = looked(BedHost(replace(bed, radios=radios)), "wireless")
        assert defects(run) == []
        told = "".join(r.says for r in run.readings) + "".join(n.why for n in run.not_tested)
        assert not set(clean(told)) & set("\x1b\x9b\u202e")
        assert not accused(located(run)) or radios is questions
        heard, missed = scanned(RadioBed(cells))
        told = "".join(r.says for r in heard.values()) + "".join(n.why for n in missed)
        assert not set(clean(told)) & set("\x1b\x9b\u202e")
        assert time.process_time() - begun < 20


class Registers(Sink):
    """A screen that answers what it likes."""

    def __init__(self, answer: Callable[[int, int], bytes]) -> None:
        super().__init__()
        self._answer = answer

    def aux(self, device: str, offset: int, length: int) -> bytes:
        return self._answer(offset, length)


DICE: Final = random.Random(37)
REGISTERS: Final[dict[str, Callable[[int, int], bytes]]] = {
    "ones": lambda offset, length: b"\xff" * length, "zeros": lambda offset, length: bytes(length),
    "noise": lambda offset, length: DICE.randbytes(length), "nothing": lambda offset, length: b"",
    "less": lambda offset, length: bytes(length // 2), "more": lambda offset, length: bytes(99),
}  # fmt: skip


@pytest.mark.parametrize("what", REGISTERS)
def test_registers_of_a_screen_that_lie(what: str) -> None:
    """H37: noise in each look is no cable, and no panel, that lost a picture."""
    bed = screens.with_panel(Registers(REGISTERS[what]))
    run = looked(BedHost(bed))
    assert defects(run) == []
    assert what == "noise" or not accused(located(run))
