"""Over the counter: dead machines, power, heat and memory, written before they were played.

What is wanted after each step is what a technician of twenty years would do, and never do.
Common practice, no source; minutes are the most such a step may take at a bench: assumed.
"""

from __future__ import annotations

from typing import Final

from tests.bench_stories import counter_beds as beds
from tests.bench_stories import fresh_beds, walked_beds
from tests.bench_stories.fresh import NO_BOARD, NOTHING
from tests.bench_stories.habits import Did, Habit, run, sheet
from tests.bench_stories.stories import DEAD, GOOD_ADAPTER, GOOD_JACK, NO_SPARES, ROUND
from tests.bench_stories.walked_in import NO_ORDER
from tests.testbeds import laptops

NO_VOLTS: Final = "adapter-open-voltage = 0.0\nadapter-loaded-voltage = 0.0\n"
NO_LIFE: Final = 'signs-of-life = "no"\nrail-resistance = "12k"\n'
LIVES: Final = 'signs-of-life = "yes"\n'
HAND_OVER: Final = ("hand-over", "--ticket", "4711")
BLINKS: Final = "words=the lamp of the adapter blinks all the time"

DEAD_MACHINES: Final = (
    Habit(
        name="the adapter's lamp blinks",
        truth="the adapter starts, breaks down and starts again",
        does=(
            Did(words=run("no-power", "--told", BLINKS),
                sheet=sheet(ROUND, "adapter-open-voltage = 19.5\nadapter-loaded-voltage = 6.2\n"
                            f"{GOOD_JACK}{NO_LIFE}"),
                top=("adapter",), never=NO_BOARD, within=15,
                steps=("swap with known-good", "external measurement"),
                customer_lacks=("mainboard is broken",)),
            Did(words=run("no-power", "--answer", "adapter@jack:AC=known-good spare"),
                sheet=sheet(ROUND, f"{GOOD_ADAPTER}{LIVES}"),
                top=("adapter",), never=NO_BOARD, customer=("adapter",), lacks=("put back",)),
            Did(words=run("no-power", "--answer", "adapter@jack:AC=new adapter"),
                bed=laptops.ahci, never=NO_BOARD, finds=("hand-over",), lacks=NO_ORDER),
            Did(words=HAND_OVER, bed=laptops.ahci, never=NO_BOARD),
        ),
    ),
    Habit(
        name="the wall lead, not the brick",
        truth="the lead between wall and adapter is broken; it is exchanged without a word",
        does=(
            Did(words=run("no-power"),
                sheet=sheet(ROUND, f'adapter-lamp = "dark in the air too"\n{NO_VOLTS}'),
                top=("adapter",), never=NO_BOARD, finds=("socket",), within=15,
                steps=("swap with known-good", "external measurement"), lacks=NO_ORDER),
            Did(words=run("no-power"),
                sheet=sheet(ROUND, f'adapter-lamp = "stays lit"\n{GOOD_ADAPTER}{LIVES}'),
                never=(*NO_BOARD, "battery", "adapter"), lacks=("put back", *NO_ORDER),
                customer_lacks=("adapter is broken", "mainboard is broken")),
        ),
    ),
    Habit(
        name="the shop's own adapter is bad",
        truth="the customer's adapter is dead, and the first spare breaks down under load",
        does=(
            Did(words=run("no-power"), sheet=sheet(ROUND, f"{NO_VOLTS}{GOOD_JACK}{NO_LIFE}"),
                top=("adapter",), never=NO_BOARD),
            Did(words=run("no-power", "--answer", "adapter@jack:AC=known-good spare"),
                sheet=sheet(ROUND, "adapter-open-voltage = 19.5\nadapter-loaded-voltage = 7.9\n"
                            'signs-of-life = "no"\n'),
                top=("adapter",), never=(*NO_BOARD, "battery"), lacks=NO_ORDER, within=20,
                customer_lacks=("mainboard is broken", "battery is broken")),
            Did(words=run("no-power", "--answer", "adapter@jack:AC=second known-good spare"),
                sheet=sheet(ROUND, f"{GOOD_ADAPTER}{LIVES}"),
                top=("adapter",), never=NO_BOARD, customer=("adapter",), lacks=("put back",),
                customer_lacks=("mainboard is broken",)),
        ),
    ),
    Habit(
        name="dead since a battery was put in",
        unmet="a controller that hangs leads before the battery that it does better without",
        truth="the battery's plug sits askew on the board",
        does=(
            Did(words=run("no-power", "--told", "after=a new part", "--told",
                          "words=dead since my brother changed the battery"),
                sheet=sheet(ROUND, f'{GOOD_ADAPTER}{GOOD_JACK}signs-of-life = "no"\n'
                            'starts-without-battery = "better"\nbutton = 2.0\n'
                            'rail-resistance = "12k"\n'),
                top=("battery", "contact", "battery-bay"), never=NOTHING, within=30,
                steps=("reseat", "inspect inside", "swap with known-good", "remove",
                       "external measurement"),
                finds=("CAUTION", "battery"), lacks=NO_ORDER),
            Did(words=run("no-power", "--reseated", "bay:BAT0"),
                sheet=sheet(ROUND, f'{LIVES}starts-without-battery = "same"\n'),
                never=(*NO_BOARD, "battery", "adapter"), lacks=("put back", *NO_ORDER),
                customer_lacks=("battery is broken", "mainboard is broken")),
        ),
    ),
    Habit(
        name="dead board, and the pictures are wanted",
        truth="a short on the main rail; the drive in its slot is sound",
        shop=NO_SPARES,
        does=(
            Did(words=run("no-power", "--told", "data=wanted, no copy"),
                sheet=sheet(ROUND, f"{GOOD_ADAPTER}{GOOD_JACK}{DEAD}rail-resistance = 0.5\n"),
                never=("adapter", "battery", "drive"), steps=("external measurement",),
                finds=("unplug",), within=20, lacks=NO_ORDER),
            Did(words=run("no-power"), sheet=sheet(ROUND, "rail-resistance = 0.5\n"),
                top=("mainboard", "power-controller", "processor"),
                never=("adapter", "battery", "drive"), finds=("data",),
                customer=("not tested", "data"), customer_lacks=("drive is broken",)),
        ),
    ),
    Habit(
        name="fans run, and it beeps for memory",
        truth="the module lost contact",
        does=(
            Did(words=run("no-picture", "--told", "after=nothing known"),
                sheet=sheet(ROUND, f"{GOOD_ADAPTER}{LIVES}"
                            'external-screen = "dark"\nown-screen = "nothing"\n'
                            'start-code = "memory"\ncoin-cell-voltage = 3.0\n'),
                top=("memory-module", "contact", "memory-slot"), never=NOTHING, within=20,
                steps=("reseat", "minimum configuration", "swap with known-good", "remove",
                       "inspect inside"), finds=("CAUTION",), lacks=NO_ORDER),
            Did(words=run("no-picture", "--reseated", "dimm:1"),
                sheet=sheet(ROUND, f"{LIVES}external-screen = \"picture\"\n"
                            'own-screen = "picture"\nstart-code = "none"\n'),
                never=NOTHING, lacks=("put back", *NO_ORDER)),
            Did(words=run("no-picture"), bed=laptops.ahci, never=NOTHING, lacks=NO_ORDER),
            Did(words=HAND_OVER, bed=laptops.ahci, never=NOTHING),
        ),
    ),
    Habit(
        name="said to be dead, and the fan turns",
        truth="the panel's light is out; the customer saw nothing and called it dead",
        does=(
            Did(words=run("no-power", "--told", "words=it does nothing at all"),
                sheet=sheet(ROUND, f"{GOOD_ADAPTER}{GOOD_JACK}{LIVES}"
                            'starts-without-battery = "same"\n'),
                never=NOTHING, finds=("picture",), within=20,
                lacks=("swap with known-good: adapter", "Next: replace")),
            Did(words=run("no-picture"),
                sheet=sheet(ROUND, f"{LIVES}external-screen = \"picture\"\n"
                            'own-screen = "faint"\nstart-code = "none"\n'
                            "coin-cell-voltage = 3.0\n"),
                top=("panel", "panel-connector", "contact", "backlight-inverter"),
                never=NO_BOARD, finds=("CAUTION",),
                lacks=("Next: replace: mainboard", "known-good: adapter")),
        ),
    ),
)  # fmt: skip
POWER: Final = (
    Habit(
        name="off at once when the plug is pulled",
        truth="the battery's plug is loose on the board",
        does=(
            Did(words=run("switches-off", "--told", "when=on battery", "--told",
                          "words=off at once when the plug is pulled"),
                bed=laptops.ahci, top=("battery", "contact", "battery-bay"), never=NOTHING,
                steps=("reseat", "swap with known-good", "external measurement"), within=30,
                lacks=("Next: clean cooling", "Next: longer soak", *NO_ORDER)),
            Did(words=run("switches-off", "--reseated", "bay:BAT0", "--answer",
                          "complaint=nowhere"),
                bed=laptops.ahci, never=NOTHING, lacks=NO_ORDER,
                customer_lacks=("battery is broken", "mainboard is broken")),
            Did(words=HAND_OVER, bed=laptops.ahci, never=NOTHING),
        ),
    ),
    Habit(
        name="a new battery that lasts an hour",
        truth="old cells in a new wrapping",
        does=(
            Did(words=run("intake", "--told", "after=a new part", "--told",
                          "words=a new battery, and it lasts an hour"),
                bed=beds.battery_of_nine_cycles, top=("battery",), never=NO_BOARD,
                finds=("battery",), lacks=("Next: longer soak",), customer=("battery",)),
            Did(words=HAND_OVER, bed=beds.battery_of_nine_cycles, status=1, never=NO_BOARD,
                finds=("battery",)),
        ),
    ),
    Habit(
        name="swollen battery, wanted back as it is",
        truth="the battery is swollen, and must not be charged on anybody's lap",
        does=(
            Did(words=run("intake", "--told", "marks=bulging battery: switch off, do not charge"),
                bed=fresh_beds.hands, never=NO_BOARD, steps=("inspect inside",),
                finds=("CAUTION", "swollen"), customer=("battery", "swollen")),
            Did(words=(*HAND_OVER, "--declined", "battery:AW-50 0933=it still lasts"),
                bed=fresh_beds.hands, status=1, never=NO_BOARD, finds=("swollen",),
                customer=("swollen",)),
        ),
    ),
    Habit(
        name="second battery, left at home",
        truth="nothing: the second battery lies at home",
        does=(
            Did(words=run("not-charging", "--told", "words=the second battery is never charged"),
                bed=beds.second_bay_empty, never=NOTHING, within=20, lacks=NO_ORDER,
                steps=("say what is in the place", "reseat", "swap with known-good",
                       "take all power away"),
                customer_lacks=("battery is broken", "mainboard is broken")),
            Did(words=run("not-charging"), bed=beds.second_bay_filled, never=NOTHING,
                lacks=NO_ORDER, customer_lacks=("is broken.",)),
        ),
    ),
    Habit(
        name="the charging lamp blinks, straight from the cold car",
        truth="the battery is too cold to be charged",
        does=(
            Did(words=run("not-charging", "--told", "when=cold", "--told",
                          "words=the charging lamp blinks"),
                bed=beds.cold, never=NOTHING, finds=("cold",), lacks=NO_ORDER,
                customer_lacks=("battery is broken", "mainboard is broken")),
            Did(words=run("not-charging"), bed=beds.warmed_up, never=NOTHING, lacks=NO_ORDER,
                customer_lacks=("is broken.",)),
        ),
    ),
)  # fmt: skip
HEAT: Final = (
    Habit(
        name="one of two fans stands",
        truth="the second fan is full of hair",
        does=(
            Did(words=run("switches-off", "--told", "when=under load"),
                bed=beds.second_fan_stands, top=("cooling", "fan"), never=NO_BOARD,
                steps=("clean cooling",), finds=("CAUTION", "fan"), within=60),
            Did(words=run("switches-off", "--answer", "cooling@cooling=cleaned"),
                bed=beds.both_turn, never=(*NO_BOARD, "battery"), finds=("hand-over",),
                lacks=("Next: clean cooling", *NO_ORDER)),
            Did(words=HAND_OVER, bed=beds.both_turn, never=NO_BOARD),
        ),
    ),
    Habit(
        name="a sensor that is connected to nothing",
        truth="nothing: the input is not used on this board",
        does=(
            Did(words=run("intake"), bed=beds.loose_sensor, never=NOTHING,
                lacks=("Next: clean cooling", *NO_ORDER),
                customer_lacks=("is broken.", "127")),
            Did(words=HAND_OVER, bed=beds.loose_sensor, never=NOTHING),
        ),
    ),
    Habit(
        name="wants more memory, and it is the heat",
        unmet="98 degrees and a cut clock count as the habit of a thin machine; the system leads",
        truth="paste gone dry; a friend said that it lacks memory",
        does=(
            Did(words=run("slow", "--told", "words=it needs more memory, says a friend"),
                bed=walked_beds.dry_paste, top=("cooling",),
                never=(*NO_BOARD, "memory-module", "drive"), steps=("clean cooling",),
                finds=("CAUTION",), customer_lacks=("memory module is broken",)),
            Did(words=run("slow", "--answer", "cooling@cooling=cleaned", "--reseated", "cooling"),
                bed=walked_beds.new_paste, never=(*NO_BOARD, "memory-module"),
                finds=("hand-over",), lacks=("Next: clean cooling", *NO_ORDER)),
            Did(words=HAND_OVER, bed=walked_beds.new_paste, never=NO_BOARD),
        ),
    ),
    Habit(
        name="off on the sofa only",
        unmet="the adapter is to be measured first, where one in twenty is at fault",
        truth="a cushion lies over its openings",
        does=(
            Did(words=run("switches-off", "--told", "when=after some minutes", "--told",
                          "words=only on the sofa, never on the desk"),
                bed=laptops.ahci, never=NOTHING, lacks=NO_ORDER,
                steps=("longer soak", "clean cooling", "deeper probe"),
                customer_lacks=("is broken.",)),
            Did(words=run("switches-off", "--answer", "complaint=nowhere"), bed=laptops.ahci,
                never=NOTHING, lacks=NO_ORDER, customer_lacks=("is broken.",)),
            Did(words=HAND_OVER, bed=laptops.ahci, never=NOTHING),
        ),
    ),
)  # fmt: skip
MEMORY: Final = (
    Habit(
        name="a pair that fails in place B alone",
        unmet="the module is moved once more before the place that fails is cleaned",
        truth="a contact of place B",
        does=(
            Did(words=run("unstable"), bed=beds.pair_bad_in_b, within=30, never=NO_BOARD,
                top=("memory-module", "contact", "memory-slot"), lacks=NO_ORDER),
            Did(words=run("unstable"), bed=beds.second_in_a, never=NO_BOARD, lacks=NO_ORDER,
                top=("memory-module", "contact", "memory-slot")),
            Did(words=run("unstable"), bed=beds.first_in_b, finds=("DIMM B",),
                top=("contact", "memory-slot", "mainboard"),
                never=(*NO_BOARD, "memory-module"), within=30, lacks=NO_ORDER,
                steps=("reseat", "clean contacts", "inspect inside"),
                customer_lacks=("memory module is broken",)),
        ),
    ),
    Habit(
        name="two makes of memory, each sound alone",
        truth="the two do not go together",
        does=(
            Did(words=run("unstable", "--told", "after=a new part"), bed=beds.two_makes,
                top=("memory-module", "contact"), never=(*NO_BOARD, "drive"), lacks=NO_ORDER),
            Did(words=run("unstable"), bed=beds.one_make, never=(*NO_BOARD, "drive"),
                lacks=NO_ORDER),
            Did(words=run("unstable"), bed=beds.other_make, never=(*NO_BOARD, "drive"),
                lacks=("Next: replace: mainboard",),
                customer_lacks=("mainboard is broken", "drive is broken")),
        ),
    ),
    Habit(
        name="thin machine, errors in soldered memory",
        truth="one of the soldered memory chips",
        shop=NO_SPARES,
        does=(
            Did(words=run("unstable", "--told", "data=wanted, no copy"), bed=beds.all_soldered,
                never=("drive", "battery"), finds=("Onboard B", "solder"),
                lacks=("swap with known-good: memory", "reseat: memory", "remove: memory"),
                customer=("data",)),
        ),
    ),
)  # fmt: skip
COUNTER: Final = (*DEAD_MACHINES, *POWER, *HEAT, *MEMORY)
