"""One run, saved into its case: probes where the machine starts, else measurements."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Final

import msgspec

from livecheck import guarded, knowledge
from livecheck.casefile import Shop, find_shop
from livecheck.commands import checking
from livecheck.commands.common import (
    DONE,
    Failure,
    Subparsers,
    UsageError,
    common,
    machine_argument,
    told_argument,
)
from livecheck.commands.files import captured, read_tables, run_kept
from livecheck.commands.language import telling
from livecheck.commands.output import complain, print_saved
from livecheck.commands.stopping import STOPPING, stop_requests
from livecheck.host import Host
from livecheck.live_host import LiveHost
from livecheck.near import near
from livecheck.plan import WORKSHEETS, Plan
from livecheck.records import (
    Answer,
    Complaint,
    HowEnded,
    Inventory,
    Knowledge,
    ToldLine,
    WhereShown,
)
from livecheck.records.answer_words import COMPLAINT, LAST_START, understood

if TYPE_CHECKING:
    from livecheck.probes import Span
    from livecheck.saving import Saved


def add(commands: Subparsers) -> None:
    """Add ``run``."""
    run = commands.add_parser("run", help="one run, saved into its case")
    run.add_argument("--complaint", choices=[c.value for c in Complaint], default="intake",
                     help="what the customer says is wrong; without: intake")  # fmt: skip
    run.add_argument(
        "--probes", metavar="A,B", help="only these probes; `passive`: those that load nothing"
    )
    run.add_argument("--depth", choices=["quick", "full"], default="quick",
                     help="drives and memory sampled, or read whole; without: quick")  # fmt: skip
    run.add_argument("--range", dest="stretch", metavar="START-END",
                     help="only this stretch of the drives, whole: 0-10GiB, 500GB-")  # fmt: skip
    run.add_argument("--drive", metavar="NAME", help="with --range: only this drive (sda)")
    run.add_argument("--soak", metavar="HOURS", type=float, default=0.0,
                     help="hours of load on processor and memory too")  # fmt: skip
    run.add_argument("--ticket", help="the shop's own number for this job")
    run.add_argument("--reseated", metavar="PLACE", action="append", default=[],
                     help="id of a place whose part was taken out and put back")  # fmt: skip
    run.add_argument("--known-good", metavar="IDENTITY", action="append", default=[],
                     help="identity of a fitted part the shop vouches for")  # fmt: skip
    run.add_argument("--in-known-good-machine", action="store_true",
                     help="the suspect part sits in a known-good machine of the shop")  # fmt: skip
    run.add_argument("--answer", metavar="ABOUT=WORDS", action="append", default=[],
                     help="what no sensor tells: cooling@cooling=cleaned, firmware=re-flashed, "
                     "machine='all power away' or 'looked inside', a lead's id=repaired, "
                     "'last start=by itself' or 'by hand', 'complaint=only in the installed "
                     "system', 'outside it too' or 'nowhere', "
                     "mainboard=replaced, jack:AC='plugged in' or slot:0000:00:1c.0=fitted "
                     "where nothing answers, or a part's id and its new name")  # fmt: skip
    told_argument(run)
    machine_argument(run)
    run.add_argument("--cannot", metavar="STEP", action="append", default=[],
                     help="a step ruled out here, as in `no spare: drive`")  # fmt: skip
    run.add_argument("--can", metavar="STEP", action="append", default=[],
                     help="a step ruled out before that can be done now")  # fmt: skip
    run.add_argument(
        "--case", metavar="ID", help="go on with this open case: its id, or its folder"
    )
    run.add_argument("--from", dest="source", metavar="CAPTURE", type=Path,
                     help="replay a capture instead of reading this machine")  # fmt: skip
    run.add_argument("--readings", metavar="FILE", type=Path,
                     help="no power, no picture: measurements from a TOML file")  # fmt: skip
    common(run, _run)


def _run(options: argparse.Namespace) -> int:
    plan = planned(options)
    measured = plan.complaint in WORKSHEETS and options.source is None
    if options.readings is not None and not measured:
        raise UsageError(
            "--readings goes with --complaint no-power or no-picture, and not with --from: "
            "measurements take the place of a machine that starts"
        )
    if measured:
        return _worksheet(options, plan)
    from livecheck.commands.progress_output import ProgressOutput
    from livecheck.probes.control import SignalControl
    from livecheck.run import RunContext, RunControl
    from livecheck.saving import run_and_save

    live = LiveHost()
    host: Host = captured(options.source) if options.source else live
    shop, tables, plan = _at_shop(options, plan)
    with run_kept(options), stop_requests(STOPPING) as stopped:
        control = RunControl(on_event=ProgressOutput(), stopped=stopped, orders=SignalControl())
        context = RunContext(host=host, plan=plan, knowledge=tables, control=control)
        saved = run_and_save(context, shop)
    print_saved(saved, tables, options.json)
    _told_of_others(shop, saved)
    return DONE


def _told_of_others(shop: Shop, saved: Saved) -> None:
    """That the machine has another open case, and what it was here for before this one."""
    others = (entry.case for entry in shop.of_machine(saved.run.inventory))
    cases = [case for case in others if case is not None and case.id != saved.loaded.case.id]
    for case in [case for case in cases if case.closed is None][-1:]:
        complain(f"this machine has another open case: {case.ticket or case.id} "
                 f"(to go on with it: --case {case.id})")  # fmt: skip
    closed = sorted((case for case in cases if case.closed), key=lambda case: case.closed or "")
    for case in closed[-1:] if len(saved.loaded.runs) == 1 else []:
        day, what = (case.closed or "")[:10], case.outcome or "nothing was recorded"
        complain(f"this machine was here before: {case.ticket or case.id}, {day}, {what}")


def planned(options: argparse.Namespace) -> Plan:
    """What the command line asks for."""

    if options.drive and not options.stretch:
        raise UsageError("--drive goes with --range (0- is the whole drive)")
    return Plan(
        soak_hours=checking.hours(options.soak),
        complaint=Complaint(options.complaint),
        depth=options.depth,
        probes=_probes(options.probes),
        ticket=options.ticket,
        known_good=tuple(options.known_good),
        reseated=tuple(options.reseated),
        in_known_good_machine=options.in_known_good_machine,
        answers=tuple(_answer(words) for words in options.answer),
        told=tuple(checking.told_line(words) for words in options.told),
        cannot=tuple(options.cannot),
        can=tuple(options.can),
        case=options.case,
        same_machine=options.same_machine,
        span=_span(options),
    )


def _at_shop(options: argparse.Namespace, plan: Plan) -> tuple[Shop, Knowledge, Plan]:
    """The shop drive and its tables; the plan, held against them. Raises UsageError."""
    shop = find_shop(LiveHost(), options.shop)
    tables = read_tables(shop.root)
    for words in (*plan.cannot, *plan.can):
        checking.step_rule(words, tables)
    case = checking.open_case(plan.case, shop) if plan.case is not None else None
    return shop, tables, msgspec.structs.replace(plan, case=case)


def _probes(words: str | None) -> tuple[str, ...] | None:
    from livecheck.probes import registry

    names = tuple(n for n in words.split(",") if n) if words else None
    if names == ("passive",):
        return tuple(p.name for p in registry.ALL if p.passive)
    for name in names or ():
        if name not in registry.BY_NAME:
            raise UsageError(f"no probe named {name}{near(name, registry.BY_NAME)}")
    return names


WORDS: Final = {LAST_START: tuple(HowEnded), COMPLAINT: tuple(WhereShown)}
"""Topics that have words of their own."""


def _answer(words: str) -> Answer:
    about, sign, says = words.partition("=")
    if not (sign and about.strip() and says.strip()):
        raise UsageError(f"--answer {words}: not understood (as in: firmware=re-flashed)")
    known = WORDS.get(about.strip(), ())
    if known and says.strip() not in known:
        raise UsageError(f"--answer {words}: of the {about.strip()} say {' or '.join(known)}")
    return understood(about, says)


def _span(options: argparse.Namespace) -> Span | None:
    from livecheck.commands import ranges

    if not options.stretch:
        return None
    drive = options.drive.removeprefix("/dev/") if options.drive else None
    return ranges.span(options.stretch, drive)


def _told(plan: Plan, shop: Shop) -> tuple[ToldLine, ...]:
    """What was told at the counter, now and when the case was opened."""
    folder = shop.named(plan.case)
    if folder is None and plan.ticket is not None:
        folder = shop.find(Inventory(), plan.ticket, plan.complaint)
    return (*(folder.case().told if folder is not None else ()), *plan.told)


def _worksheet(options: argparse.Namespace, plan: Plan) -> int:
    from livecheck import prompts
    from livecheck.diagnosis import worksheet
    from livecheck.diagnosis.worksheet_words import BadAnswers
    from livecheck.saving import save, worksheet_run
    from livecheck.worded import worded
    from livecheck.worded_forms import worded_sheet

    live = LiveHost()
    shop, tables, plan = _at_shop(options, plan)
    sheet = knowledge.worksheet()
    try:
        if options.readings is not None:
            answers = guarded.read(guarded.named(options.readings))
            filled = worksheet.parse(answers.decode("utf-8"), sheet)
        elif sys.stdin.isatty():
            with telling():
                filled = prompts.fill(
                    plan.complaint, worded_sheet(sheet), worded(tables), _told(plan, shop)
                )
        else:
            raise UsageError(
                f"{plan.complaint}: nobody is there to answer; give the measurements "
                "with --readings FILE, or use --from to replay a machine that started"
            )
    except BadAnswers as error:
        raise Failure(f"{options.readings}: {error}") from error
    except (OSError, UnicodeDecodeError) as error:
        raise Failure(f"{options.readings}: cannot be read ({error})") from error
    with run_kept(options):
        saved = save(worksheet_run(filled, plan, live, shop), plan, tables, shop)
    print_saved(saved, tables, options.json)
    return DONE
