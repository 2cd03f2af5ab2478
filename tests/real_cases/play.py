"""A case played through the live path: host in, verdict out."""

from __future__ import annotations

import importlib
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

import msgspec

from livecheck import saved_log
from livecheck.diagnosis import locate
from livecheck.plan import Plan
from livecheck.probes import Context, registry
from livecheck.records import (
    Complaint,
    Knowledge,
    Location,
    NotTested,
    Outcome,
    Reading,
    Run,
)
from livecheck.records.answer_words import understood
from livecheck.run import begin
from tests.real_cases import machine
from tests.real_cases.cases import CaseRun, RealCase
from tests.testbeds.bed import BedHost


def runs(case: RealCase, knowledge: Knowledge) -> tuple[Run, ...]:
    """Every run of a case, as the program would record it."""
    return tuple(
        play(run, case.complaint, number, knowledge)
        for number, run in enumerate(case.runs, start=1)
    )


def play(shown: CaseRun, complaint: Complaint, number: int, knowledge: Knowledge) -> Run:
    """Inventory, kernel log and every passive probe of one configuration."""
    log = [(line.seconds, line.priority, line.text) for line in shown.lines]
    host = BedHost(machine.bed(shown.machine, sorted(log, key=lambda line: line[0])))
    plan = Plan(
        complaint=complaint,
        answers=tuple(understood(about, says) for about, says in shown.answers),
        reseated=shown.reseated,
    )
    begun, _ = begin(host, plan)
    context = Context(
        host=host, inventory=begun.inventory, events=begun.events, knowledge=knowledge
    )
    given = [
        Reading(
            check=check,
            at=at,
            outcome=Outcome.PASSED if passed else Outcome.FAILED,
            source="as told in the thread",
        )
        for check, at, passed in shown.readings
    ]
    yielded = list(_passive(context))
    return msgspec.structs.replace(
        begun,
        number=number,
        readings=(*begun.readings, *given, *(y for y in yielded if isinstance(y, Reading))),
        not_tested=(*begun.not_tested, *(y for y in yielded if isinstance(y, NotTested))),
        finished=True,
    )


YEAR: Final = 2026
"""Of dates without one; the lines here have none."""


def kept(case: RealCase, knowledge: Knowledge) -> tuple[Run, ...]:
    """Its lines as the installed system kept them, read at the bench where nothing shows now.

    The log of a customer's system is of the drivers that he has, and what comes and goes is gone
    when the stick looks. What was repaired in the thread is left out.
    """
    runs: list[Run] = []
    for shown in (one for one in case.runs if not one.repaired):
        begun, _ = begin(BedHost(machine.bed(shown.machine, [])), Plan(complaint=case.complaint))
        lines = sorted(shown.lines, key=lambda line: line.seconds)
        text = "".join(f"<{li.priority}>[{li.seconds:12.6f}] {li.text}\n" for li in lines)
        with tempfile.TemporaryDirectory() as folder:
            saved = Path(folder) / "kernel.log"
            saved.write_text(text, "utf-8")
            log = saved_log.read_files([saved], begun.inventory, YEAR)
        logged = saved_log.run_of(log, begun)
        silent = msgspec.structs.replace(shown, lines=())
        runs.append(msgspec.structs.replace(logged, number=len(runs) + 1))
        runs.append(play(silent, case.complaint, len(runs) + 1, knowledge))
    return tuple(runs)


def _passive(context: Context) -> Iterator[object]:
    for probe in registry.ALL:
        if probe.passive:
            module, _, function = probe.function.partition(":")
            yield from getattr(importlib.import_module(module), function)(context)


LOAD_CHECKS: Final = (
    "memory.words",
    "processor.results",
    "heat.temperature",
    "power.holds-load",
    "storage.read-errors",
    "storage.read-medium",
    "storage.read-stalls",
    "storage.link-change",
)
"""What the probes that load a machine ask; at each component they ask it of."""


def sound_under_load(run: Run) -> Run:
    """The run with every probe that loads the machine passed."""
    drives = [part.id for part in run.inventory.parts if part.kind == "drive"]
    passed = [
        Reading(check=check, at=at, outcome=Outcome.PASSED, source="load probes")
        for check in LOAD_CHECKS
        for at in (drives if check.startswith("storage.") else ["machine"])
    ]
    return msgspec.structs.replace(run, readings=(*run.readings, *passed))


def verdict(case: RealCase, played: Sequence[Run], knowledge: Knowledge) -> Location:
    """Where the program puts the fault."""
    return locate(case.name, played, knowledge)
