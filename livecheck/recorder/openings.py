"""Which records are open: a small note beside the cases for each, taken away at a proper end.

Whoever starts next on the same machine finds the note, and by it the record. The notes'
folder stays once made: taken away and made anew at every run, it would be given another
cluster of the FAT each time, and a cut could leave its name without one, the note lost.
"""

from __future__ import annotations

import contextlib
import re
from pathlib import Path
from typing import Final

import msgspec

from livecheck import guarded
from livecheck.casefile import atomic
from livecheck.recorder import lines
from livecheck.recorder.lines import Recorded
from livecheck.records import DamagedRecord, Machine, Record, decode, encode
from livecheck.topology.identity import board_names

FOLDER: Final = ".recorder"
_PLACE: Final = re.compile(
    rf"{re.escape(FOLDER)}/[^/.\x00][^/\x00]*|[^/.\x00][^/\x00]*/runs/[0-9]{{4,9}}"
)
"""Below the folder of cases: a record's own, or a run's."""


class Opening(Record, frozen=True, kw_only=True):
    """The note of one open record."""

    boot: str
    machine: Machine
    folders: tuple[str, ...]
    """Where the record is or may be, below the folder of cases, newest last."""


class Found(msgspec.Struct, frozen=True):
    """An open record of this machine, read."""

    note: Path
    folder: Path
    recorded: Recorded


def note(cases: Path, stem: str) -> Path:
    """Where the note of a record stands."""
    return cases / FOLDER / f"{stem}.json"


def write(path: Path, opening: Opening) -> None:
    """Save a note. Raises OSError."""
    atomic.save(path, encode(opening))


def close(path: Path) -> None:
    """The record is judged, or ended in order. Raises OSError."""
    atomic.remove(path)


def close_of(cases: Path, run: Path) -> None:
    """The record in this run's folder ended with its run, though its drive was away by then."""
    for path in guarded.records(cases / FOLDER):
        with contextlib.suppress(DamagedRecord, OSError):
            if str(run.relative_to(cases)) in decode(guarded.read(path), Opening).folders:
                close(path)


def find(cases: Path, machine: Machine, boot: str) -> list[Found]:
    """Open records of this machine from earlier starts, oldest first.

    A note of this same start is of a program that ended, not of a machine: it is left, and
    taken away once the machine was started anew. So is one whose record ended with its run.
    Notes of other machines, and what cannot be read, are left alone.
    """
    found = []
    for path in guarded.records(cases / FOLDER):
        try:
            opening = decode(guarded.read(path), Opening)
        except (DamagedRecord, OSError):
            continue
        if opening.boot == boot or not same(opening.machine, machine):
            continue
        record = _newest(cases, opening)
        if record is not None and _ended_oddly(record[1]):
            found.append(Found(path, *record))
        else:
            with contextlib.suppress(OSError):
                close(path)
    return found


def at_step(cases: Path, boot: str, step: str) -> bool:
    """Whether the last line on the drive of a record that is open in this start is of that step."""
    for path in guarded.records(cases / FOLDER):
        with contextlib.suppress(DamagedRecord, OSError):
            opening = decode(guarded.read(path), Opening)
            found = _newest(cases, opening) if opening.boot == boot else None
            if found is not None and [one.step for one in found[1].samples][-1:] == [step]:
                return True
    return False


def _newest(cases: Path, opening: Opening) -> tuple[Path, Recorded] | None:
    for name in reversed(opening.folders):
        if not _is_ours(name):
            continue
        recorded = read(cases / name)
        if recorded is not None:
            return cases / name, recorded
    return None


def _is_ours(name: str) -> bool:
    """Whether a note's folder is one this program gives: no note leads anywhere else."""
    return _PLACE.fullmatch(name) is not None


def _ended_oddly(recorded: Recorded) -> bool:
    return recorded.closing is None or recorded.closing.how == "asked"


def read(folder: Path) -> Recorded | None:
    """The record in a folder; None when there is none or its header is not whole."""
    segments = []
    for name in (lines.OLDER, lines.FILE):
        with contextlib.suppress(OSError, DamagedRecord):
            segments.append(guarded.read(folder / name))
    return lines.parse(*segments)


def same(one: Machine, other: Machine) -> bool:
    """Whether two starts were of one board: by what it believably says of itself.

    Where one of them says nothing of itself (or was asked without root's rights), the same
    model on this bench is taken for the same machine.
    """
    names, others = board_names(one), board_names(other)
    if names and others:
        return bool(names & others)
    return (one.product, one.board_product) == (other.product, other.board_product)
