"""A week at a bench, from intake to hand-over: sixteen machines, written before they were played.

What is wanted after each line is what a technician of twenty years would say, and never say:
common practice, no source; minutes are the most such a step may take at a bench: assumed. The one
at the keys forgets, mistakes, mistypes, changes two things at once, and corrects himself.
"""

from __future__ import annotations

from typing import Final

import msgspec

from tests.bench_stories import fresh_beds
from tests.bench_stories import week_beds as beds
from tests.bench_stories.fresh import NO_BOARD, NOTHING
from tests.bench_stories.habits import Did, run, sheet
from tests.bench_stories.stories import GOOD_ADAPTER, NO_SPARES, ROUND, USB_C
from tests.bench_stories.walked_in import NO_ORDER
from tests.testbeds import laptops, stories


class Then(Did, frozen=True, kw_only=True):
    """One command of the week."""

    stopped: bool = False
    """The technician stops the run as soon as it has begun."""
    signs: tuple[str, ...] = ()
    """What the first page of a hand-over says."""
    signs_not: tuple[str, ...] = ()


class Days(msgspec.Struct, frozen=True, kw_only=True):
    """One machine, and what was done to it until it went back."""

    name: str
    truth: str
    does: tuple[Then, ...]
    shop: str = ""
    unmet: str = ""
    """What is not yet as one would want it: told, and expected to fail."""


def again(complaint: str, ticket: str, *words: str) -> tuple[str, ...]:
    """A run under another ticket."""
    return ("run", "--complaint", complaint, "--ticket", ticket, *words)


def proved(unit: str) -> Then:
    """The case is closed with what the repair proved."""
    return Then(words=("outcome", "CASE", "--unit", unit, "--proved", "yes"), finds=("closed",))


BACK: Final = ("hand-over", "--ticket", "4711")
FINE: Final = ("is broken.",)
LOOKED: Final = ("--answer", "machine=looked inside")
PRICES: Final = f"""{NO_SPARES}name = "Repairs at the Weir"
currency = "EUR"
hour = 58.0
worth = 260.0
[shop.prices]
mainboard = 310.0
battery = 64.0
"""

SPILLS: Final = (
    Days(
        name="spill: lemonade in a memory place",
        truth="sugar in place B; the module in it is sound",
        does=(
            Then(words=run("unstable", "--told", "after=a liquid", "--told", "data=wanted, no copy",
                           "--told", "words=freezes since the lemonade"),
                 bed=beds.sticky, steps=("inspect inside",), never=NOTHING, within=45,
                 finds=("CAUTION: Liquid was in it", "DIMM B"), lacks=NO_ORDER,
                 customer=("data",), customer_lacks=("mainboard is broken",)),
            # He had it open, swapped the module, and told neither.
            Then(words=run("unstable"), bed=beds.sticky_spare, finds=("DIMM B",),
                 never=(*NO_BOARD, "memory-module"), lacks=NO_ORDER,
                 customer_lacks=("memory module is broken", "mainboard is broken")),
            Then(words=run("unstable", *LOOKED), bed=beds.sticky_spare,
                 top=("contact", "memory-slot"), never=(*NO_BOARD, "memory-module"), within=30,
                 steps=("clean contacts", "reseat"), lacks=("Next: inspect inside", *NO_ORDER)),
            Then(words=run("unstable", "--answer", "dimm:DIMM B=cleaned"), bed=beds.washed_spare,
                 never=(*NO_BOARD, "memory-module"), lacks=NO_ORDER,
                 customer_lacks=("memory module is broken", "mainboard is broken")),
            Then(words=BACK, bed=beds.washed_spare, status=1, finds=("61BB0002|…0002",),
                 never=NO_BOARD),
            Then(words=run("unstable"), bed=beds.washed, never=(*NO_BOARD, "memory-module"),
                 finds=("hand-over",), lacks=NO_ORDER),
            Then(words=BACK, bed=beds.washed, never=(*NO_BOARD, "memory-module"),
                 signs_not=("memory module is broken",)),
            proved("dimm:DIMM B"),
        ),
    ),
    Days(
        name="spill: wine, and a button measured wrong",
        truth="wine ate away the power controller's surroundings; the button is sound",
        shop=PRICES,
        does=(
            Then(words=run("no-power", "--told", "after=a liquid", "--told",
                           "since=from one day to the next", "--told", "data=wanted, no copy"),
                 sheet=sheet(ROUND, 'adapter-open-voltage = "19600 mV"\n'
                             'adapter-loaded-voltage = "19,2 V"\njack-loose = "firm"\n'
                             'jack-resistance = "250 mohm"\nsigns-of-life = "no"\n'
                             'starts-without-battery = "same"\nbutton = "4k7"\n'),
                 never=(*NO_BOARD, "adapter", "battery"), steps=("inspect inside",),
                 finds=("CAUTION: Liquid was in it",), lacks=NO_ORDER,
                 customer=("not tested",), customer_lacks=("mainboard is broken",)),
            # Nobody had pressed the button while it was measured.
            Then(words=run("no-power", *LOOKED),
                 sheet=sheet(ROUND, 'button = "1R2"\nrail-resistance = "9.1k"\n'),
                 never=("adapter", "battery", "power-button"), lacks=("Next: inspect inside",),
                 customer_lacks=("power button is broken",)),
            Then(words=run("no-power"), sheet=sheet(ROUND, 'current-at-press = "8 mA"\n'),
                 top=("mainboard", "power-controller", "hung-controller", "processor"),
                 never=("adapter", "battery", "power-button"), finds=("mainboard",),
                 lacks=("Next: swap with known-good: adapter",),
                 customer_lacks=("power button is broken", "adapter is broken")),
            Then(words=run("no-power", "--answer", "power-controller=repaired"),
                 sheet=sheet(ROUND, 'current-at-press = "1.2 A"\nsigns-of-life = "yes"\n'),
                 never=("adapter", "battery", "power-button"), lacks=NO_ORDER),
            Then(words=run("no-power"), bed=laptops.ahci, never=(*NOTHING,), lacks=NO_ORDER,
                 finds=("hand-over",)),
            Then(words=BACK, bed=laptops.ahci, never=("adapter", "battery", "drive")),
            proved("mainboard"),
        ),
    ),
)  # fmt: skip
FALLS: Final = (
    Days(
        name="fall: lead and drive changed at once",
        unmet="lead and contact were both made anew, and neither alone is sure enough to be proven",
        truth="the drive's lead cracked in the fall; the drive is sound",
        does=(
            Then(words=run("unstable", "--told", "after=a fall", "--told", "data=wanted, no copy"),
                 bed=beds.lead_broken, steps=("inspect inside",), never=NOTHING, within=45,
                 finds=("CAUTION",), lacks=NO_ORDER, customer=("data",),
                 customer_lacks=("drive is broken",)),
            Then(words=run("unstable", *LOOKED, "--known-good", "serial:OSV120BENCH5",
                           "--answer", "drive-lead@ata:0000:00:17.0:1=repaired"),
                 bed=beds.lead_and_spare, never=NOTHING, steps=("put back",), within=30,
                 top=("drive", "drive-lead", "contact"), lacks=NO_ORDER,
                 customer_lacks=("drive is broken", "mainboard is broken")),
            Then(words=run("unstable"), bed=beds.lead_new, top=("drive-lead", "contact"),
                 never=NOTHING, finds=("hand-over",), lacks=("Next: put back", *NO_ORDER),
                 customer_lacks=("drive is broken",)),
            Then(words=BACK, bed=beds.lead_new, never=NOTHING, signs_not=("not signed",)),
            proved("drive-lead@ata:0000:00:17.0:1"),
        ),
    ),
    Days(
        name="fall: the battery's plug, and the wrong ticket",
        truth="the battery's plug jumped off the board",
        does=(
            Then(words=run("switches-off", "--told", "after=a fall", "--told",
                           "words=off as soon as one touches the plug"),
                 bed=beds.no_battery, never=NOTHING, steps=("inspect inside",), within=45,
                 finds=("battery", "CAUTION"), lacks=("Next: clean cooling", *NO_ORDER),
                 customer_lacks=("battery is broken", "mainboard is broken")),
            Then(words=again("switches-off", "4117", *LOOKED), bed=beds.no_battery, never=NOTHING,
                 finds=("4711",)),
            Then(words=run("switches-off", *LOOKED, "--reseated", "bay:BAT0"),
                 bed=beds.battery_there, never=NOTHING, lacks=NO_ORDER,
                 customer_lacks=("battery is broken", "mainboard is broken")),
            Then(words=run("switches-off", "--answer", "complaint=nowhere"),
                 bed=beds.battery_there, never=NOTHING, steps=("longer soak",), lacks=NO_ORDER),
            Then(words=BACK, bed=beds.battery_there, never=NOTHING),
            proved("bay:BAT0"),
        ),
    ),
)  # fmt: skip
COMES_AND_GOES: Final = (
    Days(
        name="intermittent: the wireless card leaves when it is warm",
        truth="the card",
        does=(
            Then(words=run("part-missing", "--told", "when=after some minutes", "--told",
                           "often=once a day", "--told", "words=the wireless goes after a while"),
                 bed=beds.card_stays, stopped=True, never=NOTHING, lacks=NO_ORDER,
                 finds=("stopped", "not complete|incomplete"), customer_lacks=FINE),
            Then(words=run("part-missing"), bed=beds.card_leaves, within=30,
                 top=("wireless-card", "contact", "pcie-slot"), finds=("wireless", "CAUTION"),
                 never=(*NO_BOARD, "wireless-card"), steps=("reseat", "swap with known-good"),
                 lacks=NO_ORDER),
            # One run is no proof of a fault that shows once a day.
            Then(words=run("part-missing", "--known-good", "mac:02:5e:a1:00:77:03"),
                 bed=beds.card_of_the_shop, never=NOTHING, steps=("longer soak", "put back"),
                 top=("wireless-card", "contact", "pcie-slot"),
                 lacks=("The repair is proven", *NO_ORDER)),
            Then(words=run("part-missing"), bed=beds.card_stays, never=NOTHING,
                 top=("wireless-card", "contact", "pcie-slot"), lacks=NO_ORDER,
                 customer_lacks=("mainboard is broken",)),
            Then(words=run("part-missing"), bed=beds.card_leaves, never=NO_BOARD,
                 top=("wireless-card", "contact"), lacks=("Next: replace: mainboard",)),
            Then(words=run("part-missing", "--reseated", "slot:0000:00:1c.0"),
                 bed=beds.card_leaves, never=NO_BOARD, top=("wireless-card",),
                 steps=("swap with known-good", "clean contacts", "replace", "longer soak",
                        "take all power away"), lacks=("Next: reseat", "Next: replace: mainboard")),
            Then(words=run("part-missing", "--known-good", "mac:02:5e:a1:00:77:03"),
                 bed=beds.card_of_the_shop, never=NO_BOARD, top=("wireless-card",),
                 customer=("wireless card",)),
            Then(words=BACK, bed=beds.card_of_the_shop, status=1, finds=("77:03",),
                 never=NO_BOARD),
            Then(words=(*BACK, "--stays", "mac:02:5e:a1:00:77:03"), bed=beds.card_of_the_shop,
                 never=NO_BOARD, signs=("wireless card",)),
            proved("wireless-card:02:5e:a1:00:42:17"),
        ),
    ),
    Days(
        name="intermittent: memory, and a spare that is bad too",
        truth="the customer's first module; the shop's first spare is bad as well",
        does=(
            Then(words=run("unstable", "--told", "often=rarely", "--told",
                           "words=restarts by itself now and then"),
                 bed=beds.pair_quiet, never=NOTHING, lacks=NO_ORDER, customer_lacks=FINE),
            Then(words=run("unstable"), bed=beds.pair_speaks, within=30,
                 top=("memory-module", "contact"), never=NO_BOARD, finds=("DIMM A",),
                 lacks=("Next: replace: mainboard", "Next: longer soak")),
            Then(words=run("unstable", "--known-good", "serial:BENCHM02"), bed=beds.bad_spare_in_a,
                 top=("contact", "memory-slot", "memory-module"), never=(*NO_BOARD,),
                 within=30, lacks=NO_ORDER, customer_lacks=("mainboard is broken",)),
            # Its errors went with the spare into another place.
            Then(words=run("unstable"), bed=beds.bad_spare_in_b, finds=("HM02",),
                 top=("memory-module", "contact"), never=NO_BOARD,
                 lacks=("Next: replace: mainboard", "Next: clean contacts"),
                 customer_lacks=("mainboard is broken",)),
            Then(words=run("unstable", "--known-good", "serial:BENCHM03"),
                 bed=beds.good_spare_in_a, top=("memory-module", "contact"), never=NO_BOARD,
                 lacks=("Next: replace: mainboard",),
                 customer_lacks=("mainboard is broken", "BENCHM02 is broken")),
            Then(words=BACK, bed=beds.good_spare_in_a, status=1, finds=("BENCHM03",),
                 never=NO_BOARD),
            Then(words=(*BACK, "--stays", "serial:BENCHM03"), bed=beds.good_spare_in_a,
                 never=NO_BOARD),
            Then(words=("outcome", "CASE", "--unit", "memory-module:71CC0001", "--proved", "yes",
                        "--note", "second spare sold")),
        ),
    ),
)  # fmt: skip
SOLDERED: Final = (
    Days(
        name="soldered, by USB-C: the battery holds it down",
        truth="a cell of the battery is shorted",
        shop=PRICES,
        does=(
            Then(words=run("no-power", "--told", "handed=nothing", "--told",
                           "data=wanted, a copy exists"),
                 sheet=sheet(USB_C, 'adapter-open-voltage = "5,1 V"\n'
                             'adapter-loaded-voltage = "20.2"\nusb-c-agreed = "20000 mV"\n'
                             'signs-of-life = "no"\nstarts-without-battery = "better"\n'
                             'rail-resistance = "9k1"\nusb-c-current = "1200 mA"\n'),
                 top=("battery", "contact"), never=(*NO_BOARD, "adapter"), finds=("battery",),
                 lacks=("swap with known-good: battery", "Next: replace: mainboard"),
                 customer_lacks=("mainboard is broken",)),
            Then(words=run("no-power"),
                 bed=beds.without_battery, top=("battery", "contact", "battery-bay"),
                 never=(*NO_BOARD, "adapter", "drive"),
                 lacks=("Next: replace: mainboard", "the repair is proven", "hand it back"),
                 customer_lacks=("mainboard is broken",)),
            Then(words=run("no-power"),
                 sheet=sheet(USB_C, 'signs-of-life = "no"\nstarts-without-battery = "better"\n'),
                 top=("battery",), never=(*NO_BOARD, "adapter"), customer=("battery",),
                 customer_lacks=("mainboard is broken",)),
            # It was brought for not starting: started again and again before it is called sound.
            Then(words=run("no-power"), bed=beds.battery_bought, never=(*NO_BOARD, "adapter"),
                 top=("battery",), steps=("longer soak",), lacks=NO_ORDER),
            Then(words=BACK, bed=beds.battery_bought, never=NO_BOARD, signs=("battery",)),
            proved("battery@bay:BAT0"),
        ),
    ),
    Days(
        name="soldered, by USB-C: one socket of two, and the other will do",
        truth="a tongue of the socket is bent; a new socket costs more than it is worth",
        shop=PRICES,
        does=(
            Then(words=run("part-missing", "--told", "words=the left USB socket is dead",
                           "--told", "data=wanted, a copy exists"),
                 bed=beds.thin_shorted, top=("usb-port", "usb-device", "contact"), never=NOTHING,
                 finds=("too much current",), within=45,
                 lacks=("swap with known-good: memory", "Next: longer soak", *NO_ORDER),
                 customer_lacks=("mainboard is broken",)),
            Then(words=run("part-missing", *LOOKED), bed=beds.thin_shorted,
                 hand={"usb-ports@usb:1-1": False, "usb-ports@usb:1-2": True},
                 top=("usb-port", "contact"), never=(*NO_BOARD, "drive", "memory-module"),
                 lacks=("Next: inspect inside", "Next: replace: mainboard")),
            Then(words=BACK, bed=beds.thin_shorted, status=1, finds=("usb port",),
                 never=("drive", "battery")),
            Then(words=(*BACK, "--declined", "usb:1-1=I use the other one"),
                 bed=beds.thin_shorted, never=("drive", "battery"),
                 finds=("I use the other one",), signs=("I use the other one",)),
            Then(words=("outcome", "CASE", "--not-mended", "--note", "uses the other socket")),
        ),
    ),
)  # fmt: skip
NOTHING_AT_PRESS: Final = (f'{GOOD_ADAPTER}signs-of-life = "yes"\nstart-code = "none"\n'
                           "coin-cell-voltage = 3.0\n")  # fmt: skip
OWN: Final = 'own-screen = "nothing"\n'
SHOWS: Final = 'own-screen = "picture"\nexternal-screen = "picture"\n'
DARK: Final = (
    Days(
        name="dark: panel and lead at once, then the old panel back",
        truth="the panel broke over a pen",
        does=(
            Then(words=run("no-picture", "--told", "words=closed over a pen"),
                 sheet=sheet(ROUND, f'{NOTHING_AT_PRESS}{OWN}external-screen = "picture"\n'),
                 top=("panel", "panel-connector", "contact"), never=NO_BOARD, finds=("CAUTION",),
                 steps=("reseat", "inspect inside", "swap with known-good", "external measurement"),
                 lacks=NO_ORDER, customer=("not tested",), customer_lacks=("mainboard is broken",)),
            Then(words=run("no-picture", "--reseated", "panel:internal", "--answer",
                           "panel@panel:internal=known-good spare"),
                 sheet=sheet(ROUND, SHOWS), never=(*NO_BOARD, "panel"), lacks=NO_ORDER,
                 top=("panel", "panel-connector", "contact"), steps=("put back", "longer soak"),
                 customer_lacks=("mainboard is broken",)),
            Then(words=run("no-picture", "--answer", "panel@panel:internal=original"),
                 sheet=sheet(ROUND, f'{OWN}external-screen = "picture"\n'), top=("panel",),
                 never=NO_BOARD, customer=("panel",), lacks=("Next: reseat", "Next: put back")),
            Then(words=run("no-picture", "--answer", "panel@panel:internal=new panel"),
                 sheet=sheet(ROUND, SHOWS), never=NO_BOARD, lacks=NO_ORDER, finds=("hand-over",)),
            Then(words=BACK, bed=beds.panel_of_the_shop, never=NO_BOARD),
            proved("panel@panel:internal"),
        ),
    ),
    Days(
        name="dark: the outer screen was not switched over",
        truth="the panel's plug was never seated right; a dead spare misled for an hour",
        does=(
            Then(words=run("no-picture", "--told", "tried=another shop had it", "--told",
                           "after=nothing known"),
                 sheet=sheet(ROUND, f'{NOTHING_AT_PRESS}{OWN}external-screen = "dark"\n'),
                 never=NOTHING, lacks=NO_ORDER, within=45,
                 customer_lacks=("panel is broken", "mainboard is broken")),
            Then(words=run("no-picture"),
                 sheet=sheet(ROUND, 'external-screen = "picture"\n'
                             'lid-picture = "stays as it is"\n'),
                 top=("panel", "panel-connector", "contact"), never=(*NO_BOARD, "memory-module"),
                 steps=("reseat", "swap with known-good", "inspect inside"), lacks=NO_ORDER,
                 customer_lacks=("mainboard is broken", "memory module is broken")),
            Then(words=run("no-picture", "--answer", "panel@panel:internal=known-good spare"),
                 sheet=sheet(ROUND, f'{OWN}external-screen = "picture"\n'),
                 top=("panel-connector", "contact", "panel"), never=(*NO_BOARD, "panel"),
                 steps=("reseat", "clean contacts", "inspect inside", "exchange lead"),
                 lacks=NO_ORDER, customer_lacks=("mainboard is broken", "panel is broken")),
            Then(words=run("no-picture", "--answer", "panel@panel:internal=original",
                           "--reseated", "panel:internal"),
                 sheet=sheet(ROUND, SHOWS), never=(*NO_BOARD, "panel"), lacks=NO_ORDER,
                 top=("contact", "panel-connector"),
                 customer_lacks=("mainboard is broken", "panel is broken")),
            Then(words=run("no-picture"), bed=laptops.ahci, never=NOTHING, lacks=NO_ORDER),
            Then(words=BACK, bed=laptops.ahci, never=NOTHING),
        ),
    ),
)  # fmt: skip
DECLINES: Final = (
    Days(
        name="declines: only the keyboard, not the heat",
        truth="the keyboard's foil; and dust in the fan, which its owner leaves",
        does=(
            Then(words=run("part-missing", "--told", "words=some keys do nothing"),
                 bed=beds.hot_keys, never=NO_BOARD, finds=("98",),
                 lacks=("Next: replace: mainboard", "Next: longer soak")),
            Then(words=run("part-missing"), bed=beds.hot_keys,
                 hand={"keyboard": False, "touchpad": True}, never=NO_BOARD,
                 top=("keyboard", "contact", "cooling"), finds=("keyboard",),
                 customer=("keyboard",), lacks=("Next: replace: mainboard",)),
            Then(words=run("part-missing", "--answer",
                           "keyboard@internal:keyboard=new keyboard"),
                 bed=beds.hot_keys, hand={"keyboard": True, "touchpad": True}, never=NO_BOARD,
                 finds=("cooling",), lacks=("hand it back", "Next: replace: keyboard")),
            Then(words=BACK, bed=beds.hot_keys, status=1, never=NO_BOARD, finds=("cooling",),
                 signs=("cooling",)),
            Then(words=(*BACK, "--declined", "cooling@cooling=only the keyboard, please"),
                 bed=beds.hot_keys, never=NO_BOARD, finds=("only the keyboard, please",),
                 signs=("only the keyboard, please", "keyboard")),
            proved("internal:keyboard"),
        ),
    ),
    Days(
        name="declines: the coin cell, and thinks better of it",
        truth="the coin cell is flat",
        does=(
            Then(words=run("intake", "--told", "words=the clock stands at new year"),
                 bed=fresh_beds.clock_2019, top=("coin-cell",), never=NO_BOARD,
                 finds=("coin cell",), customer=("coin cell",)),
            Then(words=BACK, bed=fresh_beds.clock_2019, status=1, never=NO_BOARD,
                 finds=("coin cell",)),
            Then(words=(*BACK, "--declined", "coin-cell@internal:clock-batery=no need"),
                 bed=fresh_beds.clock_2019, status=2, finds=("clock-battery",), never=NO_BOARD),
            Then(words=(*BACK, "--declined", "coin-cell@internal:clock-battery=no need"),
                 bed=fresh_beds.clock_2019, never=NO_BOARD, finds=("no need",),
                 signs=("no need",)),
            Then(words=run("intake", "--answer", "coin-cell@internal:clock-battery=new part"),
                 bed=fresh_beds.clock_right, never=NO_BOARD, lacks=NO_ORDER,
                 finds=("hand-over",)),
            Then(words=BACK, bed=fresh_beds.clock_right, never=NO_BOARD, lacks=("no need",),
                 signs=("coin cell",), signs_not=("no need",)),
            proved("coin-cell"),
        ),
    ),
)  # fmt: skip
BATTERIES: Final = (
    Days(
        name="battery swollen beside a fan that stands",
        truth="both; nobody saw the battery before the cover was off",
        does=(
            Then(words=run("switches-off", "--told", "often=several times a day", "--told",
                           "when=under load"),
                 bed=beds.fan_stands, top=("cooling", "fan"), never=NO_BOARD,
                 steps=("clean cooling",), finds=("CAUTION",), within=60),
            Then(words=("note", "CASE", "--told",
                        "marks=bulging battery: switch off, do not charge")),
            Then(words=run("switches-off", "--answer", "cooling@cooling=cleaned"),
                 bed=beds.fan_turns, never=(*NO_BOARD, "cooling"),
                 finds=("swollen", "CAUTION", "Take it off charge"),
                 lacks=("hand it back", "Next: clean cooling"), customer=("swollen",)),
            Then(words=(*BACK, "--declined", "battery:AW-50 0417=one more summer"),
                 bed=beds.fan_turns, status=1, never=NO_BOARD, finds=("swollen",),
                 signs=("swollen",)),
            Then(words=run("switches-off"), bed=beds.fan_turns_new_battery,
                 never=(*NO_BOARD, "cooling"), finds=("hand-over",),
                 lacks=("Next: inspect inside", "Take it off charge", *NO_ORDER)),
            Then(words=BACK, bed=beds.fan_turns_new_battery, never=NO_BOARD,
                 signs=("battery",), signs_not=("one more summer",)),
            proved("cooling"),
        ),
    ),
    Days(
        name="battery worn beside a card that is silent, and one is sold",
        truth="the card sat crooked; the battery is worn, and its owner buys the shop's",
        does=(
            Then(words=run("part-missing", "--told", "missing=wireless", "--told",
                           "handed=adapter"),
                 bed=beds.card_silent, top=("wireless-card", "contact", "pcie-slot"),
                 never=NOTHING, steps=("reseat", "change a setting"), within=30, finds=("battery",),
                 lacks=NO_ORDER, customer=("battery",)),
            # Seated anew, and not told.
            Then(words=run("part-missing"), bed=beds.card_answers,
                 never=(*NO_BOARD, "wireless-card"), finds=("battery",),
                 lacks=("Next: replace: mainboard", "Next: replace: wireless")),
            Then(words=BACK, bed=beds.card_answers, status=1, never=(*NO_BOARD, "wireless-card"),
                 finds=("battery",), signs=("battery",)),
            Then(words=run("part-missing", "--known-good", "serial:AW-50 BENCH9"),
                 bed=beds.card_and_battery, never=(*NO_BOARD, "wireless-card"), lacks=NO_ORDER),
            Then(words=BACK, bed=beds.card_and_battery, status=1, finds=("BENCH9", "--stays"),
                 never=NO_BOARD),
            Then(words=(*BACK, "--stays", "serial:AW-50 BENCH9"), bed=beds.card_and_battery,
                 never=(*NO_BOARD, "wireless-card"), finds=("adapter",), signs=("battery",)),
            proved("slot:0000:00:1c.0"),
        ),
    ),
)  # fmt: skip
RETURNS: Final = (
    Days(
        name="comes back: the new drive falls off its bus",
        unmet="one clean run after the drive was reseated, and the installed system leads",
        truth="the screw of the new drive was forgotten; it works itself out of its slot",
        does=(
            Then(words=run("slow", "--told", "data=wanted, no copy"), bed=stories.drive_1,
                 top=("drive",), never=NO_BOARD, finds=("CAUTION: The customer's data",)),
            Then(words=run("slow"), bed=beds.bought, never=NO_BOARD,
                 finds=("Restore", "hand-over"), lacks=NO_ORDER),
            Then(words=BACK, bed=beds.bought, never=NO_BOARD, signs=("drive",)),
            proved("drive:OSN512K7731"),
            Then(words=again("unstable", "4790", "--told",
                             "words=it was here three weeks ago, and freezes now"),
                 bed=beds.bought_drops, finds=("4711",), never=NOTHING,
                 top=("drive", "contact", "setting", "pcie-slot"),
                 steps=("change a setting", "reseat", "inspect inside"), lacks=NO_ORDER,
                 customer_lacks=("drive is broken", "mainboard is broken")),
            Then(words=again("unstable", "4790", "--reseated", "slot:0000:00:1d.0"),
                 bed=beds.bought, never=NOTHING, lacks=NO_ORDER,
                 top=("contact", "drive", "setting", "pcie-slot"),
                 customer_lacks=("drive is broken", "mainboard is broken")),
            Then(words=("hand-over", "--ticket", "4790"), bed=beds.bought, never=NOTHING),
        ),
    ),
    Days(
        name="comes back: hot again after a month",
        truth="the paste is dry; a month ago the dust alone was blown out",
        does=(
            Then(words=run("switches-off", "--told", "when=under load"), bed=beds.dust,
                 top=("cooling",), never=NO_BOARD, steps=("clean cooling",), finds=("CAUTION",)),
            Then(words=run("switches-off", "--answer", "cooling@cooling=cleaned"),
                 bed=beds.dust_away, never=NO_BOARD, finds=("hand-over",), lacks=NO_ORDER),
            Then(words=BACK, bed=beds.dust_away, never=NO_BOARD),
            proved("cooling"),
            Then(words=again("switches-off", "4791", "--told", "when=under load", "--told",
                             "tried=another shop had it"),
                 bed=beds.hot_again, finds=("4711", "CAUTION"), top=("cooling",), never=NO_BOARD,
                 steps=("clean cooling", "reseat", "inspect inside"), within=60, lacks=NO_ORDER),
            # The ticket of a month ago, typed by habit.
            Then(words=BACK, bed=beds.hot_again, status=3, finds=("4711",), never=NO_BOARD),
            Then(words=again("switches-off", "4791", "--answer", "cooling@cooling=cleaned",
                             "--reseated", "cooling"),
                 bed=beds.pasted, never=NO_BOARD, finds=("hand-over",),
                 lacks=("Next: clean cooling", *NO_ORDER)),
            Then(words=("hand-over", "--ticket", "4791"), bed=beds.pasted, never=NO_BOARD),
        ),
    ),
)  # fmt: skip
WEEK: Final = (*SPILLS, *FALLS, *COMES_AND_GOES, *SOLDERED, *DARK, *DECLINES, *BATTERIES, *RETURNS)
