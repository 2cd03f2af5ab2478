"""What a shop calls a place: kept by the board's model, and there on the next machine of it."""

from __future__ import annotations

import json
from pathlib import Path

import msgspec
import pytest

from livecheck import cli, demo
from livecheck.casefile import CaseFolder, place_names
from livecheck.console.app import Console
from livecheck.console.screens.resume import ResumeScreen
from livecheck.console.screens.tree import TreeLines, TreeScreen
from livecheck.console.screens.verdict import VerdictScreen
from livecheck.console.screens.words import WordsScreen
from livecheck.records import Machine
from tests import factories
from tests.console.console_limits import until, until_shown

FOLDER = Path(demo.__file__).parent
PORT = "usb:1-1"


def _run(shop: Path, name: str, ticket: str) -> Path:
    words = ["run", "--from", str(FOLDER / f"{name}.capture.gz"), "--complaint", "slow"]
    before = set(shop.glob("livecheck-cases/*/case.json"))
    assert cli.main([*words, "--ticket", ticket, "--shop", str(shop)]) == 0
    (case,) = set(shop.glob("livecheck-cases/*/case.json")) - before
    return case.parent


def _names(case: Path) -> dict[str, str]:
    return {p.id: p.name for p in CaseFolder(case).load().runs[-1].inventory.places}


def test_a_second_machine_of_the_model_has_the_name(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    first = _run(tmp_path, "drive-1", "1")
    assert cli.main(["note", str(first), "--call", f"{PORT}=left socket by the hinge"]) == 0
    second = _run(tmp_path, "contact-1", "2")
    machines = [CaseFolder(case).load().runs[0].inventory.machine for case in (first, second)]
    assert machines[0].serial != machines[1].serial
    for case in (first, second):
        assert _names(case)[PORT] == "left socket by the hinge"
        assert "left socket by the hinge" in (case / "report.html").read_text("utf-8")
    # The record keeps what it was made with.
    kept = json.loads((second / "runs" / "0001" / "run.json").read_bytes())["inventory"]
    assert "left socket" not in json.dumps(kept["places"])
    assert cli.main(["note", str(first), "--call", f"{PORT}="]) == 0
    assert _names(second)[PORT] != "left socket by the hinge"
    capsys.readouterr()
    assert cli.main(["note", str(first), "--call", "usb:9-9=nowhere"]) == 2
    assert "usb:9-9" in capsys.readouterr().err


def test_other_boards_and_boards_without_a_model_keep_their_own() -> None:
    run = factories.port_and_battery().runs[0]
    place = run.inventory.places[0]
    board = place_names.board_of(run.inventory.machine)
    assert board is not None
    names = place_names.PlaceNames(boards={board: {place.id: "under the lid"}})
    assert place_names.renamed(run, names).inventory.places[0].name == "under the lid"
    for machine in (Machine(), Machine(board_vendor="Talnau", board_product="another")):
        found = msgspec.structs.replace(run.inventory, machine=machine)
        other = msgspec.structs.replace(run, inventory=found)
        assert place_names.renamed(other, names) == other


def test_a_damaged_file_of_names_costs_the_names_alone(tmp_path: Path) -> None:
    case = _run(tmp_path, "drive-1", "1")
    (case.parent / place_names.FILE).write_text("{", "utf-8")
    assert CaseFolder(case).load().runs
    assert _names(case)[PORT].startswith("USB port")


async def test_by_keyboard(tmp_path: Path) -> None:
    """W on a place in the tree."""
    case = _run(tmp_path, "drive-1", "1")
    app = Console(shop=tmp_path, source=FOLDER / "drive-1.capture.gz")
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, ResumeScreen)
        await pilot.press("v")
        await until(pilot, VerdictScreen)
        await pilot.press("t")
        await until(pilot, TreeScreen)
        await until_shown(pilot, "USB port 1")
        lines = app.screen.query_one(TreeLines)
        lines.highlighted = [option.id for option in lines.options].index(PORT)
        await pilot.press("w")
        await until(pilot, WordsScreen)
        await pilot.press(*"lid", "enter")
        await until(pilot, VerdictScreen)
        assert _names(case)[PORT] == "lid"
