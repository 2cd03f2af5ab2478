"""The test a drive makes of itself: offered, begun, followed and broken off, only on request.

No probe and no run comes here; ``livecheck self-test`` does, after it has asked. The
commands are smartctl's (smartctl(8)): ``-t short`` and ``-t long`` begin, ``-X`` breaks
off. The drive stays usable meanwhile and writes nothing but its own log.

Values: ATA self-test execution status (ACS, as smartmontools 7.3 ``ataprint.cpp`` takes it
apart); NVM Express base specification, log 06h, as smartmontools 7.4 ``nvmeprint.cpp``.
"""

from __future__ import annotations

from typing import Any, Final

import msgspec

from livecheck.host import Host
from livecheck.probes.drive.smart import parse
from livecheck.probes.drive.smart_data import at, whole
from livecheck.probes.finding import Finding, finding, unjudged
from livecheck.records import Record

CHECK: Final = "storage.self-test"
DEADLINE: Final = 60.0
"""Seconds for one call."""

KINDS: Final = {"short": "short", "long": "extended"}
"""Our word, and smartctl's in its JSON."""

NVME_SHORT_MINUTES: Final = 2
"""A short test of an NVMe drive ends within two minutes (NVM Express base specification, from
memory)."""

ATA_RESULTS: Final = {
    1: "broken off by the computer",
    2: "broken off by a reset",
    3: "could not be finished: fatal or unknown error",
    4: "failed: the drive does not know in what",
    5: "failed: electrical part",
    6: "failed: servo or seek",
    7: "failed: read",
    8: "failed: damaged by handling, as the drive suspects",
}
ATA_FAILED: Final = frozenset(range(4, 9))
NVME_RESULTS: Final = {
    1: "broken off by command",
    2: "broken off by a controller reset",
    3: "broken off: the namespace was taken away",
    4: "broken off by a format",
    5: "could not be finished: fatal or unknown error",
    6: "failed: the drive does not know in which part",
    7: "failed: one part or more",
    8: "broken off, reason not known",
    9: "broken off by a sanitize operation",
}
NVME_FAILED: Final = frozenset({6, 7})


class SelfTestState(Record, frozen=True, kw_only=True):
    """What a drive says of its tests."""

    offered: bool = False
    running: bool = False
    percent_left: int | None = None
    """Of the one that runs; ATA drives count in tens."""
    minutes: dict[str, int | None] = msgspec.field(default_factory=dict)
    """How long each kind takes, as the drive itself states; None: it does not."""
    result: int | None = None
    """Of the newest finished test."""
    nvme: bool = False
    newest: tuple[int, int, int] | None = None
    """Kind, result and hour of the newest entry of the log: whether a new one came."""
    logged: int = 0
    """Entries of the log."""
    lba: int | None = None
    """First sector that failed, where the newest entry names one."""
    trouble: str | None = None


def ask(host: Host, node: str) -> SelfTestState:
    """What a drive says of its tests now. Only reads."""
    argv = ["smartctl", "-j", "-c", "-l", "selftest", f"/dev/{node}"]
    answer = host.command(argv, DEADLINE)
    if answer.status is None:
        return SelfTestState(trouble=answer.trouble)
    full = parse(answer.out)
    state = from_json(full)
    if state.nvme and state.offered:
        stated = _nvme_long_minutes(host, node)
        minutes = {"short": NVME_SHORT_MINUTES, "long": stated}
        return msgspec.structs.replace(state, minutes=minutes)
    if not state.offered and state.trouble is None:
        words = [m.get("string", "") for m in at(full, "smartctl", "messages") or []]
        why = "; ".join(filter(None, words)) or "the drive offers no test of itself"
        return msgspec.structs.replace(state, trouble=why)
    return state


def from_json(full: dict[str, Any]) -> SelfTestState:
    """The state in smartctl's JSON (options ``-c -l selftest``)."""
    if isinstance(full.get("nvme_self_test_log"), dict):
        return _nvme(full["nvme_self_test_log"])
    test = at(full, "ata_smart_data", "self_test")
    if not isinstance(test, dict):
        return SelfTestState()
    status = whole(at(test, "status", "value"))
    running = status is not None and status >> 4 == 0xF
    left = None if status is None or not running else (status & 0xF) * 10
    entries = _ata_entries(full)
    newest = entries[0] if entries else {}
    return SelfTestState(
        offered=at(full, "ata_smart_data", "capabilities", "self_tests_supported") is True,
        running=running,
        percent_left=left,
        minutes={
            ours: whole(at(test, "polling_minutes", theirs)) for ours, theirs in KINDS.items()
        },
        result=None if status is None or running else status >> 4,
        newest=_entry(newest, "type", "status", "lifetime_hours") if newest else None,
        logged=len(entries),
        lba=whole(newest.get("lba")),
    )


def _ata_entries(full: dict[str, Any]) -> list[dict[str, Any]]:
    log = full.get("ata_smart_self_test_log")
    for kind in ("extended", "standard"):
        table = at(log, kind, "table")
        if isinstance(table, list):
            return [row for row in table if isinstance(row, dict)]
    return []


def _entry(row: dict[str, Any], kind: str, result: str, hours: str) -> tuple[int, int, int]:
    found = (whole(at(row, kind, "value")), whole(at(row, result, "value")), whole(row.get(hours)))
    return tuple(-1 if value is None else value for value in found)  # type: ignore[return-value]


def _nvme(log: dict[str, Any]) -> SelfTestState:
    table = log.get("table")
    rows = [r for r in table if isinstance(r, dict)] if isinstance(table, list) else []
    running = bool(whole(at(log, "current_self_test_operation", "value")))
    done = whole(log.get("current_self_test_completion_percent"))
    newest = rows[0] if rows else {}
    return SelfTestState(
        offered=True,
        nvme=True,
        running=running,
        percent_left=100 - done if running and done is not None else None,
        minutes={"short": NVME_SHORT_MINUTES, "long": None},
        result=whole(at(newest, "self_test_result", "value")) if newest else None,
        newest=_entry(newest, "self_test_code", "self_test_result", "power_on_hours")
        if newest
        else None,
        logged=len(rows),
        lba=whole(newest.get("lba")),
    )


def _nvme_long_minutes(host: Host, node: str) -> int | None:
    """Extended Device Self-test Time of the controller's identification; 0 is none stated."""
    answer = host.command(["nvme", "id-ctrl", "-o", "json", f"/dev/{node}"], DEADLINE)
    return whole(parse(answer.out).get("edstt")) or None if answer.status == 0 else None


# --- What changes the drive's state: only after somebody was asked


def begin(host: Host, node: str, kind: str) -> str | None:
    """Begin a test of a kind of KINDS; says what went wrong, None: it runs."""
    return _changed(host, ["smartctl", "-j", "-t", kind, f"/dev/{node}"])


def abort(host: Host, node: str) -> str | None:
    """Break the running test off; says what went wrong, None: it is off."""
    return _changed(host, ["smartctl", "-j", "-X", f"/dev/{node}"])


def _changed(host: Host, argv: list[str]) -> str | None:
    answer = host.command(argv, DEADLINE)
    if answer.status is None:
        return answer.trouble
    # Bits 0 to 2: wrong usage, device not opened, command refused (smartctl(8)); the higher
    # ones speak of the drive's health.
    if not answer.status & 0b111:
        return None
    messages = at(parse(answer.out), "smartctl", "messages") or []
    words = "; ".join(m.get("string", "") for m in messages if isinstance(m, dict))
    return words or f"smartctl ended with status {answer.status}"


# --- What came of it


def judge(before: SelfTestState, after: SelfTestState, kind: str) -> Finding:
    """The finding of a test that was begun at ``before`` and has ended at ``after``."""
    failed, results = (NVME_FAILED, NVME_RESULTS) if after.nvme else (ATA_FAILED, ATA_RESULTS)
    if after.running:
        return unjudged(CHECK, "the test still runs; its result will stand in the drive's own log")
    if after.nvme and after.newest == before.newest and after.logged == before.logged:
        return unjudged(CHECK, "the drive logged no result of the test")
    if after.result is None:
        return unjudged(CHECK, "the drive gave no result of the test")
    if after.result == 0:
        return finding(CHECK, False, "passed", f"The drive's {kind} test of itself passed.")
    words = results.get(after.result, f"ended with a code unknown here ({after.result})")
    if after.result not in failed:
        return unjudged(CHECK, f"the {kind} test was not finished: {words}")
    place = f", first at sector {after.lba}" if after.lba is not None else ""
    says = f"The drive's {kind} test of itself {words}{place}."
    return finding(CHECK, True, words, says)
