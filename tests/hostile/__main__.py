"""``python -m tests.hostile --inputs N --attacks M --seed S``: a campaign and its figures."""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

import msgspec

from tests.hostile.campaign import Campaign, Figures

RELATED = 200
"""Inputs to parsers for one case put to the engine, which takes so much longer."""


def run(inputs: int, attacks: int, seed: int, only: str = "") -> Figures:
    """A whole campaign, or one over the parsers with ``only`` in their names."""
    campaign, begun = Campaign(seed), time.monotonic()
    campaign.parsers(inputs, only)
    if not only:
        campaign.related(inputs // RELATED)
    campaign.drives(attacks)
    campaign.figures.seconds = time.monotonic() - begun
    return campaign.figures


def told(figures: Figures) -> str:
    """The figures in lines."""
    lines = [f"seed {figures.seed}, {figures.seconds:.0f} s, {figures.lines} lines reached"]
    lines += [f"{count:>9,}  {name}" for name, count in sorted(figures.inputs.items())]
    lines.append(f"{figures.inputs.total():>9,}  inputs, {figures.refused:,} of them refused")
    lines.append(f"{figures.attacks:>9,}  attacks on shop drives")
    lines.append(f"{figures.longest:>9.2f}  s of processor time for the longest")
    lines.append(f"{len(figures.finds):>9,}  finds")
    lines += [f"  {find.where}: {find.what}" for find in figures.finds]
    return "\n".join(lines)


def main() -> int:
    """The command line; status 1 when something did not hold."""
    parser = argparse.ArgumentParser(prog="python -m tests.hostile", description=__doc__)
    parser.add_argument("--inputs", type=int, default=20_000)
    parser.add_argument("--attacks", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", metavar="NAME", help="parsers with this in the name")
    parser.add_argument("--rounds", type=int, default=1, help="as often, each by the next seed")
    parser.add_argument("--json", type=Path, metavar="FILE", help="figures and finds, with inputs")
    options = parser.parse_args()
    rounds: list[Figures] = []
    for seed in range(options.seed, options.seed + options.rounds):
        rounds.append(run(options.inputs, options.attacks, seed, options.only))
        print(told(rounds[-1]), flush=True)
        if options.json:
            options.json.write_bytes(msgspec.json.format(msgspec.json.encode(rounds), indent=1))
    return 1 if any(figures.finds for figures in rounds) else 0


if __name__ == "__main__":
    sys.exit(main())
