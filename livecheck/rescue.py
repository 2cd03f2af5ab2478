"""Copying a failing drive first of all: the exact commands, for hands to type. Pure.

Nothing here is run by livecheck. Source and target are checked against what stands on the bench:
a copy the wrong way round is the end of the data. The map that says what was copied lies in the
case, so that a copy that was broken off goes on where it stopped. Options: the manual of GNU
ddrescue 1.27; a test runs them on files.
"""

from __future__ import annotations

import shlex
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Final

from livecheck.records import Inventory, Knowledge, Outcome, Part, Run
from livecheck.records.tables import MEDIUM
from livecheck.wording import text

TOOL: Final = "ddrescue"
MAP: Final = "rescue.map"
RETRIES: Final = "3"


class NoSafeCopy(Exception):
    """No copy that would be safe; says why, and what to try."""


def failing(runs: Sequence[Run], tables: Knowledge) -> tuple[str, ...]:
    """Ids of the parts that failed to give back what was written, the newest run first."""
    own = sorted((r for r in runs if not r.in_known_good_machine), key=lambda r: -r.number)
    found = (
        reading.at
        for run in own
        for reading in run.readings
        if reading.outcome is Outcome.FAILED
        and (check := tables.checks.get(reading.check)) is not None
        and check.symptom_group == MEDIUM
    )
    return tuple(dict.fromkeys(found))


def source(inventory: Inventory, wanted: Sequence[str]) -> Part:
    """The drive to copy, as it stands on the bench now. Raises NoSafeCopy."""
    there = [part for part in inventory.parts if part.id in wanted and part.block]
    if len(there) == 1:
        return there[0]
    if not wanted:
        raise NoSafeCopy(text("rescue.none-fails"))
    listed = ", ".join(part.block or "" for part in there)
    raise NoSafeCopy(text("rescue.several", drives=listed) if there else text("rescue.gone"))


def target(inventory: Inventory, named: str, own: Iterable[str], mounted: Iterable[str]) -> Part:
    """The drive to copy onto. Raises NoSafeCopy.

    ``own``: identities of the machine's parts; ``mounted``: devices in use.
    """
    name = Path(named).name
    part = next((p for p in inventory.parts if p.block == name), None)
    if part is None:
        drives = [p.block for p in inventory.parts if p.block]
        raise NoSafeCopy(text("rescue.no-drive", named=named, drives=", ".join(drives) or "none"))
    place = next((p for p in inventory.places if p.id == part.place), None)
    outside = place is not None and (place.external or place.kind == "usb-port")
    if part.bench_own:
        raise NoSafeCopy(text("rescue.bench", named=name))
    if not outside or (part.identity is not None and part.identity in set(own)):
        raise NoSafeCopy(text("rescue.customers", named=name))
    if any(Path(device).name.startswith(name) for device in mounted):
        raise NoSafeCopy(text("rescue.mounted", named=name))
    return part


def commands(copied: Part, onto: Part, case: Path) -> tuple[tuple[str, ...], ...]:
    """What to type, in this order. Raises NoSafeCopy."""
    if copied.block == onto.block:
        raise NoSafeCopy(text("rescue.same"))
    if copied.size_bytes is None or onto.size_bytes is None:
        raise NoSafeCopy(text("rescue.no-size"))
    if onto.size_bytes < copied.size_bytes:
        raise NoSafeCopy(text("rescue.small", named=onto.block))
    there, here, kept = f"/dev/{onto.block}", f"/dev/{copied.block}", str(case / MAP)
    return (
        ("blockdev", "--setrw", there),
        (TOOL, "--force", "--no-scrape", here, there, kept),
        (TOOL, "--force", "--idirect", f"--retry-passes={RETRIES}", here, there, kept),
    )


def told(copied: Part, onto: Part, case: Path) -> list[str]:
    """The commands with what each does, and what to look at before. Raises NoSafeCopy."""
    setrw, first, again = (shlex.join(words) for words in commands(copied, onto, case))
    return [
        text("rescue.from", drive=_called(copied)),
        text("rescue.onto", drive=_called(onto)),
        text("rescue.overwrites"),
        text("rescue.setrw"), f"  {setrw}",
        text("rescue.first"), f"  {first}",
        text("rescue.again"), f"  {again}",
        text("rescue.goes-on", map=str(case / MAP)),
    ]  # fmt: skip


def _called(part: Part) -> str:
    words = (f"/dev/{part.block}", part.model or part.name, part.serial)
    return ", ".join(word for word in words if word)
