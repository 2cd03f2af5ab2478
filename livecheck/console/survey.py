"""What stands on the bench before a run: the machine, its case, what can be told of it."""

from __future__ import annotations

from collections.abc import Collection, Iterator

import msgspec

from livecheck import printing, step_names
from livecheck.casefile import Loaded, Shop, place_names
from livecheck.casefile.presence import lasts
from livecheck.casefile.shop import same_machine
from livecheck.console.replies import Known, Looked, Pickable, Proposed, Reply
from livecheck.diagnosis.steps import settings
from livecheck.diagnosis.worksheet_machine import all_along
from livecheck.host import Host
from livecheck.judgement import locate_in_words, shop_tables
from livecheck.live_host import LiveHost
from livecheck.names import Names
from livecheck.plan import QUICK, WORKSHEETS, Plan
from livecheck.records import Complaint, Inventory, Knowledge, NotJudged, Run
from livecheck.saving import begin_here
from livecheck.telling import telling
from livecheck.topology import swaps
from livecheck.topology.answers import ambiguous_places
from livecheck.topology.graph import LEADS
from livecheck.topology.identity import board_names
from livecheck.worded import worded
from livecheck.worded_runs import names_of, worded_runs
from livecheck.wording import text


def survey(host: Host, shop: Shop, plan: Plan) -> Iterator[Reply]:
    """The machine and its case; then, as judging takes a while, what was proposed last."""
    begun, _ = begin_here(host, plan)
    run = place_names.renamed(begun, place_names.known(shop.cases_folder))
    english, own = shop_tables(shop.root)[0], place_names.own_words(shop.cases_folder)
    tables = worded(english)
    seen, (run,) = run, worded_runs((run,), tables, own)
    if plan.ticket is not None:
        folder = shop.find(run.inventory, plan.ticket, plan.complaint)
    else:
        folder = shop.find_machine(run.inventory)
    loaded = saved = folder.load() if folder is not None else None
    if loaded is not None:
        loaded = msgspec.structs.replace(loaded, runs=worded_runs(loaded.runs, tables, own))
    names = Names((*(loaded.runs[-1:] if loaded else ()), run), tables)
    inventory = _on_the_bench(loaded, run.inventory)
    yield Looked(
        machine=run.inventory.machine,
        devices=len(run.inventory.devices),
        parts=len(run.inventory.parts),
        shop=str(shop.cases_folder),
        language=tables.shop.language,
        as_root=run.as_root,
        lasts=lasts(LiveHost(), shop.cases_folder),
        places=_choices((p.place for p in inventory.parts), names, inventory),
        numbered=tuple(
            Pickable(p.identity, names.of(p.id).label) for p in inventory.parts if p.identity
        ),
        unnumbered=tuple(
            Pickable(p.id, names.of(p.id).label)
            for p in inventory.parts
            if not p.identity and not p.soldered
        ),
        treated=(*_set_right(loaded, tables, names), *_treated(inventory, tables, names)),
        kinds=_kinds(inventory, tables),
        called=names_of(begun, run) | names_of(seen, run),
        seeming=tuple(Pickable(p.id, names.of(p.id).label) for p in ambiguous_places(inventory)),
        known=_known(loaded, run, names) if loaded else None,
        nameless=() if loaded else _nameless(shop),
    )
    if saved is not None and saved.runs:
        yield _proposed(saved, english, own)


def _nameless(shop: Shop) -> tuple[str, ...]:
    """Tickets of open cases for a dark screen that know no machine by its name or parts."""
    cases = [entry.case for entry in shop.entries() if entry.case is not None]
    return tuple(
        case.ticket
        for case in cases
        if case.closed is None and case.ticket and case.complaint is Complaint.NO_PICTURE
        if not board_names(case.machine) and not case.parts
    )


def _on_the_bench(loaded: Loaded | None, here: Inventory) -> Inventory:
    """Of a case that is measured at the bench the measured machine: this one is the shop's own."""
    if loaded is None or not loaded.runs or loaded.case.complaint not in WORKSHEETS:
        return here
    return here if same_machine(loaded.case, here) else loaded.runs[-1].inventory


def _choices(places: Iterator[str], names: Names, inventory: Inventory) -> tuple[Pickable, ...]:
    there = {part.place: part for part in inventory.parts if not part.soldered}
    found = []
    for place in dict.fromkeys(places):
        part = there.get(place)
        if part is not None:
            label = f"{names.of(place).label}: {names.of(part.id).label}"
            found.append(Pickable(place, label))
    return tuple(found)


def _set_right(loaded: Loaded | None, tables: Knowledge, names: Names) -> tuple[Pickable, ...]:
    """What a setting may have held off in the last run."""
    last = loaded.runs[-1].readings if loaded and loaded.runs else ()
    return tuple(
        Pickable(f"{at}=set", text("treated.set", name=names.of(at).label))
        for at in dict.fromkeys(r.at for r in last if settings.held(r, tables))
    )


def _treated(inventory: Inventory, tables: Knowledge, names: Names) -> tuple[Pickable, ...]:
    cleaned = [
        Pickable(f"{p.id}=cleaned", text("treated.cleaned", name=names.of(p.id).label))
        for p in inventory.parts
        if p.kind == "cooling"
    ]
    there = {part.place for part in inventory.parts}
    own_units = {kind for kind, row in tables.kinds.items() if row.unit == kind}
    repaired = [
        Pickable(f"{p.id}=repaired", text("treated.repaired", name=names.of(p.id).label))
        for p in inventory.places
        if p.kind in own_units
    ]
    leads = [
        f"{LEADS[p.kind]}@{p.id}" for p in inventory.places if p.kind in LEADS and p.id in there
    ]
    updated = [
        Pickable(f"{p.id}=re-flashed", text("treated.updated", name=names.of(p.id).label))
        for p in inventory.parts
        if p.kind == "drive" and not p.soldered
    ]
    return (
        *cleaned,
        *updated,
        *repaired,
        *(
            Pickable(f"{one}=repaired", text("treated.replaced", name=names.of(one).label))
            for one in leads
        ),
        Pickable("machine=all power away", text("treated.power-away")),
        Pickable("machine=looked inside", text("treated.looked-inside")),
        Pickable("firmware=re-flashed", text("treated.firmware")),
        Pickable("mainboard=repaired", text("treated.board-repaired")),
        Pickable("mainboard=replaced", text("treated.board-replaced")),
        Pickable("software=repaired", text("treated.system")),
    )


def _kinds(inventory: Inventory, tables: Knowledge) -> tuple[Pickable, ...]:
    kinds = dict.fromkeys(p.kind for p in inventory.parts if not p.soldered)
    rows = (tables.kinds[kind] for kind in kinds if kind in tables.kinds)
    return tuple(Pickable(row.kind, row.title) for row in rows if row.swap_minutes is not None)


def _known(loaded: Loaded, run: Run, names: Names) -> Known:
    case, last = loaded.case, loaded.runs[-1] if loaded.runs else None
    number = (last.number if last else 0) + 1
    now = msgspec.structs.replace(run, number=number)
    same = same_machine(case, run.inventory)
    changes: tuple[str, ...] = ()
    if last is not None and same:
        changes = _changes(case.id, last, now, names)
    return Known(
        case=case.id,
        ticket=case.ticket,
        complaint=case.complaint,
        runs=len(loaded.runs),
        number=number,
        same_machine=same,
        cut_off=last is not None and not last.finished and not last.stopped,
        stopped=last is not None and last.stopped,
        changes=changes,
        damaged=loaded.damaged,
        cannot=case.cannot,
        lasted={p.probe: p.seconds for p in last.probes if p.ended == "done"} if last else {},
        lasted_depth=last.depth if last else QUICK,
        told=case.told,
    )


def _changes(case: str, last: Run, now: Run, names: Names) -> tuple[str, ...]:
    try:
        return tuple(printing.change(s, names) for s in swaps.between(all_along((last, now))))
    except Exception as error:
        # A case whose records no engine can work with does not take the console with it.
        return (str(NotJudged(case, error)),)


def _proposed(saved: Loaded, english: Knowledge, own: Collection[str]) -> Proposed:
    try:
        loaded, tables, location = locate_in_words(saved, english, own)
    except NotJudged as error:
        return Proposed(sentence=str(error), step=None, action=None)
    step = location.next_step
    words = None
    if step is not None:
        words = step_names.named(step, Names(loaded.runs, tables), tables)
    return Proposed(
        sentence=location.sentence,
        step=words,
        action=step.action if step is not None else None,
        told=telling(step, loaded.runs) if step is not None else None,
    )
