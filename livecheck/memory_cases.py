"""Cases that were kept in memory while no shop drive was there, and the way onto it.

Without a shop drive a system started from a stick keeps cases in a folder in memory. Once a
drive is there, each of their runs becomes a run of its case on that drive.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

import msgspec

from livecheck import guarded
from livecheck.casefile import CaseFolder, Shop, ShopError, atomic, find_shop
from livecheck.casefile.presence import lasts, mount_of
from livecheck.casefile.shop import NO_DRIVE
from livecheck.host import Host
from livecheck.plan import Plan
from livecheck.records import Case, DamagedRecord, Knowledge
from livecheck.saving import Saved, save

BROUGHT: Final = "brought-to-the-shop-drive"
"""Folder beside those cases: of cases that stand on the drive by now."""


def in_memory(host: Host) -> Shop | None:
    """Where cases are kept while there is no drive; None: what is saved there lasts, so that
    the cases in it belong there."""
    shop = Shop(NO_DRIVE)
    return None if lasts(host, shop.cases_folder) else shop


def needs_drive(host: Host, shop: Shop) -> None:
    """Raises ShopError where what is saved does not last: what is in memory stays where it is."""
    if not lasts(host, shop.cases_folder):
        raise ShopError("no shop drive is there: plug it in, or another one")


def waiting(memory: Shop) -> list[CaseFolder]:
    """Cases in memory with no run that still goes on."""
    found = [CaseFolder(Path(entry.path)) for entry in memory.entries() if entry.case is not None]
    return [case for case in found if not _goes_on(case)]


def _goes_on(case: CaseFolder) -> bool:
    return any(not (run.finished or run.stopped) for run in case.load().runs)


def bring(memory: Shop, shop: Shop, tables: Knowledge) -> Iterator[Saved]:
    """Each case of the folder in memory, brought onto the shop drive. Raises as ``save`` does.

    A drive that is pulled meanwhile gets no run twice when it is back.
    """
    for case in waiting(memory):
        loaded = case.load()
        plan, saved = _plan(loaded.case), None
        for run in loaded.runs:
            # Number 0: the next free one of the case it belongs to there.
            saved = save(msgspec.structs.replace(run, number=0), plan, tables, shop)
            plan = msgspec.structs.replace(plan, case=saved.loaded.case.id)
            _copy(case.run_file(run.number), Path(saved.run_file))
        if saved is None:
            continue
        brought = CaseFolder(Path(saved.case_folder))
        there = brought.proved()[0]
        for proved in case.proved()[0]:
            if proved not in there:
                brought.add_proved(proved)
        aside = memory.root / BROUGHT
        atomic.make_folder(aside)
        atomic.move(case.path, aside / case.path.name)
        yield saved


def _copy(run: Path, to: Path) -> None:
    """What lies beside a run: the raw log, the record of every second."""
    with guarded.entries(run.parent) as found:
        names = [entry.name for entry in found if entry.is_file() and entry.name != run.name]
    for name in names:
        atomic.save(to.with_name(name), guarded.read(run.with_name(name)))


def _plan(case: Case) -> Plan:
    return Plan(
        complaint=case.complaint,
        ticket=case.ticket,
        known_good=case.spares,
        cannot=case.cannot,
        told=case.told,
    )


def to_be_brought(host: Host, explicit: Path | None) -> tuple[str, ...]:
    """What is in memory and could go onto a shop drive now: the drive, then the cases' folders.

    Empty where there is no drive, or where this system does not live in memory.
    """
    shop, memory = find_shop(host, explicit), in_memory(host)
    if memory is None or not lasts(host, shop.cases_folder):
        return ()
    try:
        cases = tuple(str(case.path) for case in waiting(memory))
    except (OSError, DamagedRecord):
        cases = ()
    return (str(mount_of(host, shop.cases_folder)), *cases)
