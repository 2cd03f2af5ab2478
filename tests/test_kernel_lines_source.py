"""What drivers' format strings become is read as was written down beforehand."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import pytest

from livecheck import kernel_log
from livecheck.host import KernelMessage
from livecheck.records import KernelEvent
from tests.kernel_lines_source import FIRST, Sourced
from tests.kernel_lines_source_last import SEVENTH
from tests.kernel_lines_source_later import SECOND
from tests.kernel_lines_source_newer import FIFTH
from tests.kernel_lines_source_newest import SIXTH
from tests.kernel_lines_source_other import FOURTH, THIRD


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


LISTS: Final = {
    "first": (FIRST, 325),
    "second": (SECOND, 248),
    "third": (THIRD, 119),
    "fourth": (FOURTH, 72),
    "fifth": (FIFTH, 195),
    "sixth": (SIXTH, 115),
    "seventh": (SEVENTH, 68),
}
"""Lines, and how many are read as written; 271 of 326 (83 %), 220 of 252 (87 %) and 105 of 128
(82 %) when they were first shown, and 62 of 78 (79 %), 177 of 207 (86 %), 100 of 125 (80 %) and
62 of 75 (83 %) of those drawn by lot. What clearly is a fault: 51 of 59, 44 of 47, 11 of 15,
9 of 10, 6 of 6, 9 of 10 and 6 of 8."""


ACCUSED: Final = "uvcvideo 1-8:1.1: Non-zero status (-71) in video completion handler."
"""Taken for damage on the way to the camera, which it is where it comes often."""


@pytest.mark.parametrize("name", LISTS)
def test_harmless_accuses_nothing(name: str) -> None:
    """What says nothing of hardware is no sign of a fault."""
    quiet = [told for told in LISTS[name][0] if told[3] == "quiet" and told[4] != ACCUSED]
    events = [(told, _read(told)) for told in quiet]
    assert not [told for told, event in events if event is not None and event.serious]


@pytest.mark.parametrize(
    "line",
    [
        "ata1.00: model number mismatch 'OUT OF MEMORY' != 'SKB'",
        "i915 0000:00:02.0: [drm] GPU HANG: ecode 9:1:85dffffb, in workqueue [1234]",
    ],
)
def test_a_name_excuses_no_device(line: str) -> None:
    """What a drive or a program calls itself does not make a fault the system's own affair."""
    found = kernel_log.events([KernelMessage(12.5, 3, line, None)])
    assert [event.serious for event in found] == [True]


@pytest.mark.parametrize("driver", ["elan_i2c", "i2c_hid_acpi", "iwlwifi", "foreign_driver"])
@pytest.mark.parametrize("number", [22, 71, 110])
def test_a_device_that_did_not_start_is_read_alike(driver: str, number: int) -> None:
    """In the words of old and of new kernels, and told as they were said."""
    device = "0000:02:00.0" if driver == "iwlwifi" else "i2c-MSFT0001:01"
    old = f"{driver}: probe of {device} failed with error -{number}"
    new = f"{driver} {device}: probe with driver {driver} failed with error -{number}"
    was, is_now = kernel_log.events([KernelMessage(1.0, 4, line, None) for line in (old, new)])
    assert (was.layer, was.serious, was.device) == (is_now.layer, is_now.serious, device)
    assert (was.raw, is_now.raw) == (old, new)


@pytest.mark.parametrize(
    ("said", "known"),
    [
        ("CNVI_SCU_SEQ_DATA_DW9: 0x0", True),
        ("link 2 mfg_id 0x0102 part_id 0x0000", True),
        ("CNVI_SCU_SEQ_DATA_DW9: 0xffffffff", False),
        ("ECC status: 0x3", False),
    ],
)
def test_names_with_figures_are_a_state_written_down(said: str, known: bool) -> None:
    """Unless they are all ones, or of what tells of faults."""
    line = f"foreign_driver 0000:03:00.0: {said}"
    found = kernel_log.events([KernelMessage(1.0, 3, line, None)])
    assert (kernel_log.unknown(found) == ()) is known


def test_the_systems_own_affair_accuses_nothing() -> None:
    """Memory, names and interrupts that a driver did not get are no fault of its device."""
    line = "ath11k_pci 0000:02:00.0: failed to init rhash id table due to no mem (size 64)"
    found = kernel_log.events([KernelMessage(12.5, 3, line, None)])
    assert [(event.layer, event.serious) for event in found] == [("other", False)]
