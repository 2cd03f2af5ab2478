"""The recorder in a run: begun first, ended last, and what the next start makes of a cut.

Outside source: the kernel's boot_id, which differs from start to start (random(4)).
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from livecheck import knowledge
from livecheck.casefile import Shop
from livecheck.plan import Plan
from livecheck.recorder import lines, openings
from livecheck.recorder.file import RecordFile
from livecheck.recorder.lines import Recorded
from livecheck.records import Outcome, Run
from livecheck.run import RunContext
from livecheck.saving import run_and_save
from tests.recorder.machines import BOOT, MACHINE, NEXT, laptop, record

BOOT_ID = "/proc/sys/kernel/random/boot_id"
PLAN = Plan(probes=("power", "heat"))


def run(shop: Path, boot: str) -> Run:
    host = laptop()
    host.files[BOOT_ID] = f"{boot}\n"
    context = RunContext(host=host, plan=PLAN, knowledge=knowledge.load())
    return run_and_save(context, Shop(shop)).run


def leave(shop: Path, recorded: Recorded) -> Path:
    """A record that was cut off, as an earlier start left it."""
    cases = Shop(shop).cases_folder
    spool = cases / openings.FOLDER / "cut"
    spool.mkdir(parents=True)
    file = RecordFile(spool, lines.encode(recorded.header))
    for sample in recorded.samples:
        file.append(lines.encode(sample))
    opening = openings.Opening(boot=BOOT, machine=MACHINE, folders=(f"{openings.FOLDER}/cut",))
    openings.write(openings.note(cases, "cut"), opening)
    return spool


def ended(of: Run) -> dict[str, Outcome]:
    return {r.check: r.outcome for r in of.readings if r.check.startswith("ended.")}


def test_run_is_recorded(tmp_path: Path) -> None:
    """A closed record in the run's own folder, its course in the run, nothing left open."""
    saved = run(tmp_path, BOOT)
    (folder,) = Shop(tmp_path).cases_folder.glob("*/runs/0001")
    found = openings.read(folder)
    assert found is not None and found.closing is not None and found.closing.how == "done"
    assert found.samples and found.header.boot == BOOT
    assert not list((Shop(tmp_path).cases_folder / openings.FOLDER).iterdir())
    assert not ended(saved) and saved.finished


@pytest.mark.parametrize(
    ("recorded", "failed"),
    [
        (record(heat=lambda t: 60 + 0.63 * t), "ended.hot"),
        (record(), "ended.cool"),
        (record(adapter=lambda t: float(t < 58), charge=lambda t: None, volts=lambda t: None),
         "ended.supply"),
    ],
)  # fmt: skip
def test_next_start_judges_a_cut_once(tmp_path: Path, recorded: Recorded, failed: str) -> None:
    """The run that finds it bears the readings; the one after does not; the record is kept."""
    spool = leave(tmp_path, recorded)
    first = run(tmp_path, NEXT)
    assert [c for c, o in ended(first).items() if o is Outcome.FAILED] == [failed]
    assert not spool.exists()
    (kept,) = Shop(tmp_path).cases_folder.glob("*/runs/0001/last-start")
    assert openings.read(kept) is not None
    assert not ended(run(tmp_path, "33333333-0000-4000-8000-000000000003"))


def test_an_end_speaks_of_the_run_it_ended(tmp_path: Path) -> None:
    """Its record lies in that run's folder: the next run's readings name it."""
    first = run(tmp_path, BOOT)
    cases = Shop(tmp_path).cases_folder
    (folder,) = cases.glob("*/runs/0001")
    shutil.rmtree(spool := leave(tmp_path, record()))
    for old in folder.glob(f"{lines.FILE}*"):
        old.unlink()
    recorded = record()
    file = RecordFile(folder, lines.encode(recorded.header))
    for sample in recorded.samples:
        file.append(lines.encode(sample))
    named = str(folder.relative_to(cases))
    opening = openings.Opening(boot=BOOT, machine=MACHINE, folders=(named,))
    openings.write(openings.note(cases, spool.name), opening)
    second = run(tmp_path, NEXT)
    assert second.number == first.number + 1
    found = [r for r in second.readings if r.check.startswith("ended.")]
    assert found and {r.of_run for r in found} == {first.number}


def test_program_that_ended_says_nothing_of_the_machine(tmp_path: Path) -> None:
    """The same start: the machine ran on."""
    leave(tmp_path, record())
    assert not ended(run(tmp_path, BOOT))
