"""What meter, eye, ear and hand find: the worksheet's questions, and checks by hand."""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import Final

from livecheck import knowledge
from livecheck.diagnosis import worksheet
from livecheck.diagnosis.worksheet_table import Label
from livecheck.records import Outcome, Reading
from tests.simulation.visits.frame import listed, part_id
from tests.simulation.visits.laptop import (
    ATA,
    CAMERA,
    CELL,
    JACK,
    KEYBOARD,
    MICROPHONE,
    NVME,
    PANEL,
    SPEAKER,
    TOUCHPAD,
    USB,
    Laptop,
)  # fmt: skip
from tests.simulation.visits.physics import (
    alive,
    answers,
    memory_bad,
    own_screen,
    stays_dark,
)  # fmt: skip

SHEET: Final = knowledge.worksheet()
NOISE: Final = 0.02
"""Share by which a meter of a bench reads high or low: from memory."""


def _volts(laptop: Laptop, amps: float) -> float:
    adapter = laptop.fitted(JACK)
    if adapter is None or adapter.dead:
        return 0.1
    return max(0.1, adapter.volts - amps * adapter.adapter_ohms) * laptop.dice.gauss(1, NOISE / 2)


def _caught(laptop: Laptop, share: float, tries: int) -> bool:
    """Whether something that opens at a share of movements opens while it is looked for."""
    return laptop.dice.random() < 1 - (1 - share) ** tries


def _flex(laptop: Laptop) -> float:
    adapter = laptop.fitted(JACK)
    opens = adapter is not None and _caught(laptop, adapter.lead_break, 3)
    return 0.2 if opens else _volts(laptop, 1.7)


def _jack_ohms(laptop: Laptop) -> float:
    opens = laptop.jack.open or _caught(laptop, laptop.jack.loose, 2)
    return 2e6 if opens else 0.2 + laptop.jack.ohms + abs(laptop.dice.gauss(0, 0.1))


def _without_battery(laptop: Laptop) -> str:
    """Its button held half a minute: what hangs lets go most times (assumed)."""
    dark = stays_dark(laptop)
    if laptop.board.hung == "start" and laptop.dice.random() < 0.75:
        laptop.board.hung = ""
    return "better" if dark and not stays_dark(laptop) else "same"


def _current(laptop: Laptop) -> float:
    dark = stays_dark(laptop)
    if laptop.jack.open or dark in ("board", "hung", "button"):
        return abs(laptop.dice.gauss(0.005, 0.004))
    return 3.4 if dark == "short" else laptop.dice.uniform(0.4, 1.3)


def _own(laptop: Laptop) -> str:
    return {"picture": "picture", "faint": "faint"}.get(own_screen(laptop), "nothing")


def _lid(laptop: Laptop) -> str:
    return "comes and goes" if _caught(laptop, laptop.panel_lead.loose, 4) else "stays as it is"


def _code(laptop: Laptop) -> str:
    dark = stays_dark(laptop)
    if dark == "memory" and laptop.dice.random() < 0.6:
        return "memory"
    return "graphics" if dark == "graphics" and laptop.dice.random() < 0.4 else "none"


def _lamp(laptop: Laptop) -> str:
    adapter = laptop.fitted(JACK)
    if adapter is None or adapter.dead:
        return "dark in the air too"
    return "goes out when it is plugged in" if laptop.board.short_ohms < 20 else "stays lit"


ASKED: Final[dict[str, Callable[[Laptop], float | str]]] = {
    "adapter-lamp": _lamp,
    "adapter-open-voltage": lambda m: _volts(m, 0.0),
    "adapter-loaded-voltage": lambda m: _volts(m, 1.7),
    "adapter-flex-voltage": _flex,
    "jack-loose": lambda m: "loose" if _caught(m, 0.03 + 0.9 * m.jack.loose, 1) else "firm",
    "jack-resistance": _jack_ohms,
    "signs-of-life": lambda m: "yes" if alive(m) else "no",
    "starts-without-battery": _without_battery,
    "button": lambda m: m.board.button_ohms * m.dice.gauss(1, NOISE),
    "rail-resistance": lambda m: m.board.short_ohms * m.dice.gauss(1, NOISE),
    "current-at-press": _current,
    "external-screen": lambda m: "dark" if stays_dark(m) else "picture",
    "own-screen": _own,
    "lid-picture": _lid,
    "start-code": _code,
    "coin-cell-voltage": lambda m: 1.4 if m.pieces[CELL].dead else m.dice.gauss(2.95, 0.08),
}
"""Step of the worksheet -> what is found."""


def worksheet_readings(laptop: Laptop, wanted: Collection[str]) -> tuple[Reading, ...]:
    """The worksheet's readings of the wanted checks, as the program judges what was found."""
    steps = [s for s in SHEET.step if s.name in ASKED
             and any(judge.check in wanted for judge in s.judge)]  # fmt: skip
    found = {step.name: ASKED[step.name](laptop) for step in steps}
    adapter = laptop.fitted(JACK)
    label = Label(volts=19.5, amps=round((adapter.watts if adapter else 65) / 19.5, 2),
                  supply="barrel")  # fmt: skip
    if "adapter-flex-voltage" in found and "adapter-loaded-voltage" not in found:
        found["adapter-loaded-voltage"] = _volts(laptop, 1.7)
    return worksheet.judge(found, label, SHEET)


def all_of(complaint: str) -> tuple[str, ...]:
    """Checks of the worksheet of a complaint, in its order."""
    steps = (s for s in SHEET.step if complaint in s.complaints and s.name in ASKED)
    return tuple(judge.check for step in steps for judge in step.judge)


def _usb(laptop: Laptop, place: str) -> bool:
    loses = laptop.board.usb_resets > 0 and laptop.dice.random() < 0.6
    return place in laptop.usb_worn or place in laptop.board.dead_places or loses


def _has(place: str, fault: str) -> Callable[[Laptop], bool]:
    return lambda m: not answers(m, place) or fault in m.pieces[place].faults


def _starts(laptop: Laptop) -> bool:
    loose = memory_bad(laptop) > 30 and laptop.dice.random() < 0.4
    return bool(stays_dark(laptop)) or loose


BY_HAND: Final[dict[str, tuple[str, Callable[[Laptop], bool]]]] = {
    "guided.display": (PANEL, _has(PANEL, "lines")),
    "guided.backlight": (PANEL, _has(PANEL, "dark")),
    "bench.backlight": (PANEL, _has(PANEL, "dark")),
    "bench.outside-picture": (PANEL, lambda m: m.board.gpu_wrong > 0 and m.dice.random() < 0.85),
    "bench.lid-picture": (PANEL, lambda m: _caught(m, m.panel_lead.loose, 4)),
    "guided.hinge": (PANEL, lambda m: _caught(m, m.panel_lead.loose, 4)),
    "guided.keyboard": (KEYBOARD, _has(KEYBOARD, "keys")),
    "guided.touchpad": (TOUCHPAD, _has(TOUCHPAD, "jumps")),
    "guided.sound-output": (SPEAKER, _has(SPEAKER, "crackles")),
    "guided.sound-input": (MICROPHONE, _has(MICROPHONE, "deaf")),
    "guided.camera": (CAMERA, lambda m: not answers(m, CAMERA)),
    "guided.clock": (CELL, lambda m: m.pieces[CELL].dead),
    "power.flex-losses": (
        JACK, lambda m: _caught(m, max(m.jack.loose, m.pieces[JACK].lead_break), 4)
    ),
    "storage.self-test": (
        "drive", lambda m: any(m.pieces[p].pending > 8 for p in (*ATA, NVME) if p in m.pieces)
    ),
    "starts.cold": ("machine", _starts),
    "starts.warm": ("machine", _starts),
    "sleep.wakes": ("machine", lambda m: m.soft.firmware_bad == "sleep"),
}  # fmt: skip
"""Check by hand -> where it is made, and whether it fails."""


def by_hand(laptop: Laptop, check: str, target: str | None) -> list[Reading]:
    """A check by hand; nothing where it cannot be made on this machine."""
    if check == "guided.usb-port":
        sockets = [p for p in USB if target in (None, p)] or list(USB)
        return [_read(check, place, _usb(laptop, place)) for place in sockets]
    if check not in BY_HAND:
        return []
    place, bad = BY_HAND[check]
    place = laptop.drive() or "" if place == "drive" else place
    if place == "machine":
        return [_read(check, place, bad(laptop))]
    at = part_id(laptop, place) if place in laptop.pieces else None
    if at is None or not (listed(laptop, place) or check == "guided.camera"):
        return []
    # A hand takes a sound thing for a bad one now and then (assumed).
    wrong = laptop.dice.random() < 0.01
    return [_read(check, at, bad(laptop) != wrong)]


def _read(check: str, at: str, bad: bool) -> Reading:
    return Reading(check=check, at=at, outcome=Outcome.FAILED if bad else Outcome.PASSED,
                   source="by hand")  # fmt: skip
