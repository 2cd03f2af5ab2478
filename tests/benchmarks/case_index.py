"""Cost of the case index: ``python -m tests.benchmarks.case_index [--cases N] [--json]``.

Makes a shop drive of N cases of five runs each from the demo's records (names, serials,
boards, dates and verdicts changed), then measures in a process of its own: the index
made from nothing, catching up with nothing new, one new run, finding, per-board
statistics, and the most memory it held. Growth with N: a tenth, a half, all.
"""

from __future__ import annotations

import argparse
import json
import random
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from statistics import median
from typing import Any, Final

import msgspec

from livecheck import demo, knowledge
from livecheck.case_index.index import Index
from livecheck.case_index.query import Query
from livecheck.casefile import CaseFolder, Loaded, Shop
from livecheck.judgement import locate_case
from livecheck.records import Case, Location, Run, Side, Summary, encode
from livecheck.records.seal import sealed, unsealed

RUNS: Final = 5
BOARDS: Final = 60
ROUNDS: Final = 9
KINDS: Final = (
    *("drive", "drive", "memory-module", "wireless-card", "battery", "adapter", "cooling"),
    *("sata-port", "pcie-slot", "usb-controller", "mainboard", "power-jack", "contact"),
)
PARTS: Final = frozenset(KINDS[:7])


class Template(msgspec.Struct):
    """One played case: what its records look like, and the words in them that are its own."""

    case: Case
    summary: Summary
    runs: list[bytes]


def templates(folder: Path) -> list[Template]:
    """The demo's cases, played once."""
    played = {step.saved.case_folder: step.saved for step in demo.play(folder, knowledge.load())}
    made = []
    for saved in played.values():
        kept = CaseFolder(Path(saved.case_folder))
        summary = kept.summary()
        assert summary is not None
        runs = [kept.run_file(number).read_bytes() for number in kept.run_numbers()]
        made.append(Template(saved.loaded.case, summary, runs))
    return made


def generate(to: Path, count: int, stories: list[Template]) -> None:
    """Cases 0 to ``count``; nothing is synced, for it is only to be read."""
    dice = random.Random(20)
    for number in range(count):
        _case(to, number, dice.choice(stories), dice)


def _case(to: Path, number: int, story: Template, dice: random.Random) -> None:
    machine = story.case.machine
    day = f"20{dice.randint(20, 26)}-{dice.randint(1, 12):02d}-{dice.randint(1, 28):02d}"
    name = f"{day}-J{number:06d}"
    swaps = {
        str(machine.serial): f"S{number:07d}",
        str(machine.uuid)[-4:]: f"{number % 10000:04d}",
        str(machine.board_product): f"KB-{min(int(dice.expovariate(0.06)), BOARDS - 1):03d}",
        f'"{story.case.id}"': f'"{name}"',
        f'"{story.case.ticket}"': f'"J{number:06d}"',
        "2026-03-02": day,
    }

    def own(record: bytes) -> bytes:
        record = unsealed(record)
        for old, new in swaps.items():
            record = record.replace(old.encode(), new.encode())
        return sealed(record)

    folder = to / name
    kind = dice.choice(KINDS)
    side = dice.choice((None, None, None, Side.UNDETERMINED, Side.NO_FAULT, Side.SOFTWARE))
    said = msgspec.structs.replace(
        story.summary,
        numbers=tuple(range(1, RUNS + 1)),
        runs=tuple(
            msgspec.structs.replace(dice.choice(story.summary.runs), number=n + 1)
            for n in range(RUNS)
        ),
        side=side or (Side.DEVICE if kind in PARTS else Side.CONTROLLER),
        kind="" if side else kind,
        component=None if side else f"{kind}:{number}",
        unit=None if side else kind if kind in PARTS else "mainboard",
    )
    for run in range(RUNS):
        place = folder / "runs" / f"{run + 1:04d}"
        place.mkdir(parents=True)
        (place / "run.json").write_bytes(own(story.runs[run % len(story.runs)]))
    (folder / "case.json").write_bytes(own(encode(story.case)))
    (folder / "summary.json").write_bytes(own(encode(said)))


def timed(work: Callable[[], object], rounds: int = ROUNDS) -> float:
    """Median seconds."""
    times = []
    for _ in range(rounds):
        began = time.perf_counter()
        work()
        times.append(time.perf_counter() - began)
    return median(times)


def measure(cases: Path, file: Path) -> dict[str, Any]:
    """One index's figures; seconds."""
    tables = knowledge.load()

    def judge(loaded: Loaded) -> Location:
        return locate_case(loaded, tables)

    began = time.perf_counter()
    index = Index(file, cases, judge)
    change = index.catch_up()
    built = time.perf_counter() - began
    assert change is not None
    # The youngest folders are read again by the first look after them.
    index.catch_up()
    some = sorted(cases.iterdir())[change.cases // 3]
    figures = {
        "cases": change.cases,
        "runs": change.cases * RUNS,
        "build": built,
        "nothing_new": timed(lambda: index.catch_up()),
        "one_run_known_case": timed(lambda: index.refresh(some.name)),
        "one_run_looked_for": timed(lambda: _add_and_look(index, some)),
        **{f"find_{name}": _finding(index, query) for name, query in asked(some)},
        "count": timed(lambda: index.count(Query(text="drive"))),
        "boards": timed(lambda: index.boards(Query())),
    }
    index.close()
    figures["index_bytes"] = file.stat().st_size
    figures["most_memory_bytes"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
    return figures


def asked(some: Path) -> Iterator[tuple[str, Query]]:
    """The questions that are put."""
    serial = f"S{int(some.name[-6:]):07d}"
    yield "ticket", Query(ticket=some.name[-7:], most=50)
    yield "serial", Query(serial=serial, most=50)
    yield "text", Query(text="mainboard sata", most=50)
    yield "nothing", Query(text="nowhere to be found", most=50)
    yield "board", Query(board="kb-003", unit="wireless", most=50)
    yield "dates", Query(since="2023-01-01", until="2023-02-01", verdict="device", most=50)


def _finding(index: Index, query: Query) -> float:
    return timed(lambda: index.find(query))


def _add_and_look(index: Index, case: Path) -> None:
    _new_run(case)
    index.catch_up()


def _new_run(case: Path) -> None:
    """What another bench's run leaves: one more run, the summary saved anew."""
    kept = CaseFolder(case)
    summary = kept.summary()
    assert summary is not None
    number = kept.claim_run()
    kept.run_file(number).write_bytes(kept.run_file(1).read_bytes())
    last = msgspec.structs.replace(summary.runs[-1], number=number)
    kept.save_summary(
        msgspec.structs.replace(
            summary, numbers=(*summary.numbers, number), runs=(*summary.runs, last)
        )
    )


def reading_every_run(cases: Path, sample: int) -> dict[str, float]:
    """What the summaries save: all run records of some cases read, and the cases judged."""
    tables = knowledge.load()
    loaded = []
    began = time.perf_counter()
    for folder in sorted(cases.iterdir())[:sample]:
        for number in CaseFolder(folder).run_numbers():
            msgspec.json.decode(CaseFolder(folder).run_file(number).read_bytes(), type=Run)
        loaded.append(folder)
    read = time.perf_counter() - began
    began = time.perf_counter()
    for folder in loaded[: max(1, sample // 20)]:
        locate_case(CaseFolder(folder).load(), tables)
    judged = (time.perf_counter() - began) / max(1, sample // 20)
    return {"read_per_case": read / sample, "judge_per_case": judged}


def _in_own_process(cases: Path) -> dict[str, Any]:
    words = [sys.executable, "-m", "tests.benchmarks.case_index", "--measure", str(cases)]
    done = subprocess.run(words, capture_output=True, text=True, check=True)
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def main() -> None:
    """Make, measure, print; what was made is deleted unless ``--to`` names its place."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--cases", type=int, default=20_000)
    parser.add_argument("--to", type=Path)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--measure", type=Path, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.measure:
        with tempfile.TemporaryDirectory() as folder:
            print(json.dumps(measure(options.measure, Path(folder) / "case-index.sqlite")))
        return
    scratch = Path(tempfile.mkdtemp(prefix="livecheck-case-index-"))
    try:
        stories = templates(scratch / "demo")
        results = []
        for part in (10, 2, 1):
            cases = Shop((options.to or scratch) / f"{options.cases // part}").cases_folder
            if not cases.is_dir():
                cases.mkdir(parents=True)
                generate(cases, options.cases // part, stories)
            results.append(_in_own_process(cases))
        results[-1] |= reading_every_run(cases, min(400, options.cases))
        _tell(results, options.json)
    finally:
        shutil.rmtree(scratch)


def _tell(results: list[dict[str, Any]], as_json: bool) -> None:
    if as_json:
        print(json.dumps(results, indent=1))
        return
    for name in results[-1]:
        shown = [result.get(name) for result in results]
        unit = name in ("cases", "runs") or name.endswith("_bytes")
        words = [
            "" if value is None else f"{value:,}" if unit else f"{1000 * value:,.1f} ms"
            for value in shown
        ]
        print(f"{name:22}" + "".join(f"{word:>18}" for word in words))


if __name__ == "__main__":
    main()
