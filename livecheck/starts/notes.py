"""A plan of starts on the shop drive, beside the cases, where the next start finds it at once.

The stick's own script for the shop drive notes each start that mounts it, as long as a plan is
there: the kernel's id of the start, the seconds since it began, the machine's UUID.
"""

from __future__ import annotations

import contextlib
import secrets
from pathlib import Path
from typing import Final

from livecheck import guarded
from livecheck.casefile import atomic
from livecheck.recorder import openings
from livecheck.records import DamagedRecord, Machine, decode, encode
from livecheck.starts.planned import StartsPlan

FOLDER: Final = ".starts"
MOUNTED: Final = "mounted"
"""The script's notes: a line a start (image-build/overlay/usr/lib/livecheck/shop-drive)."""
MOST_BYTES: Final = 1 << 18


def find(cases: Path, machine: Machine) -> tuple[Path, StartsPlan] | None:
    """The plan of this machine, and where it stands; what cannot be read is left alone."""
    for path in guarded.records(cases / FOLDER):
        with contextlib.suppress(DamagedRecord, OSError):
            plan = decode(guarded.read(path), StartsPlan)
            if openings.same(plan.machine, machine):
                return path, plan
    return None


def new(cases: Path, plan: StartsPlan) -> Path:
    """A plan's place, once it is saved; the machine's plan before it is gone. Raises OSError."""
    while (before := find(cases, plan.machine)) is not None:
        atomic.remove(before[0])
    atomic.make_folder(cases / FOLDER)
    path = cases / FOLDER / f"{secrets.token_hex(4)}.json"
    save(path, plan)
    return path


def save(path: Path, plan: StartsPlan) -> None:
    """Raises OSError."""
    atomic.save(path, encode(plan))


def close(cases: Path, path: Path) -> None:
    """The plan is done; the notes of starts go with the last one. Raises OSError."""
    atomic.remove(path)
    if not guarded.records(cases / FOLDER):
        atomic.remove(cases / FOLDER / MOUNTED)


def mounted(cases: Path, machine: Machine) -> tuple[str, ...]:
    """Ids of this machine's starts that mounted the drive, in order."""
    try:
        said = guarded.read(cases / FOLDER / MOUNTED, MOST_BYTES).decode("ascii", "replace")
    except (DamagedRecord, OSError):
        return ()
    uuid = (machine.uuid or "").lower()
    found = []
    for line in said.splitlines():
        boot, _, rest = line.partition(" ")
        if rest.partition(" ")[2].strip().lower() == uuid:
            found.append(boot)
    return tuple(found)
