"""The process that does the work while the console draws.

Probes are forked, and forking wants a single-threaded parent, which a Textual
app is not. So the console starts ``python -m livecheck.console.worker`` and talks
to it as ``livecheck.console.requests`` says.
"""

from __future__ import annotations

import io
import os
import signal
import sys
from pathlib import Path
from types import FrameType
from typing import Final, assert_never

import msgspec

from livecheck import capture, flex, guarded
from livecheck.casefile import Shop, ShopError, find_shop
from livecheck.console.orders import Orders
from livecheck.console.replies import Finished, Happened, Reply, Trouble
from livecheck.console.requests import (
    BringKept,
    Request,
    SaveGiven,
    SaveKept,
    SaveWorksheet,
    SleepAndWake,
    StartAgain,
    SurveyMachine,
    SwitchOff,
    TakeRun,
)
from livecheck.console.survey import survey
from livecheck.host import Host
from livecheck.judgement import shop_tables
from livecheck.languages import adopt
from livecheck.live_host import LiveHost
from livecheck.memory_cases import bring, in_memory, needs_drive
from livecheck.plan import Plan
from livecheck.records import DamagedRecord, PartIs, Run, decode
from livecheck.run import RunContext, RunControl, begin
from livecheck.saving import (
    Saved,
    Unsaved,
    given_run,
    keep_elsewhere,
    run_and_save,
    save,
    worksheet_run,
)
from livecheck.sleep_run import sleep_and_save
from livecheck.sleep_test import CannotSleep
from livecheck.starts import course
from livecheck.starts.planned import StartsPlan

BEHIND_THE_SCREEN: Final = 10
"""Added to the niceness (nice(2)): a key pressed goes before a test that loads every core."""
SWITCH_OFF: Final = ("systemctl", "poweroff")
SWITCH_OFF_SECONDS: Final = 20.0


def main() -> int:
    """Answer the one request on standard input."""
    os.nice(BEHIND_THE_SCREEN)
    orders = Orders()
    request = orders.request()
    try:
        _answer(request, orders)
    except Unsaved as error:
        kept = isinstance(request.job, SaveKept | BringKept)
        _reply(Trouble(says=str(error), kept=_kept(request)) if kept else _unsaved(error))
    except (ShopError, DamagedRecord, CannotSleep, course.CannotStart, OSError) as error:
        _reply(Trouble(says=str(error), kept=_kept(request)))
    except Exception as error:
        # The process boundary: the console waits for an answer, and nobody reads a traceback.
        says = f"livecheck itself failed ({type(error).__name__}: {error}); what was saved stands."
        _reply(Trouble(says=says, kept=_kept(request)))
    return 0


def _unsaved(error: Unsaved) -> Trouble:
    try:
        file = str(keep_elsewhere(error.run))
    except OSError as worse:
        return Trouble(says=f"{error}; nor could the run be kept elsewhere: {worse.strerror}.")
    return Trouble(says=f"{error}. The run was kept in {file}.", kept=file)


def _kept(request: Request) -> str | None:
    return request.job.file if isinstance(request.job, SaveKept) else None


def _answer(request: Request, orders: Orders) -> None:
    live, job = LiveHost(), request.job
    if isinstance(job, SwitchOff):
        _switch_off(live)
        return
    host: Host = capture.load(Path(request.source)) if request.source else live
    shop = find_shop(live, Path(request.shop) if request.shop else None)
    match job:
        case SurveyMachine(plan=plan):
            # Saved words stay English: only what is asked and told here is in another language.
            adopt(request.language or shop_tables(shop.root)[0].shop.language)
            for reply in survey(host, shop, plan):
                _reply(reply)
        case TakeRun(plan=plan):
            _finished(_run(host, shop, plan, orders))
        case SaveGiven():
            _finished(_save_given(host, shop, job))
        case SaveWorksheet():
            run = worksheet_run(job.filled, job.plan, live, shop)
            _finished(save(run, job.plan, shop_tables(shop.root)[0], shop))
        case SleepAndWake(plan=plan, asked=asked):
            _finished(sleep_and_save(host, shop, plan, asked))
        case StartAgain(plan=plan, asked=again):
            _start_again(host, shop, plan, again)
        case SaveKept():
            needs_drive(live, shop)
            _finished(_save_kept(job, shop))
        case BringKept():
            needs_drive(live, shop)
            for kept in job.runs:
                _finished(_save_kept(kept, shop))
            if memory := in_memory(live):
                for saved in bring(memory, shop, shop_tables(shop.root)[0]):
                    _finished(saved)
        case _:
            assert_never(job)


def _run(host: Host, shop: Shop, plan: Plan, orders: Orders) -> Saved:
    def on_stop(number: int, frame: FrameType | None) -> None:
        orders.stop = True

    signal.signal(signal.SIGTERM, on_stop)
    control = RunControl(
        on_event=lambda event: _reply(Happened(event=event)),
        stopped=orders.stopped,
        orders=orders,
    )
    tables = shop_tables(shop.root)[0]
    return run_and_save(RunContext(host=host, plan=plan, knowledge=tables, control=control), shop)


def _save_kept(job: SaveKept, shop: Shop) -> Saved:
    run = decode(guarded.read(guarded.named(Path(job.file))), Run)
    # Its case may lie on the drive that was pulled: then it opens one where it is brought to.
    plan = job.plan if shop.named(job.plan.case) else msgspec.structs.replace(job.plan, case=None)
    return save(run, plan, shop_tables(shop.root)[0], shop)


def _save_given(host: Host, shop: Shop, job: SaveGiven) -> Saved:
    tables = shop_tables(shop.root)[0]
    plan = job.plan
    if job.flex is not None:
        begun, _ = begin(host, Plan())
        found = flex.readings(job.flex, begun.inventory, tables.checks[flex.CHECK].limits)
        plan = msgspec.structs.replace(plan, readings=(*plan.readings, *found))
        if job.flex.label is not None:
            spare = PartIs(place=found[0].at, name=job.flex.label, known_good=True)
            plan = msgspec.structs.replace(plan, answers=(*plan.answers, spare))
    run, messages = given_run(host, plan)
    return save(run, plan, tables, shop, messages)


def _start_again(host: Host, shop: Shop, plan: Plan, asked: StartsPlan) -> None:
    shop.ensure_writable()
    course.order(host, *course.begin(host, shop.cases_folder, asked, plan))
    raise course.CannotStart(course.STAYS_ON)


def _switch_off(host: Host) -> None:
    done = host.command(SWITCH_OFF, SWITCH_OFF_SECONDS)
    if done.status != 0:
        says = "This machine would not be switched off from here; hold its power key instead."
        _reply(Trouble(says=says))


def _finished(saved: Saved) -> None:
    _reply(Finished(case_folder=saved.case_folder))


def _reply(reply: Reply) -> None:
    # With the console gone, what is being done is still brought to its end and saved.
    try:
        sys.stdout.buffer.write(msgspec.json.encode(reply) + b"\n")
        sys.stdout.buffer.flush()
    except BrokenPipeError:
        # Nobody reads any more: what is left in the buffer must not fail once more at the exit.
        sys.stdout = io.TextIOWrapper(io.BytesIO())


if __name__ == "__main__":
    sys.exit(main())
