"""What a scan says of a card's receivers, antennas and link. No I/O."""

from __future__ import annotations

import errno
import os
from collections.abc import Iterator, Mapping
from statistics import median
from typing import Final

import msgspec

from livecheck.probes.finding import Finding, finding, unjudged
from livecheck.radio.state import Bss, Radio, ScanResult
from livecheck.records import Knowledge, Reading

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

    def limits(check: str) -> Mapping[str, float]:
        return knowledge.checks[check].limits

    heard = scanned.heard
    found = [_started(scanned)]
    if heard.trouble is None:
        found.append(_anything(scanned))
        if heard.cells:
            found.append(_signal(scanned, limits("wireless.signal")))
            found.append(chains(scanned, limits("wireless.chains")))
            found.append(_bands(scanned))
    for one in found:
        yield one.reading(scanned.card, SOURCE, scanned.name)
    if scanned.errors_after:
        link = _link(scanned, limits("wireless.scan-link"))
        yield link.reading(scanned.card, "aer_dev_*", scanned.name)


def _started(scanned: Scanned) -> Finding:
    heard, check = scanned.heard, "wireless.starts"
    if heard.came_up is False:
        says = f"{scanned.name} could not be switched on: {heard.trouble}."
        return finding(check, True, None, says)
    if heard.trouble is not None:
        says = f"{scanned.name} came up, and its scan failed: {heard.trouble}."
        return finding(check, True, None, says)
    says = f"{scanned.name} came up and scanned in {heard.seconds:.1f} s."
    return finding(check, False, round(heard.seconds, 1), says, "s")


def _anything(scanned: Scanned) -> Finding:
    cells, check = scanned.heard.cells, "wireless.hears"
    tuned = len(scanned.radio.frequencies) if scanned.radio is not None else 0
    if not cells:
        says = (
            f"Nothing was heard on {tuned} channels: both antenna leads are off, the receiver is "
            "deaf, or no network is in reach (put an access point beside it and run again)."
        )
        return finding(check, True, 0, says, "cells")
    answered = sum(cell.answered for cell in cells)
    details = [_line(cell) for cell in cells[:8]]
    if answered:
        details.append(f"{answered} of them answered a request, so the transmitter works too")
    found = finding(check, False, len(cells), f"{len(cells)} cells were heard.", "cells")
    return found.with_details(tuple(details))


def _line(cell: Bss) -> str:
    level = "no level" if cell.dbm is None else f"{cell.dbm:.0f} dBm"
    chain = ", ".join(f"chain {n} {dbm} dBm" for n, dbm in sorted(cell.chains.items()))
    return f"{cell.address} at {cell.mhz} MHz: {level}{f' ({chain})' if chain else ''}"


def _signal(scanned: Scanned, limits: Mapping[str, float]) -> Finding:
    levels = [cell.dbm for cell in scanned.heard.cells if cell.dbm is not None]
    if not levels:
        return unjudged("wireless.signal", "this driver gives no level in dBm")
    best, weakest = max(levels), limits["dbm"]
    weak = best < weakest
    says = f"The strongest cell comes in at {best:.0f} dBm."
    if weak:
        says += " With an access point in the room that is too little: look at the antenna leads."
    noise = sorted(scanned.heard.noise.items())
    details = tuple(f"noise at {mhz} MHz: {dbm} dBm" for mhz, dbm in noise)
    return finding("wireless.signal", weak, best, says, "dBm").with_details(details[:8])


def chains(scanned: Scanned, limits: Mapping[str, float]) -> Finding:
    """One chain weaker than its neighbours at every cell: a loose antenna lead."""
    check = "wireless.chains"
    told = [c.chains for c in scanned.heard.cells if len(c.chains) > 1]
    if not told:
        return unjudged(check, "this driver does not tell its antenna chains apart")
    names = sorted({name for levels in told for name in levels})
    behind = {
        name: median(max(levels.values()) - levels[name] for levels in told if name in levels)
        for name in names
    }
    details = tuple(f"chain {name}: {gap:.0f} dB behind the best" for name, gap in behind.items())
    worst = max(behind, key=lambda name: behind[name])
    gap = round(behind[worst], 1)
    if len(told) < limits["cells"]:
        why = f"only {len(told)} cells were heard on more than one chain"
        return unjudged(check, why, gap, "dB").with_details(details)
    loose = behind[worst] >= limits["db"]
    says = f"The antenna chains are within {behind[worst]:.0f} dB of each other."
    if loose:
        says = (
            f"Antenna chain {worst} is {behind[worst]:.0f} dB weaker than the other: its lead is "
            "loose, off or broken. Press it on at the card first."
        )
    return finding(check, loose, gap, says, "dB").with_details(details)


def _bands(scanned: Scanned) -> Finding:
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
        return unjudged("wireless.bands", why, said)
    says = f"Something was heard in every band that is in common use ({said})."
    return finding("wireless.bands", False, said, says)


def _link(scanned: Scanned, limits: Mapping[str, float]) -> Finding:
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
    details = (*(f"{n}: +{r}" for n, r in sorted(rises.items())), *scanned.power)
    return finding("wireless.scan-link", failed, total, says, "errors").with_details(details)


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
