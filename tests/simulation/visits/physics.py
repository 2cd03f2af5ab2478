"""How a laptop behaves: power, heat, links, memory and what makes it stop. No record is made here.

Figures of circuits are round ones from memory of the trade; those of margins are assumed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from tests.simulation.visits.laptop import (
    ATA,
    BAY,
    COOLING,
    CRITICAL_C,
    DIMMS,
    JACK,
    LIMIT_C,
    PANEL,
    Laptop,
)  # fmt: skip

MARGIN_DB: Final = 9.0
"""What a new link has to spare: assumed."""
DB_PER_OHM: Final = 25.0
"""What a contact's oxide costs a fast link: assumed."""
DROPS_BELOW: Final = -4.0
"""Margin at which a link does not come up."""


@dataclass(frozen=True)
class Stretch:
    """So many minutes of use."""

    minutes: float
    load: float = 1.0
    moved: float = 0.0
    """Movements of the machine, its plug or its lid."""
    battery: bool = False
    """On battery."""


def processor_c(laptop: Laptop, load: float, minutes: float) -> float:
    """Where the processor would go if it did not slow down."""
    cooler = laptop.fitted(COOLING)
    if cooler is None:
        return 150.0
    flow = max(0.2, 0.0 if cooler.dead else cooler.fan * laptop.board.fan_drive)
    shut = 1 + 1.6 * cooler.dust + (0.7 if laptop.blocked else 0.0)
    sink = laptop.thin * shut / flow
    watts = 3.0 + (laptop.watts - 3.0) * load
    rise = watts * (cooler.paste + laptop.mount_gap) + watts * sink * (1 - math.exp(-minutes / 3))
    return laptop.room + rise


def shown_c(laptop: Laptop, load: float, minutes: float) -> float:
    """Where it stands, slowed down at its limit as far as that helps."""
    free = processor_c(laptop, load, minutes)
    if free <= LIMIT_C:
        return free
    return max(LIMIT_C - 1, processor_c(laptop, load * 0.25, minutes))


def board_c(laptop: Laptop, load: float, minutes: float) -> float:
    """Copper and chips around: slower, and less."""
    hot = min(CRITICAL_C, shown_c(laptop, load, minutes))
    return laptop.room + 6 + 0.5 * (hot - laptop.room) * (1 - math.exp(-minutes / 12))


def system_watts(laptop: Laptop, load: float) -> float:
    """What the whole machine takes."""
    return 6.0 + 3.0 + laptop.watts * 1.25 * load


def adapter_watts(laptop: Laptop, moved: bool = False) -> float:
    """What comes in at the jack; 0: nothing does."""
    adapter = laptop.fitted(JACK)
    if adapter is None or adapter.dead or laptop.jack.open or JACK in laptop.board.dead_places:
        return 0.0
    if moved and laptop.dice.random() < max(adapter.lead_break, laptop.jack.loose):
        return 0.0
    ohms = adapter.adapter_ohms + laptop.jack.ohms
    # The board wants nine tenths of the voltage.
    most = adapter.volts * 0.1 / ohms * adapter.volts * 0.9
    return min(adapter.watts, most)


def battery_carries(laptop: Laptop, watts: float) -> bool:
    """Whether the battery holds three volts a cell at that."""
    pack = laptop.fitted(BAY)
    if pack is None or pack.dead or laptop.joints[BAY].open or BAY in laptop.board.dead_places:
        return False
    if laptop.charge < 0.03:
        return False
    amps = watts / 11.1
    resting = 3.2 + 0.9 * laptop.charge
    return resting - amps * (pack.cell_ohms + laptop.joints[BAY].ohms / 3) > 3.0


def fed(laptop: Laptop, watts: float, moved: bool = False) -> bool:
    """Whether the machine stays on at so many watts."""
    return adapter_watts(laptop, moved) >= watts or battery_carries(laptop, watts)


def margin(laptop: Laptop, place: str, celsius: float) -> float:
    """dB that the link of what is in a place has to spare."""
    piece, board = laptop.fitted(place), laptop.board
    ohms = laptop.joints[place].ohms - 0.02
    if place == ATA[0]:
        ohms += laptop.drive_lead.ohms - 0.02
    hot = board.lane_hot.get(place, 0.0) * max(0.0, celsius - laptop.room - 6) / 25
    own = piece.weak_db if piece is not None else 0.0
    if place == PANEL:
        ohms += laptop.panel_lead.ohms - 0.02
    return MARGIN_DB - own - DB_PER_OHM * ohms - board.lanes.get(place, 0.0) - hot


def damaged(laptop: Laptop, place: str, celsius: float, minutes: float) -> int:
    """Transfers that arrive damaged."""
    rate = 10 ** min(6.0, 2 - margin(laptop, place, celsius))
    return poisson(laptop, rate * minutes / 60)


def answers(laptop: Laptop, place: str) -> bool:
    """Whether what is in the place comes up."""
    piece, board, soft = laptop.fitted(place), laptop.board, laptop.soft
    # A dead panel's chip mostly still says what it is (assumed: two of three).
    gone = piece is None or (piece.dead and not (place == PANEL and int(piece.serial[-1], 36) % 3))
    if piece is None or gone or laptop.joints[place].open or place in board.dead_places:
        return False
    if soft.hidden == piece.kind or (board.hung == "wireless" and piece.kind == "wireless-card"):
        return False
    if place == ATA[0] and laptop.drive_lead.open:
        return False
    return margin(laptop, place, laptop.room) > DROPS_BELOW


def wrong_words(laptop: Laptop, place: str, celsius: float, passes: float) -> int:
    """Words of a module that do not hold."""
    piece = laptop.fitted(place)
    if piece is None or not answers(laptop, place):
        return 0
    own = piece.cells * (1 + piece.hot_cells) ** max(-2.0, (celsius - 40) / 10)
    joint = laptop.joints[place]
    way = max(0.0, joint.ohms - 0.12) * 60 + joint.loose * 3
    board = laptop.board.slot_cells
    shared = board.get("controller", 0.0) / 2
    return poisson(laptop, passes * (own + way + board.get(place, 0.0) + shared))


def memory_bad(laptop: Laptop) -> float:
    """Wrong words a pass, of all modules, warm."""
    return sum(wrong_words(laptop, p, 45.0, 20.0) for p in DIMMS if p in laptop.pieces) / 20


def stays_dark(laptop: Laptop) -> str:
    """Why the machine does not come as far as a picture; empty: it does."""
    board, soft = laptop.board, laptop.soft
    if board.dead:
        return "board"
    if board.short_ohms < 100:
        return "short"
    if board.hung == "start":
        return "hung"
    if not fed(laptop, 8.0):
        return "unfed"
    if board.button_ohms > 200:
        return "button"
    if soft.firmware_bad in ("start", "memory"):
        return "firmware"
    held = [p for p in DIMMS if answers(laptop, p)]
    if not held or any(p in laptop.pieces and p not in held and laptop.pieces[p].dead
                       and laptop.pieces[p].mute for p in DIMMS):  # fmt: skip
        return "memory"
    if board.slot_cells.get("controller", 0.0) > 500:
        return "memory"
    return "graphics" if board.gpu_dead else ""


def alive(laptop: Laptop) -> bool:
    """Whether anything lights up or turns at the press."""
    return stays_dark(laptop) not in ("board", "short", "hung", "unfed", "button")


def own_screen(laptop: Laptop) -> str:
    """``picture``, ``faint`` or ``nothing`` on the machine's own screen, once it starts."""
    panel = laptop.fitted(PANEL)
    if stays_dark(laptop) or panel is None or panel.dead or not answers(laptop, PANEL):
        return "nothing"
    if laptop.panel_lead.open:
        return "nothing"
    return "faint" if "dark" in panel.faults or laptop.soft.dim else "picture"


def stops(laptop: Laptop, use: Stretch) -> str:
    """How it ends before its time: ``hot``, ``supply``, ``cool``, ``panic``, ``hardware``."""
    if processor_c(laptop, use.load * 0.25, use.minutes) >= CRITICAL_C:
        return "hot"
    watts = system_watts(laptop, use.load)
    moves = math.ceil(use.moved)
    adapter = not use.battery and all(adapter_watts(laptop, True) >= 8 for _ in range(moves))
    if adapter and adapter_watts(laptop) >= 8:
        held = adapter_watts(laptop) >= watts or battery_carries(laptop, watts * 0.4)
        # An adapter that is too weak makes most machines slow, and some go off (assumed: a third).
        if not held and laptop.fitted(BAY) is None and laptop.dice.random() < 0.3:
            return "supply"
    elif not battery_carries(laptop, watts):
        return "battery" if use.battery else "supply"
    return _gives_way(laptop, use)


def _gives_way(laptop: Laptop, use: Stretch) -> str:
    board, dice, hours = laptop.board, laptop.dice, use.minutes / 60
    hot = board_c(laptop, use.load, use.minutes)
    rates = {
        "cool": board.sag * 2 ** ((hot - 60) / 8) * hours
        + (board.crack_hot * hours if hot > 55 else 0.0)
        + board.crack_flex * use.moved
        + (0.1 * hours if laptop.wet else 0.0)
        + laptop.joints[BAY].loose * use.moved * (0.6 if use.battery else 0.0),
        "restart": memory_bad(laptop) * 0.15 * hours,
        "panic": memory_bad(laptop) * 0.35 * hours,
        "hardware": board.cpu_wrong * 0.3 * hours * use.load,
    }
    for how, rate in rates.items():
        if dice.random() < 1 - math.exp(-rate):
            return how
    return ""


def poisson(laptop: Laptop, mean: float) -> int:
    """A count; large ones by their normal likeness."""
    if mean > 40:
        return max(0, round(laptop.dice.gauss(mean, math.sqrt(mean))))
    count, left = 0, laptop.dice.expovariate(1.0)
    while left < mean:
        count, left = count + 1, left + laptop.dice.expovariate(1.0)
    return count
