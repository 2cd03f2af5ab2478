"""Runs brought into their case, on the shop drive.

A run of probes is saved unfinished before the first of them, again when the passive
ones are done, and whole at the end, so that a power cut leaves what was known.
"""

from __future__ import annotations

import contextlib
import tempfile
from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path

import msgspec

from livecheck import __version__, knowledge
from livecheck.casefile import CaseFolder, Loaded, Shop, ShopError, find_shop
from livecheck.casefile.own_spares import own_spares
from livecheck.casefile.presence import Guard, lasts
from livecheck.casefile.run_places import has_place, stands
from livecheck.casefile.shop import NO_DRIVE, explain, mounts, other_machine
from livecheck.diagnosis import worksheet, worksheet_machine
from livecheck.diagnosis.worksheet_table import Filled
from livecheck.host import Host, KernelMessage
from livecheck.intake import with_told
from livecheck.judgement import save_report
from livecheck.live_host import LiveHost
from livecheck.plan import Plan
from livecheck.plan_check import check_plan
from livecheck.recorder import openings
from livecheck.recorder.run import Recording
from livecheck.records import (
    Case,
    Inventory,
    Knowledge,
    Location,
    NotTested,
    Run,
    ToldLine,
    encode,
)
from livecheck.records.answer_words import placed
from livecheck.run import RunContext, begin, run_probes, with_stick
from livecheck.told_findings import with_findings


class Saved(msgspec.Struct, frozen=True):
    """A run, its case so far, and where both stand."""

    run: Run
    loaded: Loaded
    location: Location
    case_folder: str
    run_file: str
    report_file: str


class Unsaved(ShopError):
    """The drive refused the record; ``run`` holds what would have been saved."""

    def __init__(self, message: str, run: Run) -> None:
        super().__init__(message)
        self.run = run


def run_and_save(context: RunContext, shop: Shop) -> Saved:
    """One run of probes from its beginning to its place in the case.

    Raises as ``save`` does, and WrongPlan for a plan that this machine has no parts for.
    """
    drive = Guard(LiveHost(), shop.cases_folder)
    shop.ensure_writable()
    host, plan, tables = context.host, context.plan, context.knowledge
    recording = Recording(host, shop.cases_folder)
    try:
        run, messages = begin_here(host, plan)
        check_plan(plan, run.inventory)
        folder = None
        try:
            with _unless_gone(drive, shop):
                drive.check(lambda: True)
                opened, run = _claim(run, plan, shop)
                run = recording.judged(run, tables, opened)
                opened.save_run(run, _raw_log(messages))
                recording.saved(opened.run_file(run.number).parent)
                folder, context = opened, _saving(context, recording, opened, drive)
            run = recording.ended(run_probes(run, context))
            drive.check(lambda: folder is None or has_place(run, folder))
            if folder is None:
                return _save_late(run, plan, tables, shop, messages)
            return _save(run, folder, tables)
        except OSError as error:
            raise Unsaved(str(explain(error, shop.cases_folder)), run) from error
    finally:
        recording.abandon()


@contextlib.contextmanager
def _unless_gone(drive: Guard, shop: Shop) -> Iterator[None]:
    """A drive that is pulled as the run begins does not end it, nor one that just was."""
    try:
        yield
    except OSError:
        if not drive.gone():
            raise
    except Unsaved:
        if lasts(LiveHost(), shop.cases_folder):
            raise


def save(
    run: Run, plan: Plan, tables: Knowledge, shop: Shop, messages: Sequence[KernelMessage] = ()
) -> Saved:
    """Save a run that is at hand: in its own place where it has one, else as its case's next.

    Raises ShopError, and Unsaved, which holds the run, when the drive refused half-way.
    """
    shop.ensure_writable()
    try:
        folder, run = _claim(run, plan, shop)
        saved = _save(run, folder, tables, _raw_log(messages) if messages else None)
        openings.close_of(shop.cases_folder, folder.run_file(run.number).parent)
        return saved
    except OSError as error:
        raise Unsaved(str(explain(error, shop.cases_folder)), run) from error


def _save_late(
    run: Run, plan: Plan, tables: Knowledge, shop: Shop, messages: Sequence[KernelMessage]
) -> Saved:
    """As ``save``, on the drive there is now; what is refused is not lost. Raises Unsaved."""
    try:
        there = find_shop(LiveHost(), None) if shop.root == NO_DRIVE else shop
        return save(run, plan, tables, there, messages)
    except ShopError as error:
        raise Unsaved(str(error), run) from error


def begin_here(host: Host, plan: Plan) -> tuple[Run, tuple[KernelMessage, ...]]:
    """As ``begin``, with the bench's own stick marked where it is plugged in."""
    run, messages = begin(host, plan)
    if isinstance(host, LiveHost):
        run = msgspec.structs.replace(run, inventory=with_stick(run.inventory, mounts(host)))
    return run, messages


def given_run(host: Host, plan: Plan) -> tuple[Run, tuple[KernelMessage, ...]]:
    """A run of this machine that holds the plan's readings and no probe's; the raw log."""
    begun, messages = begin_here(host, plan)
    missed = NotTested(what="Every probe", why="not asked for")
    run = msgspec.structs.replace(begun, not_tested=(*begun.not_tested, missed), finished=True)
    return run, messages


def worksheet_run(filled: Filled, plan: Plan, host: Host, shop: Shop) -> Run:
    """A run made of bench measurements, for a machine that cannot be started.

    ``host`` is the shop's own computer; only its clock is asked. The machine is as the case's
    runs know it.
    """
    sheet = knowledge.worksheet()
    case = shop.named(plan.case) or shop.find(Inventory(), plan.ticket, plan.complaint)
    readings = worksheet.judge(filled.answers, filled.label, sheet)
    machine = worksheet_machine.as_it_was(case.load().runs if case is not None else (), readings)
    left_out = tuple(
        NotTested(what=step.title, why="left open on the worksheet")
        for step in worksheet.steps(plan.complaint, sheet, filled.supply)
        if step.name not in filled.answers
    )
    return Run(
        number=0,
        started=host.scope("session").facts().now,
        complaint=plan.complaint,
        inventory=machine,
        readings=worksheet_machine.placed_here(readings, machine),
        not_tested=(*left_out, NotTested(what="Every probe", why="the machine does not start")),
        answers=tuple(placed(answer, machine) for answer in plan.answers),
        known_good=plan.known_good,
        reseated=plan.reseated,
        program=__version__,
    )


def keep_elsewhere(run: Run) -> Path:
    """Save a run the shop drive refused into the system's temporary folder."""
    with tempfile.NamedTemporaryFile(prefix="livecheck-run-", suffix=".json", delete=False) as kept:
        kept.write(encode(run))
    return Path(kept.name)


def note(
    folder: CaseFolder,
    spares: Sequence[str] = (),
    cannot: Sequence[str] = (),
    can: Sequence[str] = (),
    told: Sequence[ToldLine] = (),
) -> None:
    """Keep in the case what the shop vouches for and cannot do, and what was told.

    Raises OSError and DamagedRecord.
    """

    def noted(case: Case) -> Case:
        ruled_out = (one for one in (*case.cannot, *cannot) if one not in can)
        return msgspec.structs.replace(
            case,
            spares=tuple(dict.fromkeys((*case.spares, *spares))),
            cannot=tuple(dict.fromkeys(ruled_out)),
            told=with_told(case.told, told),
        )

    if spares or cannot or can or told:
        folder.change_case(noted)


def _claim(run: Run, plan: Plan, shop: Shop) -> tuple[CaseFolder, Run]:
    """The run's case, with what the plan says of it, and the run under its number there."""
    with shop.opening():
        folder = shop.named(plan.case)
        if folder is None and plan.case is not None:
            why = f"case {plan.case} is closed or gone, so nothing was saved into another one"
            raise Unsaved(why, run)
        folder = folder or shop.find(run.inventory, plan.ticket, run.complaint)
        case = folder.case() if folder is not None and not plan.same_machine else None
        if case is not None and other_machine(case, run):
            own = shop.find_machine(run.inventory)
            theirs = f"It is the one of case {own.case().id}. " if own is not None else ""
            raise ShopError(
                f"case {case.id} is of another machine: another board, and most parts are others. "
                f"Nothing was saved. {theirs}Give this one a ticket of its own; a part of the case "
                "in a machine of the shop's: --in-known-good-machine; a new board: --answer "
                "mainboard=replaced; the same machine after all: --same-machine"
            )
        folder = folder or shop.open_case(run.inventory, plan.ticket, run.complaint, run.started)
    ours = own_spares(shop, folder.path, run.inventory)
    note(folder, (*plan.known_good, *ours), plan.cannot, plan.can, plan.told)
    run = with_findings(run, folder.load().runs, folder.case().told, knowledge.load().intake)
    if not has_place(run, folder):
        # Two runs that only begin look alike, and may be of two benches.
        whole = run.finished or bool(run.readings)
        with shop.opening():
            number = (stands(run, folder) if whole else None) or folder.claim_run()
            run = msgspec.structs.replace(run, number=number)
            if whole:
                folder.save_run(run)  # whoever saves the same kept run now finds it
    return folder, run


def _raw_log(messages: Sequence[KernelMessage]) -> str:
    return "".join(f"[{m.seconds:12.6f}] {m.text}\n" for m in messages)


def _save(run: Run, folder: CaseFolder, tables: Knowledge, kernel_log: str | None = None) -> Saved:
    run_file = folder.save_run(run, kernel_log)
    loaded, location = save_report(folder, tables)
    return Saved(
        run=run,
        loaded=loaded,
        location=location,
        case_folder=str(folder.path),
        run_file=str(run_file),
        report_file=str(folder.report_file),
    )


def _saving(
    context: RunContext, recording: Recording, folder: CaseFolder, drive: Guard
) -> RunContext:
    """The context of a run that is saved after each part and followed by the recorder."""

    def on_part(run: Run) -> None:
        # A drive lost half-way does not end the run: the last save is the one that tells.
        with contextlib.suppress(OSError):
            drive.check(partial(has_place, run, folder))
            folder.save_run(run)

    control = msgspec.structs.replace(
        context.control, on_part=on_part, on_event=recording.heard(context.control.on_event)
    )
    return msgspec.structs.replace(context, control=control)
