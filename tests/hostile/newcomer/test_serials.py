"""Serial numbers that identify nothing, or are written otherwise in the next run.

Source: SMBIOS reference (DSP0134) for where they stand; the values, common practice, no source.
"""

from __future__ import annotations

from typing import Final

import pytest

from livecheck.records import Complaint, Part, PartIs
from tests.diagnosis import story
from tests.diagnosis.story import BAY, DIMM_A, DRIVE, PORT_1, Story, part


def test_two_batteries_of_one_serial() -> None:
    """P04: makers leave one serial in all of a batch; the technician says what he did."""
    told = Story(Complaint.NOT_CHARGING)
    told.fit(part("battery", "INV-SAME", BAY))
    told.run("battery.wear battery:INV-SAME")
    told.run("battery.wear battery:INV-SAME")
    told.run(told=(PartIs(place=BAY, name="new battery", known_good=True),))
    told.run()
    found = told.locate()
    assert story.buys(found) != "battery"


MAKERS: Final = (
    "0",
    "000000000000",
    "FFFFFFFF",
    "0123456789ABCDEF",
    "To Be Filled",
    "None",
    "........",
    "   ",
    "0x00000000",
    "NO DIMM",
    "SerNum1",
    "00-00-00",
    "Undefined",
    "1234-5678",
    "XXXXXXXX",
    "ffff ffff",
)


@pytest.mark.parametrize("serial", MAKERS)
def test_serials_that_are_none(serial: str) -> None:
    """P01: two modules of one such serial; each its own readings, and nothing moved."""
    told = Story(Complaint.UNSTABLE)
    for place in (DIMM_A, story.DIMM_B):
        told.fit(
            Part(
                id=f"memory-module@{place}",
                kind="memory-module",
                name="8 GiB",
                place=place,
                identity=f"serial:{serial}",
                serial=serial,
            )
        )
    told.run("memory.words machine", f"memory.module-words memory-module@{DIMM_A}")
    told.run("memory.words machine", f"memory.module-words memory-module@{DIMM_A}")
    found = told.locate()
    assert story.share(found, f"memory-module@{story.DIMM_B}") < 0.2
    assert not found.swaps


@pytest.mark.parametrize("after", ["inv-d1", "INV-D1      ", "INV-D1.", "  INV-D1"])
def test_a_serial_written_otherwise(after: str) -> None:
    """P03: a firmware that pads, a bridge that lowers; no board is at fault by it."""
    told = Story(Complaint.SLOW)
    told.run(f"storage.medium-errors {DRIVE.id}")
    told.fit(part("drive", after, PORT_1))
    told.run(f"storage.medium-errors drive:{after}")
    found = told.locate()
    assert story.buys(found) != "mainboard"
    assert not (found.unit == "mainboard" and found.probability > 0.5)
