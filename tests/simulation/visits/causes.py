"""What befalls laptops that come to a repair shop, how often, and what mends each.

Rates are parts of a thousand visits, from memory of benches, else assumed. A cause changes
figures of the machine and nothing else; ``still`` tells from the figures whether it is there.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from tests.simulation.visits.cause import add, drive, held, own, put
from tests.simulation.visits.laptop import (
    ATA,
    BAY,
    CAMERA,
    CELL,
    COOLING,
    DIMMS,
    JACK,
    KEYBOARD,
    MICROPHONE,
    NVME,
    PANEL,
    SPEAKER,
    TOUCHPAD,
    USB,
    WLAN,
    Laptop,
    Piece,
)  # fmt: skip


def _sata(laptop: Laptop) -> bool:
    return ATA[0] in laptop.pieces


def _worn_medium(laptop: Laptop) -> None:
    dice, worn = laptop.dice, own(laptop, drive(laptop))
    worn.pending = round(8 * 10 ** dice.uniform(0, 2.2))
    worn.growth = worn.pending * dice.uniform(0, 0.2)
    worn.slow_zone = dice.random() < 0.6
    worn.stalls = dice.uniform(0, 30)


def _marginal_lane(laptop: Laptop) -> None:
    laptop.board.lanes[drive(laptop)] = 4.0
    laptop.board.lane_hot[drive(laptop)] = laptop.dice.uniform(4, 8)


def _held_off(laptop: Laptop) -> None:
    laptop.soft.charge_stop, laptop.charge = True, 0.6


def _add_causes_of_drives() -> None:
    add("drive: medium worn", 62, "drive", _worn_medium, held("drive", lambda p: p.pending >= 8))
    add("drive: dead", 22, "drive", put("drive", dead=True), held("drive", lambda p: p.dead))
    add("drive: weak transmitter", 6, "drive",
         lambda m: setattr(own(m, drive(m)), "weak_db", m.dice.uniform(7.5, 13.5)),
         held("drive", lambda p: p.weak_db > 5))  # fmt: skip
    add("drive: its firmware stalls", 7, "drive",
         lambda m: setattr(own(m, drive(m)), "stalls", m.dice.uniform(8, 80)),
         held("drive", lambda p: p.stalls > 5 and p.pending < 8))  # fmt: skip
    add("drive lead cracked", 10, "drive-lead",
         lambda m: setattr(m.drive_lead, "ohms", m.dice.uniform(0.30, 0.6)),
         lambda m: m.drive_lead.ohms > 0.2, possible=_sata)  # fmt: skip
    add("drive contact oxidised", 9, "contact",
         lambda m: setattr(m.joints[drive(m)], "ohms", m.dice.uniform(0.30, 0.55)),
         lambda m: any(m.joints[p].ohms > 0.2 for p in (*ATA, NVME)))  # fmt: skip
    add("drive not pushed in", 8, "contact",
         lambda m: setattr(m.joints[drive(m)], "open", True),
         lambda m: any(m.joints[p].open for p in (*ATA, NVME)))  # fmt: skip
    add("drive port: marginal lane, hot", 7, "mainboard",
         _marginal_lane,
         lambda m: any(p in m.board.lane_hot for p in (*ATA, NVME)))  # fmt: skip
    add("drive port dead", 7, "mainboard", lambda m: m.board.dead_places.add(drive(m)),
         lambda m: bool(m.board.dead_places & {*ATA, NVME}))  # fmt: skip


def _weak_cells(laptop: Laptop) -> None:
    dice = laptop.dice
    place = dice.choice([p for p in DIMMS if p in laptop.pieces])
    own(laptop, place).cells = 10 ** dice.uniform(-0.6, 2.5)
    own(laptop, place).hot_cells = dice.uniform(0, 0.8)


def _module(laptop: Laptop) -> str:
    return laptop.dice.choice([p for p in DIMMS if p in laptop.pieces])


def _dead_module(laptop: Laptop) -> None:
    module = own(laptop, _module(laptop))
    module.dead, module.mute = True, laptop.dice.random() < 0.5


def _any_module(laptop: Laptop, test: Callable[[Piece], bool]) -> bool:
    return any(held(place, test)(laptop) for place in DIMMS)


def _add_causes_of_memory() -> None:
    add("module: weak cells", 34, "memory-module", _weak_cells,
         lambda m: _any_module(m, lambda p: p.cells > 0))  # fmt: skip
    add("module: dead", 13, "memory-module", _dead_module,
         lambda m: _any_module(m, lambda p: p.dead))  # fmt: skip
    add("module: contact oxidised", 18, "contact",
         lambda m: setattr(m.joints[_module(m)], "ohms", m.dice.uniform(0.15, 0.35)),
         lambda m: any(m.joints[p].ohms > 0.12 for p in DIMMS if p in m.pieces))  # fmt: skip
    add("module half in", 9, "contact",
         lambda m: setattr(m.joints[_module(m)], "open", True),
         lambda m: any(m.joints[p].open for p in DIMMS if p in m.pieces))  # fmt: skip
    add("memory slot cracked", 7, "mainboard",
         lambda m: m.board.slot_cells.__setitem__(_module(m), 10 ** m.dice.uniform(0, 2.5)),
         lambda m: bool(m.board.slot_cells.keys() & set(DIMMS)))  # fmt: skip
    add("memory controller", 6, "mainboard",
         lambda m: m.board.slot_cells.__setitem__("controller", 10 ** m.dice.uniform(0, 3.2)),
         lambda m: "controller" in m.board.slot_cells)  # fmt: skip


def _add_causes_of_radio() -> None:
    card = "wireless-card"
    add("card: dead", 14, card, put(WLAN, dead=True), held(WLAN, lambda p: p.dead))
    add("card: amplifier gone", 8, card,
         lambda m: setattr(own(m, WLAN), "radio_db", m.dice.uniform(22, 50)),
         held(WLAN, lambda p: p.radio_db > 15))  # fmt: skip
    add("card: starts no more", 8, card, put(WLAN, mute=True), held(WLAN, lambda p: p.mute))
    add("antenna lead off", 15, "antenna-lead contact", lambda m: setattr(m.antenna, "open", True),
         lambda m: m.antenna.open)  # fmt: skip
    add("antenna lead torn", 6, "antenna-lead", lambda m: setattr(m.antenna, "ohms", 9.0),
         lambda m: m.antenna.ohms > 1)  # fmt: skip
    add("card contact oxidised", 10, "contact",
         lambda m: setattr(m.joints[WLAN], "ohms", m.dice.uniform(0.32, 0.7)),
         lambda m: m.joints[WLAN].ohms > 0.2)  # fmt: skip
    add("card slot dead", 6, "mainboard", lambda m: m.board.dead_places.add(WLAN),
         lambda m: WLAN in m.board.dead_places)  # fmt: skip
    add("radio hangs", 6, "hung-controller", lambda m: setattr(m.board, "hung", "wireless"),
         lambda m: m.board.hung == "wireless")  # fmt: skip
    add("radio switched off", 12, "setting",
         lambda m: setattr(m.soft, "radio_off", m.dice.choice(["hard", "soft"])),
         lambda m: bool(m.soft.radio_off))  # fmt: skip


def _add_causes_of_power() -> None:
    add("battery: drops under load", 22, "battery",
         lambda m: setattr(own(m, BAY), "cell_ohms", m.dice.uniform(0.35, 1.2)),
         held(BAY, lambda p: p.cell_ohms > 0.3))  # fmt: skip
    add("battery: dead", 16, "battery", put(BAY, dead=True), held(BAY, lambda p: p.dead))
    add("battery: worn out", 24, "battery", put(BAY, capacity=0.18, cell_ohms=0.24),
         held(BAY, lambda p: p.capacity < 0.3))  # fmt: skip
    add("battery plug not seated", 8, "contact", lambda m: setattr(m.joints[BAY], "open", True),
         lambda m: m.joints[BAY].open)  # fmt: skip
    add("adapter: dead", 24, "adapter", put(JACK, dead=True), held(JACK, lambda p: p.dead))
    add("adapter: lead broken", 14, "adapter",
         lambda m: setattr(own(m, JACK), "lead_break", m.dice.uniform(0.2, 0.8)),
         held(JACK, lambda p: p.lead_break > 0.1))  # fmt: skip
    add("adapter: too weak for this machine", 9, "adapter", put(JACK, watts=30.0),
         held(JACK, lambda p: p.watts < 35), possible=lambda m: m.watts > 20)  # fmt: skip
    add("adapter: breaks down under load", 8, "adapter", put(JACK, adapter_ohms=4.0),
         held(JACK, lambda p: p.adapter_ohms > 2))  # fmt: skip
    add("jack loose", 22, "power-jack",
         lambda m: setattr(m.jack, "loose", m.dice.uniform(0.25, 0.9)),
         lambda m: m.jack.loose > 0.1)  # fmt: skip
    add("jack broken", 12, "power-jack", lambda m: setattr(m.jack, "open", True),
         lambda m: m.jack.open)  # fmt: skip
    add("charging chip", 20, "mainboard", lambda m: setattr(m.board, "charger", 0.0),
         lambda m: m.board.charger == 0.0)  # fmt: skip
    add("charging held off", 9, "setting", _held_off, lambda m: m.soft.charge_stop)
    add("charging hangs", 8, "hung-controller", lambda m: setattr(m.board, "hung", "charge"),
         lambda m: m.board.hung == "charge")  # fmt: skip
    add("button worn", 7, "power-button", lambda m: setattr(m.board, "button_ohms", 5e5),
         lambda m: m.board.button_ohms > 200)  # fmt: skip


def _add_causes_of_heat() -> None:
    add("dust", 46, "cooling",
         lambda m: setattr(own(m, COOLING), "dust", m.dice.uniform(0.6, 0.97)),
         held(COOLING, lambda p: p.dust > 0.55))  # fmt: skip
    add("paste dried", 16, "cooling contact",
         lambda m: setattr(own(m, COOLING), "paste", m.dice.uniform(1.3, 3.0)),
         held(COOLING, lambda p: p.paste > 1.2))  # fmt: skip
    add("fan stands still", 22, "cooling", put(COOLING, dead=True),
         held(COOLING, lambda p: p.dead))  # fmt: skip
    add("fan rubs", 8, "cooling", put(COOLING, rattle=True, fan=0.55),
         held(COOLING, lambda p: p.rattle))  # fmt: skip
    add("heatsink badly screwed on", 9, "cooling contact mainboard",
         lambda m: setattr(m, "mount_gap", m.dice.uniform(1.2, 3.0)),
         lambda m: m.mount_gap > 0.5)  # fmt: skip
    add("fan gets no power", 4, "mainboard", lambda m: setattr(m.board, "fan_drive", 0.0),
         lambda m: m.board.fan_drive == 0.0)  # fmt: skip


def _add_causes_of_board() -> None:
    def board(name: str, rate: float, test: Callable[[Laptop], bool], **figures: object) -> None:
        def do(laptop: Laptop) -> None:
            for key, value in figures.items():
                setattr(laptop.board, key, value)

        add(name, rate, "mainboard", do, test)

    board("rail sags hot", 10, lambda m: m.board.sag > 0, sag=6.0)
    board("joint cracked: opens when moved", 7, lambda m: m.board.crack_flex > 0, crack_flex=0.35)
    board("joint cracked: opens hot", 7, lambda m: m.board.crack_hot > 0, crack_hot=8.0)
    board("rail shorted", 16, lambda m: m.board.short_ohms < 100, short_ohms=3.0)
    board("board dead", 14, lambda m: m.board.dead, dead=True)
    board("processor computes wrong", 4, lambda m: m.board.cpu_wrong > 0, cpu_wrong=12.0)
    board("graphics computes wrong", 8, lambda m: m.board.gpu_wrong > 0, gpu_wrong=40.0)
    board("graphics dead", 9, lambda m: m.board.gpu_dead, gpu_dead=True)
    board("USB controller", 6, lambda m: m.board.usb_resets > 0, usb_resets=20.0)
    add("controller hangs: no start", 16, "hung-controller",
         lambda m: setattr(m.board, "hung", "start"),
         lambda m: m.board.hung == "start")  # fmt: skip
    add("firmware: no start", 9, "firmware",
         lambda m: setattr(m.soft, "firmware_bad", m.dice.choice(["start", "memory"])),
         lambda m: bool(m.soft.firmware_bad))  # fmt: skip
    add("USB socket worn", 12, "usb-port", lambda m: m.usb_worn.add(m.dice.choice(USB)),
         lambda m: bool(m.usb_worn))  # fmt: skip


def _add_causes_of_screen_and_keys() -> None:
    def seen(name: str, rate: float, place: str, fault: str) -> None:
        unit = name.split(":", maxsplit=1)[0]

        def still(piece: Piece) -> bool:
            return fault in piece.faults

        add(name, rate, unit, put(place, faults=frozenset({fault})), held(place, still))

    seen("panel: lines", 14, PANEL, "lines")
    seen("panel: light out", 12, PANEL, "dark")
    add("panel: dead", 9, "panel", put(PANEL, dead=True), held(PANEL, lambda p: p.dead))
    add("panel lead worn at the hinge", 14, "panel-connector",
         lambda m: setattr(m.panel_lead, "loose", m.dice.uniform(0.25, 0.8)),
         lambda m: m.panel_lead.loose > 0.1)  # fmt: skip
    add("panel lead not seated", 9, "contact panel-connector",
         lambda m: setattr(m.panel_lead, "open", True), lambda m: m.panel_lead.open)  # fmt: skip
    add("screen set dark", 4, "setting", lambda m: setattr(m.soft, "dim", True),
         lambda m: m.soft.dim)  # fmt: skip
    seen("keyboard: dead keys", 18, KEYBOARD, "keys")
    seen("touchpad: jumps", 9, TOUCHPAD, "jumps")
    seen("speaker: crackles", 8, SPEAKER, "crackles")
    seen("microphone: deaf", 5, MICROPHONE, "deaf")
    add("camera plug off", 7, "contact", lambda m: setattr(m.joints[CAMERA], "open", True),
         lambda m: m.joints[CAMERA].open)  # fmt: skip
    add("camera: dead", 7, "camera", put(CAMERA, dead=True), held(CAMERA, lambda p: p.dead))
    add("coin cell empty", 7, "coin-cell", put(CELL, dead=True), held(CELL, lambda p: p.dead))
    add("camera switched off", 4, "setting", lambda m: setattr(m.soft, "hidden", "camera"),
         lambda m: bool(m.soft.hidden))  # fmt: skip


def _add_causes_of_the_system() -> None:
    for trouble, rate in (("slow", 88), ("crash", 46), ("wireless", 26), ("picture", 14),
                          ("hot", 18)):  # fmt: skip
        add(f"system: {trouble}", rate, "software",
             lambda m, trouble=trouble: setattr(m.soft, "trouble", trouble),  # type: ignore[misc]
             lambda m: bool(m.soft.trouble))  # fmt: skip


for _write in (
    _add_causes_of_drives, _add_causes_of_memory, _add_causes_of_radio, _add_causes_of_power,
    _add_causes_of_heat, _add_causes_of_board, _add_causes_of_screen_and_keys,
    _add_causes_of_the_system,
):  # fmt: skip
    _write()

NOTHING: Final = 90.0
"""Of a thousand visits, with no fault of the machine: assumed."""
TWO: Final = 0.10
"""Share of the rest with a second cause: assumed."""
