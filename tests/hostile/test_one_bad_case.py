"""A case the engine cannot work with costs that case: it is named and kept, all others stand."""

from __future__ import annotations

import contextlib
import io
import json
import os
from pathlib import Path

import msgspec
import pytest

from livecheck import cli, diagnosis, judgement
from livecheck.case_index import learned
from livecheck.case_index.outcomes import read_taught
from livecheck.casefile import CaseFolder, Shop
from livecheck.console import case_files, requests, worker
from livecheck.console.orders import Orders
from livecheck.console.replies import Reply, Trouble
from livecheck.plan import Plan
from livecheck.records import Complaint, Location, Proved, Run, decode, encode
from tests.case_index.drives import add_case, shop_at
from tests.diagnosis.story import DIMM_A, Story, part

BAD = 1
"""Number of the case the engine stumbles over; its ticket is T-1."""


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Shop:
    """Three cases never judged; whatever locates the second raises as a defect would."""
    made = shop_at(tmp_path / "drive")
    for number in range(3):
        (add_case(made, number).path / "summary.json").unlink()
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))

    def stumbling(case: str, *given: object, **named: object) -> Location:
        if case.endswith(f"T-{BAD}"):
            raise KeyError("mainboard")
        return diagnosis.locate(case, *given, **named)  # type: ignore[arg-type]

    monkeypatch.setattr(judgement, "locate", stumbling)
    return made


def _bad(shop: Shop) -> CaseFolder:
    return CaseFolder(next(shop.cases_folder.glob(f"*T-{BAD}")))


def _command(*words: str) -> tuple[int, str, str]:
    out, err = io.TextIOWrapper(io.BytesIO()), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = cli.main(words)
        out.flush()
    assert isinstance(out.buffer, io.BytesIO)
    return status, out.buffer.getvalue().decode(), err.getvalue()


def test_the_case_index_names_it_and_judges_the_others(shop: Shop) -> None:
    status, out, _ = _command("cases", "--shop", str(shop.root), "--json")
    listed = {entry["ticket"]: entry for entry in json.loads(out)}
    assert status == 0
    assert set(listed) == {"T-0", "T-1", "T-2"}
    assert "cannot be judged: KeyError" in listed["T-1"]["trouble"]
    assert listed["T-0"]["sentence"]
    assert listed["T-2"]["sentence"]


@pytest.mark.parametrize("command", ["locate", "report"])
def test_asking_for_it_is_answered(shop: Shop, command: str) -> None:
    """A message, not a traceback, and its records stand as they stood."""
    before = _bad(shop).run_file(1).read_bytes()
    status, _, err = _command(command, str(_bad(shop).path))
    assert status == 3
    assert "cannot be judged: KeyError" in err
    assert _bad(shop).run_file(1).read_bytes() == before


def test_a_run_of_it_is_saved(shop: Shop, tmp_path: Path) -> None:
    """What a run found stands on the drive though no verdict comes of it."""
    run = decode(_bad(shop).run_file(1).read_bytes(), Run)
    file = tmp_path / "kept.json"
    file.write_bytes(encode(msgspec.structs.replace(run, number=7, started="2026-03-09T10:00:00Z")))
    words = ("save", str(file), "--shop", str(shop.root), "--ticket", f"T-{BAD}")
    status, _, err = _command(*words)
    assert status == 3
    assert "cannot be judged" in err
    assert [saved.started for saved in _bad(shop).load().runs][1:] == ["2026-03-09T10:00:00Z"]


def test_the_console_opens_the_case_index_and_says_why(shop: Shop) -> None:
    found = case_files.list_cases(shop.root, "", lambda done, of: None)
    assert not isinstance(found, str)
    assert len(found.cases) == 3
    said = case_files.open_case(_bad(shop).path)
    assert isinstance(said, str)
    assert "cannot be judged" in said


def test_the_console_is_told_of_a_defect(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Whatever happens in the worker, the console gets an answer instead of waiting for one."""
    said: list[Reply] = []

    def stumble(*given: object) -> None:
        raise RecursionError("nested too deep")

    monkeypatch.setattr(worker, "find_shop", stumble)
    monkeypatch.setattr(worker, "_reply", said.append)
    hearing, telling = os.pipe()
    look = requests.SurveyMachine(Plan(complaint=Complaint.SLOW))
    request = requests.Request(job=look, shop=str(tmp_path))
    os.write(telling, msgspec.json.encode(request) + b"\n")
    os.close(telling)
    orders = Orders(hearing)
    monkeypatch.setattr(worker, "Orders", lambda: orders)
    monkeypatch.setattr(os, "nice", lambda by: by)
    assert worker.main() == 0
    assert isinstance(said[-1], Trouble)
    assert "RecursionError" in said[-1].says


def test_outcomes_of_one_case_stand_in_nobodys_way(shop: Shop, tmp_path: Path) -> None:
    """``outcomes`` as a file, and a count no machine can have: named, and the others count."""
    folders = sorted(shop.cases_folder.iterdir())
    (folders[0] / "outcomes").write_text("no folder")
    proved = Proved(case="b", recorded="2026", component="x", kind="drive", proved=True)
    CaseFolder(folders[1]).add_proved(msgspec.structs.replace(proved, fitted={"drive": 10**400}))
    CaseFolder(folders[2]).add_proved(msgspec.structs.replace(proved, fitted={"drive": 1}))
    taught, damaged = read_taught(shop.cases_folder)
    trouble = " ".join(damaged)
    assert folders[0].name in trouble
    assert folders[1].name in trouble
    assert [one.proved.component for one in taught] == ["x"]


def test_a_case_the_engine_cannot_work_with_teaches_nothing(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stumble(*given: object) -> None:
        raise ZeroDivisionError("no chance at all")

    for folder in sorted(shop.cases_folder.iterdir()):
        proved = Proved(case=folder.name, recorded="2026", component="x", kind="x", proved=True)
        CaseFolder(folder).add_proved(proved)
    taught, _ = read_taught(shop.cases_folder)
    monkeypatch.setattr(learned, "lesson", stumble)
    cases, left_out = learned.lessons(judgement.shop_tables(shop.root)[0], taught)
    assert cases == []
    assert len(left_out) == len(taught) > 1
    assert "no chance at all" in left_out[0]


def test_a_name_that_is_no_text_is_saved(tmp_path: Path) -> None:
    """A byte that is not UTF-8 in a device's name costs no run (PEP 383)."""
    run = Run(number=1, started="2026-03-01T00:00:00Z", program=os.fsdecode(b"Wander \xff 14"))
    saved = decode(encode(run), Run)
    assert saved.program == "Wander \\udcff 14"


def test_a_soldered_part_with_another_serial_is_judged() -> None:
    """A flash of the firmware does that: two ids, one part of the board."""
    story = Story(Complaint.UNSTABLE)
    for serial in ("ON-1", "ON-2", "ON-1"):
        story.fit(part("memory-module", serial, DIMM_A, soldered=True))
        story.run("memory.words machine", f"memory.module-words memory-module:{serial}")
    found = story.locate()
    assert found.candidates and found.next_step is not None
