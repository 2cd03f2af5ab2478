"""From a read test to findings: errors, stalls, slow regions. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import msgspec

from livecheck.probes.drive import read_figures
from livecheck.probes.drive.read_test import ReadTest
from livecheck.probes.finding import Finding, finding, unjudged
from livecheck.records import ReadFigures

Limits = Mapping[str, Mapping[str, float]]

CHECKS: Final = ("storage.read-errors", "storage.read-stalls", "storage.read-slow")

MEDIUM_CHECK: Final = "storage.read-medium"

MIN_REQUESTS: Final = 64
"""Requests below which speeds are not compared."""


def findings(test: ReadTest, limits: Limits, flash: bool = False) -> tuple[Finding, ...]:
    """Findings of a test, as far as it got. ``flash``: judged by the limits of flash drives."""
    found = (_errors(test), _stalls(test), _slow(test, limits["storage.read-slow"], flash))
    return (*found, _medium(test)) if test.medium else found


def _medium(test: ReadTest) -> Finding:
    """Only what the drive says is told: one that says nothing may have a bad medium too."""
    times = "read" if test.medium == 1 else "reads"
    says = f"The drive itself refused {test.medium} {times}: it could not read its medium."
    return finding(MEDIUM_CHECK, True, test.medium, says, "reads")


def copy_advice(size: int, bytes_per_second: float | None) -> str:
    """What to do before a failing drive is loaded any further, and what that needs."""
    if bytes_per_second:
        hours = size / bytes_per_second / 3600
        needs = f"about {hours:.1f} h at the speed seen here, more where it is hard to read"
    else:
        needs = "time: nobody can say how much on a drive that is hard to read"
    return (
        "Copy the customer's data first: with a copier that reads the good places first and "
        "comes back to the bad ones, without mounting or repairing anything, onto a drive of at "
        f"least {size / 1e9:.0f} GB; it needs {needs}. No further test before that."
    )


def _advice(test: ReadTest) -> str:
    return copy_advice(test.plan.size, test.stats.bytes_per_second)


def _errors(test: ReadTest) -> Finding:
    stats, check = test.stats, CHECKS[0]
    if test.gone:
        says = "The drive disappeared while it was being read."
        return finding(check, True, "disappeared", says).with_details(*_measured(test))
    if stats.bad:
        return _unreadable(test)
    if test.dying:
        says = f"Stopped early: {test.ended}. {_advice(test)}"
        return finding(check, True, 0, says, "bytes").with_details(*_measured(test))
    if test.ended or not stats.requests:
        why = test.ended or "there was nothing to read"
        return unjudged(check, f"{why}; {stats.bytes} bytes could be read", 0, "bytes")
    what = "Samples over the whole span" if test.plan.sampled else "Everything"
    if not test.plan.sampled and stats.length < test.plan.size // 4096 * 4096:
        what = f"Every byte from {stats.start} to {stats.start + stats.length}"
    found = finding(check, False, 0, f"{what} could be read.", "bytes")
    found = found.with_details(*_measured(test))
    return msgspec.structs.replace(found, covered=_covered(test))


def _measured(test: ReadTest) -> tuple[tuple[str, ...], ReadFigures]:
    """Everything the test measured, as lines and as figures."""
    found = read_figures.figures(test.stats)
    return read_figures.lines(found), found


def _covered(test: ReadTest) -> float | None:
    """Share of the drive that was read; None: all of it, or its size is not known."""
    if test.plan.size <= 0 or test.stats.bytes >= test.plan.size // 4096 * 4096:
        return None
    return round(test.stats.bytes / test.plan.size, 6)


def _unreadable(test: ReadTest) -> Finding:
    stats = test.stats
    bad = [one for one in stats.bad if not one.recovered]
    parts = []
    if bad:
        where = "one place" if len(bad) == 1 else f"{len(bad)} places"
        least = "" if all(one.exact for one in bad) else "up to "
        parts.append(f"{least}{stats.bad_bytes} bytes in {where} could not be read")
    if stats.recovered_bytes:
        parts.append(f"{stats.recovered_bytes} bytes came only when asked for again")
    says = f"{'; '.join(parts)}."
    says = says[0].upper() + says[1:]
    if test.dying:
        says += f" Stopped early: {test.ended}. {_advice(test)}"
    elif test.ended:
        says += f" The rest is not tested: {test.ended}."
    else:
        says += " Copy the customer's data before anything else is done with this drive."
    places = ReadFigures(bad=read_figures.bad_ranges(stats))
    found = finding(CHECKS[0], True, stats.bad_bytes, says, "bytes")
    return found.with_details(read_figures.bad_lines(places), places)


def _stalls(test: ReadTest) -> Finding:
    stats, check = test.stats, CHECKS[1]
    if test.hung:
        says = f"The drive stopped answering: {test.ended}."
        return finding(check, True, stats.late + 1, says, "reads")
    if not stats.requests:
        return unjudged(check, test.ended or "there was nothing to read")
    worst, at = stats.worst
    says = f"{stats.late} reads came late; the longest took {worst:.3g} s at byte {at}."
    return finding(check, stats.late > 0, stats.late, says, "reads")


def _slow(test: ReadTest, limits: Mapping[str, float], flash: bool) -> Finding:
    stats, check = test.stats, CHECKS[2]
    limit = limits.get("flash_ms", 100) if flash else limits.get("disk_ms", 500)
    if stats.requests < MIN_REQUESTS:
        return unjudged(check, "too little was read to compare")
    slow = stats.slow_regions(limit / 1000)
    says = "The drive is equally fast over its span."
    if slow:
        says = f"{len(slow)} of 64 regions are far slower than the rest."
    bad = len(slow) >= limits.get("regions", 1)
    return finding(check, bad, len(slow), says, "regions").with_details(*_measured(test))
