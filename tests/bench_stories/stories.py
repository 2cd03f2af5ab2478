"""The stories, each written down before it was played. Makers and tickets are nobody's."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from livecheck.records import Complaint
from tests.bench_stories.steps import Handed, Looked, Measured, Proved, Story
from tests.testbeds import laptops, stories
from tests.testbeds.bed import Bed
from tests.testbeds.smartctl import Drive

ROUND: Final = 'volts = 19.5\namps = 3.33\nsupply = "barrel"'
USB_C: Final = 'volts = 20\nwatts = 65\nsupply = "usb-pd"'
GOOD_ADAPTER: Final = "adapter-open-voltage = 19.6\nadapter-loaded-voltage = 19.3\n"
GOOD_JACK: Final = 'jack-loose = "firm"\njack-resistance = 0.3\n'
DEAD: Final = 'signs-of-life = "no"\nstarts-without-battery = "same"\nbutton = 2.0\n'
NEW_DRIVE: Final = Drive(
    "Ostrevar N5 500GB", "OSN500NEW01", "1.0.2", 500 * laptops.GB, nvme=True, hours=2
)
NO_SPARES: Final = "[shop]\nspares = []\nsecond_machine = false\n"


def new_drive() -> Bed:
    """The laptop of the lost sectors, with a drive that was bought for it."""
    return stories.with_drive(NEW_DRIVE, ())


def new_lead() -> Bed:
    """The customer's drive on another lead: its old count stays, and does not rise."""
    seen = replace(stories.DRIVE_A, raw={199: 63}, phy={0x001: 0, 0x00B: 0})
    return stories.two_bays(seen, 1, ())


SPILLS: Final = (
    Story(
        name="spill, short on the board",
        truth="coffee shorts the main rail of the board",
        told=("after=a liquid", "marks=liquid marks", "data=wanted, no copy"),
        happens=(
            Measured(
                label=ROUND,
                answers=f"{GOOD_ADAPTER}{GOOD_JACK}{DEAD}rail-resistance = 3.0\n",
                finds=("mainboard",),
            ),
            Measured(
                label=ROUND,
                answers='rail-resistance = "12k"\nsigns-of-life = "yes"\n',
                words=("--answer", "mainboard=repaired"),
            ),
            Looked(bed=laptops.ahci, complaint=Complaint.NO_POWER,
                   words=("--answer", "mainboard=repaired")),
            Handed(bed=laptops.ahci),
            Proved(unit="mainboard"),
        ),
        broken="mainboard",
    ),
    Story(
        name="spill, jack eaten away",
        truth="the jack's contact is green",
        told=("after=a liquid", "since=from one day to the next"),
        happens=(
            Measured(
                label=ROUND,
                answers=f'{GOOD_ADAPTER}jack-loose = "firm"\njack-resistance = "OL"\n{DEAD}'
                'rail-resistance = "8k2"\n',
                finds=("power jack",),
            ),
            Looked(bed=laptops.ahci, complaint=Complaint.NO_POWER,
                   words=("--answer", "jack:AC=repaired")),
            Handed(bed=laptops.ahci, signed=False, finds=("measure it again",)),
            Measured(label=ROUND, answers='jack-resistance = "0.2"\n'),
            Handed(bed=laptops.ahci),
            Proved(unit="jack:AC"),
        ),
        broken="power jack",
    ),
)  # fmt: skip
FALLS: Final = (
    Story(
        name="fall, drive lost sectors",
        truth="the drive has lost data",
        told=("after=a fall", "data=wanted, no copy", "marks=dents or cracks"),
        happens=(
            Looked(bed=stories.drive_1, complaint=Complaint.SLOW,
                   finds=("drive", "CAUTION: The customer's data")),
            Looked(bed=new_drive, complaint=Complaint.SLOW, finds=("Restore",)),
            Handed(bed=new_drive),
            Proved(unit="drive:OSN512K7731"),
        ),
        broken="drive",
    ),
    Story(
        name="fall, card loose in its slot",
        truth="the wireless card sits crooked",
        told=("after=a fall",),
        happens=(
            Looked(bed=stories.contact_1, complaint=Complaint.PART_MISSING,
                   finds=("inspect inside",)),
            Looked(bed=stories.contact_1, complaint=Complaint.PART_MISSING,
                   words=("--answer", "machine=looked inside"), finds=("reseat",)),
            Looked(bed=stories.contact_2, complaint=Complaint.PART_MISSING,
                   words=("--reseated", "slot:0000:00:1c.0")),
            Handed(bed=stories.contact_2),
            Proved(unit="slot:0000:00:1c.0"),
        ),
        broken="settled",
    ),
)  # fmt: skip
INTERMITTENT: Final = (
    Story(
        name="comes and goes, drive's lead",
        truth="the lead of the drive is cracked",
        told=("often=several times a day", "when=when it is moved"),
        happens=(
            Looked(bed=stories.port_1, complaint=Complaint.UNSTABLE, finds=("drive lead",)),
            Looked(bed=new_lead, complaint=Complaint.UNSTABLE,
                   words=("--answer", "drive-lead@ata:0000:00:17.0:1=repaired")),
            Handed(bed=new_lead, words=("--declined", "battery:AW-50 0288=lasts long enough")),
            Proved(unit="drive-lead@ata:0000:00:17.0:1"),
        ),
        broken="settled",
    ),
    Story(
        name="comes and goes, adapter's lead",
        truth="the adapter's lead is broken at the plug",
        told=("often=rarely", "when=when it is moved"),
        happens=(
            Measured(
                label=ROUND,
                answers=f"{GOOD_ADAPTER}adapter-flex-voltage = 4.0\n{GOOD_JACK}"
                'signs-of-life = "yes"\n',
                finds=("adapter",),
            ),
            Measured(
                label=ROUND,
                answers=f"{GOOD_ADAPTER}adapter-flex-voltage = 19.2\n",
                words=("--answer", "adapter@jack:AC=new adapter"),
            ),
            Handed(bed=laptops.ahci),
            Proved(unit="adapter@jack:AC"),
        ),
        broken="settled",
    ),
)  # fmt: skip
SOLDERED: Final = (
    Story(
        name="USB-C, no spares, charging circuit",
        truth="the port's controller on the board is dead",
        told=("tried=another adapter",),
        happens=(
            Measured(
                label=USB_C,
                answers="adapter-open-voltage = 5.1\nadapter-loaded-voltage = 20.1\n"
                f'jack-loose = "firm"\nusb-c-agreed = 5.0\n{DEAD}rail-resistance = "9k"\n',
            ),
        ),
        broken="",
        shop=NO_SPARES,
    ),
    Story(
        name="USB-C, no spares, short on the board",
        truth="a capacitor on the main rail is shorted",
        told=(),
        happens=(
            Measured(
                label=USB_C,
                answers="adapter-open-voltage = 5.1\nadapter-loaded-voltage = 20.1\n"
                f'usb-c-agreed = 20.0\n{DEAD}rail-resistance = 0.8\nusb-c-current = 0.0\n',
                finds=("mainboard",),
            ),
            Looked(bed=laptops.nvme, complaint=Complaint.NO_POWER,
                   words=("--answer", "mainboard=replaced")),
            Handed(bed=laptops.nvme),
            Proved(unit="mainboard"),
        ),
        broken="mainboard",
        shop=NO_SPARES,
    ),
)  # fmt: skip
DARK: Final = (
    Story(
        name="dark, panel dead",
        truth="the panel is dead",
        told=("after=a fall", "marks=dents or cracks"),
        happens=(
            Measured(
                complaint=Complaint.NO_PICTURE,
                label=ROUND,
                answers=f'{GOOD_ADAPTER}signs-of-life = "yes"\nexternal-screen = "picture"\n'
                'own-screen = "nothing"\nstart-code = "none"\ncoin-cell-voltage = 3.0\n',
                finds=("panel",),
            ),
            Measured(
                complaint=Complaint.NO_PICTURE,
                label=ROUND,
                answers='own-screen = "picture"\nexternal-screen = "picture"\n',
                words=("--answer", "panel@panel:internal=new panel"),
            ),
            Handed(bed=laptops.ahci),
            Proved(unit="panel:new panel"),
        ),
        broken="most likely: panel",
    ),
    Story(
        name="dark, backlight out",
        truth="the backlight's supply is out",
        told=("when=at some lid angles",),
        happens=(
            Measured(
                complaint=Complaint.NO_PICTURE,
                label=ROUND,
                answers=f'{GOOD_ADAPTER}signs-of-life = "yes"\nexternal-screen = "picture"\n'
                'own-screen = "faint"\nstart-code = "none"\ncoin-cell-voltage = 3.0\n',
            ),
        ),
        broken="most likely: panel",
    ),
)  # fmt: skip
DECLINED: Final = (
    Story(
        name="declined, worn battery",
        truth="the port of the drive is bad; the battery is worn, and stays",
        told=("words=freezes, the battery is no matter",),
        happens=(
            Looked(bed=stories.port_1, complaint=Complaint.UNSTABLE),
            Looked(bed=stories.port_2, complaint=Complaint.UNSTABLE,
                   words=("--known-good", "serial:OSV120BENCH3")),
            Looked(bed=stories.port_3, complaint=Complaint.UNSTABLE, finds=("SATA port 1",)),
            Looked(bed=stories.port_1, complaint=Complaint.UNSTABLE,
                   words=("--answer", "drive-lead@ata:0000:00:17.0:1=repaired")),
            Looked(bed=stories.port_1, complaint=Complaint.UNSTABLE,
                   words=("--reseated", "ata:0000:00:17.0:1"), finds=("mainboard at fault",)),
            # The customer has the drive in the other bay, and no new board.
            Handed(bed=stories.port_3, signed=False, finds=("battery",)),
            Handed(bed=stories.port_3, words=("--declined", "battery:AW-50 0288=lasts an hour")),
            Proved(unit="mainboard"),
        ),
        broken="mainboard",
    ),
    Story(
        name="declined, the drive itself",
        truth="the drive has lost data, and the customer wants it back as it is",
        told=("data=not wanted",),
        happens=(
            Looked(bed=stories.drive_1, complaint=Complaint.SLOW, finds=("drive",)),
            Handed(bed=stories.drive_1, signed=False),
            Handed(bed=stories.drive_1, words=("--declined", "drive:OSN512K7731=too dear")),
        ),
        broken="drive",
    ),
)  # fmt: skip
ALL: Final = (*SPILLS, *FALLS, *INTERMITTENT, *SOLDERED, *DARK, *DECLINED)
