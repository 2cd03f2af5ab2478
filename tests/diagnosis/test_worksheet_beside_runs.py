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
from livecheck.diagnosis.worksheet_machine import WHERE, as_it_was, machine, placed_here
from livecheck.records import Inventory, Outcome, Place, Reading, Run
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


@pytest.mark.parametrize("measured", [True, False])
def test_what_was_away_and_is_measured_is_in_its_place_again(measured: bool) -> None:
    """A battery that was unplugged to try without it: plugged in, it holds the machine down."""
    bay = Place(id="bay:BAT1", kind="battery-bay", name="battery bay")
    away = Run(number=1, started="", inventory=Inventory(places=(bay,)))
    spoken = Reading(check="bench.battery-out", at=WHERE["battery"], outcome=Outcome.FAILED)
    here = as_it_was((away,), (spoken,) if measured else ())
    batteries = [(part.kind, part.place) for part in here.parts if part.kind == "battery"]
    assert batteries == ([("battery", bay.id)] if measured else [])
    assert [one.at for one in placed_here((spoken,), here)] == (
        ["battery@bay:BAT1"] if measured else ["machine"]
    )


def _kinds(inventory: Inventory) -> set[str]:
    kinds = {one.kind for one in inventory.controllers} | {one.kind for one in inventory.places}
    return kinds | {one.kind for one in inventory.parts}
