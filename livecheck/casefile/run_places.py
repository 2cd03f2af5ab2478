"""Where a run stands in its case."""

from __future__ import annotations

import contextlib

import msgspec

from livecheck import guarded
from livecheck.casefile.folder import CaseFolder
from livecheck.records import DamagedRecord, Inventory, Run, decode


def stands(run: Run, folder: CaseFolder) -> int | None:
    """The number under which this very run is in the case, as after a save that was cut off.

    What its places are called is the shop's, not the run's. One that was taken out stays out.
    """
    unplaced = msgspec.structs.replace(run, number=0, inventory=Inventory())
    for number in folder.run_numbers():
        with contextlib.suppress(OSError, DamagedRecord):
            saved = decode(guarded.read(folder.run_file(number)), Run)
            if msgspec.structs.replace(saved, number=0, inventory=Inventory()) == unplaced:
                return number
    return None


def has_place(run: Run, folder: CaseFolder) -> bool:
    """Whether an earlier, unfinished state of this very run stands under its number."""
    try:
        saved = decode(guarded.read(folder.run_file(run.number)), Run)
    except (OSError, DamagedRecord):
        return False
    return saved.started == run.started and not saved.finished
