"""Findings of a drive's health data, whatever its interface. Pure."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Final

from livecheck.probes.drive import smart_ata_judge, smart_nvme, smart_scsi, smart_wear
from livecheck.probes.drive.smart_data import SelfTest, SmartData
from livecheck.probes.finding import Finding, finding, unjudged
from livecheck.records import Check, Outcome

NO_LIMITS: Final[Mapping[str, float]] = {}

WARMEST: Final = 120
"""Degrees Celsius; what reads warmer is no measurement (common practice, no source: drives
switch themselves off long before)."""

FAILING: Final = 1 << 3
"""Bit of smartctl's exit status: the drive says that it fails (smartctl(8))."""

_FAILED_WORDS: Final = ("failure", "failed", "damage")
_UNFINISHED_WORDS: Final = ("aborted", "interrupted", "progress", "running", "fatal or unknown")


def judge(data: SmartData, checks: Mapping[str, Check]) -> tuple[Finding, ...]:
    """Every finding of one drive; a drive that could not be asked gives one that says why."""
    if data.trouble is not None:
        return (unjudged("storage.health", data.trouble),)

    def limits(check: str) -> Mapping[str, float]:
        return checks[check].limits if check in checks else NO_LIMITS

    found = [_health(data)]
    found += smart_ata_judge.judge(
        data, limits("storage.medium-errors"), limits("storage.link-errors")
    )
    found += smart_nvme.judge(data)
    found += smart_scsi.judge(data)
    found += _many(found, limits("storage.medium-lost"))
    found += _self_tests(data)
    found += smart_wear.judge(data, limits("storage.wear"))
    found += _temperature(data, limits("storage.temperature"))
    return tuple(found)


def _health(data: SmartData) -> Finding:
    by_kind: Callable[[SmartData], Finding | None] = smart_ata_judge.health
    if data.nvme is not None:
        by_kind = smart_nvme.health
    elif data.scsi is not None and data.ata is None:
        by_kind = smart_scsi.health
    found = by_kind(data)
    if found is not None and (found.outcome is Outcome.FAILED or not _says_failing(data)):
        return found
    if found is not None or data.passed is False:
        why = "its own figures and smartctl's verdict on it contradict each other"
        return unjudged("storage.health", why)
    why = "; ".join(data.messages) or (
        "the drive did not give its verdict on itself"
        if data.capable
        else "the drive does not watch its own health, or its adapter does not pass it on"
    )
    return unjudged("storage.health", why)


def _says_failing(data: SmartData) -> bool:
    """By smartctl's exit status; an NVMe drive that is only hot is called so, too."""
    hot = data.nvme is not None and bool(data.nvme.critical_warning)
    return bool((data.exit_status or 0) & FAILING) and not hot


def _many(found: Sequence[Finding], limits: Mapping[str, float]) -> tuple[Finding, ...]:
    """So many lost that it is a sign of its own beside the first ones."""
    return tuple(
        finding(
            "storage.medium-lost",
            True,
            one.value,
            f"{one.value} {one.unit}: no sound drive has so many.",
            one.unit,
        )
        for one in found
        if one.check == "storage.medium-errors"
        and one.outcome is Outcome.FAILED
        and isinstance(one.value, int)
        and one.value >= limits.get("many", math.inf)
    )


def _self_tests(data: SmartData) -> tuple[Finding, ...]:
    """The newest finished test decides: a later pass clears an older failure."""
    check = "storage.self-test-log"
    failures = sum(_passed(test) is False for test in data.self_tests)
    for test in data.self_tests:
        passed = _passed(test)
        if passed is None:
            continue
        when = f" at {test.hours} h of use" if test.hours is not None else ""
        begin = f"The drive's last {test.kind.lower()} test of itself{when}"
        if passed:
            return (finding(check, False, test.status, f"{begin} passed."),)
        place = f", first at sector {test.lba}" if test.lba is not None else ""
        told = f"{begin} failed{place}; {failures} of {len(data.self_tests)} logged tests failed."
        return (finding(check, True, test.status, told).with_details(_tests(data)),)
    if data.ata is None and data.nvme is None and data.scsi is None:
        return ()
    return (unjudged(check, "the drive never finished a test of itself"),)


def _passed(test: SelfTest) -> bool | None:
    """None for a test that was not finished."""
    status = test.status.lower()
    if any(word in status for word in _UNFINISHED_WORDS):
        return None
    if test.passed is not None:
        return test.passed
    return not any(word in status for word in _FAILED_WORDS)


def _tests(data: SmartData) -> tuple[str, ...]:
    return tuple(
        f"{test.kind}: {test.status}" + (f" (sector {test.lba})" if test.lba is not None else "")
        for test in data.self_tests
    )


def _temperature(data: SmartData, limits: Mapping[str, float]) -> tuple[Finding, ...]:
    heat = data.temperature_c
    # Sensors that are missing read 0 or -1 on some drives, 128 on others (recorded).
    if heat is None:
        return ()
    if not 1 <= heat <= WARMEST:
        why = f"it tells {heat} °C, which no drive at work has: its sensor is missing or broken"
        return (unjudged("storage.temperature", why, heat, "°C"),)
    warned = data.nvme is not None and bool(
        (data.nvme.critical_warning or 0) & smart_nvme.TEMPERATURE
    )
    flash = bool(data.solid_state)
    limit = limits.get("flash_c", 80) if flash else limits.get("disk_c", 60)
    says = f"The drive is at {heat} °C."
    return (finding("storage.temperature", heat >= limit or warned, heat, says, "°C"),)
