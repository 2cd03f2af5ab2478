"""Eleven machines from round the corner, from intake to hand-over, written before they were played.

What is wanted after each line is what a technician of twenty years would say, and never say:
common practice, no source; minutes are the most such a step may take at a bench: assumed.
"""

from __future__ import annotations

from typing import Final

from tests.bench_stories import corner_beds as beds
from tests.bench_stories.fresh import NO_BOARD, NOTHING
from tests.bench_stories.habits import run, sheet
from tests.bench_stories.stories import GOOD_ADAPTER, GOOD_JACK, NO_SPARES, ROUND, USB_C
from tests.bench_stories.walked_in import NO_ORDER
from tests.bench_stories.week import BACK, LOOKED, Days, Then, again, proved
from tests.testbeds import laptops

KEYS: Final = {"keyboard": False, "touchpad": True}
KEYS_FINE: Final = {"keyboard": True, "touchpad": True}

MANY: Final = (
    Days(
        name="two machines of one model on the bench at once",
        truth="of the one the drive, of the other the battery",
        does=(
            Then(words=run("slow", "--told", "data=wanted, no copy"), bed=beds.first_twin,
                 top=("drive",), never=NO_BOARD, finds=("CAUTION: The customer's data",),
                 customer=("data",)),
            Then(words=again("switches-off", "4712", "--told", "when=on battery"),
                 bed=beds.second_twin, top=("battery",), never=(*NO_BOARD, "drive"),
                 finds=("battery",), lacks=("OSN512K7731", "Next: clean cooling"),
                 customer_lacks=("drive is broken",)),
            # The wrong lid is open: the second machine under the first one's ticket.
            Then(words=run("slow"), bed=beds.second_twin, status=3, never=NOTHING,
                 finds=("Nothing was saved", "4712")),
            Then(words=run("slow"), bed=beds.first_twin_mended, never=(*NO_BOARD, "battery"),
                 finds=("Restore", "hand-over"), lacks=NO_ORDER),
            Then(words=again("switches-off", "4712"), bed=beds.second_twin_mended,
                 never=(*NO_BOARD, "drive"), lacks=NO_ORDER),
            # And once more, at the hand-over.
            Then(words=("hand-over", "--ticket", "4712"), bed=beds.first_twin_mended, status=3,
                 never=NOTHING, finds=("4711",)),
            Then(words=BACK, bed=beds.first_twin_mended, never=NO_BOARD, signs=("drive",),
                 signs_not=("battery is broken",)),
            Then(words=("hand-over", "--ticket", "4712"), bed=beds.second_twin_mended,
                 never=NO_BOARD, signs=("battery",), signs_not=("OSN512K7731",)),
        ),
    ),
    Days(
        name="back after three weeks, and it is another thing",
        unmet="that it charged speaks against the worn battery, which stays at 38 % once it is out",
        truth="first the battery; three weeks later the adapter's lead is broken",
        does=(
            Then(words=run("not-charging", "--told", "words=half an hour and it is off",
                           "--told", "handed=adapter"),
                 bed=beds.empty_and_old, top=("battery",), never=(*NO_BOARD, "adapter"),
                 customer=("battery",)),
            Then(words=run("not-charging"), bed=beds.young, never=(*NO_BOARD, "adapter"),
                 lacks=NO_ORDER, finds=("hand-over",)),
            Then(words=BACK, bed=beds.young, never=NO_BOARD, signs=("battery", "adapter")),
            proved("battery"),
            Then(words=again("not-charging", "4790", "--told",
                             "words=the battery you sold me three weeks ago is dead"),
                 bed=beds.young_and_unfed, top=("adapter", "power-jack", "contact"),
                 never=(*NO_BOARD, "battery"), finds=("4711",), within=20,
                 lacks=("Next: replace: battery", "Next: swap with known-good: battery", *NO_ORDER),
                 customer_lacks=("battery is broken",)),
            Then(words=again("not-charging", "4790"),
                 sheet=sheet(ROUND, 'adapter-lamp = "dark in the air too"\n'
                             "adapter-open-voltage = 0.0\n"),
                 top=("adapter",), never=(*NO_BOARD, "battery"),
                 customer_lacks=("battery is broken", "mainboard is broken")),
            Then(words=again("not-charging", "4790", "--answer",
                             "adapter@jack:AC=known-good spare"),
                 bed=beds.young_and_fed, top=("adapter",), never=(*NO_BOARD, "battery"),
                 customer=("adapter",), customer_lacks=("battery is broken",)),
        ),
    ),
)  # fmt: skip
DECLINED: Final = (
    Days(
        name="beer in the keyboard, and its owner takes an outer one",
        truth="the keyboard's foil sticks; the board is clean",
        does=(
            Then(words=run("part-missing", "--told", "after=spilled a beer over it", "--told",
                           "data=wanted, a copy exists", "--told", "words=half the keys are dead"),
                 bed=beds.wet_keys, hand=KEYS, top=("keyboard", "contact"), never=NO_BOARD,
                 steps=("inspect inside",), finds=("CAUTION: Liquid was in it",), lacks=NO_ORDER,
                 within=45),
            Then(words=run("part-missing", *LOOKED), bed=beds.wet_keys, hand=KEYS,
                 top=("keyboard", "contact"), never=NO_BOARD, customer=("keyboard",),
                 steps=("reseat", "replace", "swap with known-good", "clean contacts"),
                 lacks=("Next: inspect inside", "Next: replace: mainboard")),
            Then(words=BACK, bed=beds.wet_keys, status=1, never=NO_BOARD, finds=("keyboard",),
                 signs=("keyboard",)),
            Then(words=(*BACK, "--declined", "keyboard@internal:keyboard=I plug one in"),
                 bed=beds.wet_keys, never=NO_BOARD, finds=("I plug one in",),
                 signs=("I plug one in",)),
            Then(words=("outcome", "CASE", "--not-mended", "--note", "plugs one in"),
                 finds=("closed",)),
        ),
    ),
    Days(
        name="new keyboard after a spill, and it is as dead as the old one",
        truth="sugar in the keyboard's plug on the board; the old keyboard was sound",
        does=(
            Then(words=run("part-missing", "--told", "after=a liquid"), bed=beds.wet_keys,
                 hand=KEYS, top=("keyboard", "contact"), never=NO_BOARD, steps=("inspect inside",),
                 lacks=NO_ORDER),
            Then(words=run("part-missing", *LOOKED, "--answer",
                           "keyboard@internal:keyboard=known-good spare"),
                 bed=beds.wet_keys, hand=KEYS, top=("contact", "keyboard-connector", "mainboard"),
                 never=(*NO_BOARD, "keyboard"), steps=("clean contacts", "reseat",
                                                       "take all power away"), within=30,
                 lacks=("Next: inspect inside", *NO_ORDER),
                 customer_lacks=("keyboard is broken", "mainboard is broken")),
            Then(words=run("part-missing", "--answer", "internal:keyboard=cleaned"),
                 bed=beds.wet_keys, hand=KEYS_FINE, never=(*NO_BOARD, "keyboard"), lacks=NO_ORDER,
                 customer_lacks=("keyboard is broken", "mainboard is broken")),
        ),
    ),
)  # fmt: skip
SPARES: Final = (
    Days(
        name="pictures in a USB case",
        unmet="the case is named, as the drive that it is; that it is unplugged is no repair",
        truth="the drive in the case; the machine is sound",
        does=(
            Then(words=run("part-missing", "--told", "words=my pictures do not open any more",
                           "--told", "data=wanted, no copy"),
                 bed=beds.cased_drive, never=NO_BOARD, finds=("Portable case|S3 480GB",
                                                              "CAUTION: The customer's data"),
                 lacks=("Next: replace: mainboard", "Next: move to another place: drive Ostrevar"),
                 customer=("data",),
                 customer_lacks=("mainboard is broken", "Ostrevar N4 512GB is broken")),
            Then(words=run("part-missing"), bed=beds.without_case, never=NOTHING, lacks=NO_ORDER,
                 customer_lacks=("mainboard is broken", "Ostrevar N4 512GB is broken")),
        ),
    ),
    Days(
        name="battery not charged, and the shop's spare is bad itself",
        unmet="a board that comes and goes leads two bad batteries, 34 to 6 %",
        truth="the customer's battery; the spare slept too long in a drawer",
        does=(
            Then(words=run("not-charging", "--told", "since=weeks"), bed=beds.own_refuses,
                 top=("battery", "adapter", "setting", "contact"), never=NOTHING,
                 lacks=("Next: replace: mainboard",)),
            Then(words=run("not-charging", "--known-good", "serial:AW-50 BENCH4"),
                 bed=beds.spare_refuses, never=(*NO_BOARD, "battery"), within=30,
                 lacks=NO_ORDER, customer_lacks=("mainboard is broken",)),
            Then(words=run("not-charging", "--known-good", "serial:AW-50 BENCH5"),
                 bed=beds.spare_takes, top=("battery",), never=(*NO_BOARD, "adapter"),
                 lacks=("Next: replace: mainboard",),
                 customer_lacks=("mainboard is broken", "adapter is broken")),
            Then(words=BACK, bed=beds.spare_takes, status=1, finds=("BENCH5",), never=NO_BOARD),
            Then(words=(*BACK, "--stays", "serial:AW-50 BENCH5"), bed=beds.spare_takes,
                 never=NO_BOARD, signs=("battery",)),
        ),
    ),
    Days(
        name="dead on an adapter of another maker",
        truth="it is a telephone's: 27 W at 9 V, and the battery is empty",
        does=(
            Then(words=run("no-power", "--told", "handed=adapter", "--told",
                           "words=does not start at all since the holidays"),
                 sheet=sheet('volts = "5 V 3 A, 9 V 3 A"\nsupply = "usb-pd"',
                             'adapter-open-voltage = "5100 mV"\nusb-c-agreed = "9,0 V"\n'
                             'usb-c-current = "0,02 A"\nsigns-of-life = "no"\n'
                             'jack-loose = "firm"\nrail-resistance = "11kOhm"\n'),
                 never=(*NO_BOARD, "battery"), steps=("swap with known-good",),
                 finds=("adapter",), within=15, lacks=("Next: replace: mainboard",),
                 customer_lacks=("mainboard is broken", "battery is broken")),
            Then(words=run("no-power", "--answer", "adapter@jack:AC=known-good spare"),
                 sheet=sheet(USB_C, 'usb-c-agreed = "20 V"\nsigns-of-life = "yes"\n'),
                 top=("adapter",), never=(*NO_BOARD, "battery"), lacks=("put back",),
                 customer=("adapter",)),
        ),
    ),
)  # fmt: skip
QUIET: Final = (
    Days(
        name="clock wrong at each start, and a tired battery beside it",
        truth="the coin cell; the battery is old, and its owner keeps it",
        does=(
            Then(words=run("intake", "--told", "words=every web page is said to be unsafe"),
                 bed=beds.clock_and_cells, never=NO_BOARD, finds=("coin cell", "battery"),
                 customer=("coin cell",), lacks=("Next: repair the installed system",)),
            Then(words=run("intake", "--answer", "coin-cell@internal:clock-battery=new part"),
                 bed=beds.clock_kept, never=NO_BOARD, finds=("battery",),
                 lacks=("Next: replace: coin",)),
            Then(words=BACK, bed=beds.clock_kept, status=1, never=NO_BOARD, finds=("battery",)),
            Then(words=(*BACK, "--declined", "battery:AW-50 0417=it stands on a desk"),
                 bed=beds.clock_kept, never=NO_BOARD, signs=("it stands on a desk", "coin cell")),
            proved("coin-cell"),
        ),
    ),
    Days(
        name="thin machine, nothing of it comes out, off at a third",
        unmet="one cut of the clock, usual in a thin machine, bars the hand-over until declined",
        truth="its battery; it is glued in, and can be bought",
        shop=NO_SPARES,
        does=(
            Then(words=run("switches-off", "--told", "when=on battery", "--told",
                           "data=wanted, a copy exists"),
                 bed=beds.thin_and_worn, top=("battery",), never=(*NO_BOARD, "cooling", "drive"),
                 finds=("battery",), customer=("battery",),
                 lacks=("Next: swap with known-good", "Next: clean cooling",
                        "Next: replace: mainboard")),
            Then(words=run("switches-off"), bed=beds.thin_and_young, never=(*NO_BOARD, "drive"),
                 lacks=NO_ORDER),
            Then(words=BACK, bed=beds.thin_and_young, never=NO_BOARD, signs=("battery",)),
            proved("battery"),
        ),
    ),
    Days(
        name="starts without its battery, and then with it",
        truth="the embedded controller hung; nothing is broken",
        does=(
            Then(words=run("no-power", "--told", "since=from one day to the next"),
                 sheet=sheet(ROUND, f'{GOOD_ADAPTER}{GOOD_JACK}signs-of-life = "no"\n'
                             'rail-resistance = "9k2"\nstarts-without-battery = "better"\n'),
                 top=("battery", "hung-controller", "contact"), never=NO_BOARD,
                 customer_lacks=("mainboard is broken",)),
            Then(words=run("no-power", "--answer", "machine=all power away"),
                 sheet=sheet(ROUND, 'signs-of-life = "yes"\n'), never=(*NO_BOARD, "adapter"),
                 lacks=NO_ORDER, customer_lacks=("mainboard is broken", "battery is broken")),
            Then(words=run("no-power"), bed=laptops.ahci, never=NOTHING, lacks=NO_ORDER),
            Then(words=BACK, bed=laptops.ahci, never=NOTHING),
        ),
    ),
    Days(
        name="slow on battery alone",
        truth="the installed system's power plan",
        does=(
            Then(words=run("slow", "--told", "when=on battery", "--told",
                           "words=without the cable it crawls"),
                 bed=beds.on_its_adapter, never=NOTHING, lacks=NO_ORDER, within=30,
                 finds=("battery",), customer_lacks=("is broken.",)),
            Then(words=run("slow"), bed=beds.on_its_battery, never=NOTHING, lacks=NO_ORDER,
                 customer_lacks=("is broken.",)),
            Then(words=run("slow", "--answer", "complaint=only in the installed system"),
                 bed=beds.on_its_battery, never=NOTHING, top=("software", "setting"),
                 lacks=NO_ORDER, customer_lacks=("is broken.",)),
        ),
    ),
)  # fmt: skip
CORNER: Final = (*MANY, *DECLINED, *SPARES, *QUIET)
