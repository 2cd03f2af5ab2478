"""Logs as they really come: other languages, pasted, torn, captured over a line.

Forms: dmesg(1) ``--delta``, ``--reltime``, ``--json``; journalctl(1) ``-o short-unix``,
``short-delta``, ``--no-hostname``; ``Documentation/ABI/testing/dev-kmsg``,
``Documentation/networking/netconsole.rst`` (extended console); RFC 5424; RFC 7464 (JSON text
sequences); months as glibc's locales abbreviate them; the rest as public threads show them.
"""

from __future__ import annotations

import io
import json

import pytest

from livecheck.kernel_log import saved, stamps
from tests.kernel_lines import ALL
from tests.kernel_lines_later import LATER

UNC = "ata1.00: error: { UNC }"
NOON = 1772798400
"""2026-03-06T12:00:00Z."""
SINCE = 5.0
ESC = "\x1b"

DATED = {
    "dmesg human, German": f"[Fr Mär  6 12:00:00 2026] {UNC}",
    "dmesg human, French": f"[ven. mars  6 12:00:00 2026] {UNC}",
    "dmesg human, Polish": f"[pią mar  6 12:00:00 2026] {UNC}",
    "dmesg with day and minute": f"[Mar06 12:00] {UNC}",
    "journal, German": f"Mär 06 12:00:00 bench kernel: {UNC}",
    "journal, Russian": f"мар 06 12:00:00 bench kernel: {UNC}",
    "journal, Spanish": f"mar 06 12:00:00 bench kernel: {UNC}",
    "journal, Czech": f"bře 06 12:00:00 bench kernel: {UNC}",
    "journal, Japanese": f"3月 06 12:00:00 bench kernel: {UNC}",
    "journal without host": f"Mar 06 12:00:00 kernel: {UNC}",
    "journal since 1970": f"{NOON}.000000 bench kernel: {UNC}",
    "journal full, zone as a number": f"Fri 2026-03-06 15:00:00 +03 bench kernel: {UNC}",
    "syslog by wire": f"<3>1 2026-03-06T13:00:00.000000+01:00 bench kernel - - - {UNC}",
    "busybox": f"Mar  6 12:00:00 bench kern.err kernel: [    5.000000] {UNC}",
    "socklog": f"2026-03-06T12:00:00.91660 kern.err: [    5.000000] {UNC}",
    "logread": f"Fri Mar  6 12:00:00 2026 kern.err kernel: [    5.000000] {UNC}",
    "terminal with a clock": f"[2026-03-06 12:00:00] [    5.000000] {UNC}",
    "pipe with a clock": f"Mar 06 12:00:00 [    5.000000] {UNC}",
    "found by grep": f"/var/log/kern.log.1:Mar  6 12:00:00 bench kernel: [    5.000000] {UNC}",
    "export in another order": f"PRIORITY=3\n__REALTIME_TIMESTAMP={NOON}000000\n"
    f"_TRANSPORT=kernel\nMESSAGE={UNC}\n\n",
    "json sequence": "\x1e" + json.dumps(
        {"__REALTIME_TIMESTAMP": f"{NOON}000000", "_TRANSPORT": "kernel", "MESSAGE": UNC}),
    "json for browsers": "data: " + json.dumps(
        {"__REALTIME_TIMESTAMP": f"{NOON}000000", "_TRANSPORT": "kernel", "MESSAGE": UNC}),
    "json, indented": json.dumps(
        {"__REALTIME_TIMESTAMP": f"{NOON}000000", "_TRANSPORT": "kernel", "MESSAGE": UNC},
        indent=8),
    "json after blank lines": "\n\n" + json.dumps(
        {"__REALTIME_TIMESTAMP": f"{NOON}000000", "_TRANSPORT": "kernel", "MESSAGE": UNC}),
}  # fmt: skip

COUNTED = {
    "dmesg with steps": f"[    5.000000 <    0.000012>] {UNC}",
    "journal with steps": f"[    5.000000 <    0.000012 >] bench kernel: {UNC}",
    "dmesg json": json.dumps({"dmesg": [{"pri": 3, "time": 5.0, "msg": UNC}]}, indent=3),
    "/dev/kmsg": f"3,1234,5000000,-;{UNC}",
    "/dev/kmsg with the caller": f"3,1234,5000000,-,caller=T123;{UNC}",
    "netconsole": f"6.12.0,3,1234,5000000,-;{UNC}",
    "serial line": f"<3>[    5.000000] {UNC}\r",
    "colours": f"{ESC}[32m[    5.000000] {ESC}[0m{ESC}[33mata1.00: {ESC}[0m{ESC}[31m"
    f"error: {{ UNC }}{ESC}[0m",
    "torn": f"\0\0\0[    5.000000] {UNC}",
    "of a word processor": f"\ufeff[    5.000000] {UNC}",
    "indented": f"    [    5.000000] {UNC}",
    "quoted": f"> [    5.000000] {UNC}",
    "in backticks": f"`[    5.000000] {UNC}`",
    "told to everybody": f" kernel:[    5.000000] {UNC}",
}


def _read(raw: bytes) -> list[saved.Stamped]:
    return list(saved.read(io.BytesIO(raw), 2026))


@pytest.mark.parametrize("form", DATED)
def test_a_date_in_any_tongue(form: str) -> None:
    """The message alone, at noon."""
    (found,) = _read(DATED[form].encode())
    assert (found.message.text, found.seconds, found.dated) == (UNC, NOON, True)


@pytest.mark.parametrize("form", COUNTED)
def test_seconds_since_the_start_wherever_they_stand(form: str) -> None:
    """The message alone, five seconds after the start."""
    (found,) = _read(COUNTED[form].encode())
    assert (found.message.text, found.seconds, found.dated) == (UNC, SINCE, False)


@pytest.mark.parametrize("coding", ["utf-16", "utf-16-le", "utf-16-be"])
def test_a_log_redirected_by_another_system(coding: str) -> None:
    """Two bytes a letter, with a mark before them or without."""
    found = _read(f"[    4.0] x\n[    5.0] {UNC}\n".encode(coding))
    assert [one.message.text for one in found] == ["x", UNC]
    assert found[1].seconds == SINCE


@pytest.mark.parametrize(
    ("line", "priority"),
    [
        (DATED["syslog by wire"], 3),
        (DATED["busybox"], 3),
        (DATED["socklog"], 3),
        (DATED["logread"], 3),
        (COUNTED["/dev/kmsg"], 3),
        (COUNTED["netconsole"], 3),
        (COUNTED["dmesg json"], 3),
        (f"4,1234,5000000,-;{UNC}", 4),
    ],
)
def test_the_priority_a_form_tells(line: str, priority: int) -> None:
    """Three is an error; a facility in the bits above is another program's (syslog(3))."""
    assert _read(line.encode())[0].message.priority == priority


def test_the_kernels_word_of_a_device_is_kept() -> None:
    """Lines with a blank before them belong to the message (dev-kmsg)."""
    raw = f"3,1,5000000,-;{UNC}\n SUBSYSTEM=scsi\n DEVICE=+scsi:0:0:0:0\n4,2,6000000,-;next\n"
    found = _read(raw.encode())
    assert [one.message.text for one in found] == [UNC, "next"]
    assert [one.message.device for one in found] == ["+scsi:0:0:0:0", None]


def test_steps_since_the_line_before() -> None:
    """dmesg --reltime: a day and a minute, then seconds since the line before."""
    found = _read(f"[Mar06 12:00] a\n[  +2.500000] b\n[  +1.500000] {UNC}\n".encode())
    assert [one.seconds - NOON for one in found] == [0, 2.5, 4.0]


def test_a_month_nobody_knows_costs_the_time_and_not_the_line() -> None:
    """The moment of the line before is taken."""
    found = _read(
        f"Mar 06 12:00:00 bench kernel: a\nXyz 07 12:00:00 bench kernel: {UNC}\n".encode()
    )
    assert [(one.message.text, one.seconds) for one in found] == [("a", NOON), (UNC, NOON)]


def test_a_serial_line_returns_without_a_new_line() -> None:
    """A carriage return ends a line, too."""
    found = _read(f"[    4.0] x\r[    5.0] {UNC}\r\n".encode())
    assert [one.message.text for one in found] == ["x", UNC]


@pytest.mark.parametrize(
    "before",
    ["", "[    5.000000] ", "[Fri Mar  6 12:00:00 2026] ", "Mar 06 12:00:00 kernel: ",
     "Mar  6 12:00:00 h kernel: [    5.0] ", "3,1,5000000,-;", "> [    5.0] "],
)  # fmt: skip
def test_no_form_takes_a_word_from_a_message(before: str) -> None:
    """Of every message whose meaning is known, alone in its file."""
    for line, *_ in (*ALL, *LATER):
        assert [one.message.text for one in _read(f"{before}{line}\n".encode())] == [line]


@pytest.mark.parametrize(("priority", "kernels"), [(0, True), (7, True), (8, False), (13, False)])
def test_a_facility_above_the_kernels(priority: int, kernels: bool) -> None:
    """Facility 0 is the kernel's, 1 a program's: its bits stand above three of priority."""
    for line in (f"{priority},7,2500000,-;words", f"<{priority}>words"):
        found = stamps.take_apart(line, 2026)
        assert (found.kernels, found.priority, found.text) == (kernels, priority & 7, "words")


@pytest.mark.parametrize(
    ("zone", "hours"), [("", 0.0), ("+00:00", 0.0), ("+0130", 1.5), ("-05:30", -5.5)]
)
def test_the_offset_of_a_zone(zone: str, hours: float) -> None:
    """ISO 8601: what is ahead of UTC is earlier in UTC; 2026-03-01T10:00Z is 1772359200."""
    found = stamps.take_apart(f"2026-03-01T10:00:00{zone} bench kernel: words", 2026)
    assert found.seconds is not None and found.dated
    assert found.seconds == 1772359200 - 3600 * hours
