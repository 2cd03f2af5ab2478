"""The process that does the work while the console draws.

Probes are forked, and forking wants a single-threaded parent, which a Textual
app is not. So the console starts ``python -m livecheck.console.worker``, writes
one request to its standard input, and reads replies, one JSON line each, from
its standard output. SIGTERM stops a run; what was read by then is saved.
"""

from __future__ import annotations

import signal
import sys
from pathlib import Path
from types import FrameType

import msgspec

from livecheck import capture, printing, session
from livecheck.casefile import Shop, ShopError, find_shop
from livecheck.diagnosis import swaps
from livecheck.host import Host, LiveHost
from livecheck.probes.runner import Event
from livecheck.records import DamagedRecord, Machine, Run
from livecheck.report.names import Names


class Request(msgspec.Struct, frozen=True, kw_only=True):
    """What the console wants."""

    kind: str
    """``look``: which machine and case is this; ``run``: a whole run."""
    plan: session.Plan
    shop: str | None = None
    source: str | None = None
    """A capture to replay instead of this machine."""


class Looked(msgspec.Struct, frozen=True, kw_only=True, tag="looked"):
    """What stands on the bench, before anything is asked."""

    machine: Machine
    devices: int
    parts: int
    shop: str
    as_root: bool
    case: str | None
    """Id of the open case this machine belongs to."""
    ticket: str | None
    runs: int
    changes: tuple[str, ...]
    """What changed since the case's last run, a line each."""


class Happened(msgspec.Struct, frozen=True, kw_only=True, tag="happened"):
    """A probe moved on."""

    event: Event


class Finished(msgspec.Struct, frozen=True, kw_only=True, tag="finished"):
    """The run is saved."""

    case_folder: str


class Trouble(msgspec.Struct, frozen=True, kw_only=True, tag="trouble"):
    """It could not be done; says what to try."""

    says: str


Reply = Looked | Happened | Finished | Trouble


def main() -> int:
    """Answer the one request on standard input."""
    request = msgspec.json.decode(sys.stdin.buffer.read(), type=Request)
    try:
        live = LiveHost()
        host: Host = capture.load(Path(request.source)) if request.source else live
        shop = find_shop(live, Path(request.shop) if request.shop else None)
        if request.kind == "look":
            _reply(_look(host, shop, request.plan))
        else:
            _run(host, shop, request.plan)
    except session.Unsaved as error:
        kept = session.keep_elsewhere(error.run)
        _reply(Trouble(says=f"{error}. The run was kept in {kept}."))
    except (ShopError, DamagedRecord, OSError) as error:
        _reply(Trouble(says=str(error)))
    return 0


def _look(host: Host, shop: Shop, plan: session.Plan) -> Looked:
    run, _ = session.begin(host, plan)
    folder = shop.find_machine(run.inventory)
    runs: tuple[Run, ...] = ()
    case = None
    if folder is not None:
        loaded = folder.load()
        case, runs = loaded.case, loaded.runs
    changes: tuple[str, ...] = ()
    if runs:
        now = msgspec.structs.replace(run, number=runs[-1].number + 1)
        names = Names((runs[-1], now), session.tables(shop.root)[0])
        changes = tuple(printing.change(s, names) for s in swaps.between((runs[-1], now)))
    return Looked(
        machine=run.inventory.machine,
        devices=len(run.inventory.devices),
        parts=len(run.inventory.parts),
        shop=str(shop.cases_folder),
        as_root=run.as_root,
        case=case.id if case else None,
        ticket=case.ticket if case else None,
        runs=len(runs),
        changes=changes,
    )


def _run(host: Host, shop: Shop, plan: session.Plan) -> None:
    stop = False

    def on_stop(number: int, frame: FrameType | None) -> None:
        nonlocal stop
        stop = True

    signal.signal(signal.SIGTERM, on_stop)
    saved = session.run_and_save(
        host,
        plan,
        session.tables(shop.root)[0],
        shop,
        on_event=lambda event: _reply(Happened(event=event)),
        stopped=lambda: stop,
    )
    _reply(Finished(case_folder=saved.case_folder))


def _reply(reply: Reply) -> None:
    sys.stdout.buffer.write(msgspec.json.encode(reply) + b"\n")
    sys.stdout.buffer.flush()


if __name__ == "__main__":
    sys.exit(main())
