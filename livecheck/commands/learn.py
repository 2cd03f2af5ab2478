"""What confirmed cases teach the tables: shown, used, taken back."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from livecheck.casefile import find_shop
from livecheck.casefile.shop import explain
from livecheck.commands.common import DONE, Failure, Subparsers, common
from livecheck.commands.language import at_shop, telling
from livecheck.commands.output import complain, print_json
from livecheck.worded import worded
from livecheck.wording import text

if TYPE_CHECKING:
    from pathlib import Path

    from livecheck.records import Knowledge, LearnedTables


def add(commands: Subparsers) -> None:
    """Add ``learn``."""
    learn = commands.add_parser("learn", help="what confirmed cases teach; changes nothing unless "
                                "told to")  # fmt: skip
    ways = learn.add_mutually_exclusive_group()
    ways.add_argument("--use", action="store_true",
                      help="judge by it from now on, if past cases are judged better")  # fmt: skip
    ways.add_argument("--undo", action="store_true", help="judge by the tables as they were")
    ways.add_argument("--show", action="store_true", help="what is in use, without learning anew")
    common(learn, _learn)


def _learn(options: argparse.Namespace) -> int:
    from livecheck.judgement import own_tables
    from livecheck.live_host import LiveHost

    root = find_shop(LiveHost(), options.shop).root
    tables, _, troubles = own_tables(root)
    at_shop(tables.shop.language)
    for trouble in troubles:
        complain(trouble)
    with telling():
        return _told(options, root, tables)


def _told(options: argparse.Namespace, root: Path, tables: Knowledge) -> int:
    from livecheck.case_index import learned

    try:
        if options.undo:
            learned.undo(root)
        known = learned.read(root) if options.show else None
    except OSError as error:
        raise explain(error, root) from error
    if options.undo or options.show:
        _tell(known, tables, options.json)
        return DONE
    found = _worked_out(root, tables)
    _tell(found, tables, options.json)
    if options.use:
        _use(root, found)
    elif not options.json:
        print(text("learned.proposal"))
    return DONE


def _worked_out(root: Path, tables: Knowledge) -> LearnedTables:
    from livecheck.case_index import learned
    from livecheck.case_index.outcomes import read_taught
    from livecheck.casefile import Shop
    from livecheck.learning.held_out import least_machines
    from livecheck.live_host import LiveHost

    taught, damaged = read_taught(Shop(root).cases_folder)
    cases, left_out = learned.lessons(tables, taught)
    for sentence in (*damaged, *left_out):
        complain(sentence)
    found = learned.work_out(tables, cases, LiveHost().scope("session").facts().now)
    if found is None:
        least = least_machines(tables)
        raise Failure(text("learned.too-few", n=len(cases), least=least))
    return found


def _use(root: Path, found: LearnedTables) -> None:
    from livecheck.case_index import learned
    from livecheck.learning.held_out import is_better

    if not is_better(found.held_out):
        raise Failure(text("learned.not-used"))
    try:
        learned.use(root, found)
    except OSError as error:
        raise explain(error, root) from error
    complain(text("learned.used"))


def _tell(found: LearnedTables | None, tables: Knowledge, as_json: bool) -> None:
    from livecheck.learning import words

    if as_json:
        print_json({"learned": found})
    else:
        print(words.learned_text(found, worded(tables)) if found else text("learned.nothing"))
