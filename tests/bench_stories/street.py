"""Ten machines from the street, from intake to hand-over, written down before they were played.

What is wanted after each step is what a technician of twenty years would do, and never do; ``TEN``
is what must stand in the first ten lines once the whole story was told. Common practice, no source;
minutes are the most such a step may take at a bench: assumed.
"""

from __future__ import annotations

from typing import Final

from tests.bench_stories import street_beds as beds
from tests.bench_stories.fresh import NO_BOARD, NOTHING
from tests.bench_stories.habits import Did, Habit, run, sheet
from tests.bench_stories.stories import USB_C
from tests.bench_stories.walked_in import NO_ORDER

HAND_OVER: Final = ("hand-over", "--ticket", "4711")
BOUGHT: Final = ("Next: replace",)

POWER: Final = (
    Habit(
        name="two USB-C sockets, one of them dead",
        truth="solder joints of the left socket are torn",
        does=(
            Did(words=run("no-power", "--told", "words=dead at its adapter, from one day to the "
                          "next"),
                sheet=sheet(USB_C, "adapter-open-voltage = 5.1\nusb-c-agreed = 5.0\n"
                            'jack-loose = "loose"\nsigns-of-life = "no"\n'
                            'rail-resistance = "11k"\nusb-c-current = 0.0\n'),
                never=NOTHING, lacks=NO_ORDER, within=20,
                customer_lacks=("mainboard is broken", "battery is broken")),
            Did(words=run("not-charging", "--told", "words=it charges at the right socket only"),
                bed=beds.left_socket, top=("power-jack", "contact", "adapter"), never=NOTHING,
                lacks=NO_ORDER, within=20),
            Did(words=run("not-charging"), bed=beds.right_socket,
                top=("power-jack", "contact"), never=(*NO_BOARD, "adapter", "battery"),
                lacks=("Next: replace: mainboard", "Next: replace: battery",
                       "Next: swap with known-good: battery"),
                customer_lacks=("battery is broken", "adapter is broken")),
        ),
    ),
    Habit(
        name="swollen battery, found once the cover is off",
        truth="the battery is swollen; it presses the touchpad",
        does=(
            Did(words=run("part-missing", "--told", "words=the touchpad does not click any more"),
                bed=beds.old_cells, hand={"touchpad": False, "keyboard": True},
                never=(*NO_BOARD, "touchpad"), lacks=NO_ORDER, within=45),
            Did(words=("note", "CASE", "--told",
                       "marks=bulging battery: switch off, do not charge"),
                finds=("CAUTION", "swollen")),
            Did(words=run("part-missing", "--answer", "machine=looked inside"),
                bed=beds.old_cells, hand={"touchpad": False, "keyboard": True},
                top=("battery",), never=(*NO_BOARD, "touchpad"), finds=("battery", "CAUTION"),
                steps=("replace", "remove"), customer=("battery",)),
            Did(words=HAND_OVER, bed=beds.old_cells, status=1, never=NO_BOARD),
            Did(words=run("part-missing"), bed=beds.new_cells,
                hand={"touchpad": True, "keyboard": True}, never=(*NO_BOARD, "touchpad"),
                lacks=BOUGHT, finds=("hand-over",)),
        ),
    ),
    Habit(
        name="charge limit of the firmware, taken for a bad battery",
        truth="the limit is set in the firmware's setup, where no driver sees it",
        does=(
            Did(words=run("not-charging", "--told", "words=never above 80 %, I want a new battery",
                          "--told", "since=always"),
                bed=beds.kept_at_80, top=("setting", "firmware", "software"), never=NOTHING,
                steps=("change a setting", "update firmware", "re-flash firmware"), within=15,
                lacks=NO_ORDER, customer_lacks=("battery is broken",)),
            Did(words=run("not-charging"), bed=beds.goes_on, never=NOTHING, lacks=NO_ORDER,
                customer_lacks=("battery is broken", "Replace")),
            Did(words=HAND_OVER, bed=beds.goes_on, never=NOTHING),
        ),
    ),
)  # fmt: skip
WET_AND_HOT: Final = (
    Habit(
        name="lemonade in the keyboard, and a new keyboard",
        truth="the keyboard; the board was looked at and is clean",
        does=(
            Did(words=run("part-missing", "--told", "after=a liquid", "--told", "marks=none",
                          "--told", "data=wanted, no copy"),
                bed=beds.key_on, hand={"keyboard": False, "touchpad": True}, within=45,
                top=("keyboard", "contact"), never=NO_BOARD, steps=("inspect inside",),
                finds=("CAUTION: Liquid was in it",), lacks=NO_ORDER, customer=("data",)),
            Did(words=run("part-missing", "--answer", "machine=looked inside", "--answer",
                          "keyboard@internal:keyboard=new part"),
                bed=beds.key_on, hand={"keyboard": True, "touchpad": True},
                top=("keyboard", "contact"), never=NO_BOARD, finds=("hand-over",),
                lacks=("Next: inspect inside", "Next: replace", "Next: swap")),
            Did(words=HAND_OVER, bed=beds.key_on, never=NO_BOARD),
        ),
    ),
    Habit(
        name="no liquid, says the customer",
        truth="crumbs below a key: nothing was spilled",
        does=(
            Did(words=run("part-missing", "--told", "after=no liquid, did not fall", "--told",
                          "words=two keys do not answer"),
                bed=beds.key_on, hand={"keyboard": False, "touchpad": True},
                top=("keyboard", "contact"), never=NO_BOARD,
                lacks=("Liquid was in it", "Next: replace: mainboard")),
        ),
    ),
    Habit(
        name="loud fan, and then it is off",
        truth="dust between fan and fins",
        does=(
            Did(words=run("switches-off", "--told", "words=the fan is loud and then it goes off",
                          "--told", "when=under load"),
                bed=beds.loud_and_hot, top=("cooling",), never=NO_BOARD, within=60,
                steps=("clean cooling",), finds=("CAUTION", "97"), customer=("cool",),
                lacks=("Next: replace: mainboard", "Next: longer soak")),
            Did(words=run("switches-off", "--answer", "cooling@cooling=cleaned"), bed=beds.clean,
                top=("cooling",), never=NO_BOARD, finds=("hand-over",),
                lacks=("Next: clean cooling", *NO_ORDER)),
            Did(words=HAND_OVER, bed=beds.clean, never=NO_BOARD),
        ),
    ),
)  # fmt: skip
SETTINGS: Final = (
    Habit(
        name="wireless off by its key, and a new card bought for it",
        truth="the key at the edge",
        does=(
            Did(words=run("part-missing", "--told", "missing=wireless", "--told",
                          "tried=another wireless card"),
                bed=beds.key_off, top=("setting",), never=NOTHING, within=10,
                steps=("change a setting",), finds=("switch",), lacks=NO_ORDER,
                customer_lacks=("card is broken", "mainboard is broken")),
            Did(words=run("part-missing", "--answer", "wireless-card:02:5e:a1:00:42:17=set"),
                bed=beds.key_on, never=NOTHING, lacks=("Next: reseat", *NO_ORDER),
                customer_lacks=("card is broken",)),
            Did(words=HAND_OVER, bed=beds.key_on, never=NOTHING),
        ),
    ),
    Habit(
        name="flash drive locked by a password",
        truth="the owner locked it; it is sound",
        does=(
            Did(words=run("slow", "--told", "data=wanted, no copy", "--told",
                          "password=not told: ask before the system is started"),
                bed=beds.drive_locked, finds=("locked",), never=(*NO_BOARD, "drive"),
                lacks=NO_ORDER, customer=("locked",),
                customer_lacks=("drive is broken", "replace the drive", "reinstall")),
        ),
    ),
    Habit(
        name="second-hand memory of another speed",
        truth="both run at the slower one's speed, as they should; nothing is broken",
        does=(
            Did(words=run("slow", "--told", "after=a new part", "--told",
                          "words=slower since I put the second memory in"),
                bed=beds.mixed_speeds, never=NOTHING, finds=("2133",), lacks=NO_ORDER,
                steps=("remove", "swap with known-good", "deeper probe", "reseat",
                       "move to another place"),
                customer_lacks=("memory is broken", "is broken.")),
        ),
    ),
)  # fmt: skip
OUTSIDE: Final = (
    Habit(
        name="trouble at the dock only",
        truth="the dock's own plug",
        does=(
            Did(words=run("part-missing", "--told", "words=at the dock mouse and network drop out"),
                bed=beds.at_the_dock, never=NOTHING, finds=("dock",), within=30,
                top=("usb-device", "usb-port", "contact", "lead", "usb-cable"),
                steps=("move to another place", "swap with known-good", "exchange lead", "remove",
                       "reseat"), lacks=NO_ORDER, customer_lacks=("mainboard is broken",)),
            Did(words=run("part-missing", "--answer", "complaint=nowhere"), bed=beds.without_dock,
                hand={"usb-ports": True}, never=NOTHING, lacks=NO_ORDER,
                customer_lacks=("mainboard is broken",)),
        ),
    ),
    Habit(
        name="picture that goes at one angle of the lid",
        truth="the hinge has worn the screen's lead through",
        does=(
            Did(words=run("wrong-picture", "--told", "when=at some lid angles", "--told",
                          "after=a fall"),
                bed=beds.lid, hand={"lid-picture": False, "outside-picture": True,
                                    "display": True},
                top=("panel-connector", "contact"), never=(*NO_BOARD, "panel"), finds=("CAUTION",),
                steps=("reseat", "inspect inside", "exchange lead"), within=45, lacks=NO_ORDER,
                customer_lacks=("panel is broken",)),
            Did(words=run("wrong-picture", "--answer", "panel:eDP-1=repaired"), bed=beds.lid,
                hand={"lid-picture": True, "outside-picture": True, "display": True},
                top=("panel-connector", "contact"), never=(*NO_BOARD, "panel"),
                lacks=("Next: reseat", *NO_ORDER)),
        ),
    ),
)  # fmt: skip
STREET: Final = (*POWER, *WET_AND_HOT, *SETTINGS, *OUTSIDE)
TEN: Final = {
    "two USB-C sockets, one of them dead": ("jack",),
    "swollen battery, found once the cover is off": ("battery",),
    "charge limit of the firmware, taken for a bad battery": ("sett",),
    "lemonade in the keyboard, and a new keyboard": ("keyboard",),
    "no liquid, says the customer": ("keyboard",),
    "loud fan, and then it is off": ("cooling",),
    "wireless off by its key, and a new card bought for it": ("wireless",),
    "flash drive locked by a password": ("locked",),
    "second-hand memory of another speed": ("Next",),
    "trouble at the dock only": ("Next",),
    "picture that goes at one angle of the lid": ("panel",),
}
"""What stands in the first ten lines of the verdict at the end of each story."""
