"""Machines in the hands of somebody with bad habits, each written down before it was played.

What is wanted after each step is what an experienced technician would accept: of whom one may
think first, what must not be ordered, and which next steps make sense. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import msgspec

from tests.bench_stories import odd_beds as beds
from tests.bench_stories.stories import DEAD, GOOD_ADAPTER, GOOD_JACK, NO_SPARES, ROUND
from tests.testbeds import stories
from tests.testbeds.bed import Bed


class Did(msgspec.Struct, frozen=True, kw_only=True):
    """One command, and what may come of it. CASE stands for the folder of the case."""

    words: tuple[str, ...]
    bed: Callable[[], Bed] | None = None
    sheet: str = ""
    """The worksheet, where it is one."""
    hand: dict[str, bool] = {}
    """Guided checks by their names (``usb-ports@usb:1-1``: there alone), and whether each was
    passed: made on the bed, no probes."""
    log: str = ""
    """Lines that the installed system kept: the command's last word is their file."""
    status: int = 0
    top: tuple[str, ...] = ()
    """Kinds of whom may be thought first; empty: not asked."""
    never: tuple[str, ...] = ("mainboard",)
    """Units that must not be named as settled."""
    steps: tuple[str, ...] = ()
    """Next steps that make sense; empty: not asked."""
    within: float = 0.0
    """Most minutes that the next step may take; 0: not asked."""
    finds: tuple[str, ...] = ()
    lacks: tuple[str, ...] = ()
    """What is printed, and what is not."""
    customer: tuple[str, ...] = ()
    customer_lacks: tuple[str, ...] = ()
    """The same of the page that the customer gets."""


class Habit(msgspec.Struct, frozen=True, kw_only=True):
    """One machine, and what was done to it."""

    name: str
    truth: str
    does: tuple[Did, ...]
    shop: str = ""
    unmet: str = ""
    """What is not yet as one would want it: told, and expected to fail."""


def run(complaint: str, *words: str) -> tuple[str, ...]:
    """``livecheck run`` of the one ticket."""
    return ("run", "--complaint", complaint, "--ticket", "4711", *words)


def sheet(label: str, answers: str) -> str:
    """A worksheet as it lies on the shop's computer."""
    return f"[label]\n{label}\n[answers]\n{answers}"


POWER: Final = (
    Habit(
        name="swollen cell, told at the counter",
        truth="the battery is swollen and drags the board down",
        does=(
            Did(
                words=run("no-power", "--told", "marks=bulging battery: switch off, do not charge"),
                sheet=sheet(ROUND, f'{GOOD_ADAPTER}{GOOD_JACK}signs-of-life = "no"\n'
                            'starts-without-battery = "better"\nrail-resistance = "9k"\n'),
                top=("battery",),
                finds=("CAUTION", "swollen", "Take it off charge"),
                steps=("inspect inside",),
                customer=("battery",),
            ),
        ),
    ),
    Habit(
        name="meter's lead slipped off",
        truth="nobody knows: the measurements contradict one another",
        does=(
            Did(
                words=run("no-power"),
                sheet=sheet(ROUND, "adapter-open-voltage = 19.6\nadapter-loaded-voltage = 0.0\n"
                            f"adapter-flex-voltage = 19.1\n{GOOD_JACK}{DEAD}"
                            'rail-resistance = "9k"\n'),
                finds=("not judged: the lowest voltage while the lead is bent",
                       "measure both again"),
                never=("mainboard", "adapter"),
            ),
        ),
    ),
    Habit(
        name="short measured with everything fitted",
        truth="the drive has the short; it was unplugged for the second measurement",
        does=(
            Did(words=run("no-power"),
                sheet=sheet(ROUND, f"{GOOD_ADAPTER}{GOOD_JACK}{DEAD}rail-resistance = 1.2\n"),
                finds=("unplug",), never=()),
            Did(words=run("no-power"), sheet=sheet(ROUND, 'rail-resistance = "8k2"\n'),
                never=("mainboard",), customer_lacks=("mainboard is broken",)),
        ),
    ),
    Habit(
        name="adapter for a telephone",
        truth="the customer brought an adapter of 30 W; the machine wants 65 W",
        does=(
            Did(words=run("not-charging", "--told", "handed=adapter"), bed=beds.weak_adapter,
                top=("adapter",), finds=("the adapter tells 30 W",),
                steps=("swap with known-good", "external measurement", "say what is in the place")),
        ),
    ),
    Habit(
        name="battery of no known maker",
        truth="a cheap battery that tells nonsense and is not charged",
        does=(
            Did(words=run("not-charging"), bed=beds.foreign_battery,
                top=("battery", "adapter"),
                lacks=("-22", "None", "counts 0 charge cycles")),
        ),
    ),
    Habit(
        name="USB-C, label of five voltages",
        truth="the board is asleep though it agrees on 20 V",
        does=(
            Did(words=run("no-power"),
                sheet=sheet('volts = "5V 3A, 9V 3A, 15V 3A, 20V 3.25A"\nsupply = "usb-pd"',
                            'adapter-open-voltage = "5V1"\nadapter-loaded-voltage = "20.1 V"\n'
                            f'jack-loose = "firm"\nusb-c-agreed = "20V"\n{DEAD}'
                            'rail-resistance = "9k"\nusb-c-current = "8mA"\n'),
                never=("adapter",), finds=("mainboard",)),
        ),
        shop=NO_SPARES,
    ),
    Habit(
        name="clock lost while the power was away",
        truth="the coin cell is flat",
        does=(
            Did(words=run("intake"), bed=beds.clock_lost, top=("coin-cell",),
                finds=("coin cell", "2019"), customer=("coin cell",)),
        ),
    ),
)  # fmt: skip
DRIVES: Final = (
    Habit(
        name="drive locked by a password",
        truth="the owner locked it; it is sound",
        does=(
            Did(words=run("slow", "--told", "password=not told: ask before the system is started"),
                bed=beds.locked, finds=("locked",), never=("mainboard", "drive"),
                lacks=("replace: ",), customer=("a drive is locked", "nothing is installed anew"),
                customer_lacks=("drive is broken", "replace the drive", "reinstall")),
        ),
    ),
    Habit(
        name="eMMC at the end of its life",
        truth="the soldered eMMC is worn out",
        does=(
            Did(words=run("slow"), bed=beds.emmc_worn, top=("drive", "emmc"), never=(),
                finds=("solder",), lacks=("swap with known-good: drive",)),
        ),
        shop=NO_SPARES,
    ),
    Habit(
        name="backup in a USB box",
        truth="the box, or its lead",
        does=(
            Did(words=run("unstable"), bed=beds.boxed_drive, finds=("Portable box",),
                steps=("move to another place", "swap with known-good", "exchange lead", "remove",
                       "reseat")),
        ),
    ),
    Habit(
        name="dock at the USB-C socket",
        truth="the dock",
        does=(
            Did(words=run("unstable"), bed=beds.dock,
                finds=("LAN",),
                steps=("move to another place", "swap with known-good", "exchange lead", "remove",
                       "reseat")),
        ),
    ),
    Habit(
        name="spare that is bad itself",
        truth="bay 1 was never at fault: customer's drive and first spare both are",
        does=(
            Did(words=run("unstable"), bed=stories.port_1),
            Did(words=run("unstable", "--known-good", "serial:OSV120BENCH3"), bed=stories.port_2,
                never=()),
            Did(words=run("unstable", "--known-good", "serial:OSV120BENCH4"),
                bed=beds.second_spare, never=("mainboard",), finds=("OSTREVAR",)),
        ),
    ),
    Habit(
        name="another customer's drive put back",
        truth="the drives of two customers were taken for each other",
        does=(
            Did(words=run("slow"), bed=stories.drive_1, top=("drive",)),
            Did(words=run("slow"), bed=beds.others_drive, finds=("out of the machine",),
                never=(), customer=("the drive that was taken out", "keep it"),
                customer_lacks=("gave back what they were asked for",)),
            Did(words=("hand-over", "--ticket", "4711"), bed=beds.others_drive, never=(),
                finds=("…THER",)),
        ),
    ),
    Habit(
        name="shop's spare forgotten inside",
        truth="the repair was proven by a spare, and that stayed in the machine",
        does=(
            Did(words=run("slow"), bed=stories.drive_1),
            Did(words=run("slow", "--known-good", "serial:OSN256BENCH1"), bed=stories.drive_2),
            Did(words=("hand-over", "--ticket", "4711"), bed=stories.drive_2, status=1,
                finds=("OSN256BENCH1",)),
            Did(words=("hand-over", "--ticket", "4711", "--stays", "serial:NOSUCH"),
                bed=stories.drive_2, status=2, finds=("NOSUCH",)),
            Did(words=("hand-over", "--ticket", "4711", "--stays", "serial:OSN256BENCH1"),
                bed=stories.drive_2),
        ),
    ),
)  # fmt: skip
REST: Final = (
    Habit(
        name="two modules crossed over, nobody told",
        truth="one module is bad",
        does=(
            Did(words=run("unstable"), bed=beds.modules, top=("memory-module", "contact")),
            Did(words=run("unstable"), bed=beds.modules_crossed, top=("memory-module",),
                finds=("…0001",)),
        ),
    ),
    Habit(
        name="radio switched off at the slider",
        truth="the slider",
        does=(
            Did(words=run("part-missing"), bed=beds.radio_off,
                steps=("change a setting",), lacks=("replace: ",),
                never=("mainboard", "wireless-card")),
            Did(words=run("part-missing"), bed=beds.radio_on,
                never=("mainboard", "wireless-card"), customer_lacks=("Replace",)),
        ),
    ),
    Habit(
        name="fan full of dust",
        truth="dust",
        does=(
            Did(words=run("switches-off", "--told", "when=under load"), bed=beds.dusty,
                top=("cooling",), steps=("clean cooling",), finds=("CAUTION",)),
        ),
    ),
    Habit(
        name="fan dead",
        truth="the fan does not turn",
        does=(
            Did(words=run("switches-off", "--told", "when=on battery"), bed=beds.fan_dead,
                top=("cooling", "fan"), finds=("CAUTION", "stand")),
        ),
    ),
    Habit(
        name="memory card that is not read",
        truth="the card",
        does=(
            Did(words=run("part-missing"), bed=beds.card_bad,
                never=("mainboard",), finds=("card",), lacks=("replace: mainboard",)),
        ),
    ),
    Habit(
        name="one ticket on two machines",
        truth="the label was stuck on the wrong machine",
        does=(
            Did(words=run("slow"), bed=stories.drive_1),
            Did(words=run("slow"), bed=beds.other_machine, status=3,
                finds=("--same-machine", "Nothing was saved"), never=()),
            Did(words=run("slow"), bed=beds.card_elsewhere, status=3,
                finds=("--in-known-good-machine",), never=()),
            Did(words=run("slow", "--case", "CASE"), bed=stories.drive_1, top=("drive",)),
        ),
    ),
    Habit(
        name="what nobody has is declined",
        truth="the second technician types from memory",
        does=(
            Did(words=run("slow"), bed=stories.drive_1),
            Did(words=("hand-over", "--ticket", "4711", "--declined", "drive:OSN512K7713=too dear"),
                bed=stories.drive_1, status=2, finds=("OSN512K7731",)),
            Did(words=("hand-over", "--ticket", "4711", "--declined", "drive:OSN512K7731="),
                bed=stories.drive_1, status=2, finds=("words",)),
            Did(words=("hand-over", "--ticket", " 4711 "), bed=stories.drive_1, status=1),
            Did(words=("hand-over", "--ticket", "4117"), bed=stories.drive_1, status=3,
                finds=("4711",)),
            Did(words=("outcome", "CASE", "--unit", "keyboard", "--proved", "yes"), status=2),
            Did(words=("note", "CASE", "--cannot", "no spare: driv"), status=2, finds=("drive",)),
            Did(words=("note", "CASE", "takes it as it is")),
        ),
    ),
    Habit(
        name="closed before it was mended",
        truth="the second technician takes the verdict for the repair",
        does=(
            Did(words=run("slow"), bed=stories.drive_1),
            Did(words=("outcome", "CASE", "--unit", "drive", "--proved", "yes", "--keep-open"),
                finds=("was still fitted and failed",)),
            Did(words=run("slow"), bed=beds.others_drive, never=()),
            Did(words=("outcome", "CASE", "--unit", "drive:OSN512K7731", "--proved", "yes"),
                lacks=("was still fitted",), finds=("is closed",)),
        ),
    ),
    Habit(
        name="complaint that shows nowhere",
        truth="the customer's cloud was full",
        does=(
            Did(words=run("slow", "--answer", "complaint=nowhere"), bed=beds.sound,
                lacks=("replace: ",), never=("mainboard", "drive", "memory-module")),
            Did(words=("hand-over", "--ticket", "4711"), bed=beds.sound),
            Did(words=("outcome", "CASE", "--not-mended", "--note", "nothing found")),
            Did(words=run("slow", "--case", "CASE"), bed=beds.sound, status=2, finds=("closed",)),
        ),
    ),
)  # fmt: skip
OPEN: Final = (
    Habit(
        name="slider put back, and nobody says so",
        truth="the slider",
        unmet="it is called a swap or a reseating that helped, and the slot is to be reseated",
        does=(
            Did(words=run("part-missing"), bed=beds.radio_off),
            Did(words=run("part-missing"), bed=beds.radio_on,
                lacks=("when parts were swapped or reseated", "Next: reseat")),
        ),
    ),
    Habit(
        name="short gone with the drive unplugged",
        truth="the drive has the short",
        unmet="the board, at 45 %, still leads before what was unplugged between the measurements",
        does=(
            Did(words=run("no-power"),
                sheet=sheet(ROUND, f"{GOOD_ADAPTER}{GOOD_JACK}{DEAD}rail-resistance = 1.2\n"),
                never=(), lacks=("Next: swap with known-good: adapter",)),
            Did(words=run("no-power"), sheet=sheet(ROUND, 'rail-resistance = "8k2"\n'),
                top=("drive", "adapter", "power-jack", "battery", "hung-controller")),
        ),
    ),
    Habit(
        name="memory card tried in no other reader",
        truth="the card",
        does=(
            Did(words=run("part-missing"), bed=beds.card_bad,
                lacks=("What speaks for installed system: The kernel logged 3 times",)),
        ),
    ),
)  # fmt: skip
"""What the program does not yet say as an experienced technician would."""
ALL: Final = (*POWER, *DRIVES, *REST, *OPEN)
