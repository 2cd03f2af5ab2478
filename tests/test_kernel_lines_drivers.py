"""What drivers complain of is read at the layer and the device written down beforehand."""

from __future__ import annotations

from typing import Final

from livecheck import kernel_log
from livecheck.host import KernelMessage
from tests.kernel_lines_drivers import DRIVERS, Told

RIGHT: Final = 101
"""Of the 113 lines; 96 when they were first shown."""


def _right(told: Told) -> bool:
    line, layer, device = told
    events = list(kernel_log.events([KernelMessage(12.5, 3 if layer else 4, line, None)]))
    if not layer:
        return not any(event.serious for event in events)
    return [(event.layer, event.device) for event in events] == [(layer, device)]


def test_read_as_written_down() -> None:
    """At least so many lines are read as a reader of the kernel reads them."""
    wrong = [told for told in DRIVERS if not _right(told)]
    assert len(DRIVERS) - len(wrong) >= RIGHT, wrong


def test_harmless_accuses_nothing() -> None:
    """Chatter of the drivers is no sign of a fault."""
    assert not [told for told in DRIVERS if not told[1] and not _right(told)]
