"""The test a drive makes of itself: asked for by name, explained, followed, broken off."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Final

from livecheck.commands.common import (
    DONE,
    Failure,
    Subparsers,
    UsageError,
    common,
    print_saved,
    read_tables,
    run_kept,
)
from livecheck.wording import clean, minutes

if TYPE_CHECKING:
    from livecheck.host import Host
    from livecheck.probes.self_test import State
    from livecheck.probes.smart_data import Finding
    from livecheck.records import Inventory, Knowledge, Part, Reading

POLL_SECONDS: Final = {"short": 5.0, "long": 30.0}

PATIENCE: Final = 3
"""Times the stated duration after which a test is no longer waited for: drives make way for
other work, and state round figures."""
UNSTATED_MINUTES: Final = {"short": 10, "long": 600}
"""Waited for where the drive states no duration (assumed)."""

CAUTIONS: Final = ("data", "self-test")


def add(commands: Subparsers) -> None:
    """Add ``self-test``."""
    parser = commands.add_parser("self-test", help="let a drive test itself (asks first)")
    parser.add_argument("drive", metavar="DEVICE", help="kernel name or node: sda, /dev/nvme0n1")
    parser.add_argument("--long", action="store_true", help="its whole medium: hours")
    parser.add_argument("--yes", action="store_true", help="do not ask")
    parser.add_argument("--ticket", help="the shop's own number for this job")
    common(parser, _self_test)


def _self_test(options: argparse.Namespace) -> int:
    from livecheck import session
    from livecheck.casefile import find_shop
    from livecheck.host import LiveHost

    if not options.yes and not sys.stdin.isatty():
        raise UsageError("nobody is there to be asked; --yes begins the test without asking")
    host = LiveHost()
    shop = find_shop(host, options.shop)
    tables = read_tables(shop.root)
    kind = "long" if options.long else "short"
    run, _ = session.begin(host, session.Plan())
    part, node = find(run.inventory, host, options.drive)
    state = _offer(host, node)
    _say(explained(part, state, kind, tables))
    if not options.yes and not _agreed():
        _say("Nothing was begun.")
        return DONE
    found = follow(host, node, state, kind)
    reading = as_reading(found, part, node)
    with run_kept():
        plan = session.Plan(ticket=options.ticket)
        saved = session.save_asked(host, plan, (reading,), tables, shop)
    print_saved(saved, tables, options.json)
    return DONE


def find(inventory: Inventory, host: Host, named: str) -> tuple[Part, str]:
    """The drive meant, and the node to ask it through. Raises Failure."""
    from livecheck.probes import smart

    name = Path(named).name
    for part in inventory.parts:
        block = part.attributes.get("block")
        if part.kind != "drive" or not isinstance(block, str):
            continue
        # nvme0 is the controller of nvme0n1.
        if name == block or (block.startswith("nvme") and block.rpartition("n")[0] == name):
            node = smart.node(host, part.attributes.get("scsi"), block)
            if node is None:
                raise Failure(f"{name}: {smart.NO_NODE}")
            return part, node
    known = ", ".join(str(p.attributes["block"]) for p in inventory.parts
                      if p.kind == "drive" and p.attributes.get("block"))  # fmt: skip
    raise Failure(f"{named} is no drive of this machine (there are: {known or 'none'})")


def _offer(host: Host, node: str) -> State:
    from livecheck.probes import self_test

    if not host.facts().as_root:
        raise Failure("only root may ask a drive to test itself (run as root)")
    state = self_test.ask(host, node)
    if state.trouble is not None:
        raise Failure(f"/dev/{node} cannot test itself: {state.trouble}")
    if state.running:
        raise Failure("a test runs in this drive already (wait for its end, or smartctl -X)")
    return state


def explained(part: Part, state: State, kind: str, tables: Knowledge) -> str:
    """What will happen, how long it takes by the drive's own word, and what to heed."""
    stated = state.minutes.get(kind)
    lasts = (
        f"The drive states {minutes(stated)} for it."
        if stated
        else "The drive does not state how long it takes."
    )
    what = (
        "reads its whole medium"
        if kind == "long"
        else "checks its electronics and mechanics and reads a small part of its medium"
    )
    cautions = [
        f"CAUTION: {tables.cautions[name].text}" for name in CAUTIONS if name in tables.cautions
    ]
    return "\n".join(
        [
            f"{part.name}: the {kind} test of itself. The drive {what}, by itself; it writes "
            f"nothing but its own log. {lasts} It can be used meanwhile, which makes it longer. "
            "Ctrl+C breaks the test off.",
            *cautions,
        ]
    )


def _agreed() -> bool:
    _say("Begin? [y/N] ", end="")
    return sys.stdin.readline().strip().lower() in ("y", "yes")


def follow(host: Host, node: str, before: State, kind: str) -> Finding:
    """Begin a test and wait for its end; Ctrl+C breaks it off. Raises Failure."""
    from livecheck.probes import self_test
    from livecheck.probes.smart_data import unjudged

    trouble = self_test.begin(host, node, kind)
    if trouble is not None:
        raise Failure(f"/dev/{node} did not begin its test: {trouble}")
    allowed = 60.0 * PATIENCE * (before.minutes.get(kind) or UNSTATED_MINUTES[kind])
    begun, told = host.clock(), ""
    try:
        while True:
            host.wait(POLL_SECONDS[kind])
            state = self_test.ask(host, node)
            if state.trouble is not None:
                why = f"the drive could no longer be asked: {state.trouble}"
                return unjudged(self_test.CHECK, why)
            if not state.running:
                return self_test.judge(before, state, kind)
            if host.clock() - begun > allowed:
                return self_test.judge(before, state, kind)
            words = f"{state.percent_left} % left" if state.percent_left is not None else "running"
            if words != told:
                _say(f"  {words}")
                told = words
    except KeyboardInterrupt:
        trouble = self_test.abort(host, node)
        why = "broken off by the technician"
        if trouble is not None:
            why += f", but the drive did not take that: {trouble} (switch it off to be sure)"
        _say(f"  {why}")
        return unjudged(self_test.CHECK, why)


def as_reading(found: Finding, part: Part, node: str) -> Reading:
    """The finding at its drive."""
    from livecheck.records import Reading

    return Reading(
        check=found.check,
        at=part.id,
        outcome=found.outcome,
        value=found.value,
        source=f"the drive's own test, by smartctl on /dev/{node}",
        says=found.says,
        why_not=found.why_not,
        details=found.details,
        device=str(part.attributes.get("block")),
    )


def _say(words: str, end: str = "\n") -> None:
    # Standard output is for the result.
    text = "\n".join(clean(line) for line in words.split("\n"))
    print(text, end=end, file=sys.stderr, flush=True)
