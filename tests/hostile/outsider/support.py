"""A machine that lies, looked at and judged as a bench would: the live path without its screens."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import Final

from livecheck import knowledge
from livecheck.diagnosis import Resources, locate
from livecheck.host import Host, Unreadable
from livecheck.plan import Plan
from livecheck.probes import registry
from livecheck.records import Knowledge, Location, Run, Side
from livecheck.run import RunContext, take_run
from tests.testbeds.bed import Bed, BedHost, Content, Node

TABLES: Final[Knowledge] = knowledge.load()
PASSIVE: Final = tuple(probe.name for probe in registry.ALL if probe.passive)
FALSELY: Final = 0.3
"""More than this said of a sound part by a value that is absurd is a false accusation."""


def looked(host: Host, *probes: str) -> Run:
    """One run of the passive probes, or of those named."""
    plan = Plan(probes=probes or PASSIVE)
    return take_run(RunContext(host=host, plan=plan, knowledge=TABLES))


def located(*runs: Run) -> Location:
    return locate("x", runs, TABLES, Resources())


def accused(found: Location) -> dict[str, float]:
    """Components that the verdict holds against more than a look would."""
    return {one.component: one.probability for one in found.candidates
            if one.probability > FALSELY and one.side is not Side.NO_FAULT}  # fmt: skip


def outcomes(run: Run, check: str) -> set[str]:
    return {reading.outcome.value for reading in run.readings if reading.check == check}


def defects(run: Run) -> list[str]:
    """Probes that ended in a defect of the program's own, or in none."""
    return [f"{p.probe}: {p.says}" for p in run.probes if p.ended != "done"]


def run_of(bed: Bed) -> Run:
    """One run of the passive probes on it, in which nothing of the program's own broke."""
    run = looked(BedHost(bed))
    assert defects(run) == []
    return run


def with_nodes(bed: Bed, *nodes: Node) -> Bed:
    """The laptop with more devices."""
    return replace(bed, nodes=(*bed.nodes, *nodes))


def with_files(bed: Bed, wanted: Callable[[Node], bool], **files: Content) -> Bed:
    """The laptop with other contents in files of some devices."""
    nodes = tuple(replace(node, files={**node.files, **files}) if wanted(node) else node
                  for node in bed.nodes)  # fmt: skip
    return replace(bed, nodes=nodes)


def of(subsystem: str, begin: str = "") -> Callable[[Node], bool]:
    return lambda node: node.subsystem == subsystem and node.name.startswith(begin)


class Broken(BedHost):
    """A laptop some of whose files answer with an error, or with other contents."""

    def __init__(self, bed: Bed, answers: Mapping[str, int | bytes], everywhere: int = 0) -> None:
        super().__init__(bed)
        self.answers, self.everywhere = dict(answers), everywhere
        self.asked: list[str] = []

    def read(self, path: str) -> bytes:
        self.asked.append(path)
        answer = self.answers.get(path, self.everywhere)
        if isinstance(answer, bytes):
            return answer
        if answer:
            raise Unreadable(path, answer)
        return super().read(path)


def files_of(bed: Bed) -> Iterator[str]:
    """Every file of the laptop's devices."""
    for node in bed.nodes:
        yield from (f"{node.path}/{name}" for name in node.files)
