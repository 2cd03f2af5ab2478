"""Over the counter: drives, screens, hands, radios and two things at once, written beforehand.

What is wanted after each step is what a technician of twenty years would do, and never do.
Common practice, no source; minutes are the most such a step may take at a bench: assumed.
"""

from __future__ import annotations

from typing import Final

from tests.bench_stories import counter_beds as beds
from tests.bench_stories import fresh_beds, walked_beds
from tests.bench_stories.counter import HAND_OVER
from tests.bench_stories.fresh import NO_BOARD, NOTHING
from tests.bench_stories.habits import Did, Habit, run
from tests.bench_stories.walked_in import NO_ORDER
from tests.testbeds import stories

DRIVES: Final = (
    Habit(
        name="old counts, and slow from updates",
        unmet="a complaint that was seen bars the sign-off until it is told to be gone",
        truth="the installed system updates itself in the first hour; the drive is sound",
        does=(
            Did(words=run("slow", "--told", "words=slow in the first hour, then quick", "--told",
                          "data=wanted, no copy"),
                bed=beds.old_counts, never=NOTHING, lacks=NO_ORDER,
                customer_lacks=("drive is broken", "is broken.")),
            Did(words=run("slow", "--answer", "complaint=only in the installed system"),
                bed=beds.old_counts, top=("software", "setting"), never=NOTHING, lacks=NO_ORDER,
                finds=("installed system", "CAUTION"), customer_lacks=("drive is broken",)),
            Did(words=HAND_OVER, bed=beds.old_counts, never=NOTHING),
        ),
    ),
    Habit(
        name="NVMe drive on one lane",
        unmet="one lane of four is not judged: a slot may be wired so",
        truth="the drive sits askew in its slot",
        does=(
            Did(words=run("slow"), bed=beds.one_lane, never=(*NO_BOARD, "drive"), within=30,
                top=("contact", "pcie-slot", "drive"), lacks=NO_ORDER,
                steps=("reseat", "clean contacts", "change a setting")),
            Did(words=run("slow", "--reseated", "slot:0000:00:1d.0"), bed=fresh_beds.stays_on,
                never=NOTHING, finds=("hand-over",), lacks=NO_ORDER),
            Did(words=HAND_OVER, bed=fresh_beds.stays_on, never=NOTHING),
        ),
    ),
    Habit(
        name="the second drive, not the first",
        truth="the drive with the backups loses data; the system's drive is sound",
        does=(
            Did(words=run("slow", "--told", "data=wanted, no copy"), bed=beds.backup_drive_bad,
                top=("drive",), never=NO_BOARD,
                finds=("S5 960GB", "CAUTION: The customer's data", "livecheck rescue"),
                lacks=("replace: drive OSTREVAR S3",), customer=("S5 960GB",)),
            Did(words=run("slow"), bed=beds.backup_drive_out, top=("drive",), never=NO_BOARD,
                lacks=("replace: drive OSTREVAR S3", "S3 240GB is broken"),
                customer=("S5 960GB",)),
        ),
    ),
    Habit(
        name="a drive that takes no write any more",
        truth="the drive has used up its life and lets itself be read only",
        does=(
            Did(words=run("unstable", "--told", "data=wanted, no copy", "--told",
                          "words=what I save is gone the next day"),
                bed=beds.read_only, top=("drive",), never=NO_BOARD,
                finds=("CAUTION: The customer's data", "livecheck rescue"), customer=("data",),
                lacks=("Next: longer soak", "Next: clean cooling")),
            Did(words=run("unstable"), bed=beds.bought_drive, never=NO_BOARD,
                finds=("Restore", "hand-over"), lacks=NO_ORDER),
            Did(words=HAND_OVER, bed=beds.bought_drive, never=NO_BOARD),
        ),
    ),
    Habit(
        name="disc drive that reads no disc",
        unmet="another disc is asked for, and the installed system leads meanwhile",
        truth="its lens is worn; or the disc, which nobody tried elsewhere yet",
        does=(
            Did(words=run("part-missing", "--told", "words=it reads no disc"),
                bed=beds.reads_no_disc, top=("optical-drive", "contact"),
                never=(*NO_BOARD, "drive", "optical-drive"), finds=("disc",), within=30,
                lacks=("CAUTION: The customer's data", *NO_ORDER)),
        ),
    ),
    Habit(
        name="no drive found, and none is in",
        truth="the customer's son took the drive out",
        does=(
            Did(words=run("part-missing", "--told", "missing=drive", "--told",
                          "words=it says that there is nothing to start from"),
                bed=beds.no_drive, never=NOTHING, within=30, lacks=NO_ORDER,
                steps=("say what is in the place", "reseat", "inspect inside",
                       "swap with known-good", "change a setting"),
                customer_lacks=("mainboard is broken", "drive is broken")),
            Did(words=run("part-missing", "--known-good", "serial:OSN256BENCH1"),
                bed=beds.shops_drive, never=NO_BOARD, lacks=("Next: replace: mainboard",),
                top=("drive", "contact"), customer_lacks=("mainboard is broken",)),
        ),
    ),
)  # fmt: skip
HANDS: Final = (
    Habit(
        name="one bright line down the panel",
        truth="the panel",
        does=(
            Did(words=run("wrong-picture"), bed=walked_beds.screen,
                hand={"display": False, "outside-picture": True, "lid-picture": True,
                      "torch": True},
                top=("panel", "panel-connector", "contact"), never=NO_BOARD, finds=("CAUTION",),
                steps=("reseat", "swap with known-good", "inspect inside", "replace"),
                lacks=("Next: replace: mainboard", "Next: longer soak")),
            Did(words=run("wrong-picture", "--reseated", "panel:eDP-1"), bed=walked_beds.screen,
                hand={"display": False, "outside-picture": True, "lid-picture": True,
                      "torch": True},
                top=("panel",), never=NO_BOARD, steps=("replace", "swap with known-good"),
                customer=("panel",)),
            Did(words=run("wrong-picture", "--answer", "panel@panel:eDP-1=new panel"),
                bed=beds.new_panel,
                hand={"display": True, "outside-picture": True, "lid-picture": True,
                      "torch": True},
                never=NO_BOARD, finds=("hand-over",), lacks=NO_ORDER),
        ),
    ),
    Habit(
        name="goes to sleep while one types",
        truth="the lid's magnet sits beside its sensor",
        does=(
            Did(words=run("unstable", "--told", "words=it goes to sleep while one types"),
                bed=beds.with_lid, hand={"lid": False, "keyboard": True, "touchpad": True},
                never=NOTHING, finds=("lid",), lacks=("Next: longer soak", *NO_ORDER),
                customer_lacks=("mainboard is broken",)),
        ),
    ),
    Habit(
        name="both sockets of one side are dead",
        truth="the small board's flat lead slipped off",
        does=(
            Did(words=run("part-missing", "--told", "after=opened before", "--told",
                          "words=both USB sockets of the left side do nothing"),
                bed=fresh_beds.hands,
                hand={"usb-ports@usb:1-1": False, "usb-ports@usb:1-2": False, "keyboard": True},
                never=(*NO_BOARD, "usb-port", "drive"), within=45,
                steps=("inspect inside", "reseat", "take all power away"),
                lacks=("Next: longer soak", *NO_ORDER), customer_lacks=("mainboard is broken",)),
        ),
    ),
    Habit(
        name="wireless switched off in the setup",
        truth="somebody switched the card off in the firmware's setup",
        does=(
            Did(words=run("part-missing", "--told", "missing=wireless"), bed=beds.no_wireless,
                never=NOTHING, finds=("wireless",), within=30, lacks=NO_ORDER,
                steps=("change a setting", "reseat", "say what is in the place",
                       "inspect inside", "take all power away"),
                customer_lacks=("mainboard is broken",)),
            Did(words=run("part-missing"), bed=beds.wireless_back, never=NOTHING,
                lacks=("Next: replace", "Next: reseat")),
            Did(words=HAND_OVER, bed=beds.wireless_back, never=NOTHING),
        ),
    ),
    Habit(
        name="one key repeats by itself",
        truth="the keyboard's foil is shorted under one key",
        does=(
            Did(words=run("part-missing", "--told", "words=it types one letter for ever"),
                bed=fresh_beds.hands, hand={"keyboard": False, "touchpad": True},
                top=("keyboard", "contact"), never=(*NO_BOARD, "keyboard"),
                steps=("reseat", "clean contacts", "inspect inside", "swap with known-good"),
                lacks=NO_ORDER),
            Did(words=run("part-missing", "--reseated", "internal:keyboard"),
                bed=fresh_beds.hands, hand={"keyboard": False, "touchpad": True},
                top=("keyboard",), never=NO_BOARD, customer=("keyboard",),
                steps=("replace", "swap with known-good", "clean contacts"),
                lacks=("Next: reseat", "Next: replace: mainboard")),
            Did(words=run("part-missing", "--answer",
                          "keyboard@internal:keyboard=new keyboard"),
                bed=fresh_beds.hands, hand={"keyboard": True, "touchpad": True},
                never=NO_BOARD, finds=("hand-over",), lacks=NO_ORDER),
        ),
    ),
)  # fmt: skip
SEVERAL: Final = (
    Habit(
        name="fell: the fan stands and the card is gone",
        truth="both: the fan's axle is bent, and the card jumped out of its slot",
        does=(
            Did(words=run("switches-off", "--told", "after=a fall", "--told",
                          "marks=dents or cracks"),
                bed=beds.fell, never=NO_BOARD, steps=("inspect inside",),
                finds=("CAUTION", "wireless", "fan")),
            Did(words=run("switches-off", "--answer", "machine=looked inside", "--answer",
                          "cooling@cooling=new part"),
                bed=beds.fan_mended, never=(*NO_BOARD, "wireless-card"), finds=("wireless",),
                lacks=("Next: clean cooling", "hand it back", *NO_ORDER)),
            Did(words=(*HAND_OVER,), bed=beds.fan_mended, status=1, never=NO_BOARD,
                finds=("wireless",)),
            Did(words=run("switches-off", "--reseated", "slot:0000:00:1c.0"),
                bed=beds.card_mended, never=(*NO_BOARD, "wireless-card"), finds=("hand-over",),
                lacks=NO_ORDER),
            Did(words=HAND_OVER, bed=beds.card_mended, never=NO_BOARD),
        ),
    ),
    Habit(
        name="new drive, and the battery's plug forgotten",
        truth="the drive; and whoever exchanged it left the battery's plug off the board",
        does=(
            Did(words=run("slow"), bed=stories.drive_1, top=("drive",), never=NO_BOARD),
            Did(words=run("slow"), bed=beds.plug_forgotten, never=(*NO_BOARD, "battery"),
                finds=("battery",), lacks=("hand it back", "replace: battery")),
            Did(words=HAND_OVER, bed=beds.plug_forgotten, status=1, never=NO_BOARD,
                finds=("battery",)),
            Did(words=run("slow"), bed=beds.plug_on, never=(*NO_BOARD, "battery"),
                finds=("hand-over",), lacks=NO_ORDER),
            Did(words=HAND_OVER, bed=beds.plug_on, never=NO_BOARD),
        ),
    ),
    Habit(
        name="hardware errors since somebody tuned it",
        truth="the processor's voltage was lowered in the installed system's tuning program",
        does=(
            Did(words=run("unstable", "--told", "after=an update", "--told",
                          "words=a friend tuned it to stay cooler"),
                bed=beds.tuned, never=(*NOTHING, "processor"), lacks=NO_ORDER,
                steps=("change a setting", "take all power away", "update firmware",
                       "re-flash firmware", "longer soak", "deeper probe"),
                customer_lacks=("mainboard is broken", "processor is broken")),
            Did(words=run("unstable", "--answer", "complaint=nowhere"), bed=fresh_beds.hands,
                never=(*NOTHING, "processor"), lacks=NO_ORDER,
                customer_lacks=("mainboard is broken", "processor is broken")),
        ),
    ),
    Habit(
        name="a noisy log, and nothing wrong",
        truth="nothing: its firmware was never quite right, like that of many machines",
        does=(
            Did(words=run("intake", "--told", "words=a look at it before the holidays"),
                bed=beds.noisy, never=NOTHING, lacks=NO_ORDER, customer_lacks=("is broken.",)),
            Did(words=HAND_OVER, bed=beds.noisy, never=NOTHING),
        ),
    ),
)  # fmt: skip
COUNTER_REST: Final = (*DRIVES, *HANDS, *SEVERAL)
