"""How to copy a failing drive: the exact commands, which the technician runs."""

from __future__ import annotations

import argparse
import shutil
from pathlib import Path
from typing import TYPE_CHECKING

from livecheck.commands.common import DONE, Failure, Subparsers, case_argument, common
from livecheck.commands.files import captured, case_of, load, read_tables, root_of
from livecheck.commands.language import telling
from livecheck.commands.output import print_json
from livecheck.wording import clean, text

if TYPE_CHECKING:
    from livecheck.casefile import Loaded
    from livecheck.records import Knowledge


def add(commands: Subparsers) -> None:
    """Add ``rescue``."""
    parser = commands.add_parser(
        "rescue", help="the exact commands to copy a failing drive; runs none of them"
    )
    case_argument(parser)
    parser.add_argument("--to", metavar="DRIVE", required=True,
                        help="whole drive to copy onto, which is overwritten: sdb")  # fmt: skip
    parser.add_argument("--from", dest="source", metavar="CAPTURE", type=Path,
                        help="the bench as a capture recorded it")  # fmt: skip
    common(parser, _rescue)


def _rescue(options: argparse.Namespace) -> int:
    path = case_of(options)
    loaded = load(path)
    tables = read_tables(root_of(path), besides=loaded.case.id)
    with telling():
        return _told(options, path, loaded, tables)


def _told(options: argparse.Namespace, path: Path, loaded: Loaded, tables: Knowledge) -> int:
    from livecheck import rescue
    from livecheck.casefile.shop import mounts
    from livecheck.live_host import LiveHost
    from livecheck.plan import Plan
    from livecheck.run import begin

    host = captured(options.source) if options.source else LiveHost()
    run, _ = begin(host, Plan())
    own = {p.identity for r in loaded.runs for p in r.inventory.parts
           if p.identity and not p.bench_own}  # fmt: skip
    try:
        copied = rescue.source(run.inventory, rescue.failing(loaded.runs, tables))
        used = [device for _, device in mounts(host)]
        onto = rescue.target(run.inventory, options.to, own, used)
        typed = rescue.commands(copied, onto, path.resolve())
        lines = rescue.told(copied, onto, path.resolve())
    except rescue.NoSafeCopy as error:
        raise Failure(str(error)) from error
    if options.json:
        print_json({"commands": typed})
        return DONE
    if shutil.which(rescue.TOOL) is None:
        lines.append(text("rescue.no-tool", tool=rescue.TOOL))
    print("\n".join(clean(line) for line in lines))
    return DONE
