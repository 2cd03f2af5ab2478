"""A run that the shop drive refused, saved once the drive is there again."""

from __future__ import annotations

import argparse
from pathlib import Path

from livecheck import guarded
from livecheck.commands import checking
from livecheck.commands.common import DONE, Failure, Subparsers, common
from livecheck.commands.files import read_tables, run_kept
from livecheck.commands.output import print_saved


def add(commands: Subparsers) -> None:
    """Add ``save``."""
    parser = commands.add_parser("save", help="save a run that was kept elsewhere")
    parser.add_argument("file", metavar="FILE", type=Path, help="where the run was kept")
    parser.add_argument("--ticket", help="the shop's own number for this job")
    parser.add_argument("--case", metavar="ID", help="go on with this open case")
    common(parser, _save)


def _save(options: argparse.Namespace) -> int:
    from livecheck.casefile import find_shop
    from livecheck.live_host import LiveHost
    from livecheck.plan import Plan
    from livecheck.records import Run, decode
    from livecheck.saving import save

    try:
        run = decode(guarded.read(guarded.named(options.file)), Run)
    except OSError as error:
        raise Failure(f"{options.file}: {error.strerror} (give the file that was named)") from error
    shop = find_shop(LiveHost(), options.shop)
    tables = read_tables(shop.root)
    case = checking.open_case(options.case, shop) if options.case else None
    plan = Plan(ticket=options.ticket, case=case)
    with run_kept(options):
        saved = save(run, plan, tables, shop)
    print_saved(saved, tables, options.json)
    return DONE
