"""A run that the drive refused is not lost, and what was told of a case stays told.

The failing drive is played by the operating system's own error numbers (errno(3)).
"""

from __future__ import annotations

import errno
import json
import subprocess
import sys
from pathlib import Path

import msgspec
import pytest

from livecheck import capture, demo, knowledge, saving
from livecheck.casefile import CaseFolder, Shop, ShopError
from livecheck.casefile.shop import CASES, NO_DRIVE
from livecheck.host import Host
from livecheck.live_host import LiveHost
from livecheck.plan import FULL, Plan
from livecheck.probes.control import Control
from livecheck.recorder import openings
from livecheck.records import BoardReplaced, Complaint, Machine, Run
from livecheck.run import RunContext, RunControl, begin, run_probes
from livecheck.saving import Saved, Unsaved, keep_elsewhere, run_and_save, save
from tests.diagnosis.laptop import DRIVE1, PORT1, drive, laptop, run

CALM = Plan(probes=("firmware",), ticket="K-1")


def _saved(shop: Path, plan: Plan = CALM, host: Host | None = None) -> Saved:
    context = RunContext(host=host or LiveHost(), plan=plan, knowledge=knowledge.load())
    return run_and_save(context, Shop(shop))


def test_a_drive_lost_half_way_does_not_end_the_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """EIO at every save after the first: the run is made to its end, handed over whole, and
    saved in its own place once the drive answers again."""
    real, calls = CaseFolder.save_run, 0

    def failing(self: CaseFolder, run: Run, kernel_log: str | None = None) -> Path:
        nonlocal calls
        calls += 1
        if calls > 1:
            raise OSError(errno.EIO, "Input/output error")
        return real(self, run, kernel_log)

    monkeypatch.setattr(CaseFolder, "save_run", failing)
    with pytest.raises(Unsaved) as caught:
        _saved(tmp_path)
    assert caught.value.run.finished
    assert "pull the stick" in str(caught.value)
    monkeypatch.setattr(CaseFolder, "save_run", real)
    (own,) = (tmp_path / CASES).glob("*/runs/0001")
    names = (str(own.relative_to(tmp_path / CASES)), "another/runs/0001")
    for name in names:
        # As recorders leave them that could not end in order.
        opening = openings.Opening(boot="now", machine=Machine(), folders=(name,))
        openings.write(openings.note(tmp_path / CASES, name.replace("/", "-")), opening)
    again = save(caught.value.run, CALM, knowledge.load(), Shop(tmp_path))
    assert [run.number for run in again.loaded.runs] == [1]
    assert again.loaded.runs[0].finished
    # The next start must not take this run for one that was cut off.
    (left,) = (tmp_path / CASES / openings.FOLDER).glob("*.json")
    assert "another" in left.name


@pytest.mark.parametrize("back", [False, True])
def test_a_drive_pulled_as_the_run_begins_does_not_end_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, back: bool
) -> None:
    """Gone between the trial and the first save (EIO): the run is made all the same, and saved
    whole where the drive is back by its end, else handed over whole."""
    shop, pocket = tmp_path / "stick", tmp_path / "pocket"
    shop.mkdir()
    real = CaseFolder.save_run

    def pulled(self: CaseFolder, run: Run, kernel_log: str | None = None) -> Path:
        monkeypatch.setattr(CaseFolder, "save_run", real)
        shop.rename(pocket)
        raise OSError(errno.EIO, "Input/output error")

    def plugged(_: object) -> None:
        if back and not shop.exists():
            pocket.rename(shop)

    monkeypatch.setattr(CaseFolder, "save_run", pulled)
    context = RunContext(host=LiveHost(), plan=CALM, knowledge=knowledge.load(),
                         control=RunControl(on_event=plugged))  # fmt: skip
    if back:
        saved = run_and_save(context, Shop(shop))
        (run,) = CaseFolder(Path(saved.case_folder)).load().runs
        assert run.finished and [p.ended for p in run.probes] == ["done"]
        return
    with pytest.raises(Unsaved) as caught:
        run_and_save(context, Shop(shop))
    assert caught.value.run.finished
    assert [p.ended for p in caught.value.run.probes] == ["done"]
    assert not shop.exists()


@pytest.mark.parametrize("back", [False, True])
def test_a_run_begun_while_its_case_is_pulled_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, back: bool
) -> None:
    """A system in memory falls back on a folder in memory, which has no such case (live-boot)."""
    first = _saved(tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(saving, "lasts", lambda *_: False)
    monkeypatch.setattr(saving, "find_shop", lambda *_: Shop(tmp_path if back else NO_DRIVE))
    plan = msgspec.structs.replace(CALM, case=first.loaded.case.id)
    context = RunContext(host=LiveHost(), plan=plan, knowledge=knowledge.load())
    if back:
        run = run_and_save(context, Shop(NO_DRIVE)).run
        assert run.number == 2
    else:
        with pytest.raises(Unsaved) as caught:
            run_and_save(context, Shop(NO_DRIVE))
        run = caught.value.run
    assert run.finished and [p.ended for p in run.probes] == ["done"]


def test_a_kept_run_becomes_the_next_of_its_case(tmp_path: Path) -> None:
    """Its place is taken by another run, so it gets a number of its own."""
    saved = _saved(tmp_path)
    kept = keep_elsewhere(msgspec.structs.replace(saved.run, started="2026-01-01T10:00:00Z"))
    done = subprocess.run(
        [sys.executable, "-m", "livecheck", "save", kept, "--ticket", "K-1", "--shop", tmp_path,
         "--json"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    kept.unlink()
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["run"]["number"] == 2
    assert Path(json.loads(done.stdout)["case_folder"]).samefile(saved.case_folder)


def test_what_the_bench_told_stays_in_the_case(tmp_path: Path) -> None:
    """Spares and ruled-out steps of one run hold for the runs after it."""
    laptop = capture.load(Path(demo.__file__).with_name("drive-1.capture.gz"))
    first = _saved(tmp_path, host=laptop)
    spare = next(part.identity for part in first.run.inventory.parts if part.identity)
    told = Plan(
        probes=("firmware",), case=first.loaded.case.id, known_good=(spare,),
        cannot=("no spare: drive",), complaint=Complaint.SLOW,
    )  # fmt: skip
    second = _saved(tmp_path, told, laptop)
    assert second.case_folder == first.case_folder
    third = _saved(tmp_path, host=laptop)
    assert third.loaded.case.cannot == ("no spare: drive",)
    assert third.loaded.case.spares == (spare,)
    assert len(third.loaded.runs) == 3


def test_a_run_is_deepened_while_it_goes_on() -> None:
    """From the wish on, active probes are made at full depth; the one it came in begins anew."""

    class Deeper(Control):
        asked = 0

        def deepened(self) -> bool:
            self.asked += 1
            return self.asked > 3

    plan = Plan(probes=("storage-read",))
    run, _ = begin(LiveHost(), plan)
    bare = Run(number=0, started=run.started)
    wish = Deeper()
    control = RunControl(orders=wish)
    context = RunContext(host=LiveHost(), plan=plan, knowledge=knowledge.load(), control=control)
    done = run_probes(bare, context)
    assert done.depth == FULL
    assert [p.ended for p in done.probes] == ["done"]
    # Passive probes have no depth: a run of them alone stays as it was.
    calm = msgspec.structs.replace(context, plan=Plan(probes=("firmware",)))
    assert run_probes(bare, calm).depth == "quick"


def test_another_machine_does_not_go_into_a_case_by_its_ticket(tmp_path: Path) -> None:
    """Another board and no part the same: refused before anything is saved, unless it is said
    to be the same one, or that its board was replaced."""
    shop, tables = Shop(tmp_path), knowledge.load()
    own, other = laptop(drive(DRIVE1, PORT1)), laptop(board_serial="BRD-90001")
    renamed = [msgspec.structs.replace(p, identity=f"serial:OTHER{n}")
               for n, p in enumerate(other.parts)]  # fmt: skip
    other = msgspec.structs.replace(other, parts=tuple(renamed))
    plan = Plan(ticket="K-7", same_machine=False)
    case = save(run(1, own), plan, tables, shop).case_folder
    with pytest.raises(ShopError, match="another machine"):
        save(run(2, other), plan, tables, shop)
    assert [r.number for r in CaseFolder(Path(case)).load().runs] == [1]
    assert len(shop.entries()) == 1
    replaced = run(2, other, answers=(BoardReplaced(),))
    assert save(replaced, plan, tables, shop).case_folder == case
    said = Plan(ticket="K-7", same_machine=True)
    assert save(run(3, other), said, tables, shop).case_folder == case


def test_one_part_of_a_case_in_another_machine_joins_nothing(tmp_path: Path) -> None:
    """The case's drive in a laptop of the shop's, and nobody told; a new board keeps more."""
    shop, tables, plan = Shop(tmp_path), knowledge.load(), Plan(ticket="K-8", same_machine=False)
    own, other = laptop(drive(DRIVE1, PORT1)), laptop(drive(DRIVE1, PORT1), board_serial="BRD-9")
    save(run(1, own), plan, tables, shop)
    strange = [p if p.id == DRIVE1 else msgspec.structs.replace(p, identity=f"serial:OTHER{n}")
               for n, p in enumerate(other.parts)]  # fmt: skip
    lent = run(2, msgspec.structs.replace(other, parts=tuple(strange)))
    with pytest.raises(ShopError, match="--in-known-good-machine"):
        save(lent, plan, tables, shop)
    save(msgspec.structs.replace(lent, in_known_good_machine=True), plan, tables, shop)
    save(run(3, other), plan, tables, shop)
    assert len(shop.entries()) == 1
