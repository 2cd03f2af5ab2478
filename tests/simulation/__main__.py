"""Score the policies: ``python -m tests.simulation --cases 5000 --seed 7 --json``."""

from __future__ import annotations

import argparse
import json
import sys
import time
from pathlib import Path
from typing import Any

from tests.simulation import play, score, small
from tests.simulation.policies import POLICIES


def main() -> int:
    """Play the cases and print the scores."""
    given = _given()
    if given.keep:
        given.keep.mkdir(parents=True, exist_ok=True)
    began = time.perf_counter()
    found: dict[str, Any] = {}
    wanted = given.policies.split(",") if given.policies else list(POLICIES)
    minutes = {}
    # The fixed order is the yardstick of minutes; it asks nothing of the program and is quick.
    for policy in dict.fromkeys([*wanted, "fixed_order"]):
        played = play.play_all(
            policy, given.cases, given.seed, given.workers, given.population, given.keep
        )
        scores = score.scores(played)
        minutes[policy] = scores["bench_minutes"]
        if policy in wanted:
            found[policy] = scores
        if policy == "ours":
            found["calibration"] = score.calibration(played)
            if given.by_type:
                found["by_type"] = score.by_type(played)
    if "ours" in minutes:
        found["ours"]["minutes_of_fixed_order"] = round(minutes["ours"] / minutes["fixed_order"], 4)
    if not given.policies:
        found["optimum"], found["ours_on_small"] = small.compare()
    print(f"{time.perf_counter() - began:.0f} s", file=sys.stderr)
    print(json.dumps(found, indent=1) if given.json else _table(found))
    return 0


def _given() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.simulation", description=__doc__)
    parser.add_argument("--cases", type=int, default=500, help="invented machines (500)")
    parser.add_argument("--seed", type=int, default=7, help="which machines (7)")
    parser.add_argument("--workers", type=int, default=2, help="processes (2)")
    parser.add_argument("--json", action="store_true", help="print JSON")
    parser.add_argument(
        "--population", choices=play.NAMES, default="own", help="which behaviour (own)"
    )
    parser.add_argument("--by-type", action="store_true", help="also: figures by type of fault")
    parser.add_argument("--policies", help="only these, with commas between; no small machines")
    parser.add_argument("--keep", type=Path, help="folder for outcomes: a run cut short goes on")
    return parser.parse_args()


def _table(found: dict[str, Any]) -> str:
    lines = []
    for name, figures in found.items():
        lines.append(name)
        lines += [f"  {what}: {value}" for what, value in figures.items()]
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main())
