"""Machines on ground that nobody had written of: each written down before it was played.

What is wanted after each step is what an experienced technician would accept; some of those who
do the steps are careless and do not tell. Common practice, no source.
"""

from __future__ import annotations

from typing import Final

from tests.bench_stories import fresh_beds as beds
from tests.bench_stories.habits import Did, Habit, run, sheet
from tests.bench_stories.stories import DEAD, GOOD_ADAPTER, GOOD_JACK, ROUND, USB_C
from tests.testbeds import laptops, stories

BUYS: Final = ("replace",)
NO_BOARD: Final = ("mainboard",)
NOTHING: Final = ("mainboard", "drive", "memory-module", "battery", "adapter", "cooling", "panel",
                  "wireless-card", "keyboard", "touchpad", "speaker", "camera")  # fmt: skip
"""Units of which none is to be ordered."""

DEAD_MACHINES: Final = (
    Habit(
        name="no power by USB-C, spares in the drawer",
        truth="the customer's adapter gives 5 V and no more",
        does=(
            Did(words=run("no-power"),
                sheet=sheet(USB_C, 'adapter-open-voltage = 5.1\nadapter-loaded-voltage = 5.0\n'
                            f'jack-loose = "firm"\nusb-c-agreed = 5.0\n{DEAD}'
                            'rail-resistance = "11k"\nusb-c-current = 0.0\n'),
                top=("adapter",), never=NO_BOARD, customer_lacks=("mainboard is broken",)),
            Did(words=run("no-power", "--answer", "adapter@jack:AC=known-good spare"),
                sheet=sheet(USB_C, 'usb-c-agreed = 20.0\nsigns-of-life = "yes"\n'),
                top=("adapter",), never=NO_BOARD, lacks=("put back",)),
        ),
    ),
    Habit(
        name="one rail of the board draws all there is",
        truth="a capacitor behind the main rail is shorted, on a rail of its own",
        does=(
            Did(words=run("no-power"),
                sheet=sheet(ROUND, f"{GOOD_ADAPTER}{GOOD_JACK}{DEAD}rail-resistance = \"14k\"\n"
                            "current-at-press = 3.3\n"),
                top=("mainboard", "power-controller", "processor"), never=("adapter", "battery"),
                lacks=("Next: swap with known-good: adapter", "Next: replace: mainboard")),
        ),
    ),
    Habit(
        name="starts on the bench, then not at all",
        truth="the adapter died between two looks",
        does=(
            Did(words=run("unstable"), bed=laptops.ahci, never=NOTHING),
            Did(words=run("unstable"),
                sheet=sheet(ROUND, "adapter-open-voltage = 0.0\nadapter-loaded-voltage = 0.0\n"
                            f'{GOOD_JACK}signs-of-life = "no"\nrail-resistance = "9k"\n'),
                status=2, never=(), finds=("no-power",)),
            Did(words=run("no-power"),
                sheet=sheet(ROUND, "adapter-open-voltage = 0.0\nadapter-loaded-voltage = 0.0\n"
                            f'{GOOD_JACK}signs-of-life = "no"\nrail-resistance = "9k"\n'),
                top=("adapter",), never=NO_BOARD, lacks=("put back", "coin cell")),
        ),
    ),
    Habit(
        name="dark panel, good picture outside",
        truth="the lead of the panel is squeezed at the hinge",
        does=(
            Did(words=run("no-picture"),
                sheet=sheet(ROUND, f'{GOOD_ADAPTER}signs-of-life = "yes"\n'
                            'external-screen = "picture"\nown-screen = "nothing"\n'
                            'start-code = "none"\ncoin-cell-voltage = 3.0\n'),
                top=("panel", "panel-connector", "contact"), never=(*NO_BOARD, "panel"),
                lacks=("external measurement", "Does the backlight work")),
            Did(words=run("no-picture"), sheet=sheet(ROUND, 'lid-picture = "comes and goes"\n'),
                top=("panel-connector", "contact"), never=(*NO_BOARD, "panel"),
                steps=("reseat", "inspect inside"), finds=("CAUTION",)),
        ),
    ),
)  # fmt: skip
POWER: Final = (
    Habit(
        name="swollen battery in a machine that runs",
        truth="the battery is swollen; it lifts the touchpad",
        does=(
            Did(words=run("slow", "--told", "marks=bulging battery: switch off, do not charge"),
                bed=beds.hands, steps=("inspect inside",),
                finds=("CAUTION", "swollen", "Take it off charge"),
                lacks=("Next: longer soak", "Next: deeper probe"), customer=("battery",)),
        ),
    ),
    Habit(
        name="charges only while it is off",
        truth="the adapter of 45 W feeds a machine that wants 65 W",
        does=(
            Did(words=run("not-charging", "--told", "words=it charges only when it is off"),
                bed=beds.charges_when_off, top=("adapter",), never=(*NO_BOARD, "battery"),
                finds=("45 W",), customer_lacks=("battery is broken",)),
            Did(words=run("not-charging"), bed=beds.strong_adapter, top=("adapter",),
                never=(*NO_BOARD, "battery"),
                lacks=("Next: replace: battery", "Next: swap with known-good: battery")),
        ),
    ),
    Habit(
        name="battery at 0 % that nobody sees",
        truth="the battery slept after weeks in a drawer; unplugged and put in anew it wakes",
        does=(
            Did(words=run("not-charging", "--told", "since=months"), bed=beds.battery_gone,
                top=("battery", "contact", "battery-bay", "hung-controller"), never=NO_BOARD,
                steps=("take all power away", "reseat", "say what is in the place",
                       "swap with known-good"), finds=("battery",)),
            Did(words=run("not-charging", "--reseated", "bay:BAT0", "--answer",
                          "machine=all power away"),
                bed=beds.battery_back, never=(*NO_BOARD, "battery"),
                lacks=("Next: replace",)),
        ),
    ),
    Habit(
        name="switches off on battery, cool and clean",
        truth="the battery's cells are worn",
        does=(
            Did(words=run("switches-off", "--told", "when=on battery"), bed=beds.worn_cells,
                top=("battery",), never=NO_BOARD,
                lacks=("Next: clean cooling", "Next: replace: mainboard")),
        ),
    ),
    Habit(
        name="the adapter was changed and nobody tells",
        truth="the adapter of 45 W; the technician plugs in his own and forgets to say so",
        does=(
            Did(words=run("slow"), bed=beds.charges_when_off, never=(*NO_BOARD, "battery"),
                finds=("45 W",)),
            Did(words=run("slow"), bed=beds.strong_adapter, never=(*NO_BOARD, "battery", "drive"),
                lacks=("Next: replace",), customer_lacks=("mainboard is broken",)),
        ),
    ),
)  # fmt: skip
HEAT: Final = (
    Habit(
        name="fan loud, machine cool",
        truth="a setting of the firmware holds the fan at its most",
        does=(
            Did(words=run("intake", "--told", "words=the fan is always loud"),
                bed=beds.loud_but_cool, never=NOTHING, finds=("fan",), lacks=("replace: ",)),
        ),
    ),
    Habit(
        name="fan stuck, and cleaning does not free it",
        truth="the fan's bearing is gone",
        does=(
            Did(words=run("slow", "--told", "marks=noises"), bed=beds.stuck,
                top=("cooling", "fan"), never=NO_BOARD, steps=("clean cooling",),
                finds=("CAUTION", "fan")),
            Did(words=run("slow", "--answer", "cooling@cooling=cleaned"), bed=beds.stuck,
                top=("cooling", "fan"), never=NO_BOARD,
                steps=("replace", "swap with known-good", "reseat")),
            Did(words=run("slow", "--answer", "cooling@cooling=new part"), bed=beds.new_cooling,
                top=("cooling", "fan"), never=NO_BOARD, lacks=("Next: clean cooling",)),
            Did(words=("hand-over", "--ticket", "4711"), bed=beds.new_cooling, never=NO_BOARD),
        ),
    ),
    Habit(
        name="thin machine that keeps itself cool",
        truth="nothing: it has no fan and was made to slow down",
        does=(
            Did(words=run("slow"), bed=beds.thin, never=NOTHING, lacks=("replace: ",),
                customer_lacks=("is broken.",)),
        ),
    ),
)  # fmt: skip
MEMORY: Final = (
    Habit(
        name="errors stay in one memory slot",
        truth="dirt in place B",
        does=(
            Did(words=run("unstable"), bed=beds.slot_b, top=("memory-module", "contact"),
                never=NO_BOARD),
            Did(words=run("unstable"), bed=beds.slot_b_crossed,
                top=("contact", "memory-slot", "mainboard"),
                never=(*NO_BOARD, "memory-module"), finds=("DIMM B",),
                steps=("reseat", "clean contacts", "take all power away", "swap with known-good"),
                lacks=("Next: replace",)),
        ),
    ),
    Habit(
        name="soldered memory beside a module",
        truth="the soldered memory has errors",
        does=(
            Did(words=run("unstable"), bed=beds.soldered_bad, never=("memory-module",),
                finds=("Onboard A",),
                lacks=("swap with known-good: memory module", "replace: memory",
                       "reseat: memory place Onboard A")),
        ),
    ),
    Habit(
        name="two faults at once",
        unmet="the drive that is out leads the list, though the memory still fails",
        truth="the drive loses data, and a module has errors",
        does=(
            Did(words=run("unstable", "--told", "data=wanted, no copy"), bed=beds.memory_and_drive,
                top=("drive", "memory-module"), never=NO_BOARD,
                finds=("CAUTION: The customer's data", "livecheck rescue", "DIMM A")),
            Did(words=run("unstable"), bed=beds.memory_left,
                top=("memory-module", "contact", "memory-slot"), never=NO_BOARD,
                finds=("DIMM A",), lacks=("The repair is proven", "Next: replace: drive")),
        ),
    ),
)  # fmt: skip
BUSES: Final = (
    Habit(
        name="drive falls off its bus under load",
        truth="the drive's contact in its slot",
        does=(
            Did(words=run("unstable"), bed=beds.drops, never=(*NO_BOARD, "drive"),
                finds=("gone from the bus",), steps=("change a setting", "reseat"),
                lacks=("replace: ",)),
            Did(words=run("unstable", "--answer", "drive:OSN512K0042=set"), bed=beds.drops,
                never=(*NO_BOARD, "drive"), steps=("reseat", "update firmware",
                                                   "re-flash firmware", "swap with known-good"),
                lacks=("Next: change a setting",)),
            Did(words=run("unstable", "--reseated", "slot:0000:00:1d.0"), bed=beds.stays_on,
                never=(*NO_BOARD, "drive"), lacks=("Next: replace",)),
        ),
    ),
    Habit(
        name="SATA lead, exchanged without a word",
        truth="the lead of the drive is cracked; the technician exchanged it and does not tell",
        does=(
            Did(words=run("unstable"), bed=stories.port_1, never=(*NO_BOARD, "drive"),
                finds=("lead",)),
            Did(words=run("unstable"), bed=stories.port_3, never=(*NO_BOARD, "drive")),
        ),
    ),
    Habit(
        name="slow by its small memory",
        truth="the installed system swaps; drive and memory are sound",
        does=(
            Did(words=run("slow", "--told", "words=slow with many windows", "--answer",
                          "complaint=only in the installed system"),
                bed=beds.hands, never=NOTHING, lacks=("replace: ",), finds=("installed system",),
                customer_lacks=("is broken.",)),
        ),
    ),
)  # fmt: skip
RADIOS: Final = (
    Habit(
        name="key with the aeroplane",
        truth="somebody pressed it",
        does=(
            Did(words=run("part-missing", "--told", "words=no wireless"), bed=beds.soft_blocked,
                never=NOTHING, steps=("change a setting",), lacks=("replace: ",)),
            Did(words=run("part-missing", "--answer", "wireless-card:02:5e:a1:00:42:17=set"),
                bed=beds.stays_on, never=NOTHING, lacks=("Next: reseat", "Next: replace"),
                customer_lacks=("Replace",)),
            Did(words=("hand-over", "--ticket", "4711"), bed=beds.stays_on, never=NOTHING),
        ),
    ),
    Habit(
        name="no Bluetooth, wireless is fine",
        truth="the card's Bluetooth half hangs",
        does=(
            Did(words=run("part-missing", "--told", "words=no bluetooth"), bed=beds.no_bluetooth,
                never=(*NO_BOARD, "wireless-card"), finds=("Bluetooth",),
                steps=("take all power away", "change a setting", "reseat"),
                lacks=("replace: ",)),
            Did(words=run("part-missing", "--answer", "machine=all power away"), bed=beds.stays_on,
                never=NOTHING, lacks=("Next: replace", "Next: reseat")),
        ),
    ),
)  # fmt: skip
HANDS: Final = (
    Habit(
        name="touchpad dead",
        truth="its flat lead slipped out of the plug",
        does=(
            Did(words=run("part-missing", "--told", "words=the touchpad does nothing"),
                bed=beds.no_pad, never=NOTHING, finds=("touchpad",),
                steps=("reseat", "inspect inside", "change a setting", "take all power away"),
                lacks=("replace: ",)),
        ),
    ),
    Habit(
        name="some keys dead",
        truth="the keyboard's foil is broken",
        does=(
            Did(words=run("part-missing", "--told", "words=some keys do nothing"), bed=beds.hands,
                never=NOTHING),
            Did(words=run("part-missing"), bed=beds.hands, hand={"keyboard": False},
                top=("keyboard", "contact"), never=NO_BOARD,
                steps=("reseat", "swap with known-good", "inspect inside"),
                lacks=("Next: replace: mainboard",)),
        ),
    ),
    Habit(
        name="camera off by its shutter",
        truth="a slider lies over the lens",
        does=(
            Did(words=run("part-missing"), bed=beds.hands, hand={"camera": False},
                never=NOTHING, steps=("change a setting", "check by hand"),
                finds=("cover",), lacks=("Next: replace", "Next: swap")),
        ),
    ),
    Habit(
        name="no sound",
        truth="the loudspeaker's plug is off the board",
        does=(
            Did(words=run("part-missing"), bed=beds.hands,
                hand={"sound-output": False, "sound-input": True},
                top=("speaker", "contact"), never=(*NO_BOARD, "speaker"),
                steps=("reseat", "inspect inside"), lacks=("replace: ",)),
        ),
    ),
)  # fmt: skip
REST: Final = (
    Habit(
        name="sleeps and never wakes",
        truth="the installed system's driver",
        does=(
            Did(words=run("unstable", "--told", "when=in or after sleep"), bed=beds.hands,
                never=NOTHING, finds=("livecheck sleep",), lacks=("replace: ",)),
        ),
    ),
    Habit(
        name="time lost at each start",
        truth="the coin cell is flat",
        does=(
            Did(words=run("intake", "--told", "words=wrong time at each start"),
                bed=beds.clock_2019, top=("coin-cell",), never=NO_BOARD, finds=("coin cell",)),
            Did(words=run("intake", "--answer", "coin-cell@internal:clock-battery=new part"),
                bed=beds.clock_right, top=("coin-cell",), never=NO_BOARD,
                lacks=("Next: replace",)),
        ),
    ),
    Habit(
        name="nothing is wrong but the customer's sleep",
        truth="nothing",
        does=(
            Did(words=run("intake", "--told", "words=a friend said it will break soon"),
                bed=beds.hands, never=NOTHING, lacks=("replace: ", "Next: longer soak"),
                customer_lacks=("is broken.",)),
            Did(words=("hand-over", "--ticket", "4711"), bed=beds.hands, never=NOTHING),
            Did(words=("outcome", "CASE", "--not-mended", "--note", "nothing found")),
        ),
    ),
)  # fmt: skip
ALL: Final = (*DEAD_MACHINES, *POWER, *HEAT, *MEMORY, *BUSES, *RADIOS, *HANDS, *REST)
