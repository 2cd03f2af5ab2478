"""Whether a driver took a half of a wireless card, and whether its firmware runs. Pure."""

from __future__ import annotations

from typing import Final

from livecheck.probes.finding import Finding, finding, unjudged
from livecheck.probes.wireless.card import Half
from livecheck.probes.wireless.rfkill import Switch

MAX_LINES: Final = 4
"""Lines of the kernel's log kept beside a finding."""


def driver(check: str, half: Half, thing: str, off: Switch | None = None) -> Finding:
    """What came of the half's driver; ``thing``: what should have, ``off``: what holds it off."""
    names = ", ".join(half.runs)
    if half.driver and half.runs:
        return finding(check, False, half.driver, f"Driver {half.driver} gave it {names}.")
    if half.runs:
        return finding(check, False, names, f"It runs as {names}.")
    if not half.driver:
        why = "no driver for it is on this stick, which says nothing about the card"
        return unjudged(check, why, "driver")
    if any(failure.missing for failure in half.firmware_failures):
        why = "no firmware file for it is on this stick, which says nothing about the card"
        return unjudged(check, why)
    if off is not None:
        return unjudged(check, f"{off.name} holds it off, so it need not appear")
    says = f"Driver {half.driver} took it, but no {thing} came of it."
    return finding(check, True, half.driver, says).with_details(_crashes(half))


def firmware(check: str, half: Half) -> Finding:
    """How the half's firmware came up."""
    if half.runs:
        # Drivers ask for the newest file first and go down the versions until one is there.
        older = tuple(f"not there, an older one was taken: {f}" for f in _files(half))
        says = "Its firmware was loaded and runs."
        return finding(check, False, None, says).with_details(older)
    if any(failure.missing for failure in half.firmware_failures):
        return _missing(check, half)
    if half.firmware_failures:
        refused = half.firmware_failures[0].file
        says = f"Its firmware file {refused} is here and could not be loaded."
        details = tuple(f"{x.file}: error {x.errno}" for x in half.firmware_failures)
        return finding(check, True, refused, says).with_details(details)
    if half.crashes:
        says = f"Its firmware did not start: {half.crashes[0].says}."
        return finding(check, True, None, says).with_details(_crashes(half))
    if not half.driver:
        return unjudged(check, "without a driver no firmware is asked for")
    return finding(check, False, None, "The kernel complained of no missing firmware.")


def _missing(check: str, half: Half) -> Finding:
    """A file that is missing is the stick's lack, and no fault of the card's."""
    missing = _files(half)
    why = f"its firmware file is missing here: {', '.join(missing[:3])}"
    return unjudged(check, why, missing[0]).with_details(missing)


def _files(half: Half) -> tuple[str, ...]:
    return tuple(
        dict.fromkeys(failure.file for failure in half.firmware_failures if failure.missing)
    )


def _crashes(half: Half) -> tuple[str, ...]:
    return tuple(event.raw for event in half.crashes[:MAX_LINES])
