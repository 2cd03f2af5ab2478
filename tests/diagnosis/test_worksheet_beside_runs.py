"""A worksheet in the case of a machine that was read before: it is that very machine.

Who measures has taken nothing out: common practice, no source.
"""

from __future__ import annotations

import gzip
from collections.abc import Callable
from pathlib import Path

import pytest

from livecheck import cli, knowledge
from livecheck.casefile import CaseFolder
from livecheck.diagnosis import locate
from livecheck.diagnosis.worksheet_machine import as_it_was, machine
from livecheck.records import Inventory, Run
from tests.bench_stories.stories import DEAD, GOOD_ADAPTER, GOOD_JACK, ROUND
from tests.testbeds import laptops
from tests.testbeds.bed import Bed
from tests.testbeds.build_demo import contents

SHEET = f'[label]\n{ROUND}\n[answers]\n{GOOD_ADAPTER}{GOOD_JACK}{DEAD}rail-resistance = "9k"\n'


def _case(folder: Path) -> CaseFolder:
    (found,) = folder.glob("livecheck-cases/*/case.json")
    return CaseFolder(found.parent)


def _words(folder: Path, bed: Callable[[], Bed] | None) -> list[str]:
    words = ["run", "--complaint", "no-power", "--ticket", "4711", "--shop", str(folder)]
    if bed is None:
        (folder / "sheet.toml").write_text(SHEET, "utf-8")
        return [*words, "--readings", str(folder / "sheet.toml")]
    (folder / "bed.capture.gz").write_bytes(gzip.compress(contents(bed()), 1, mtime=0))
    return [*words, "--from", str(folder / "bed.capture.gz")]


@pytest.mark.slow
@pytest.mark.parametrize(
    "order", [(laptops.ahci, None), (laptops.nvme, None), (None, laptops.ahci, None)]
)
def test_nothing_was_taken_out(
    order: tuple[Callable[[], Bed] | None, ...],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    for bed in order:
        assert cli.main(_words(tmp_path, bed)) == 0
    loaded = _case(tmp_path).load()
    found = locate("4711", loaded.runs, knowledge.load())
    assert [one for one in found.swaps if one.to_run == len(order)] == []
    parts = [{part.id for part in run.inventory.parts} for run in loaded.runs[-2:]]
    assert parts[0] <= parts[1]
    assert "put back" not in capsys.readouterr().out


def test_what_a_meter_reads_accuses_somebody() -> None:
    """Whatever the worksheet asks about is in the machine, though nothing on a bus tells of it."""
    bare = Run(number=1, started="2026-03-02T09:00:00+01:00")
    here = as_it_was((bare,))
    assert _kinds(here) == _kinds(machine())


def _kinds(inventory: Inventory) -> set[str]:
    kinds = {one.kind for one in inventory.controllers} | {one.kind for one in inventory.places}
    return kinds | {one.kind for one in inventory.parts}
