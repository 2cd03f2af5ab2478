"""What the customer meets in a fortnight's use, and how it is told at the counter."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Final

from livecheck.records import ToldLine
from tests.simulation.visits.frame import listed
from tests.simulation.visits.laptop import (
    ATA,
    BAY,
    CAMERA,
    CELL,
    DIMMS,
    KEYBOARD,
    LIMIT_C,
    MICROPHONE,
    NVME,
    PANEL,
    SPEAKER,
    TOUCHPAD,
    WLAN,
    Laptop,
)  # fmt: skip
from tests.simulation.visits.physics import (
    Stretch,
    adapter_watts,
    answers,
    margin,
    own_screen,
    processor_c,
    stays_dark,
    stops,
    system_watts,
)  # fmt: skip

MIXED_UP: Final = 0.06
"""Share of customers who name another trouble than they have: assumed."""
NEIGHBOURS: Final = {
    "switches-off": ("unstable", "no-power"),
    "unstable": ("switches-off", "slow"),
    "slow": ("unstable", "intake"),
    "no-power": ("no-picture", "not-charging"),
    "no-picture": ("no-power", "wrong-picture"),
    "wrong-picture": ("no-picture", "unstable"),
    "not-charging": ("switches-off", "no-power"),
    "part-missing": ("intake", "unstable"),
    "intake": ("slow", "unstable"),
}


@dataclass
class Telling:
    """What stands on the intake sheet."""

    complaint: str
    missing: str = ""
    when: str = ""
    after: str = ""
    often: str = ""
    inside: bool = False
    """True: what is complained of is of the installed system alone."""

    def lines(self) -> tuple[ToldLine, ...]:
        """As the program keeps them."""
        rows = {"missing": self.missing, "when": self.when, "after": self.after,
                "often": self.often}  # fmt: skip
        return tuple(ToldLine(about=row, words=words) for row, words in rows.items() if words)


def met(laptop: Laptop) -> Counter[str]:
    """Troubles of a fortnight, each with how much it weighs for who has them."""
    dark = stays_dark(laptop)
    if dark:
        return Counter({"no-picture" if dark in ("memory", "graphics", "firmware") else
                        "no-power": 100})  # fmt: skip
    found: Counter[str] = Counter()
    screen = own_screen(laptop)
    if screen != "picture":
        found["no-picture"] = 90
    panel = laptop.fitted(PANEL)
    if panel is not None and ("lines" in panel.faults or laptop.panel_lead.loose > 0.1):
        found["wrong-picture"] = 40
    if laptop.board.gpu_wrong or laptop.soft.trouble == "picture":
        found["wrong-picture"] += 35
    found += _missing(laptop)
    found += _power(laptop)
    found += _ends(laptop)
    found += _slow(laptop)
    if CELL in laptop.pieces and laptop.pieces[CELL].dead:
        found["intake"] += 8
    return found


def _missing(laptop: Laptop) -> Counter[str]:
    found: Counter[str] = Counter()
    card = laptop.pieces.get(WLAN)
    silent = card is not None and (not listed(laptop, WLAN) or card.mute or card.radio_db > 15
                                   or margin(laptop, WLAN, 40) < 0)  # fmt: skip
    if silent or laptop.antenna.open or laptop.antenna.ohms > 1 or laptop.soft.radio_off:
        found["missing wireless"] = 40
    if laptop.soft.trouble == "wireless":
        found["missing wireless"] = 40
    if any(p in laptop.home and not answers(laptop, p) for p in (*ATA, NVME)):
        found["missing drive"] = 95
    for place, kind, fault in ((KEYBOARD, "keyboard", "keys"), (TOUCHPAD, "touchpad", "jumps"),
                               (SPEAKER, "sound", "crackles"),
                               (MICROPHONE, "microphone", "deaf")):  # fmt: skip
        piece = laptop.fitted(place)
        if piece is not None and fault in piece.faults:
            found[f"missing {kind}"] = 30
    if not answers(laptop, CAMERA):
        found["missing camera"] = 25
    if laptop.usb_worn or laptop.board.usb_resets:
        found["missing USB"] = 25
    return found


def _power(laptop: Laptop) -> Counter[str]:
    found: Counter[str] = Counter()
    pack, comes = laptop.fitted(BAY), adapter_watts(laptop)
    held = laptop.board.charger < 0.5 or laptop.board.hung == "charge"
    if comes < 15 or held or (laptop.soft.charge_stop and laptop.charge < 0.7):
        found["not-charging"] = 45
    if pack is None or pack.dead or laptop.joints[BAY].open:
        found["not-charging"] = 45
    elif pack.capacity < 0.3:
        found["not-charging"] = 20
    if laptop.jack.loose > 0.3 or laptop.pieces["jack:AC"].lead_break > 0.3:
        found["not-charging"] += 20
    if 8 <= comes < system_watts(laptop, 1.0) * 0.75:
        found["slow"] = 25
        found["not-charging"] += 15
    return found


def _ends(laptop: Laptop) -> Counter[str]:
    """Two weeks: long and short stretches, warm laps, moved about, some on battery."""
    found: Counter[str] = Counter()
    for day in range(28):
        use = Stretch(minutes=(20.0, 60.0, 150.0)[day % 3], load=(0.3, 0.6, 1.0)[day % 3],
                      moved=day % 4 * 1.0, battery=day % 7 == 3)  # fmt: skip
        before, laptop.charge = laptop.charge, max(0.5, laptop.charge)
        how = stops(laptop, use)
        laptop.charge = before
        if how:
            off = how in ("hot", "supply", "battery", "cool")
            found["switches-off" if off else "unstable"] += 9
    if laptop.soft.trouble == "crash":
        found["unstable"] += 50
    if laptop.board.usb_resets:
        found["unstable"] += 10
    return found


def _slow(laptop: Laptop) -> Counter[str]:
    found: Counter[str] = Counter()
    over = processor_c(laptop, 0.7, 30) - LIMIT_C
    if over > 0 or laptop.soft.trouble == "hot":
        found["slow"] += 12 + round(min(40.0, max(0.0, over)))
    place = laptop.drive()
    if place is not None and answers(laptop, place):
        drive = laptop.pieces[place]
        if drive.pending >= 8 or drive.stalls > 5:
            found["slow"] += 50
        if margin(laptop, place, 45) < 0:
            found["unstable"] += 35
            found["slow"] += 25
    if laptop.soft.trouble == "slow":
        found["slow"] += 60
    if any(p in laptop.home and not answers(laptop, p) for p in DIMMS):
        found["slow"] += 30
    return found


def told(laptop: Laptop, after: str) -> Telling:
    """The weightiest trouble in the customer's words."""
    dice = laptop.dice
    found = met(laptop)
    if not found:
        # Something is always told: a wish, a fright, or what went by itself.
        word = dice.choice(["slow", "unstable", "intake", "switches-off", "intake", "not-charging"])
        return Telling(word, after=after, often=dice.choice(["rarely", "once", ""]))
    worst = found.most_common(1)[0][0]
    missing = worst.removeprefix("missing ") if worst.startswith("missing ") else ""
    word = "part-missing" if missing else worst
    system = laptop.soft.trouble
    own = {"slow": "slow", "hot": "slow", "crash": "unstable", "wireless": "part-missing",
           "picture": "wrong-picture"}.get(system)  # fmt: skip
    telling = Telling(word, after=after, inside=own == word)
    telling.missing = missing if dice.random() < 0.95 else ""
    if dice.random() < MIXED_UP:
        telling.complaint = dice.choice(NEIGHBOURS[word])
    telling.when = _when(laptop) if dice.random() < 0.6 else ""
    telling.often = dice.choice(["always", "several times a day", "once a day", ""])
    if found[worst] <= 18 and not missing:
        telling.often = dice.choice(["once a day", "rarely"])
    return telling


def _when(laptop: Laptop) -> str:
    board, pieces = laptop.board, laptop.pieces
    pack = pieces.get(BAY)
    if laptop.panel_lead.loose > 0.1:
        return "at some lid angles"
    if board.crack_flex or laptop.jack.loose > 0.1 or pieces["jack:AC"].lead_break > 0.1:
        return "when it is moved"
    if pack is not None and pack.cell_ohms > 0.3 and laptop.dice.random() < 0.8:
        return "on battery"
    if board.sag or board.crack_hot or board.lane_hot or board.gpu_wrong:
        return laptop.dice.choice(["after some minutes", "under load"])
    if processor_c(laptop, 1.0, 30) > LIMIT_C + 15:
        return laptop.dice.choice(["after some minutes", "under load", ""])
    return ""
