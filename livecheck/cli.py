"""The command line: parse, call, print.

Results go to standard output, messages to standard error. Exit status: 0 done,
whatever was found; 2 wrong usage; 3 could not do it, and the message says what
to try.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Final, NoReturn

import msgspec

from livecheck import __version__, capture, knowledge
from livecheck.casefile import CaseFolder, Loaded, ShopError, find_shop
from livecheck.casefile.shop import explain
from livecheck.host import Host, LiveHost
from livecheck.records import Complaint, DamagedRecord, Knowledge

if TYPE_CHECKING:
    from livecheck.probes.runner import Event
    from livecheck.session import Plan, Saved

DONE: Final = 0
WRONG_USAGE: Final = 2
FAILED: Final = 3


WORKSHEETS: Final = frozenset({Complaint.NO_POWER, Complaint.NO_PICTURE})
"""Complaints of machines that cannot be started: measurements take the place of probes."""


class UsageError(Exception):
    """The command line makes no sense; says what does."""


class Failure(Exception):
    """It could not be done; says what to try."""


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        raise UsageError(f"{self.prog}: {message} (see {self.prog} --help)")


def main(argv: Sequence[str]) -> int:
    """Run one command; returns the exit status."""
    try:
        options = _parser().parse_args(argv)
        command: Callable[[argparse.Namespace], int] = options.command
        return command(options)
    except UsageError as error:
        return _complain(str(error), WRONG_USAGE)
    except (Failure, ShopError, DamagedRecord, knowledge.BrokenTable) as error:
        return _complain(str(error), FAILED)
    except BrokenPipeError:
        # Whoever read our output has had enough of it.
        sys.stderr.close()
        return DONE
    except KeyboardInterrupt:
        return _complain("stopped; what was saved before stands", FAILED)


def _complain(message: str, status: int) -> int:
    print(f"livecheck: {message}", file=sys.stderr)
    return status


def _parser() -> _Parser:
    parser = _Parser(
        prog="livecheck",
        description="Finds which part of a laptop is at fault. Without a command: the console.",
    )
    parser.add_argument("--version", action="version", version=f"livecheck {__version__}")
    parser.set_defaults(command=_console, shop=None)
    commands = parser.add_subparsers(title="commands", parser_class=_Parser)

    run = commands.add_parser("run", help="one run, saved into its case")
    run.add_argument("--complaint", choices=[c.value for c in Complaint], default="intake")
    run.add_argument(
        "--probes", metavar="A,B", help="only these probes; `passive`: those that load nothing"
    )
    run.add_argument("--depth", choices=["quick", "full"], default="quick")
    run.add_argument("--ticket", help="the shop's own number for this job")
    run.add_argument("--reseated", metavar="PLACE", action="append", default=[],
                     help="id of a place whose part was taken out and put back")  # fmt: skip
    run.add_argument("--known-good", metavar="IDENTITY", action="append", default=[],
                     help="identity of a fitted part the shop vouches for")  # fmt: skip
    run.add_argument("--elsewhere", action="store_true",
                     help="the suspect part sits in a known-good machine of the shop")  # fmt: skip
    run.add_argument("--from", dest="source", metavar="CAPTURE", type=Path,
                     help="replay a capture instead of reading this machine")  # fmt: skip
    run.add_argument("--readings", metavar="FILE", type=Path,
                     help="no power, no picture: measurements from a TOML file")  # fmt: skip
    _common(run, _run)

    locate = commands.add_parser("locate", help="fault location from a case's saved runs")
    locate.add_argument("case", metavar="CASE_DIR", type=Path)
    _common(locate, _locate)

    report = commands.add_parser("report", help="write a case's report again")
    report.add_argument("case", metavar="CASE_DIR", type=Path)
    report.add_argument("--to", metavar="FILE", type=Path)
    report.set_defaults(command=_report)

    _common(commands.add_parser("cases", help="the cases on the shop drive"), _cases)

    recorder = commands.add_parser("capture", help="record this machine for replay")
    recorder.add_argument("file", metavar="FILE", type=Path)
    recorder.set_defaults(command=_capture)

    demo = commands.add_parser("demo", help="invented cases with swaps, start to report")
    demo.add_argument("--to", metavar="DIR", type=Path, default=Path("reports/demo"))
    demo.set_defaults(command=_demo)
    return parser


def _common(parser: argparse.ArgumentParser, command: Callable[[argparse.Namespace], int]) -> None:
    parser.add_argument("--shop", metavar="DIR", type=Path, help="folder or drive that keeps cases")
    parser.add_argument("--json", action="store_true", help="machine-readable result")
    parser.set_defaults(command=command)


def _run(options: argparse.Namespace) -> int:
    from livecheck import session
    from livecheck.probes import registry

    names = tuple(n for n in options.probes.split(",") if n) if options.probes else None
    if names == ("passive",):
        names = tuple(p.name for p in registry.ALL if p.passive)
    unknown = set(names or ()) - set(registry.BY_NAME)
    if unknown:
        raise UsageError(
            f"no probe named {', '.join(sorted(unknown))}; there are {', '.join(registry.BY_NAME)}"
        )
    plan = session.Plan(
        complaint=Complaint(options.complaint),
        depth=options.depth,
        probes=names,
        ticket=options.ticket,
        known_good=tuple(options.known_good),
        reseated=tuple(options.reseated),
        elsewhere=options.elsewhere,
    )
    if plan.complaint in WORKSHEETS and options.source is None:
        return _worksheet(options, plan)
    live = LiveHost()
    host: Host = _captured(options.source) if options.source else live
    shop = find_shop(live, options.shop)
    tables = _tables(shop.root)
    with _run_kept():
        saved = session.run_and_save(host, plan, tables, shop, _tell)
    _print_saved(saved, tables, options.json)
    return DONE


def _worksheet(options: argparse.Namespace, plan: Plan) -> int:
    from livecheck import prompts, session
    from livecheck.diagnosis import worksheet

    live = LiveHost()
    shop = find_shop(live, options.shop)
    tables = _tables(shop.root)
    sheet = knowledge.worksheet()
    try:
        if options.readings is not None:
            filled = worksheet.parse(options.readings.read_text("utf-8"), sheet)
        elif sys.stdin.isatty():
            filled = prompts.fill(plan.complaint, sheet, tables)
        else:
            raise UsageError(
                f"{plan.complaint}: nobody is there to answer; give the measurements "
                "with --readings FILE, or use --from to replay a machine that started"
            )
    except worksheet.BadAnswers as error:
        raise Failure(f"{options.readings}: {error}") from error
    except (OSError, UnicodeDecodeError) as error:
        raise Failure(f"{options.readings}: cannot be read ({error})") from error
    with _run_kept():
        saved = session.save_worksheet(filled, plan, tables, shop, live)
    _print_saved(saved, tables, options.json)
    return DONE


@contextmanager
def _run_kept() -> Iterator[None]:
    """A run the shop drive refused is kept elsewhere, and the failure says where."""
    from livecheck import session

    try:
        yield
    except session.Unsaved as error:
        raise Failure(
            f"{error}. The run was kept in {session.keep_elsewhere(error.run)}"
        ) from error


def _locate(options: argparse.Namespace) -> int:
    from livecheck import session

    loaded = _load(options.case)
    tables = _tables(_root_of(options.case))
    location = session.locate_case(loaded, tables)
    for line in loaded.damaged:
        print(f"livecheck: {line} (left as it is)", file=sys.stderr)
    if options.json:
        _print_json(location)
    else:
        from livecheck import printing
        from livecheck.report.names import Names

        print(printing.location(location, Names(loaded.runs, tables)))
    return DONE


def _report(options: argparse.Namespace) -> int:
    from livecheck import session

    _load(options.case)
    try:
        target = session.write_report(
            CaseFolder(options.case), _tables(_root_of(options.case)), options.to
        )
    except OSError as error:
        raise explain(error, options.to or options.case) from error
    print(target)
    return DONE


def _cases(options: argparse.Namespace) -> int:
    from livecheck import printing

    entries = find_shop(LiveHost(), options.shop).entries()
    if options.json:
        _print_json(entries)
    else:
        print(printing.cases(entries))
    return DONE


def _capture(options: argparse.Namespace) -> int:
    from livecheck import session

    recording = session.record(LiveHost(), knowledge.load())
    try:
        capture.save(options.file, recording, __version__)
    except OSError as error:
        raise explain(error, options.file.parent) from error
    print(options.file)
    return DONE


def _demo(options: argparse.Namespace) -> int:
    from livecheck import demo, printing

    tables = knowledge.load()
    for step in demo.play(options.to, tables):
        print(printing.demo_step(step, tables))
    return DONE


def _console(options: argparse.Namespace) -> int:
    from livecheck import console

    return console.run(options.shop)


def _load(path: Path) -> Loaded:
    if not path.is_dir():
        raise Failure(f"{path} is not a folder (give the case's own folder; see livecheck cases)")
    try:
        return CaseFolder(path).load()
    except FileNotFoundError as error:
        raise Failure(
            f"{path} is not a case: it holds no case.json (see livecheck cases)"
        ) from error
    except DamagedRecord as error:
        raise Failure(
            f"{path}: case.json is {error}. Its runs are untouched; "
            "restore case.json from a copy or start a new case"
        ) from error
    except OSError as error:
        raise Failure(f"{path}: {error.strerror} (check the drive, run as root)") from error


def _root_of(case: Path) -> Path:
    """The shop drive a case folder lies on: two folders up, past ``livecheck-cases``."""
    return case.resolve().parent.parent


def _tables(root: Path) -> Knowledge:
    from livecheck import session

    tables, trouble = session.tables(root)
    if trouble:
        print(f"livecheck: {trouble}", file=sys.stderr)
    return tables


def _captured(path: Path) -> Host:
    try:
        return capture.load(path)
    except OSError as error:
        raise Failure(f"{path}: {error.strerror} (livecheck capture FILE makes one)") from error


def _tell(event: Event) -> None:
    from livecheck import printing

    line = printing.event(event)
    if line:
        print(line, file=sys.stderr)


def _print_saved(saved: Saved, tables: Knowledge, as_json: bool) -> None:
    from livecheck import printing

    if as_json:
        _print_json(printing.saved_json(saved))
    else:
        print(printing.saved(saved, tables))


def _print_json(value: object) -> None:
    sys.stdout.buffer.write(msgspec.json.format(msgspec.json.encode(value), indent=1) + b"\n")
    sys.stdout.buffer.flush()
