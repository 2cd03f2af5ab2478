"""Days at the bench that end without a repair, each written down before it was played."""

from __future__ import annotations

from typing import Final

from livecheck.records import Complaint
from tests.bench_stories.steps import Handed, Looked, Measured, Story, Unmended
from tests.bench_stories.stories import USB_C
from tests.testbeds import laptops, stories
from tests.testbeds.bed import Bed
from tests.testbeds.smartctl import Drive

PENDING: Final = Drive(
    "OSTREVAR S3 480GB", "OSV480E77AA", "V2.10", 480 * laptops.GB,
    raw={5: 412, 197: 38, 198: 38, 187: 96, 9: 31_000}, hours=31_000,
)  # fmt: skip
SHOP: Final = """[shop]
name = "Repairs at the Mill"
currency = "EUR"
hour = 60.0
worth = 300.0
spares = []
second_machine = false
never = ["re-flash firmware"]
[shop.prices]
mainboard = 340.0
"""


def pending() -> Bed:
    """A drive with sectors that it cannot read, in a machine with a worn battery."""
    return stories.two_bays(PENDING, 1, ())


UNMENDED: Final = (
    Story(
        name="unmended, soldered USB-C machine, a board dearer than the machine",
        truth="a capacitor on the main rail is shorted",
        told=("handed=adapter and bag", "data=wanted, a copy exists"),
        happens=(
            Measured(
                label=USB_C,
                answers="adapter-open-voltage = 5.1\nadapter-loaded-voltage = 20.1\n"
                'usb-c-agreed = 20.0\nsigns-of-life = "no"\nstarts-without-battery = "same"\n'
                "button = 1.0\nrail-resistance = 0.8\nusb-c-current = 0.0\n",
                words=("--answer", "machine=looked inside"),
                finds=("board-level repair", "not worth it"),
            ),
            Unmended(note="not worth it"),
        ),
        broken="broken: mainboard.",
        shop=SHOP,
    ),
    Story(
        name="unmended, card silent after a spill, a cable will do",
        truth="the slot is eaten away",
        told=("after=a liquid", "marks=liquid marks", "handed=adapter and bag"),
        happens=(
            Looked(bed=stories.contact_1, complaint=Complaint.PART_MISSING,
                   finds=("inspect inside", "Liquid was in it")),
            Looked(bed=stories.contact_1, complaint=Complaint.PART_MISSING,
                   words=("--answer", "machine=looked inside"), finds=("reseat",)),
            Looked(bed=stories.contact_1, complaint=Complaint.PART_MISSING,
                   words=("--reseated", "slot:0000:00:1c.0"), finds=("clean contacts",)),
            Handed(bed=stories.contact_1, signed=False),
            Handed(bed=stories.contact_1, words=("--declined", "slot:0000:00:1c.0=uses a cable"),
                   finds=("adapter and bag", "close the case")),
            Unmended(note="uses a cable"),
        ),
        broken="wireless card",
        shop=SHOP,
    ),
    Story(
        name="unmended, drive with unread sectors goes back",
        truth="the drive loses data; its owner does not want another",
        told=("data=wanted, no copy", "password=not told: ask before the system is started"),
        happens=(
            Looked(bed=pending, complaint=Complaint.SLOW,
                   finds=("CAUTION: The customer's data", "livecheck rescue")),
            Handed(bed=pending, signed=False, finds=("battery", "drive")),
            Handed(bed=pending, words=("--declined", "drive:OSV480E77AA=as it is",
                                       "--declined", "battery:AW-50 0288=is plugged in")),
            Unmended(note="as it is"),
        ),
        broken="drive",
        shop=SHOP,
    ),
)  # fmt: skip
