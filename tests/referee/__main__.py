"""Play cases through the command line: ``python -m tests.referee --cases 20 --seed 1``."""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from pathlib import Path

from tests.referee.bench import Bench
from tests.referee.player import Player


def main() -> int:
    """Play and print one line a case, and how many were cured with nothing bought in vain."""
    parser = argparse.ArgumentParser(prog="python -m tests.referee", description=__doc__)
    parser.add_argument("--cases", type=int, default=20, help="invented machines (20)")
    parser.add_argument("--seed", type=int, default=1, help="which machines (1)")
    given = parser.parse_args()
    good = 0
    with tempfile.TemporaryDirectory() as folder:
        for case in range(given.cases):
            seed = given.seed * 1_000_003 + case
            ended = Player(Path(folder, "livecheck-cases", f"case-{case}"), Bench(seed)).play()
            good += ended.cured and not ended.wrong
            print(json.dumps(ended._asdict()))
    print(f"{good} of {given.cases} cured with nothing bought in vain", file=sys.stderr)
    return 0


if __name__ == "__main__":
    sys.exit(main())
