"""Twelve more machines, played by keys. Each was written down before any verdict was seen.

What ``verdict`` wants is what an experienced technician would want to read there.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from tests.bench_stories.keys import Played, Visit
from tests.bench_stories.stories import NO_SPARES, new_drive, new_lead
from tests.bench_stories.unmended import pending
from tests.testbeds import devices, laptops, stories
from tests.testbeds.bed import Bed

COUNTER: Final = ("press t", "type TICKET", "press enter", "press i")
AGAIN: Final = ("press t", "type TICKET", "press enter", "see Known here")
"""At the shop's own computer, which is not the machine: its ticket finds the case."""
HAND_OVER: Final = ("see guided checks", "press d", "see How long shall", "press enter")
PROVED: Final = ("see What was mended or replaced?", "press enter", "see What did it prove?",
                 "press enter", "see the case is closed")  # fmt: skip


def counter(*lines: str, complaint: str) -> tuple[str, ...]:
    """Ticket, intake sheet and complaint at the counter."""
    filled = []
    for line in lines:
        title, _, words = line.partition("=")
        filled += [f"take {title}", f"take {words}"]
    return (*COUNTER, *filled, "press d", "see Intake sheet:", f"take {complaint}")


def drive_silent() -> Bed:
    """A laptop whose drive does not answer in its bay."""
    whole = stories.two_bays(stories.DRIVE_A, 1, ())
    own = tuple(n for n in whole.nodes if "/0000:00:17.0/" not in n.path)
    return replace(whole, nodes=(*own, *devices.sata_port(1), *devices.sata_port(2)),
                   log=laptops.link_log({}, [1, 2]), drives={})  # fmt: skip


def drive_back() -> Bed:
    """The same, and the drive answers."""
    return stories.two_bays(stories.DRIVE_A, 1, ())


def _heat(package_c: float, rpm: int) -> Bed:
    whole = laptops.ahci()
    hot = package_c > 90
    log = [(60.0 + n, 4, "CPU0: Package temperature above threshold, cpu clock throttled "
            f"(total events = {n * 40 + 1})") for n in range(4 * hot)]  # fmt: skip
    return replace(
        whole,
        nodes=(*(n for n in whole.nodes if n.subsystem not in ("hwmon", "thermal")),
               *devices.heat(package_c, rpm)),
        log=(*whole.log, *log),
    )  # fmt: skip


def fan_stuck() -> Bed:
    """The fan stands still and the processor is at its limit."""
    return _heat(99.0, 0)


def fan_cleaned() -> Bed:
    """The fan turns again."""
    return _heat(58.0, 3100)


def adapter_dead() -> Bed:
    """A laptop that is charged over USB-C; nothing comes in and the battery runs down."""
    whole = laptops.nvme()
    nodes = []
    for node in whole.nodes:
        if node.subsystem == "power_supply":
            usb = node.files["type"] == "USB"
            now = {"online": "0", "voltage_now": "0", "current_now": "0", "usb_type": "[C] PD"}
            low = {"status": "Discharging", "power_now": "9800000", "capacity": "31",
                   "energy_now": "15000000"}  # fmt: skip
            node = replace(node, files={**node.files, **(now if usb else low)})
        nodes.append(node)
    return replace(whole, nodes=tuple(nodes))


SPILLS: Final = (
    Played(
        name="spill, wireless card's contact eaten",
        truth="the contacts of the wireless slot are green",
        visits=(
            Visit(stories.contact_1, (
                *counter("After what=a liquid", "Marks seen=liquid marks",
                       complaint="a part is missing"),
                "verdict inspect inside",
                "see CAUTION: Liquid was in it",
            )),
            Visit(stories.contact_1, (
                "tick Done as proposed", "take Nothing else", "verdict reseat",
            )),
            Visit(stories.contact_1, (
                "tick Done as proposed", "take Nothing else", "verdict swap with known-good",
                "press n", "press i", "verdict test in known-good machine",
                "press n", "press i", "verdict clean contacts",
            )),
            Visit(stories.contact_2, (
                "tick Done as proposed", "take Nothing else",
                "verdict contact between wireless card",
                "see contact between wireless card", "press m", "take Hand-over", *HAND_OVER,
                "see Ready to be given back", "press g", *PROVED,
            )),
        ),
        page=("Ready to be given back", "a liquid", "liquid marks"),
    ),
    Played(
        name="spill, dead, short on the board",
        truth="coffee shorts the main rail",
        visits=(
            Visit(None, (
                *counter("After what=a liquid", "Data on it=wanted, no copy", complaint="no power"),
                "measure", "verdict mainboard", "see Liquid was in it",
            ), measured={
                "plug": "round", "label": "19.5 V 3.34 A", "adapter-open-voltage": "19,6",
                "adapter-loaded-voltage": "19.3", "jack-loose": "firm", "jack-resistance": "0R3",
                "signs-of-life": "no", "starts-without-battery": "same", "button": "2.1",
                "rail-resistance": "0R9",
            }),
            Visit(None, (
                *AGAIN, "press v", "verdict mainboard", "press m", "take Outcome",
                "take Nothing was mended", "see the case is closed",
            )),
        ),
        page=("Told and seen when it came in", "Not tested"),
    ),
)  # fmt: skip
FALLS: Final = (
    Played(
        name="fall, drive lost sectors",
        truth="the drive has lost data",
        visits=(
            Visit(stories.drive_1, (
                *counter("After what=a fall", "Data on it=wanted, no copy",
                       "Marks seen=dents or cracks", complaint="slow"),
                "verdict at fault", "verdict CAUTION: The customer's data", "see Copy it first",
                "press o", "see Form factor: M.2", "press escape",
            )),
            Visit(new_drive, (
                "see swapped", "take Nothing else", "verdict Restore the customer's data",
                "press g", *HAND_OVER, "see Ready to be given back", "press g", *PROVED,
            )),
        ),
        page=("Ready to be given back", "Ostrevar N4 512GB"),
    ),
    Played(
        name="fall, drive's plug slipped off",
        truth="the drive's connector sits loose",
        visits=(
            Visit(drive_silent, (
                *counter("After what=a fall", complaint="a part is missing"),
                "verdict inspect inside",
            )),
            Visit(drive_back, (
                "see fitted", "tick Done as proposed", "take Taken out and put back",
                "tick SATA port 1", "press d", "take Nothing else", "verdict contact",
                "press m", "take Hand-over", "see Does anything go back", "tick battery", "press d",
                "see The customer's words?", "type stays", "press enter",
                *HAND_OVER, "see Ready to be given back",
            )),
        ),
        page=("a fall",),
    ),
)  # fmt: skip
INTERMITTENT: Final = (
    Played(
        name="comes and goes, drive's lead",
        truth="the lead of the drive is cracked",
        visits=(
            Visit(stories.port_1, (
                *counter("How often=several times a day", "When it shows=when it is moved",
                       complaint="crashes or freezes"),
                "verdict move to another place", "see drive lead", "press n", "press i",
                "verdict NEXT STEP",
            )),
            Visit(new_lead, (
                "take Cleaned, re-flashed", "tick drive lead", "press d", "take Nothing else",
                "verdict drive lead",
                "press m", "take Hand-over", "see Does anything go back", "tick battery", "press d",
                "see The customer's words?", "type lasts long enough", "press enter",
                *HAND_OVER, "see lasts long enough",
            )),
        ),
        page=("lasts long enough",),
    ),
    Played(
        name="switches off, fan stuck",
        truth="the fan is full of dust and stands still",
        visits=(
            Visit(fan_stuck, (
                *counter("How often=once a day", "When it shows=under load",
                       complaint="switches off"),
                "verdict cooling",
            )),
            Visit(fan_cleaned, (
                "take Cleaned, re-flashed", "tick cleaned", "press d", "take Nothing else",
                "verdict Start the installed system", "see Hand-over check",
            )),
        ),
        page=("cooling assembly",),
    ),
)  # fmt: skip
SOLDERED: Final = (
    Played(
        name="USB-C, no spares, charging circuit dead",
        truth="the port's controller on the board is dead",
        shop=NO_SPARES,
        visits=(
            Visit(None, (
                *counter("What was tried already=another adapter", complaint="no power"),
                "measure", "verdict Not settled yet", "see mainboard or charging circuit",
            ), measured={
                "plug": "usb-c", "label": "5V 3A, 20V 3.25A", "adapter-open-voltage": "5.1",
                "adapter-loaded-voltage": "20.1", "jack-loose": "firm", "usb-c-agreed": "5.0",
                "signs-of-life": "no", "starts-without-battery": "same", "rail-resistance": "9k",
                "usb-c-current": "0.01",
            }),
        ),
        page=("power jack",),
    ),
    Played(
        name="USB-C, no spares, adapter dead",
        truth="the adapter is dead",
        shop=NO_SPARES,
        visits=(
            Visit(adapter_dead, (
                *counter("When it shows=on battery", complaint="does not charge"),
                "see an adapter is plugged in", "tick USB-C power jack", "press d",
                "verdict adapter", "see take all power away",
            )),
        ),
        page=("adapter",),
    ),
)  # fmt: skip
DARK: Final = (
    Played(
        name="dark, panel dead",
        truth="the panel is dead",
        visits=(
            Visit(None, (
                *counter("After what=a fall", "Marks seen=dents or cracks", complaint="no picture"),
                "measure", "verdict panel",
            ), measured={
                "plug": "round", "label": "19.5V 3.33A", "adapter-open-voltage": "19.6",
                "signs-of-life": "yes", "external-screen": "picture", "own-screen": "nothing",
                "start-code": "none", "coin-cell-voltage": "3.0",
            }),
            Visit(None, (
                *AGAIN, "take Part without a number exchanged", "tick panel", "press d",
                "take Cleaned, re-flashed", "tick It was opened", "press d",
                "take It still does not start", "measure", "verdict panel",
            ), measured={
                "plug": "round", "label": "19.5V 3.33A", "adapter-open-voltage": "19.6",
                "signs-of-life": "yes", "external-screen": "picture", "own-screen": "picture",
            }),
        ),
        page=("panel",),
    ),
    Played(
        name="dark, a memory module",
        truth="the memory module lost contact",
        visits=(
            Visit(None, (
                *counter("When it shows=cold", complaint="no picture"),
                "measure", "verdict memory", "verdict reseat",
            ), measured={
                "plug": "round", "label": "19.5V 3.33A", "adapter-open-voltage": "19.6",
                "signs-of-life": "yes", "external-screen": "dark", "own-screen": "nothing",
                "start-code": "memory", "coin-cell-voltage": "3.0",
            }),
        ),
        page=("memory",),
    ),
)  # fmt: skip
DECLINED: Final = (
    Played(
        name="declined, worn battery beside a port",
        truth="the slot's contact was dirty; the battery is worn, and stays",
        visits=(
            Visit(stories.port_1, (
                *counter("Password=told, on the ticket", complaint="crashes or freezes"),
                "verdict NEXT STEP",
            )),
            Visit(stories.port_3, (
                "see moved", "take Nothing else", "verdict SATA port 1",
                "press m", "take Hand-over", "see Does anything go back", "tick battery",
                "press d", "see The customer's words?", "type is plugged in always",
                "press enter", *HAND_OVER, "see is plugged in always",
            )),
        ),
        page=("is plugged in always",),
    ),
    Played(
        name="declined, drive with unread sectors goes back",
        truth="the drive loses data; its owner does not want another",
        visits=(
            Visit(pending, (
                *counter("Data on it=wanted, no copy",
                       "Password=not told: ask before the system is started", complaint="slow"),
                "verdict OSTREVAR S3 480GB", "verdict CAUTION: The customer's data",
                "press m", "take Hand-over", "see Does anything go back", "press d",
                *HAND_OVER, "see Not signed off",
            )),
            Visit(pending, (
                "press v", "see Not signed off", "press m", "take Hand-over",
                "see Does anything go back", "tick OSTREVAR", "tick battery", "press d",
                "see The customer's words?", "type as it is", "press enter",
                "see The customer's words?", "type as it is", "press enter",
                *HAND_OVER, "see declined", "verdict Close the case", "press g",
                "take Nothing was mended", "see the case is closed",
            )),
        ),
        page=("as it is", "wanted, no copy"),
    ),
)  # fmt: skip
ALL: Final = (*SPILLS, *FALLS, *INTERMITTENT, *SOLDERED, *DARK, *DECLINED)
