"""Logs of the customer's own system, read into the case as seen inside that system."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Final

from livecheck.commands.checking import open_case
from livecheck.commands.common import DONE, Failure, Subparsers, UsageError, common
from livecheck.commands.files import case_of, load, read_tables, run_kept
from livecheck.commands.output import answered, print_saved
from livecheck.wording import clean

if TYPE_CHECKING:
    from livecheck.live_host import LiveHost
    from livecheck.records import Run
    from livecheck.saved_log import LogRead


def add(commands: Subparsers) -> None:
    """Add ``read-log``."""
    parser = commands.add_parser(
        "read-log",
        help="read saved kernel logs of the installed system",
        description="Reads kernel logs that the installed system kept: dmesg, journalctl (short, "
        "json, export), syslog files, packed or not, and Windows' System.evtx. What they tell is "
        "given to the parts of this machine, or of the case's last run.",
    )
    parser.add_argument("files", metavar="FILE", type=Path, nargs="*", help="a log, or several")
    parser.add_argument(
        "--installed",
        action="store_true",
        help="those that Linux or Windows on this machine's own drives kept: read without "
        "mounting, what speaks of the hardware alone, once the customer has agreed",
    )
    parser.add_argument(
        "--agreed", action="store_true", help="the customer has agreed: do not ask again"
    )
    parser.add_argument(
        "--case", metavar="CASE", help="its folder or id: its machine is meant, not this one"
    )
    parser.add_argument("--ticket", help="the shop's own number for this job")
    common(parser, _read_log)


def _read_log(options: argparse.Namespace) -> int:
    from livecheck import saved_log
    from livecheck.casefile import Shop, find_shop
    from livecheck.live_host import LiveHost
    from livecheck.plan import Plan
    from livecheck.run import begin
    from livecheck.saving import save

    if not options.files and not options.installed:
        raise UsageError("give a saved log, or --installed")
    host = LiveHost()
    # The shop that a case lies in is meant, whatever else is mounted.
    case = case_of(options) if options.case is not None else None
    shop = Shop(case) if case is not None else find_shop(host, options.shop)
    tables = read_tables(shop.root)
    if case is not None:
        begun = _last_run(case)
        plan = Plan(ticket=options.ticket, case=open_case(str(case), shop))
    else:
        plan = Plan(ticket=options.ticket)
        begun, _ = begin(host, plan)
    if options.installed:
        begun = _agreed(begun, options)
    with TemporaryDirectory(prefix="livecheck-") as folder:
        kept, begun = _installed(host, Path(folder), begun) if options.installed else ([], begun)
        log = _log([*options.files, *kept], begun)
    with run_kept(options):
        saved = save(saved_log.run_of(log, begun), plan, tables, shop)
    print_saved(saved, tables, options.json)
    return DONE


def _log(files: list[Path], begun: Run) -> LogRead:
    from livecheck import saved_log

    try:
        log = saved_log.read_files(files, begun.inventory, int(begun.started[:4]), _progress)
    except OSError as error:
        raise Failure(
            f"{error.filename}: {error.strerror} (give a saved log; see livecheck read-log --help)"
        ) from error
    if not log.messages:
        why = "".join(f"; {reason}" for reason in log.missed)
        raise Failure(
            f"no message of a kernel is in it{why} (save one with: journalctl -k -b all -o "
            "export, or dmesg)"
        )
    return log


CONSENT: Final = (
    "The customer has agreed that messages of the hardware are read from the logs on his drives; "
    "nothing else of them is kept."
)


QUESTION: Final = (
    "Has the customer agreed that messages of the hardware are read from the logs on his drives?"
)


def _agreed(begun: Run, options: argparse.Namespace) -> Run:
    """The run with the customer's consent in it. Raises UsageError where there is none."""
    import msgspec

    from livecheck.records import Remark

    if not options.agreed:
        if not sys.stdin.isatty():
            raise UsageError("the customer must have agreed: ask him, then give --agreed")
        if not answered(QUESTION):
            raise UsageError("nothing was read: the customer has not agreed")
    consent = Remark(about="consent", words=CONSENT)
    return msgspec.structs.replace(begun, answers=(*begun.answers, consent))


def _installed(host: LiveHost, folder: Path, begun: Run) -> tuple[list[Path], Run]:
    """Logs of every file system of the inner drives; the run says what was not had."""
    import msgspec

    from livecheck import installed_log
    from livecheck.records import NotTested

    files: list[Path] = []
    missed: list[NotTested] = []
    for number, volume in enumerate(installed_log.volumes(host)):
        own = folder / f"{number}"
        own.mkdir()
        found = installed_log.copied(host, volume, own)
        files += found.files
        missed += [NotTested(what="Logs of the installed system", why=why) for why in found.missed]
        for why in found.missed:
            print(clean(why), file=sys.stderr)
    return files, msgspec.structs.replace(begun, not_tested=(*begun.not_tested, *missed))


def _last_run(case: Path) -> Run:
    """An empty run of the machine as it was last seen in a case."""
    from datetime import UTC, datetime

    import msgspec

    from livecheck.records import Run

    loaded = load(case)
    seen = [run for run in loaded.runs if run.inventory.parts]
    if not seen:
        raise Failure(f"{case} holds no run of the machine itself (read the log on the machine)")
    last = seen[-1]
    begun = Run(
        number=0,
        started=datetime.now(UTC).isoformat(timespec="seconds"),
        complaint=last.complaint,
        inventory=last.inventory,
        known_good=last.known_good,
    )
    # What is fitted was told once, and holds as long as nothing was changed.
    return msgspec.structs.replace(begun, answers=last.answers)


def _progress(count: int) -> None:
    print(f"{count} messages read", file=sys.stderr)
