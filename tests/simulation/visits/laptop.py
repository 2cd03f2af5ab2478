"""What a laptop is made of, in figures of physics, and how years of use wear it."""

from __future__ import annotations

import random
from dataclasses import dataclass, field, replace
from typing import Final

LIMIT_C: Final = 100.0
"""Where a processor slows itself down: from memory."""
CRITICAL_C: Final = 106.0
"""Where the machine switches off: from memory."""
ATA: Final = ("ata:0000:00:17.0:1", "ata:0000:00:17.0:2")
NVME: Final = "slot:0000:00:1d.0"
WLAN: Final = "slot:0000:00:1c.0"
DIMMS: Final = ("dimm:DIMM A", "dimm:DIMM B")
JACK: Final = "jack:AC"
BAY: Final = "bay:BAT0"
COOLING: Final = "cooling"
PANEL: Final = "panel:eDP-1"
CAMERA: Final = "usb:1-5"
USB: Final = ("usb:1-1", "usb:1-2")
CELL: Final = "internal:clock-battery"
KEYBOARD: Final = "internal:keyboard"
TOUCHPAD: Final = "internal:touchpad"
SPEAKER: Final = "internal:speaker"
MICROPHONE: Final = "internal:microphone"
BUTTON: Final = "connector:power-button"
TAKES: Final = {
    **dict.fromkeys(ATA, "drive"),
    NVME: "drive",
    WLAN: "wireless-card",
    **dict.fromkeys(DIMMS, "memory-module"),
    JACK: "adapter",
    BAY: "battery",
    COOLING: "cooling",
    PANEL: "panel",
    CAMERA: "camera",
    CELL: "coin-cell",
    KEYBOARD: "keyboard",
    TOUCHPAD: "touchpad",
    SPEAKER: "speaker",
    MICROPHONE: "microphone",
}


@dataclass
class Joint:
    """One thing pressed into another: oxide, and how it holds when the machine is moved."""

    ohms: float = 0.02
    """A good one has 10 to 30 milliohm (from memory)."""
    loose: float = 0.0
    """Share of movements at which it opens."""
    open: bool = False
    """True: it hangs beside its socket, or is half in."""
    worn: bool = False
    """True: the springs are bent, and putting in anew helps for a while only."""

    def reseat(self, dice: random.Random) -> None:
        """The blades scrape some of the oxide off (assumed: half to nearly all)."""
        self.open = False
        if not self.worn:
            self.ohms = 0.02 + (self.ohms - 0.02) * dice.uniform(0.0, 0.4)
            self.loose = 0.0

    def clean(self) -> None:
        """With alcohol and a brush nothing is left."""
        self.ohms, self.open = 0.02, False
        self.loose = self.loose if self.worn else 0.0


@dataclass
class Piece:
    """A part that can be taken out. What does not apply to its kind stays at its default."""

    kind: str
    serial: str
    named: bool = True
    """False: it carries no number that a bus tells."""
    spare: bool = False
    dead: bool = False
    weak_db: float = 0.0
    """What its transmitter or receiver lacks, of a link's margin."""
    pending: int = 0
    """Sectors of a drive that cannot be read."""
    remapped: int = 0
    """Sectors it replaced long ago; nothing is unreadable for it."""
    growth: float = 0.0
    """Of them, more in each hour of reading."""
    stalls: float = 0.0
    """Reads an hour that a drive answers seconds late."""
    slow_zone: bool = False
    crc_past: int = 0
    """Damaged transfers of its whole life."""
    cells: float = 0.0
    """Weak cells of a module that one pass of a test meets, at 40 degrees."""
    hot_cells: float = 0.0
    """How much more of them per 10 K."""
    radio_db: float = 0.0
    """What a radio's own amplifier has lost."""
    mute: bool = False
    """True: its program does not start, or it has locked itself up for good."""
    capacity: float = 1.0
    cell_ohms: float = 0.05
    watts: float = 65.0
    volts: float = 19.5
    adapter_ohms: float = 0.15
    lead_break: float = 0.0
    """Share of movements at which an adapter's lead opens."""
    paste: float = 0.35
    """K/W between chip and heatsink."""
    dust: float = 0.0
    """Share of the fins that is shut."""
    fan: float = 1.0
    """What the fan moves, of what it should."""
    rattle: bool = False
    faults: frozenset[str] = frozenset()
    """What a hand, an eye or an ear notices: keys, lines, dark, crackles, jumps."""


@dataclass
class Board:
    """What stays when every part is swapped."""

    dead: bool = False
    charger: float = 1.0
    """1: charges; 0: does not; between: at some starts."""
    short_ohms: float = 9000.0
    sag: float = 0.0
    """Resets an hour of a weak rail under load at 60 degrees of the board; doubles per 8 K."""
    crack_flex: float = 0.0
    """Share of movements at which a cracked joint opens and the machine stops."""
    crack_hot: float = 0.0
    """Resets an hour above 55 degrees of the board."""
    lanes: dict[str, float] = field(default_factory=dict)
    """Place -> dB of the margin that its lane lacks."""
    lane_hot: dict[str, float] = field(default_factory=dict)
    """Place -> dB more at 25 K above the room."""
    dead_places: set[str] = field(default_factory=set)
    slot_cells: dict[str, float] = field(default_factory=dict)
    """Memory slot or ``controller`` -> wrong words a pass."""
    usb_resets: float = 0.0
    """An hour, of everything on the USB controller."""
    fan_drive: float = 1.0
    cpu_wrong: float = 0.0
    """Wrong results an hour under load at 90 degrees."""
    gpu_wrong: float = 0.0
    gpu_dead: bool = False
    hung: str = ""
    """What a controller that hangs holds: ``start``, ``charge``, ``wireless``."""
    button_ohms: float = 2.0


@dataclass
class Software:
    """What is written: firmware and its settings, and the installed system."""

    firmware_bad: str = ""
    """``start``, ``memory`` or ``sleep``."""
    charge_stop: bool = False
    radio_off: str = ""
    """``hard`` (a switch or a key), ``soft``."""
    hidden: str = ""
    """Kind of a part that the setup has switched off."""
    dim: bool = False
    trouble: str = ""
    """Of the installed system: ``slow``, ``crash``, ``wireless``, ``picture``, ``hot``."""


@dataclass
class Laptop:
    """One machine as it stands on the bench."""

    dice: random.Random
    pieces: dict[str, Piece]
    joints: dict[str, Joint]
    board: Board = field(default_factory=Board)
    soft: Software = field(default_factory=Software)
    antenna: Joint = field(default_factory=Joint)
    panel_lead: Joint = field(default_factory=Joint)
    drive_lead: Joint = field(default_factory=Joint)
    """Of the first bay; the second is plugged straight into the board."""
    jack: Joint = field(default_factory=Joint)
    usb_worn: set[str] = field(default_factory=set)
    mount_gap: float = 0.0
    """K/W more, where the heatsink does not sit flat."""
    room: float = 22.0
    watts: float = 17.0
    """Of the processor under full load."""
    thin: float = 1.6
    """K/W from the heatsink to the room with a new fan."""
    charge: float = 0.6
    years: float = 3.0
    wet: bool = False
    blocked: bool = False
    home: dict[str, str] = field(default_factory=dict)
    """Place -> serial of what it came in with."""
    number: int = 1
    """Of the board; another one has another."""
    spares: int = 0
    shelf: dict[str, Piece] = field(default_factory=dict)
    """What is out of it and not given up, by serial."""

    def fitted(self, place: str) -> Piece | None:
        """What is in a place."""
        return self.pieces.get(place)

    def drive(self) -> str | None:
        """Where the customer's system drive is, or whatever was put in its stead."""
        return next((p for p in (*ATA, NVME) if p in self.pieces), None)


def _aged(dice: random.Random, years: float) -> dict[str, Piece]:
    """Wear by years: rates from memory of what lies on benches, else assumed."""
    used = years * dice.uniform(0.4, 1.6)

    def piece(kind: str, named: bool = True, **figures: object) -> Piece:
        one = Piece(kind, f"{kind[:2].upper()}{dice.randrange(16**6):06X}", named)
        return replace(one, **figures)  # type: ignore[arg-type]

    sata = dice.random() < 0.45
    drive = piece("drive", remapped=dice.randrange(1, 12) if dice.random() < 0.03 * used else 0,
                  crc_past=dice.randrange(1, 40) if dice.random() < 0.1 else 0)  # fmt: skip
    found = {
        (ATA[0] if sata else NVME): drive,
        WLAN: piece("wireless-card", radio_db=dice.uniform(0, 2)),
        DIMMS[0]: piece("memory-module"),
        JACK: piece("adapter", named=False, watts=dice.choice([45.0, 65.0, 65.0, 90.0])),
        BAY: piece("battery", named=dice.random() < 0.8,
                   capacity=max(0.15, 1 - 0.11 * used * dice.uniform(0.5, 1.4)),
                   cell_ohms=0.05 * (1 + 0.22 * used)),
        COOLING: piece("cooling", named=False, paste=0.35 + 0.06 * used * dice.uniform(0, 1.5),
                       dust=min(0.5, 0.05 * used * dice.uniform(0, 1.6)),
                       fan=1 - min(0.2, 0.02 * used)),
        PANEL: piece("panel", named=dice.random() < 0.4),
        CAMERA: piece("camera", named=False),
        CELL: piece("coin-cell", named=False, dead=dice.random() < 0.012 * years),
        KEYBOARD: piece("keyboard", named=False),
        TOUCHPAD: piece("touchpad", named=False),
        SPEAKER: piece("speaker", named=False),
        MICROPHONE: piece("microphone", named=False),
    }  # fmt: skip
    if dice.random() < 0.6:
        found[DIMMS[1]] = piece("memory-module")
    return found


def born(dice: random.Random) -> Laptop:
    """A machine some years old that nothing befell yet."""
    years = min(10.0, dice.gammavariate(3.0, 1.5))
    pieces = _aged(dice, years)
    joints = {place: Joint(0.02 + 0.004 * years * dice.random()) for place in TAKES}
    laptop = Laptop(dice, pieces, joints, years=years)
    laptop.room = dice.gauss(22.0, 2.5)
    laptop.watts = dice.choice([12.0, 15.0, 17.0, 25.0, 35.0])
    # Thin machines reach the chip's own limit when they are new (from memory).
    headroom = dice.uniform(48.0, 76.0) if dice.random() < 0.75 else dice.uniform(72.0, 86.0)
    laptop.thin = max(0.3, headroom / laptop.watts - 0.35)
    laptop.charge = dice.uniform(0.15, 0.95)
    laptop.soft.charge_stop = dice.random() < 0.04
    laptop.home = {place: piece.serial for place, piece in pieces.items()}
    return laptop


def known_good(place: str) -> tuple[Laptop, str]:
    """The shop's own machine, sound and cool, that has such a place; and which place of it."""
    number = 0
    wanted = ATA[0] if place in ATA else place
    while wanted not in (shop := born(random.Random(number))).pieces:
        number += 1
    shop.thin, shop.charge, shop.soft.charge_stop = 0.9, 0.95, False
    shop.pieces[BAY].capacity = 0.9
    return shop, wanted
