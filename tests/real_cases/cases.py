"""The case files, as records."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any, Final

import msgspec

from livecheck.records import Complaint

HERE: Final = Path(__file__).parent
SECOND: Final = HERE / "second"
"""Cases written down before the program had read any of them; scored apart."""
THIRD: Final = HERE / "third"
"""More of these, by whoever keeps the project, from threads none of the others has."""
FOURTH: Final = HERE / "fourth"
"""And more: subjects the others have few of, a third of them sound machines."""
FIFTH: Final = HERE / "fifth"
"""And more: radios, boards of ARM, guests and kernels that the others do not have."""
SIXTH: Final = HERE / "sixth"
"""A few more, written once the fifth had taught what it could."""
SEVENTH: Final = HERE / "seventh"
"""And a few after the sixth."""
EIGHTH: Final = HERE / "eighth"
"""And more: radios and graphics of newer kernels, sleep, boards of ARM, a few sound ones."""
NINTH: Final = HERE / "ninth"
"""And more: card readers, touchpads, sound and Wi-Fi, a third of them sound machines."""
TENTH: Final = HERE / "tenth"
"""And more, of which most tell what helped: settings, systems, firmware, another socket."""
ELEVENTH: Final = HERE / "eleventh"
"""And a few more, after the unknown lines of drivers had been worked on."""
TWELFTH: Final = HERE / "twelfth"
"""And more, of every layer: sleep, modems, sound, firmware's records, cards, sound machines."""
THIRTEENTH: Final = HERE / "thirteenth"
"""And a few more, once the twelfth and three lists drawn by lot had taught what they could."""
LATER: Final = (
    *(SECOND, THIRD, FOURTH, FIFTH, SIXTH, SEVENTH, EIGHTH, NINTH, TENTH, ELEVENTH),
    TWELFTH,
    THIRTEENTH,
)
PRIORITY: Final = 3
"""Of lines whose priority the thread does not show: the kernel's for an error."""

_EXPECTED: Final = re.compile(r"(?P<old>old:)?(?P<layers>[a-z_/ ]+)(?P<mark>[~?]?)$")
_STAMP: Final = re.compile(r"\[\s*(\d+\.\d+)\] ?")


class ExpectedLine(msgspec.Struct, frozen=True, kw_only=True):
    """One line of a log and what its meaning is."""

    text: str
    seconds: float
    priority: int
    layers: frozenset[str]
    serious: bool | None
    """None: it may be counted or not."""
    place: str | None
    """A place (``ata1``, ``usb:3-1``), or a kind of component; None: nowhere."""
    old: bool = False


class CaseRun(msgspec.Struct, frozen=True, kw_only=True):
    """What one run of the case shows."""

    lines: tuple[ExpectedLine, ...]
    machine: dict[str, Any]
    answers: tuple[tuple[str, str], ...] = ()
    reseated: tuple[str, ...] = ()
    readings: tuple[tuple[str, str, bool], ...] = ()
    """Check, component, passed: what no kernel line and no file of sysfs shows."""
    repaired: bool = False


class RealCase(msgspec.Struct, frozen=True, kw_only=True):
    """One thread."""

    name: str
    address: str
    about: str
    told: str
    complaint: Complaint
    sides: frozenset[str]
    """What an honest verdict may be."""
    sound: bool
    """True: the log alarms, and nothing was wrong with the machine."""
    told_fault: bool
    cure: str
    runs: tuple[CaseRun, ...]


def load(folder: Path = HERE) -> tuple[RealCase, ...]:
    """Every case of one set, in the order of the files."""
    storage = [_storage(path) for path in sorted((folder / "storage").glob("*.toml"))]
    return (*storage, *(_other(path) for path in sorted((folder / "other").glob("*.toml"))))


def _storage(path: Path) -> RealCase:
    raw = tomllib.loads(path.read_text("utf-8"))
    return RealCase(
        name=f"storage/{path.stem}",
        address=raw["address"],
        about=raw["about"],
        told=raw["told"],
        complaint=Complaint(raw["complaint"]),
        sides=frozenset(raw["expect"]),
        sound=raw.get("alarming", False),
        told_fault=True,
        cure=raw["cure"],
        runs=tuple(_storage_run(run, raw["machine"]) for run in raw["run"]),
    )


def _storage_run(run: dict[str, Any], machine: dict[str, Any]) -> CaseRun:
    lines, seconds = [], 1.0
    for line in filter(str.strip, run["lines"].splitlines()):
        line_read = _storage_line(line, seconds)
        seconds = line_read.seconds
        lines.append(line_read)
    return CaseRun(
        lines=tuple(lines),
        machine=run.get("machine", machine),
        answers=tuple((answer["about"], answer["says"]) for answer in run.get("answers", ())),
        reseated=tuple(run.get("reseated", ())),
        repaired="repaired" in run,
    )


def _storage_line(line: str, seconds: float) -> ExpectedLine:
    """A line without a time of its own is of the same moment as the one before."""
    expected, _, text = line.partition(" | ")
    stamp = _STAMP.match(text)
    word, place = expected.split()
    match = _EXPECTED.fullmatch(word)
    assert match is not None, line
    return ExpectedLine(
        text=text[stamp.end() :] if stamp else text,
        seconds=float(stamp[1]) if stamp else seconds,
        priority=PRIORITY,
        layers=frozenset(match["layers"].replace("_", " ").split("/")),
        serious={"~": False, "?": None, "": True}[match["mark"]],
        place=None if place == "-" else place,
        old=match["old"] is not None,
    )


def _other(path: Path) -> RealCase:
    raw = tomllib.loads(path.read_text("utf-8"))
    keys = ("wlan", "bluetooth", "dgpu", "battery", "edac")
    machine = {key: raw[key] for key in keys if key in raw}
    lines = tuple(_other_line(line, raw) for line in raw["lines"])
    told = (("complaint", "only in the installed system"),) if "answer" in raw else ()
    readings = tuple((check, at, passed) for check, at, passed in raw.get("readings", ()))
    runs = [CaseRun(lines=lines, machine=machine, answers=told, readings=readings)]
    for later in raw.get("later", ()):
        own = {key: {**machine.get(key, {}), **later[key]} for key in keys if key in later}
        runs.append(
            CaseRun(
                lines=lines if later.get("same_lines") else (),
                machine={**machine, **own},
                readings=readings,
            )
        )
    return RealCase(
        name=f"other/{path.stem}",
        address=raw["url"],
        about=raw["title"],
        told=raw["told"],
        complaint=Complaint(raw["complaint"]),
        sides=frozenset((*raw["ok"], *raw.get("ok_weak", ()))),
        sound=raw["sound"],
        told_fault=raw["outcome_told"] and not raw["sound"],
        cure=raw.get("cure", ""),
        runs=tuple(runs),
    )


def _other_line(line: str, raw: dict[str, Any]) -> ExpectedLine:
    seconds, priority, layer, place, text = line.split("|", 4)
    for old, new in raw.get("rename", ()):
        text = text.replace(old, new)
    return ExpectedLine(
        text=text,
        seconds=float(seconds),
        priority=int(priority),
        layers=frozenset(layer.split("/")),
        serious=False if layer == "noise" else None,
        place=place,
        old=raw["old_wording"],
    )
