"""What a scan says of a card's receivers, antennas and link. No I/O."""

from __future__ import annotations

import errno
import os
from collections.abc import Iterator, Mapping, Sequence
from statistics import median
from typing import Final

import msgspec

from livecheck.radio.state import Bss, Radio, ScanResult
from livecheck.records import Knowledge, Outcome, Reading, Value

SOURCE: Final = "nl80211 scan"
BAND_RANGES: Final = {
    "2.4 GHz": (2400, 2500),
    "5 GHz": (4900, 5925),
    "6 GHz": (5926, 7125),
    "60 GHz": (57000, 71000),
}
"""MHz (IEEE 802.11, annex E: channels 1 of 6 GHz begins at 5955 with its centre)."""


COMMON: Final = ("2.4 GHz", "5 GHz")


class Scanned(msgspec.Struct, frozen=True, kw_only=True):
    """One card's scan with all that is judged by it."""

    card: str
    name: str
    """Of the interface."""
    radio: Radio | None
    heard: ScanResult
    errors_before: Mapping[str, int]
    errors_after: Mapping[str, int]
    """PCI Express error counts by function and counter; empty where there are none."""
    power: tuple[str, ...] = ()
    """Power states seen, in words."""


def judge(scanned: Scanned, knowledge: Knowledge) -> Iterator[Reading]:
    """All readings of one scan."""
    yield from _started(scanned)
    heard = scanned.heard
    if heard.trouble is None:
        yield _anything(scanned)
        if heard.cells:
            yield _signal(scanned, knowledge.checks["wireless.signal"].limits)
            yield chains(scanned, knowledge.checks["wireless.chains"].limits)
            yield _bands(scanned)
    yield from _link(scanned, knowledge.checks["wireless.scan-link"].limits)


def _reading(
    scanned: Scanned,
    check: str,
    outcome: Outcome,
    says: str = "",
    *,
    value: Value = None,
    unit: str | None = None,
    why_not: str | None = None,
    details: Sequence[str] = (),
    source: str = SOURCE,
) -> Reading:
    return Reading(
        check=check,
        at=scanned.card,
        outcome=outcome,
        says=says,
        value=value,
        unit=unit,
        why_not=why_not,
        details=tuple(details),
        source=source,
        device=scanned.name,
    )


def _started(scanned: Scanned) -> Iterator[Reading]:
    heard = scanned.heard
    if heard.came_up is False:
        yield _reading(
            scanned,
            "wireless.starts",
            Outcome.FAILED,
            f"{scanned.name} could not be switched on: {heard.trouble}.",
        )
    elif heard.trouble is not None:
        yield _reading(
            scanned,
            "wireless.starts",
            Outcome.FAILED,
            f"{scanned.name} came up, and its scan failed: {heard.trouble}.",
        )
    else:
        says = f"{scanned.name} came up and scanned in {heard.seconds:.1f} s."
        yield _reading(
            scanned,
            "wireless.starts",
            Outcome.PASSED,
            says,
            value=round(heard.seconds, 1),
            unit="s",
        )


def _anything(scanned: Scanned) -> Reading:
    cells = scanned.heard.cells
    tuned = len(scanned.radio.frequencies) if scanned.radio is not None else 0
    if not cells:
        return _reading(
            scanned,
            "wireless.hears",
            Outcome.FAILED,
            f"Nothing was heard on {tuned} channels: both antenna leads are off, the receiver is "
            "deaf, or no network is in reach (put an access point beside it and run again).",
            value=0,
            unit="cells",
        )
    answered = sum(cell.answered for cell in cells)
    details = [_line(cell) for cell in cells[:8]]
    details += [f"{answered} of them answered a request, so the transmitter works too"] * bool(
        answered
    )
    return _reading(
        scanned,
        "wireless.hears",
        Outcome.PASSED,
        f"{len(cells)} cells were heard.",
        value=len(cells),
        unit="cells",
        details=details,
    )


def _line(cell: Bss) -> str:
    level = "no level" if cell.dbm is None else f"{cell.dbm:.0f} dBm"
    chain = ", ".join(f"chain {n} {dbm} dBm" for n, dbm in sorted(cell.chains.items()))
    return f"{cell.address} at {cell.mhz} MHz: {level}{f' ({chain})' if chain else ''}"


def _signal(scanned: Scanned, limits: Mapping[str, float]) -> Reading:
    levels = [cell.dbm for cell in scanned.heard.cells if cell.dbm is not None]
    if not levels:
        return _reading(
            scanned,
            "wireless.signal",
            Outcome.NOT_JUDGED,
            why_not="this driver gives no level in dBm",
        )
    best, weakest = max(levels), limits["dbm"]
    weak = best < weakest
    says = f"The strongest cell comes in at {best:.0f} dBm."
    if weak:
        says += " With an access point in the room that is too little: look at the antenna leads."
    details = [f"noise at {mhz} MHz: {dbm} dBm" for mhz, dbm in sorted(scanned.heard.noise.items())]
    return _reading(
        scanned,
        "wireless.signal",
        Outcome.FAILED if weak else Outcome.PASSED,
        says,
        value=best,
        unit="dBm",
        details=details[:8],
    )


def chains(scanned: Scanned, limits: Mapping[str, float]) -> Reading:
    """One chain weaker than its neighbours at every cell: a loose antenna lead."""
    check = "wireless.chains"
    told = [c.chains for c in scanned.heard.cells if len(c.chains) > 1]
    if not told:
        why = "this driver does not tell its antenna chains apart"
        return _reading(scanned, check, Outcome.NOT_JUDGED, why_not=why)
    names = sorted({name for levels in told for name in levels})
    behind = {
        name: median(max(levels.values()) - levels[name] for levels in told if name in levels)
        for name in names
    }
    details = [f"chain {name}: {gap:.0f} dB behind the best" for name, gap in behind.items()]
    worst = max(behind, key=lambda name: behind[name])
    if len(told) < limits["cells"]:
        why = f"only {len(told)} cells were heard on more than one chain"
        return _reading(
            scanned,
            check,
            Outcome.NOT_JUDGED,
            why_not=why,
            details=details,
            value=round(behind[worst], 1),
            unit="dB",
        )
    loose = behind[worst] >= limits["db"]
    says = f"The antenna chains are within {behind[worst]:.0f} dB of each other."
    if loose:
        says = (
            f"Antenna chain {worst} is {behind[worst]:.0f} dB weaker than the other: its lead is "
            "loose, off or broken. Press it on at the card first."
        )
    return _reading(
        scanned,
        check,
        Outcome.FAILED if loose else Outcome.PASSED,
        says,
        value=round(behind[worst], 1),
        unit="dB",
        details=details,
    )


def _bands(scanned: Scanned) -> Reading:
    supported = (
        [b.name for b in scanned.radio.bands if any(not c.disabled for c in b.channels)]
        if scanned.radio
        else []
    )
    counts = dict.fromkeys(supported, 0)
    for cell in scanned.heard.cells:
        for name, (low, high) in BAND_RANGES.items():
            if low <= cell.mhz <= high:
                counts[name] = counts.get(name, 0) + 1
    said = ", ".join(f"{name}: {count}" for name, count in counts.items())
    # In the other bands hardly anybody sends yet.
    silent = [name for name in supported if not counts[name] and name in COMMON]
    if silent:
        why = f"nothing was heard in {' and '.join(silent)}, where perhaps nobody sends"
        return _reading(scanned, "wireless.bands", Outcome.NOT_JUDGED, why_not=why, value=said)
    return _reading(
        scanned,
        "wireless.bands",
        Outcome.PASSED,
        f"Something was heard in every band that is in common use ({said}).",
        value=said,
    )


def _link(scanned: Scanned, limits: Mapping[str, float]) -> Iterator[Reading]:
    if not scanned.errors_after:
        return
    rises = {
        name: count - scanned.errors_before.get(name, 0)
        for name, count in scanned.errors_after.items()
    }
    rises = {name: rise for name, rise in rises.items() if rise > 0}
    serious = sum(rise for name, rise in rises.items() if "correctable" not in name)
    total = sum(rises.values())
    failed = serious > 0 or total > limits["errors"]
    says = "The card's PCI Express link counted no errors during the scan."
    if total:
        says = f"The card's PCI Express link counted {total} errors during the scan."
    yield _reading(
        scanned,
        "wireless.scan-link",
        Outcome.FAILED if failed else Outcome.PASSED,
        says,
        value=total,
        unit="errors",
        source="aer_dev_*",
        details=[*(f"{n}: +{r}" for n, r in sorted(rises.items())), *scanned.power],
    )


def words(number: int) -> str:
    """An errno of switching on or scanning, in words."""
    known = {
        errno.ERFKILL: "a switch blocks the radio",
        errno.ETIMEDOUT: "the scan did not end",
        errno.ECANCELED: "the card gave the scan up",
        errno.EBUSY: "another scan was running",
        errno.ENODEV: "the interface is gone",
        errno.ENOENT: "the driver did not find its firmware file",
        errno.EPERM: "needs root",
        errno.EACCES: "needs root",
        errno.EIO: "the card does not answer its driver",
    }
    return known.get(number, os.strerror(number).lower())
