"""What walked in at a counter: power, heat, memory and drives, written down before it was played.

What is wanted after each step is what a technician of twenty years would do, and never do.
Common practice, no source; minutes are the most such a step may take at a bench: assumed.
"""

from __future__ import annotations

from typing import Final

from tests.bench_stories import fresh_beds
from tests.bench_stories import walked_beds as beds
from tests.bench_stories.fresh import NO_BOARD, NOTHING
from tests.bench_stories.habits import Did, Habit, run, sheet
from tests.bench_stories.stories import DEAD, GOOD_ADAPTER, GOOD_JACK, ROUND
from tests.testbeds import laptops, stories

NO_ORDER: Final = ("Next: replace",)

DEAD_MACHINES: Final = (
    Habit(
        name="the adapter's lamp goes out at the plug",
        truth="a capacitor on the main rail is shorted",
        does=(
            Did(words=run("no-power", "--told", "words=dead from one minute to the next"),
                sheet=sheet(ROUND, 'adapter-lamp = "goes out when it is plugged in"\n'
                            f"{GOOD_ADAPTER}{GOOD_JACK}{DEAD}"),
                never=(*NO_BOARD, "adapter", "battery"), steps=("external measurement",),
                finds=("short to ground",), within=15,
                lacks=("swap with known-good: adapter", *NO_ORDER)),
            Did(words=run("no-power"), sheet=sheet(ROUND, "rail-resistance = 0.4\n"),
                top=("mainboard", "power-controller", "processor"), never=("adapter", "battery"),
                lacks=("Next: swap with known-good: adapter",),
                customer_lacks=("adapter is broken", "battery is broken")),
        ),
    ),
    Habit(
        name="the adapter's lamp is dark in the air",
        truth="the adapter is dead",
        does=(
            Did(words=run("no-power"),
                sheet=sheet(ROUND, 'adapter-lamp = "dark in the air too"\n'),
                top=("adapter",), never=NO_BOARD, within=15,
                steps=("external measurement", "swap with known-good"), lacks=("put back",),
                finds=("socket",)),
            Did(words=run("no-power", "--answer", "adapter@jack:AC=known-good spare"),
                sheet=sheet(ROUND, 'adapter-lamp = "stays lit"\nsigns-of-life = "yes"\n'),
                top=("adapter",), never=NO_BOARD, customer=("adapter",),
                lacks=("put back", "swap with known-good: battery")),
        ),
    ),
    Habit(
        name="two adapters, both dead",
        truth="the bench's mains socket is off",
        does=(
            Did(words=run("no-power"),
                sheet=sheet(ROUND, "adapter-open-voltage = 0.0\nadapter-loaded-voltage = 0.0\n"
                            f'{GOOD_JACK}signs-of-life = "no"\nrail-resistance = "12k"\n'),
                top=("adapter",), never=NO_BOARD),
            Did(words=run("no-power", "--answer", "adapter@jack:AC=known-good spare"),
                sheet=sheet(ROUND, "adapter-open-voltage = 0.0\nadapter-loaded-voltage = 0.0\n"
                            'signs-of-life = "no"\n'),
                never=(*NO_BOARD, "battery"), finds=("socket",), lacks=NO_ORDER,
                customer_lacks=("mainboard is broken", "battery is broken")),
        ),
    ),
    Habit(
        name="plug that has to be held",
        truth="the jack's inner contact is worn out",
        does=(
            Did(words=run("not-charging", "--told", "when=when it is moved", "--told",
                          "words=one has to hold the plug to one side"),
                bed=beds.jack_out, top=("power-jack", "contact", "adapter"), never=NOTHING,
                finds=("flex",), within=20, lacks=NO_ORDER),
            Did(words=run("not-charging", "--answer", "adapter@jack:AC=known-good spare"),
                bed=beds.jack_out, top=("power-jack", "contact"), never=(*NO_BOARD, "adapter"),
                lacks=("Next: swap with known-good: adapter", "Next: replace: mainboard")),
            Did(words=run("not-charging", "--reseated", "jack:AC"), bed=beds.jack_in,
                never=(*NO_BOARD, "battery"), lacks=("Next: replace: battery",)),
        ),
    ),
    Habit(
        name="the power button's ribbon",
        truth="the button's flat lead is torn",
        does=(
            Did(words=run("no-power", "--told", "after=opened before"),
                sheet=sheet(ROUND, f'{GOOD_ADAPTER}{GOOD_JACK}signs-of-life = "no"\n'
                            'starts-without-battery = "same"\nbutton = "OL"\n'
                            'rail-resistance = "12k"\n'),
                top=("power-button", "contact"), never=(*NO_BOARD, "battery", "adapter"),
                steps=("inspect inside", "reseat", "swap with known-good", "replace"),
                lacks=("Next: replace: mainboard",), customer_lacks=("mainboard is broken",)),
        ),
    ),
    Habit(
        name="starts for two seconds, again and again",
        truth="a memory module lost contact",
        does=(
            Did(words=run("no-power", "--told", "words=on for two seconds and off, for ever"),
                sheet=sheet(ROUND, f'{GOOD_ADAPTER}{GOOD_JACK}signs-of-life = "yes"\n'
                            'starts-without-battery = "same"\nbutton = 2.0\n'
                            'rail-resistance = "12k"\ncurrent-at-press = 1.1\n'),
                never=NOTHING, lacks=NO_ORDER, within=45,
                steps=("minimum configuration", "reseat", "take all power away",
                       "external measurement", "swap with known-good", "inspect inside")),
        ),
    ),
    Habit(
        name="dark, and the coin cell is flat",
        truth="the flat coin cell keeps it from starting",
        does=(
            Did(words=run("no-picture", "--told", "since=came slowly"),
                sheet=sheet(ROUND, f'{GOOD_ADAPTER}signs-of-life = "yes"\n'
                            'external-screen = "dark"\nown-screen = "nothing"\n'
                            'start-code = "none"\ncoin-cell-voltage = 1.1\n'),
                never=(*NO_BOARD, "panel", "memory-module"), within=45,
                steps=("replace", "swap with known-good", "take all power away", "reseat",
                       "minimum configuration"), finds=("coin cell",),
                lacks=("Next: replace: mainboard", "Next: replace: panel",
                       "Next: replace: memory")),
        ),
    ),
)  # fmt: skip
POWER: Final = (
    Habit(
        name="USB-C charges one way round only",
        truth="contacts of one side of the socket are worn",
        does=(
            Did(words=run("not-charging", "--told",
                          "words=it charges only with the plug turned one way"),
                bed=beds.wrong_way, never=NOTHING, within=20, lacks=NO_ORDER,
                top=("adapter", "power-jack", "contact"),
                customer_lacks=("battery is broken", "mainboard is broken")),
            Did(words=run("not-charging"), bed=beds.right_way, never=NOTHING,
                lacks=NO_ORDER, top=("adapter", "power-jack", "contact"),
                customer_lacks=("battery is broken", "mainboard is broken")),
        ),
    ),
    Habit(
        name="a new battery is refused",
        unmet="the refused battery is put back once more before it is named",
        truth="the machine's firmware does not charge this maker's battery",
        does=(
            Did(words=run("not-charging", "--told", "after=a new part"), bed=beds.new_battery,
                top=("battery", "setting"), never=(*NO_BOARD, "adapter"),
                lacks=("Next: replace: mainboard", "Next: swap with known-good: adapter"),
                steps=("swap with known-good", "take all power away", "reseat",
                       "change a setting", "update firmware", "re-flash firmware")),
            Did(words=run("not-charging", "--known-good", "serial:AW-50 BENCH7"),
                bed=beds.shops_battery, top=("battery", "contact"), never=(*NO_BOARD, "adapter"),
                lacks=("put back",), customer=("battery",),
                customer_lacks=("mainboard is broken",)),
        ),
    ),
    Habit(
        name="charges to 60 % and stops",
        truth="the owner's son set it to spare the battery",
        does=(
            Did(words=run("not-charging", "--told", "words=it never gets above 60 %"),
                bed=beds.held_at_60, top=("setting",), never=NOTHING, within=10,
                steps=("change a setting",), finds=("60",), lacks=NO_ORDER,
                customer_lacks=("battery is broken",)),
        ),
    ),
    Habit(
        name="off at half charge, on battery only",
        truth="one cell of the battery is weak",
        does=(
            Did(words=run("switches-off", "--told", "when=on battery", "--told",
                          "words=off at about half, like a lamp"),
                bed=beds.weak_cell, top=("battery", "contact"), never=NO_BOARD,
                steps=("swap with known-good", "reseat", "external measurement", "replace"),
                lacks=("Next: clean cooling", "Next: longer soak", "Next: replace: mainboard")),
        ),
    ),
    Habit(
        name="restarts on the adapter only",
        truth="the adapter breaks down for moments",
        does=(
            Did(words=run("switches-off", "--told", "when=on the adapter", "--told",
                          "often=several times a day"),
                bed=laptops.ahci, top=("adapter", "power-jack", "contact"), never=NOTHING,
                steps=("swap with known-good", "external measurement"), within=20,
                lacks=("Next: clean cooling", *NO_ORDER)),
            Did(words=run("switches-off", "--answer", "adapter@jack:AC=known-good spare",
                          "--answer", "complaint=nowhere"),
                bed=laptops.ahci, top=("adapter", "contact"), never=(*NO_BOARD, "battery"),
                lacks=("Next: put back", "Next: clean cooling"),
                customer_lacks=("mainboard is broken",)),
        ),
    ),
    Habit(
        name="slow on the adapter, quick on battery",
        unmet="the customer's adapter is to be put back once more, for three minutes",
        truth="the pin that tells what the adapter gives is broken in the plug",
        does=(
            Did(words=run("slow", "--told", "when=on the adapter", "--told",
                          "words=on battery it is quick"),
                bed=beds.unread_adapter, top=("adapter", "power-jack", "contact"),
                never=(*NO_BOARD, "battery", "drive"), within=20,
                steps=("swap with known-good", "external measurement", "reseat"),
                lacks=("Next: longer soak", *NO_ORDER)),
            Did(words=run("slow", "--answer", "adapter@jack:AC=known-good spare"),
                bed=beds.read_adapter, top=("adapter", "contact"),
                never=(*NO_BOARD, "battery", "drive"), customer=("adapter",),
                lacks=("Next: put back",)),
        ),
    ),
    Habit(
        name="empty in the morning",
        truth="the installed system does not sleep deeply",
        does=(
            Did(words=run("intake", "--told", "when=in or after sleep", "--told",
                          "words=closed at 80 %, empty in the morning"),
                bed=fresh_beds.hands, never=NOTHING, finds=("livecheck sleep",), lacks=NO_ORDER,
                customer_lacks=("battery is broken",)),
        ),
    ),
)  # fmt: skip
HEAT: Final = (
    Habit(
        name="paste gone dry",
        truth="dust is away and the fan turns; the heat does not get into the heatsink",
        does=(
            Did(words=run("switches-off", "--told", "when=after some minutes", "--told",
                          "since=came slowly"),
                bed=beds.dry_paste, top=("cooling",), never=NO_BOARD, steps=("clean cooling",),
                finds=("CAUTION",), within=60),
            Did(words=run("switches-off", "--answer", "cooling@cooling=cleaned"),
                bed=beds.dry_paste, top=("cooling", "contact"), never=NO_BOARD,
                finds=("paste",), steps=("reseat", "replace", "swap with known-good"),
                lacks=("Next: clean cooling",)),
            Did(words=run("switches-off", "--reseated", "cooling"), bed=beds.new_paste,
                top=("cooling", "contact"), never=(*NO_BOARD, "cooling"), lacks=NO_ORDER,
                customer_lacks=("mainboard is broken",)),
        ),
    ),
    Habit(
        name="fan rattles and turns, declined",
        truth="the fan's bearing is worn",
        does=(
            Did(words=run("intake", "--told", "words=the fan rattles", "--told", "marks=noises"),
                bed=beds.rattles, never=NO_BOARD, finds=("fan",), within=45,
                steps=("inspect inside", "clean cooling"),
                lacks=("Next: longer soak", *NO_ORDER)),
            Did(words=("hand-over", "--ticket", "4711", "--declined",
                       "cooling@cooling=as long as it turns"),
                bed=beds.rattles, never=NO_BOARD, finds=("as long as it turns",),
                customer=("as long as it turns",)),
        ),
    ),
    Habit(
        name="fan stands, and the battery is worn",
        unmet="what is told anew after a repair does not open the case again",
        truth="both: it switched off from heat, and on battery it still does",
        does=(
            Did(words=run("switches-off", "--told", "often=several times a day"),
                bed=beds.hot_and_worn, top=("cooling", "fan"), never=NO_BOARD,
                steps=("clean cooling",), finds=("CAUTION", "battery")),
            Did(words=run("switches-off", "--told", "when=on battery", "--answer",
                          "cooling@cooling=new part"),
                bed=beds.cool_and_worn, top=("battery",), never=NO_BOARD, finds=("battery",),
                lacks=("The repair is proven", "Next: clean cooling"), customer=("battery",)),
        ),
    ),
)  # fmt: skip
MEMORY: Final = (
    Habit(
        name="one module at a time",
        truth="the module that sat in place A",
        does=(
            Did(words=run("unstable"), bed=beds.pair_bad, top=("memory-module", "contact"),
                never=NO_BOARD, within=30,
                steps=("move to another place", "reseat", "remove", "swap with known-good",
                       "minimum configuration", "clean contacts")),
            Did(words=run("unstable"), bed=beds.second_alone, never=NO_BOARD,
                top=("memory-module", "contact"), lacks=("Next: replace: mainboard",)),
            Did(words=run("unstable"), bed=beds.first_alone, top=("memory-module",),
                never=NO_BOARD, finds=("0001",),
                lacks=("Next: replace: mainboard", "Next: longer soak")),
        ),
    ),
    Habit(
        name="a second module, bought and put in",
        truth="the new module is of a kind that the machine does not take",
        does=(
            Did(words=run("unstable", "--told", "after=a new part"), bed=beds.added_module,
                top=("memory-module", "contact"), never=(*NO_BOARD, "drive"), within=30,
                steps=("remove", "reseat", "move to another place", "swap with known-good",
                       "minimum configuration", "inspect inside"), lacks=NO_ORDER),
            Did(words=run("unstable"), bed=beds.without_it, top=("memory-module", "contact"),
                never=(*NO_BOARD, "drive"), finds=("0009",),
                lacks=("Next: replace: mainboard",)),
        ),
    ),
    Habit(
        name="sound soldered memory beside a bad module",
        truth="the module",
        does=(
            Did(words=run("unstable"), bed=beds.slot_module_bad,
                top=("memory-module", "contact"), never=NO_BOARD, finds=("DIMM B",), within=30,
                steps=("reseat", "swap with known-good", "remove", "clean contacts"),
                lacks=("Onboard A is", "Next: replace: mainboard")),
        ),
    ),
)  # fmt: skip
DRIVES: Final = (
    Habit(
        name="drive sound elsewhere, so its cable",
        truth="the flat cable to the drive bay is cracked",
        shop="[shop]\nspares = []\nsecond_machine = true\n",
        does=(
            Did(words=run("unstable"), bed=stories.port_1, never=(*NO_BOARD, "drive")),
            Did(words=run("unstable", "--in-known-good-machine"), bed=beds.cable_elsewhere,
                never=(*NO_BOARD, "drive"), finds=("lead",),
                top=("drive-lead", "sata-port", "contact"),
                steps=("exchange lead", "reseat", "move to another place", "inspect inside",
                       "clean contacts"), lacks=NO_ORDER, customer_lacks=("drive is broken",)),
        ),
    ),
    Habit(
        name="drive gone when it is warm",
        truth="the drive's heat pad was left out when it was opened",
        does=(
            Did(words=run("unstable", "--told", "when=after some minutes", "--told",
                          "after=opened before", "--told", "data=wanted, no copy"),
                bed=beds.vanishes_warm, never=(*NO_BOARD, "drive"), finds=("CAUTION", "86"),
                top=("drive", "contact", "setting", "cooling"),
                steps=("inspect inside", "reseat", "clean cooling", "change a setting"),
                lacks=NO_ORDER, customer=("data",)),
        ),
    ),
    Habit(
        name="frozen once a week",
        unmet="what the installed system logged accuses that system more than the drive",
        truth="the drive leaves its bus; the installed system kept the words",
        does=(
            Did(words=run("unstable", "--told", "often=rarely"), bed=fresh_beds.hands,
                never=NOTHING, finds=("read-log",), lacks=("Next: longer soak", *NO_ORDER),
                customer_lacks=("is broken.",)),
            Did(words=("read-log", "--case", "CASE"), never=(*NO_BOARD, "memory-module"),
                log="".join(
                    f"2026-02-{day:02d}T18:02:11+0100 wander kernel: nvme nvme0: controller is "
                    "down; will reset: CSTS=0xffffffff, PCI_STATUS=0x10\n"
                    f"2026-02-{day:02d}T18:02:12+0100 wander kernel: I/O error, dev nvme0n1, "
                    "sector 81920 op 0x1:(WRITE) flags 0x800 phys_seg 1 prio class 2\n"
                    for day in (6, 13, 20)),
                top=("drive", "contact", "setting"), lacks=NO_ORDER,
                steps=("change a setting", "reseat", "update firmware", "swap with known-good")),
        ),
    ),
)  # fmt: skip
WALKED: Final = (*DEAD_MACHINES, *POWER, *HEAT, *MEMORY, *DRIVES)
