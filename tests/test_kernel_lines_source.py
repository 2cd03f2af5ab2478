"""What drivers' format strings become is read as was written down beforehand."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from livecheck import kernel_log
from livecheck.host import KernelMessage
from livecheck.records import KernelEvent
from tests.kernel_lines_source import FIRST, Sourced


def _read(told: Sourced) -> KernelEvent | None:
    priority, *_, line = told
    events = kernel_log.events([KernelMessage(12.5, priority, line, None)])
    return events[0] if events else None


def right(told: Sourced) -> bool:
    """Known, at the right layer and device, and serious where it must be."""
    _, layers, device, meant, _ = told
    event = _read(told)
    serious = event is not None and event.serious
    unread = event is not None and event.says == kernel_log.UNKNOWN
    if meant == "quiet":
        return not serious and (event is None or not kernel_log.unknown([event]))
    if event is None:
        return meant == "either" and "other" in layers.split("/")
    if unread or event.layer not in layers.split("/") or (meant == "fault" and not serious):
        return False
    return device == "*" or event.device == (None if device == "-" else device)


def wrong(lines: Sequence[Sourced]) -> dict[str, list[Sourced]]:
    """The lines that are not read so, by what they mean."""
    found: dict[str, list[Sourced]] = {"fault": [], "either": [], "quiet": []}
    for told in lines:
        if not right(told):
            found[told[3]].append(told)
    return found


FIRST_RIGHT: Final = 325
"""Of 326; 271 when they were first shown (59 faults: 51, quiet ones: 73 of 98)."""


def test_read_as_written_down() -> None:
    """At least so many lines are read as a reader of the drivers reads them."""
    found = wrong(FIRST)
    assert len(FIRST) - sum(map(len, found.values())) >= FIRST_RIGHT, found


def test_harmless_accuses_nothing() -> None:
    """What says nothing of hardware is no sign of a fault."""
    serious = [told for told in FIRST if told[3] == "quiet" and (event := _read(told)) is not None
               and event.serious]  # fmt: skip
    assert not serious
