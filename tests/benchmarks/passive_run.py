"""Where the time of a passive run goes: ``python -m tests.benchmarks.passive_run [--json]``.

``whole`` is the command from its start to its end, in a process of its own, the
median of several runs. ``smartctl`` is what the same smartctl calls take when
made by hand. The other parts are measured inside one run and add up to less
than the whole: starting Python is in none of them.
"""

from __future__ import annotations

import json
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from livecheck.live_host import LiveHost

ROUNDS = 5


def _whole(shop: str) -> float:
    words = [sys.executable, "-m", "livecheck", "run", "--probes", _passive_names(), "--shop", shop]
    begun = time.monotonic()
    subprocess.run(words, check=True, capture_output=True)
    return time.monotonic() - begun


def _passive_names() -> str:
    from livecheck.probes import registry

    return ",".join(p.name for p in registry.ALL if p.passive)


def _parts(shop: Path) -> dict[str, float]:
    from livecheck import knowledge, report
    from livecheck.capture import RecordingHost
    from livecheck.casefile import Shop
    from livecheck.judgement import locate_case
    from livecheck.plan import Plan
    from livecheck.run import RunContext, begin, run_probes
    from livecheck.saving import run_and_save

    parts: dict[str, float] = {}
    mark = time.monotonic()

    def took(name: str) -> None:
        nonlocal mark
        now = time.monotonic()
        parts[name] = now - mark
        mark = now

    tables = knowledge.load()
    took("tables")
    host = RecordingHost(LiveHost())
    plan = Plan(probes=tuple(_passive_names().split(",")))
    run, _ = begin(host, plan)
    took("inventory and kernel log")
    run = run_probes(run, RunContext(host=host, plan=plan, knowledge=tables))
    took("probes")
    live = RunContext(host=LiveHost(), plan=plan, knowledge=tables)
    saved = run_and_save(live, Shop(shop))
    mark = time.monotonic()
    location = locate_case(saved.loaded, tables)
    took("fault location")
    report.render(saved.loaded.case, saved.loaded.runs, location, tables)
    took("report")
    for ended in run.probes:
        parts[f"probe {ended.probe}"] = ended.seconds
    parts["smartctl"] = _by_hand(host.scopes)
    return parts


def _by_hand(scopes: dict[str, dict[str, list[bytes]]]) -> float:
    """The run's smartctl calls again, one after another."""
    calls = [
        question.removeprefix("command ").split()
        for seen in scopes.values()
        for question in seen
        if question.startswith("command smartctl") or "/smartctl" in question.partition(" -")[0]
    ]
    host = LiveHost()
    begun = time.monotonic()
    for call in calls:
        host.command(call, 120)
    return time.monotonic() - begun


def main() -> int:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as folder:
        _whole(folder)
        whole = statistics.median(_whole(folder) for _ in range(ROUNDS))
        parts = _parts(Path(folder))
    if "--json" in sys.argv[1:]:
        print(json.dumps({"whole": whole, **parts}, indent=1))
        return 0
    print(f"{whole:8.3f} s  whole command, median of {ROUNDS}")
    for name, seconds in parts.items():
        print(f"{seconds:8.3f} s  {name}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
