"""Prints the score.

``python -m tests.real_cases [--second | --third | ... | --thirteenth] [--kept] [--json]
[--cases]``
"""

from __future__ import annotations

import argparse
import sys

import msgspec

from livecheck import knowledge
from tests.real_cases import cases, score


def main() -> None:
    """Play every case and print what came of it."""
    options = argparse.ArgumentParser(prog="python -m tests.real_cases", description=main.__doc__)
    options.add_argument("--json", action="store_true", help="for programs")
    options.add_argument("--cases", action="store_true", help="each case too")
    options.add_argument("--kept", action="store_true", help="read from a saved log")
    options.set_defaults(folder=cases.HERE)
    for folder in cases.LATER:
        options.add_argument(
            f"--{folder.name}", action="store_const", dest="folder", const=folder, help="a set"
        )
    asked = options.parse_args()
    tables = knowledge.load()
    judge = score.judge_kept if asked.kept else score.judge
    judged = [judge(case, tables) for case in cases.load(asked.folder)]
    totals = score.totals(judged)
    if asked.json:
        out = {"totals": totals, **({"cases": judged} if asked.cases else {})}
        sys.stdout.buffer.write(msgspec.json.format(msgspec.json.encode(out)) + b"\n")
        return
    for name, shares in totals.items():
        print(name)
        for what, share in shares.items():
            print(f"  {what:40} {share.count:4} of {share.of}")
    for one in judged if asked.cases else ():
        _tell(one)


def _tell(one: score.Judged) -> None:
    right = "right" if one.right else "WRONG"
    print(f"\n{one.name}: {one.side} {one.probability} {right}, {', '.join(one.expected)}")
    print("  ", *(f"{name} {chance};" for name, chance in one.likeliest))
    print("  ", "; ".join(one.steps))
    for what in ("accused", "no_fault", "cure_proposed", "repaired_right", "wrong_unit"):
        if getattr(one, what) is not None:
            print(f"   {what}: {getattr(one, what)}")
    for text in (*one.wrong_layers, *one.wrong_places):
        print("   -", text)


if __name__ == "__main__":
    main()
