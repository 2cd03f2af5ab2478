"""Play visits: ``python -m tests.simulation.visits --cases N --seed S [--json]``."""

from __future__ import annotations

import argparse
import json
import sys

from livecheck import knowledge
from tests.simulation.visits.scores import row, scores
from tests.simulation.visits.visit import play


def _one(seed: int, steps: bool) -> None:
    played = play(seed)
    arrival = played.arrival
    print(f"{seed}: {', '.join(c.name for c in arrival.causes) or 'nothing wrong'}")
    print(f"  told: {arrival.telling}")
    if steps:
        print("\n".join(played.lines))
    print(json.dumps(row(played)))


def main() -> int:
    """Play, and print the scores."""
    parser = argparse.ArgumentParser(prog="python -m tests.simulation.visits", description=__doc__)
    parser.add_argument("--cases", type=int, default=20, help="visits (20)")
    parser.add_argument("--seed", type=int, default=1, help="the first one's seed (1)")
    parser.add_argument("--json", action="store_true", help="each visit's row too, as JSON")
    parser.add_argument("--one", type=int, metavar="SEED", help="this visit only")
    parser.add_argument("--steps", action="store_true", help="with --one: step by step")
    given = parser.parse_args()
    if given.one is not None:
        _one(given.one, given.steps)
        return 0
    tables, rows = knowledge.load(), []
    for seed in range(given.seed, given.seed + given.cases):
        rows.append(row(play(seed, tables)))
        print(json.dumps(rows[-1]), file=sys.stderr)
    found = scores(rows)
    print(json.dumps({"scores": found, "visits": rows} if given.json else found, indent=1))
    return 0


if __name__ == "__main__":
    sys.exit(main())
