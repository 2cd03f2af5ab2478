"""Floods of the kernel's lines: what judges them takes time as they grow, and no more.

A broken device can make the kernel write for hours; a log on a customer's drive can hold
anything. Searching the flood for each of its lines took minutes.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import pytest

from livecheck import inventory, kernel_log, saved_log
from livecheck.host import KernelMessage
from tests.hostile.campaign import SECONDS
from tests.testbeds import laptops
from tests.testbeds.bed import BedHost

LINES = 20_000
FROZEN = "ata1.00: exception Emask 0x0 SAct 0x0 SErr 0x0 action 0x6 frozen"
TOLD = "ata2.00: exception Emask 0x10 SAct 0x0 SErr 0x400000 action 0xe frozen"
SENSE = "sd 2:0:0:0: [sda] tag#3 Sense Key : Hardware Error [current] [descriptor]"
FLOODS: dict[str, Callable[[int], str]] = {
    "hardware errors without further sense": lambda n: SENSE,
    "overdue commands at one port, errors at another": lambda n: TOLD if n % 2 else FROZEN,
    "a port in each line": lambda n: f"ata{n}.00: error: {{ UNC }}",
    "sections of records": lambda n: "{1}[Hardware Error]:  section_type: memory error",
}


def _seconds(work: Callable[[], object]) -> float:
    begun = time.process_time()
    work()
    return time.process_time() - begun


@pytest.mark.parametrize("flood", FLOODS)
def test_a_flood_of_one_moment_is_judged_in_seconds(flood: str) -> None:
    messages = [KernelMessage(1.0, 3, FLOODS[flood](n)) for n in range(LINES)]
    assert _seconds(lambda: kernel_log.events(messages)) < SECONDS


def test_a_saved_log_of_starts_alone_is_read_in_seconds(tmp_path: Path) -> None:
    start = "[    0.000000] Linux version 6.12\n[    1.000000] ata1.00: error: { UNC }\n"
    log = tmp_path / "log"
    log.write_text(start * LINES)
    found = inventory.take(BedHost(laptops.ALL["nvme"]()))
    read: list[saved_log.LogRead] = []
    assert _seconds(lambda: read.append(saved_log.read_files([log], found, 2026))) < SECONDS
    assert read[0].starts == LINES
