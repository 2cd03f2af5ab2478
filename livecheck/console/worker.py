"""The process that does the work while the console draws.

Probes are forked, and forking wants a single-threaded parent, which a Textual
app is not. So the console starts ``python -m livecheck.console.worker`` and talks
to it as ``livecheck.console.protocol`` says.
"""

from __future__ import annotations

import contextlib
import os
import signal
import sys
from collections.abc import Iterator
from pathlib import Path
from types import FrameType
from typing import Final

import msgspec

from livecheck import capture, flex, printing, session
from livecheck.casefile import Loaded, Shop, ShopError, find_shop
from livecheck.casefile.shop import same_machine
from livecheck.console.protocol import (
    DEEPEN,
    PAUSE,
    RESUME,
    SKIP,
    STOP,
    Choice,
    Finished,
    Happened,
    Known,
    Looked,
    Proposed,
    Reply,
    Request,
    Trouble,
)
from livecheck.diagnosis import settings, swaps
from livecheck.host import Host, LiveHost
from livecheck.probes.control import Control
from livecheck.records import (
    DamagedRecord,
    Inventory,
    Knowledge,
    NotJudged,
    PartIs,
    Run,
    decode,
)
from livecheck.report.names import Names
from livecheck.taking import seem_empty

BEHIND_THE_SCREEN: Final = 10
"""Added to the niceness (nice(2)): a key pressed goes before a test that loads every core."""
SWITCH_OFF: Final = ("systemctl", "poweroff")
SWITCH_OFF_SECONDS: Final = 20.0


class Orders(Control):
    """What comes in on standard input after the request, looked at when the runner asks."""

    def __init__(self, descriptor: int = 0) -> None:
        self._descriptor = descriptor
        self._rest = b""
        self._ended = False
        self._paused = False
        self._skips = 0
        self._deepened = False
        self.stop = False

    def request(self) -> Request:
        """The first line; waits for it."""
        while b"\n" not in self._rest and not self._ended:
            self._take()
        line, _, self._rest = self._rest.partition(b"\n")
        os.set_blocking(self._descriptor, False)
        return msgspec.json.decode(line, type=Request)

    def stopped(self) -> bool:
        """Whether the run should end; also when nobody is there any more."""
        self._look()
        return self.stop or self._ended

    def paused(self) -> bool:
        self._look()
        return self._paused

    def skip(self) -> bool:
        self._look()
        if not self._skips:
            return False
        self._skips -= 1
        return True

    def deepened(self) -> bool:
        self._look()
        return self._deepened

    def _look(self) -> None:
        try:
            while not self._ended:
                self._take()
        except BlockingIOError:
            pass
        *lines, self._rest = self._rest.split(b"\n")
        for line in lines:
            self._obey(line.decode("ascii", "replace"))

    def _take(self) -> None:
        data = os.read(self._descriptor, 1 << 16)
        self._rest += data
        self._ended = not data

    def _obey(self, word: str) -> None:
        if word in (PAUSE, RESUME):
            self._paused = word == PAUSE
        elif word == SKIP:
            self._skips += 1
        elif word == DEEPEN:
            self._deepened = True
        elif word == STOP:
            self.stop = True


def main() -> int:
    """Answer the one request on standard input."""
    os.nice(BEHIND_THE_SCREEN)
    orders = Orders()
    request = orders.request()
    try:
        live = LiveHost()
        if request.kind == "off":
            _switch_off(live)
            return 0
        host: Host = capture.load(Path(request.source)) if request.source else live
        shop = find_shop(live, Path(request.shop) if request.shop else None)
        if request.kind == "look":
            for reply in _look(host, shop, request.plan):
                _reply(reply)
        elif request.kind == "save":
            _save(request, shop)
        elif request.kind == "asked":
            _asked(host, shop, request)
        else:
            _run(host, shop, request.plan, orders)
    except session.Unsaved as error:
        kept = str(session.keep_elsewhere(error.run))
        _reply(Trouble(says=f"{error}. The run was kept in {kept}.", kept=kept))
    except (ShopError, DamagedRecord, OSError) as error:
        _reply(Trouble(says=str(error), kept=request.file))
    except Exception as error:
        # The process boundary: the console waits for an answer, and nobody reads a traceback.
        says = f"livecheck itself failed ({type(error).__name__}: {error}); what was saved stands."
        _reply(Trouble(says=says, kept=request.file))
    return 0


def _look(host: Host, shop: Shop, plan: session.Plan) -> Iterator[Reply]:
    run, _ = session.begin(host, plan)
    tables = session.tables(shop.root)[0]
    if plan.ticket is not None:
        folder = shop.find(run.inventory, plan.ticket, plan.complaint)
    else:
        folder = shop.find_machine(run.inventory)
    loaded = folder.load() if folder is not None else None
    names = Names((*(loaded.runs[-1:] if loaded else ()), run), tables)
    inventory = run.inventory
    yield Looked(
        machine=inventory.machine,
        devices=len(inventory.devices),
        parts=len(inventory.parts),
        shop=str(shop.cases_folder),
        as_root=run.as_root,
        places=_choices((p.place for p in inventory.parts), names, inventory),
        numbered=tuple(
            Choice(p.identity, names.of(p.id).label) for p in inventory.parts if p.identity
        ),
        unnumbered=tuple(
            Choice(p.id, names.of(p.id).label)
            for p in inventory.parts
            if not p.identity and not p.soldered
        ),
        treated=(*_set_right(loaded, tables, names), *_treated(inventory, names)),
        kinds=_kinds(inventory, tables),
        seeming=tuple(Choice(p.id, names.of(p.id).label) for p in seem_empty(inventory)),
        known=_known(loaded, run, names) if loaded else None,
    )
    if loaded is not None and loaded.runs:
        yield _proposed(loaded, tables)


def _choices(places: Iterator[str], names: Names, inventory: Inventory) -> tuple[Choice, ...]:
    there = {part.place: part for part in inventory.parts if not part.soldered}
    found = []
    for place in dict.fromkeys(places):
        part = there.get(place)
        if part is not None:
            label = f"{names.of(place).label}: {names.of(part.id).label}"
            found.append(Choice(place, label))
    return tuple(found)


def _set_right(loaded: Loaded | None, tables: Knowledge, names: Names) -> tuple[Choice, ...]:
    """What a setting may have held off in the last run."""
    last = loaded.runs[-1].readings if loaded and loaded.runs else ()
    return tuple(
        Choice(f"{at}=set", f"{names.of(at).label}: switches and settings put right")
        for at in dict.fromkeys(r.at for r in last if settings.held(r, tables))
    )


def _treated(inventory: Inventory, names: Names) -> tuple[Choice, ...]:
    cleaned = [
        Choice(f"{p.id}=cleaned", f"{names.of(p.id).label}: cleaned")
        for p in inventory.parts
        if p.kind == "cooling"
    ]
    return (
        *cleaned,
        Choice("firmware=re-flashed", "The board's firmware: written again"),
        Choice("mainboard=repaired", "The mainboard: repaired"),
        Choice("mainboard=replaced", "The mainboard: replaced by another"),
        Choice("software=repaired", "The installed system: repaired"),
    )


def _kinds(inventory: Inventory, tables: Knowledge) -> tuple[Choice, ...]:
    kinds = dict.fromkeys(p.kind for p in inventory.parts if not p.soldered)
    rows = (tables.kinds[kind] for kind in kinds if kind in tables.kinds)
    return tuple(Choice(row.title, row.title) for row in rows if row.swap_minutes is not None)


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
        cut_off=last is not None and not last.finished,
        changes=changes,
        damaged=loaded.damaged,
        cannot=case.cannot,
        lasted={p.probe: p.seconds for p in last.probes if p.ended == "done"} if last else {},
        lasted_depth=last.depth if last else session.QUICK,
    )


def _changes(case: str, last: Run, now: Run, names: Names) -> tuple[str, ...]:
    try:
        return tuple(printing.change(s, names) for s in swaps.between((last, now)))
    except Exception as error:
        # A case whose records no engine can work with does not take the console with it.
        return (str(NotJudged(case, error)),)


def _proposed(loaded: Loaded, tables: Knowledge) -> Proposed:
    try:
        location = session.locate_case(loaded, tables)
    except NotJudged as error:
        return Proposed(sentence=str(error), step=None, action=None)
    step = location.next_step
    words = None
    if step is not None:
        words = f"{step.action}: {Names(loaded.runs, tables).target(step.target)}"
    return Proposed(
        sentence=location.sentence, step=words, action=step.action if step is not None else None
    )


def _run(host: Host, shop: Shop, plan: session.Plan, orders: Orders) -> None:
    def on_stop(number: int, frame: FrameType | None) -> None:
        orders.stop = True

    signal.signal(signal.SIGTERM, on_stop)
    saved = session.run_and_save(
        host,
        plan,
        session.tables(shop.root)[0],
        shop,
        on_event=lambda event: _reply(Happened(event=event)),
        stopped=orders.stopped,
        wishes=orders,
    )
    _reply(Finished(case_folder=saved.case_folder))


def _save(request: Request, shop: Shop) -> None:
    run = decode(Path(request.file or "").read_bytes(), Run)
    saved = session.save_again(run, request.plan, session.tables(shop.root)[0], shop)
    _reply(Finished(case_folder=saved.case_folder))


def _asked(host: Host, shop: Shop, request: Request) -> None:
    tables = session.tables(shop.root)[0]
    plan = request.plan
    readings = plan.readings
    plan = msgspec.structs.replace(plan, readings=())
    if request.flex is not None:
        begun, _ = session.begin(host, plan)
        found = flex.readings(request.flex, begun.inventory, tables.checks[flex.CHECK].limits)
        readings = (*readings, *found)
        if request.flex.label is not None:
            spare = PartIs(place=found[0].at, name=request.flex.label, known_good=True)
            plan = msgspec.structs.replace(plan, answers=(*plan.answers, spare))
    saved = session.save_asked(host, plan, readings, tables, shop)
    _reply(Finished(case_folder=saved.case_folder))


def _switch_off(host: Host) -> None:
    done = host.command(SWITCH_OFF, SWITCH_OFF_SECONDS)
    if done.status != 0:
        says = "This machine would not be switched off from here; hold its power key instead."
        _reply(Trouble(says=says))


def _reply(reply: Reply) -> None:
    # With the console gone, what is being done is still brought to its end and saved.
    with contextlib.suppress(BrokenPipeError):
        sys.stdout.buffer.write(msgspec.json.encode(reply) + b"\n")
        sys.stdout.buffer.flush()


if __name__ == "__main__":
    sys.exit(main())
