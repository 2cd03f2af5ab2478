"""Score the policies: ``python -m tests.simulation --cases 5000 --seed 7 --json``."""

from __future__ import annotations

import argparse
import json
import sys
import time
from pathlib import Path
from typing import Any

from tests.simulation import score, small
from tests.simulation.policies import POLICIES
from tests.simulation.population import POPULATIONS


def main() -> int:
    """Play the cases and print the scores."""
    parser = argparse.ArgumentParser(prog="python -m tests.simulation", description=__doc__)
    parser.add_argument("--cases", type=int, default=500, help="invented machines (500)")
    parser.add_argument("--seed", type=int, default=7, help="which machines (7)")
    parser.add_argument("--workers", type=int, default=2, help="processes (2)")
    parser.add_argument("--json", action="store_true", help="print JSON")
    parser.add_argument(
        "--population", choices=POPULATIONS, default="usual", help="which behaviour (usual)"
    )
    parser.add_argument("--by-type", action="store_true", help="also: figures by type of fault")
    parser.add_argument("--policies", help="only these, with commas between; no small machines")
    parser.add_argument("--keep", type=Path, help="folder for outcomes: a run cut short goes on")
    given = parser.parse_args()
    if given.keep:
        given.keep.mkdir(parents=True, exist_ok=True)
    began = time.perf_counter()
    found: dict[str, Any] = {}
    population = POPULATIONS[given.population]
    for policy in given.policies.split(",") if given.policies else POLICIES:
        played = score.play_all(
            policy, given.cases, given.seed, given.workers, population, given.keep
        )
        found[policy] = score.scores(played)
        if policy == "ours":
            found["calibration"] = score.calibration(played)
            if given.by_type:
                found["by_type"] = score.by_type(played)
    if not given.policies:
        found["optimum"], found["ours_on_small"] = small.compare()
    print(f"{time.perf_counter() - began:.0f} s", file=sys.stderr)
    print(json.dumps(found, indent=1) if given.json else _table(found))
    return 0


def _table(found: dict[str, Any]) -> str:
    lines = []
    for name, figures in found.items():
        lines.append(name)
        lines += [f"  {what}: {value}" for what, value in figures.items()]
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main())
