"""``python -m tests.virtual_laptop list | run NAME | score | flow | walkthrough | power-cuts``."""

from __future__ import annotations

import argparse
import json
import shlex
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from livecheck.records import Complaint
from tests.virtual_laptop import flow, trial, ui_walkthrough
from tests.virtual_laptop.play import Played, again, play
from tests.virtual_laptop.scenarios import ALL, BY_NAME, Scenario
from tests.virtual_laptop.stick import CHECKOUT

IMAGE = CHECKOUT / "image-build/livecheck-amd64.img"


def scored(scenario: Scenario, played: Played) -> dict[str, Any]:
    """One line of the score: what was expected, and what the program found."""
    found = played.location
    step = found["next_step"]
    return {
        "name": scenario.name,
        "expected_side": scenario.side,
        "found_side": found["side"],
        "expected_unit": list(scenario.units),
        "found_unit": found["unit"] or found["component"],
        "probability": round(found["probability"], 4),
        "next_step": step and f"{step['action']}: {step['target']}",
        "boots": len(scenario.starts),
        "writes_to_internal_drives": played.writes + len(played.changed),
        "seconds": round(played.seconds),
    }


def parsed() -> argparse.Namespace:
    """The command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.virtual_laptop")
    parser.add_argument("--image", type=Path, default=IMAGE, help="the stick's image")
    commands = parser.add_subparsers(dest="command", required=True)
    commands.add_parser("list", help="the cases, a line each")
    run = commands.add_parser("run", help="play one case")
    run.add_argument("name", choices=BY_NAME)
    run.add_argument("--keep", type=Path, help="keep what it left in this folder")
    score = commands.add_parser("score", help="play all cases")
    score.add_argument("--only", help="names, with commas between")
    score.add_argument("--keep", type=Path)
    score.add_argument("--again", action="store_true",
                       help="start nothing; locate what lies in --keep from before")  # fmt: skip
    score.add_argument(
        "--to", type=Path, help="write the score into this file, each case with its commit"
    )
    score.add_argument("--json", action="store_true")
    way = commands.add_parser("flow", help="a case by keyboard and screen alone")
    way.add_argument("--keep", type=Path, required=True, help="folder for pictures and texts")
    way.add_argument("--cut", type=float, help="instead: take the power so many seconds into a run")
    walk = commands.add_parser("walkthrough", help="every complaint by keyboard and screen alone")
    walk.add_argument("--keep", type=Path, required=True, help="folder for pictures and texts")
    walk.add_argument("--size", choices=ui_walkthrough.SIZES, help="only this size of the screen")
    walk.add_argument("--only", help="complaints, with commas between")
    walk.add_argument("--to", type=Path, help="write what came of each into this file")
    cut = commands.add_parser("power-cuts", help="flex test, power cuts and ends of starts; JSON")
    cut.add_argument("--keep", type=Path, required=True)
    cut.add_argument("--wanted", type=int, default=30, help="cuts in the middle of a run")
    cut.add_argument("--part", choices=trial.PARTS, help="only this part")
    cut.add_argument(
        "--with",
        dest="modules",
        action="append",
        default=[],
        metavar="MODULE",
        help="this checkout's module in place of the image's: casefile/atomic.py",
    )
    cut.add_argument("--to", type=Path, help="write it to this file, with its commit")
    return parser.parse_args()


def main() -> int:
    options = parsed()
    if options.command == "power-cuts":
        said = trial.played(
            options.image, options.keep, options.wanted, options.part, options.modules
        )
        print(json.dumps(said, indent=1))
        if options.to:
            options.to.write_text(json.dumps(stamp() | said, indent=1) + "\n")
        return 0
    if options.command == "flow":
        print(flow.told(options.image, options.keep, options.cut))
        return 0
    if options.command == "walkthrough":
        return walk(options)
    if options.command == "list":
        for scenario in ALL:
            print(f"{scenario.name:16} {len(scenario.starts)} starts: {scenario.about}")
        return 0
    wanted = [options.name] if options.command == "run" else list(BY_NAME)
    if options.command == "score" and options.only:
        wanted = options.only.split(",")
    rows = []
    own = stamp()  # before the score itself changes a file of the checkout
    with tempfile.TemporaryDirectory(prefix="virtual-laptop-") as scratch:
        for name in wanted:
            folder = (options.keep or Path(scratch)) / name
            scenario = BY_NAME[name]
            if options.command == "score" and options.again:
                played = again(folder)
            else:
                played = play(options.image, folder, scenario.hidden, scenario.starts)
            rows.append(scored(scenario, played))
            print(rows[-1], file=sys.stderr, flush=True)
            if options.command == "score" and options.to:
                options.to.write_text(
                    json.dumps(stamped(rows, kept(options.to), own), indent=1) + "\n"
                )
    print(json.dumps(rows, indent=1))
    return 0


def walk(options: argparse.Namespace) -> int:
    """The walkthroughs of all complaints; the file is written after each of them."""
    own = stamp()
    only = tuple(map(Complaint, options.only.split(","))) if options.only else tuple(Complaint)
    sizes = (options.size,) if options.size else tuple(ui_walkthrough.SIZES)

    def each(found: list[ui_walkthrough.Walkthrough]) -> None:
        print(found[-1], file=sys.stderr, flush=True)
        if options.to:
            before = (
                json.loads(options.to.read_text())["walkthroughs"] if options.to.exists() else []
            )
            options.to.write_text(ui_walkthrough.merged(before, found, own))

    ui_walkthrough.all_walkthroughs(options.image, options.keep, only, sizes, each)
    return 0


def stamped(
    rows: list[dict[str, Any]], before: list[dict[str, Any]], own: dict[str, Any]
) -> dict[str, Any]:
    """The score, each case with where it comes from; what was not played again stays as it was."""
    known = {row["name"]: row for row in before} | {row["name"]: row | own for row in rows}
    return {
        "cases": [known[name] for name in BY_NAME if name in known],
        "not_played": [name for name in BY_NAME if name not in known],
    }


def kept(file: Path) -> list[dict[str, Any]]:
    """Cases of a score written before, each with its own origin."""
    if not file.exists():
        return []
    found: list[dict[str, Any]] = json.loads(file.read_text())["cases"]
    return found


def stamp() -> dict[str, Any]:
    """Commit, time and command of figures; ``-dirty``: with changes that are in no commit."""
    commit = subprocess.run(
        ["git", "-C", CHECKOUT, "describe", "--always", "--dirty", "--exclude=*"],
        capture_output=True, text=True, check=False,
    ).stdout.strip()  # fmt: skip
    # Where this machine keeps things is nobody's business.
    words = ["DIR" if word.startswith("/") else word for word in sys.argv[1:]]
    return {
        "commit": commit,
        "date": time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime()),
        "command": f"python -m tests.virtual_laptop {shlex.join(words)}",
    }


if __name__ == "__main__":
    sys.exit(main())
