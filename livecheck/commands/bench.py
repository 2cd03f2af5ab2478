"""What the bench can do and sees besides a run: ruled-out steps, the tree, the meters."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Final

from livecheck.casefile import CaseFolder, place_names
from livecheck.casefile.shop import explain
from livecheck.chances import percent
from livecheck.commands import checking
from livecheck.commands.common import (
    DONE,
    Failure,
    Subparsers,
    UsageError,
    case_argument,
    common,
    told_argument,
)
from livecheck.commands.files import case_of, load, read_tables, root_of
from livecheck.commands.language import telling
from livecheck.commands.output import in_words, print_json, print_verdict
from livecheck.commands.stopping import stop_requests
from livecheck.intake import NOTE
from livecheck.records import ToldLine
from livecheck.wording import clean, text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from livecheck.report.tree import Node

NO_SENSOR: Final = "this kernel finds no sensor here, so heat and power cannot be metered"


def add(commands: Subparsers) -> None:
    """Add ``note``, ``tree`` and ``meters``."""
    note = commands.add_parser("note", help="words, and what this bench cannot do, kept in a case")
    case_argument(note)
    note.add_argument("text", metavar="TEXT", nargs="?", help="a note in your own words")
    told_argument(note)
    note.add_argument("--cannot", metavar="STEP", action="append", default=[],
                      help="a step ruled out here, as in `no spare: drive`")  # fmt: skip
    note.add_argument("--can", metavar="STEP", action="append", default=[],
                      help="a step ruled out before that can be done now")  # fmt: skip
    note.add_argument("--spare", metavar="IDENTITY", action="append", default=[],
                      help="identity of a part the shop vouches for")  # fmt: skip
    note.add_argument("--call", metavar="PLACE=NAME", action="append", default=[],
                      help="what a place is called at this shop, on all boards of its model: "
                      "usb:1-1='left USB socket'; no name takes it back")  # fmt: skip
    common(note, _note)

    tree = commands.add_parser("tree", help="parts and places of a case, with what was found")
    case_argument(tree)
    common(tree, _tree)

    meters = commands.add_parser("meters", help="heat, fans, power and battery, once a second")
    meters.add_argument("--seconds", metavar="N", type=float, help="so long, then end")
    common(meters, _meters)


def _readable(words: str) -> bool:
    return any(char.isprintable() and not char.isspace() for char in words)


def _note(options: argparse.Namespace) -> int:
    from livecheck.judgement import save_report
    from livecheck.saving import note

    told = [checking.told_line(words) for words in options.told]
    told += [ToldLine(about=NOTE, words=options.text)] if _readable(options.text or "") else []
    if not (told or options.cannot or options.can or options.spare or options.call):
        raise UsageError("note wants a text, --told, --cannot, --can, --spare or --call")
    path = case_of(options)
    before = load(path)
    barred = before.case.cannot
    calls = [checking.called(words, before.runs) for words in options.call]
    tables = read_tables(root_of(path))
    spares = [checking.identity(words) for words in options.spare]
    cannot = [checking.step_rule(words, tables) for words in options.cannot]
    can = [checking.one_of(words, barred, "--can") for words in options.can]
    folder = CaseFolder(path)
    try:
        note(folder, spares, cannot, can, told)
        for board, place, name in calls:
            place_names.keep(path.parent, board, place, name)
        loaded, location = save_report(folder, tables)
    except OSError as error:
        raise explain(error, path) from error
    if options.json:
        print_json({"case": loaded.case, "location": location})
    else:
        print_verdict(path, loaded, location, tables)
    return DONE


def _tree(options: argparse.Namespace) -> int:
    from livecheck.judgement import locate_case
    from livecheck.names import Names
    from livecheck.report.tree import path_tree

    path = case_of(options)
    loaded = load(path)
    tables = read_tables(root_of(path))
    location = locate_case(loaded, tables)
    if options.json:
        print_json(path_tree(loaded.runs, location, Names(loaded.runs, tables)))
        return DONE
    with telling():
        shown, said, found = in_words(loaded, location, tables, path)
        root = path_tree(shown.runs, found, Names(shown.runs, said))
        print("\n".join(_lines(root, "")) if root is not None else text("printed.none"))
    return DONE


def _lines(node: Node, indent: str) -> Iterator[str]:
    many = text("printed.many", n=node.folded) if node.folded > 1 else ""
    states = [*node.states]
    if node.suspicion is not None:
        states.append(text("printed.at-fault", share=percent(node.suspicion)))
    mark = text("printed.failed") if node.level == "failed" else ""
    said = f" : {'; '.join(states)}" if states else ""
    yield indent + clean(f"{mark}{node.component.label}{many}{said}")
    for child in node.children:
        yield from _lines(child, f"{indent}  ")


def _meters(options: argparse.Namespace) -> int:
    from livecheck import meters
    from livecheck.live_host import LiveHost

    host = LiveHost()
    sampler = meters.Sampler(host)
    if not sampler.channels:
        raise Failure(NO_SENSOR)
    begun = host.clock()
    with stop_requests() as stopped:
        for sample in meters.feed(host, sampler, stopped=stopped):
            gauges = meters.gauges(sampler.channels, sample)
            if options.json:
                print_json({"seconds": sample.seconds, "meters": gauges})
            else:
                print("  ".join(clean(f"{g.name} {g.text}") for g in gauges), flush=True)
            if options.seconds is not None and host.clock() - begun >= options.seconds:
                break
    return DONE
