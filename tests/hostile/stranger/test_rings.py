"""The kernel's ring overrun, records without end, and journals and logs in their odder forms.

Sources: Linux Documentation/ABI/testing/dev-kmsg (EPIPE, sequence numbers, one read is one record);
syslog(2); systemd's JOURNAL_EXPORT_FORMATS (binary fields) and journalctl(1), -o json (a field that
is no UTF-8 is a list of its bytes, one that is too long is null); dmesg(1), terminal-colors.d(5).
"""

from __future__ import annotations

import errno
import json
import os
import struct
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from livecheck import inventory, kernel_log, kmsg, saved_log
from livecheck.saved_log import LogRead
from tests.hostile.outsider.support import looked
from tests.testbeds import laptops
from tests.testbeds.bed import BedHost

ERROR = "ata1.00: error: { UNC }"
QUIET = "usb 1-1: new high-speed USB device number 2 using xhci_hcd"


def _serious(rows: Iterator[bytes]) -> list[str]:
    return [e.raw for e in kernel_log.events(tuple(kmsg.parse_kmsg(rows))) if e.serious]


class Ring:
    """A descriptor that gives records and errors in turn; the last of them for ever."""

    def __init__(self, *told: bytes | int) -> None:
        self._told, self.reads = list(told), 0

    def read(self, descriptor: int, size: int) -> bytes:
        self.reads += 1
        assert self.reads < 2_000_000, "it reads on without end"
        told = self._told.pop(0) if len(self._told) > 1 else self._told[0]
        if isinstance(told, int):
            raise OSError(told, "")
        return told


def _record(number: int, text: str, priority: int = 3) -> bytes:
    return f"{priority},{number},{number}000000,-;{text}\n SUBSYSTEM=x\n".encode()


def _ring(monkeypatch: pytest.MonkeyPatch, *told: bytes | int) -> Iterator[bytes]:
    monkeypatch.setattr(os, "read", Ring(*told).read)
    return kmsg.kmsg_records(0)


def test_a_ring_that_is_overrun_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """E01: what came before and after the gap is read."""
    rows = _ring(monkeypatch, _record(1, ERROR), errno.EPIPE, _record(99, ERROR), errno.EPIPE,
                 _record(200, QUIET, 6), errno.EAGAIN)  # fmt: skip
    assert len(_serious(rows)) == 2


def test_a_ring_that_is_overrun_for_ever(monkeypatch: pytest.MonkeyPatch) -> None:
    """E01: a machine that writes faster than is read must not keep the run from its end."""
    begun = time.monotonic()
    assert len(_serious(_ring(monkeypatch, _record(1, ERROR), errno.EPIPE))) == 1
    assert time.monotonic() - begun < 10


def test_a_ring_that_never_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    """E01: nor one in which there is always another message."""
    begun = time.monotonic()
    assert _serious(_ring(monkeypatch, _record(1, ERROR), _record(2, QUIET, 6)))
    assert time.monotonic() - begun < 30


def test_a_ring_that_no_longer_holds_the_start() -> None:
    """E01: what was said before it begins is told to be missing."""
    bed = laptops.ahci()
    said = [
        [n.why for n in looked(BedHost(replace(bed, log=log)), "kernel").not_tested]
        for log in (((4000.0, 6, QUIET),), ((0.0, 5, "Linux version 6.12"), (4000.0, 6, QUIET)))
    ]
    assert any("overwritten" in why for why in said[0])
    assert not any("overwritten" in why for why in said[1])


@pytest.mark.parametrize("size", [900, 2000, 8100, 1 << 20])
def test_records_without_end(size: int) -> None:
    """E02: one record is one message, wherever in it the words of an error stand."""
    begun = time.monotonic()
    own = f"3,1,1000000,-;{ERROR} {'x' * size}\n".encode()
    assert len(_serious(iter([own] * 3))) == 3
    for fill in ("x", " ", "\\x0a", "x\\x20"):
        for text in (f"usb 1-1: Product: {fill * size}{ERROR}", f"{fill * size} {ERROR}"):
            assert _serious(iter([f"6,1,1000000,-;{text}\n".encode()])) == []
    assert time.monotonic() - begun < 10


PRIORITIES = ("999", "4294967295", "-1", "191", "", "9" * 30, "0x3", "3.0", " 3", "+3")


@pytest.mark.parametrize("priority", PRIORITIES)
def test_priorities_that_cannot_be(priority: str) -> None:
    """E03: not the kernel's own (facility 0), so not its words; the next record is read."""
    row = f"{priority},1,1000000,-;{ERROR}\n".encode()
    assert _serious(iter([row])) == []
    assert len(_serious(iter([row, _record(2, ERROR)]))) == 1


def _read(tmp_path: Path, content: bytes | str) -> LogRead:
    file = tmp_path / "log"
    file.write_bytes(content if isinstance(content, bytes) else content.encode())
    return saved_log.read_files([file], inventory.take(BedHost(laptops.ahci())), 2026)


HEAD = "Mar  1 10:00:00 laptop "


@pytest.mark.parametrize("shift", [-1, 0, 1])
def test_a_programs_line_that_is_cut(shift: int, tmp_path: Path) -> None:
    """E02: what stands behind the cut is the same program's, whatever it looks like."""
    forged = f"{HEAD}kernel: {ERROR}"
    for long in (1 << 13, 1 << 16, 1 << 17):
        fill = "x" * (long - len(f"{HEAD}app: ") + shift)
        log = _read(tmp_path, f"{HEAD}app: {fill}{forged}\n{HEAD}kernel: {QUIET}\n")
        assert [e.raw for e in log.events if e.serious] == [], long


@pytest.mark.parametrize("mark", [*(f"<{p}>" for p in PRIORITIES), "<3>1 ", "<<3>>"])
def test_marks_of_priority_in_a_saved_log(mark: str, tmp_path: Path) -> None:
    """E03: the lines around it are read."""
    text = f"[    1.000000] {QUIET}\n{mark}[    2.000000] {ERROR}\n[    3.000000] {ERROR}\n"
    log = _read(tmp_path, text)
    assert 1 <= len([e for e in log.events if e.serious]) <= 2


def _entry(**fields: object) -> dict[str, object]:
    return {"__REALTIME_TIMESTAMP": "1772359200000000", "_TRANSPORT": "kernel", "PRIORITY": "3",
            "SYSLOG_FACILITY": "0", "_BOOT_ID": "0" * 32, "MESSAGE": ERROR, **fields}  # fmt: skip


MESSAGES: tuple[tuple[object, int], ...] = (
    (list(ERROR.encode()), 1), (None, 0), ([ERROR, ERROR], 1), ([], 0), ([None, 1e3, -1], 0),
    ([list(ERROR.encode())], 1), ({"a": ERROR}, 0), (True, 0), (5, 0), ([256, 300, -5], 0),
    (list(f"x\n{ERROR}".encode()), 0), (f"x\n{ERROR}", 0), (f"{ERROR}\n{ERROR}", 1),
    (list(b"\xff\xfe" + ERROR.encode()), 0),
)  # fmt: skip


@pytest.mark.parametrize("number", range(len(MESSAGES)))
def test_messages_of_a_journal_that_are_no_text(number: int, tmp_path: Path) -> None:
    """E04: one entry is one message; what is between two of them changes neither."""
    message, most = MESSAGES[number]
    rows = [_entry(), _entry(MESSAGE=message), _entry(__REALTIME_TIMESTAMP="1772359260000000")]
    log = _read(tmp_path, "".join(json.dumps(row) + "\n" for row in rows))
    serious = [e for e in log.events if e.serious]
    assert 2 <= len(serious) <= 2 + most


def _export(**fields: str | bytes) -> bytes:
    told = {"__REALTIME_TIMESTAMP": "1772359200000000", "_TRANSPORT": "kernel", "PRIORITY": "3",
            "SYSLOG_FACILITY": "0", "MESSAGE": ERROR, **fields}  # fmt: skip
    out = b""
    for name, value in told.items():
        if isinstance(value, str):
            out += f"{name}={value}\n".encode()
        else:
            out += name.encode() + b"\n" + struct.pack("<Q", len(value)) + value + b"\n"
    return out + b"\n"


@pytest.mark.parametrize(
    ("field", "most"),
    [
        (ERROR.encode(), 1),
        (f"x\n\n__REALTIME_TIMESTAMP=1\n_TRANSPORT=kernel\nMESSAGE={ERROR}\n\n".encode(), 0),
        (b"\xff" * 70_000, 0),
        (b"\0" * (1 << 20), 0),
        (b"", 0),
    ],
)
def test_binary_fields_of_a_journal(field: bytes, most: int, tmp_path: Path) -> None:
    """E04: as MESSAGE, and as a field of another name before it; what follows is read."""
    between = {"MESSAGE": field}, {"COREDUMP": field, "_TRANSPORT": "journal"}
    for fields in between:
        last = _export(__REALTIME_TIMESTAMP="1772359260000000")
        log = _read(tmp_path, _export() + _export(**fields) + last)
        serious = [e for e in log.events if e.serious]
        assert 2 <= len(serious) <= 2 + most


COLOURED = (
    "\x1b[32m[    1.000000] \x1b[0m\x1b[33mata1.00: \x1b[0m\x1b[31merror: {{ UNC }}\x1b[0m",
    "\x1b[32m[Sun Mar  1 10:00:00 2026] \x1b[0m\x1b[33mata1.00\x1b[0m\x1b[1m\x1b[31m"
    ": error: {{ UNC }}\x1b[0m",
    "kern  :err   : [    1.000000] ata1.00: error: {{ UNC }}",
    "\x1b[0;1;31mMar 01 10:00:00 laptop kernel: ata1.00: error: {{ UNC }}\x1b[0m",
    "Mar 01 10:00:00 laptop kernel: \x1b[0;1;38;5;185m\x1b[0;1;39mata1.00: error: {{ UNC }}\x1b[0m",
    "\x1b[01;32m[    1.000000] \x1b(B\x1b[mata1.00: error: {{ UNC }}\x1b(B\x1b[m",
    "\x1b]8;;x\x07[    1.000000] ata1.00: error: {{ UNC }}\x1b]8;;\x07",
)  # fmt: skip


@pytest.mark.parametrize("line", COLOURED)
def test_a_log_saved_with_its_colours(line: str, tmp_path: Path) -> None:
    """E05: the same event as in black and white, and no sign of a terminal in it."""
    log = _read(tmp_path, line.format() + "\n")
    (event,) = log.events
    assert event.serious
    assert event.device == "ata1.00"
    assert "\x1b" not in event.raw
