"""Cases kept in memory go onto the shop drive that comes, each once, and none before its end."""

from __future__ import annotations

import contextlib
import errno
from collections.abc import Callable
from pathlib import Path

import msgspec
import pytest

from livecheck import knowledge
from livecheck.casefile import CaseFolder, Shop, ShopError, atomic, find_shop
from livecheck.memory_cases import BROUGHT, bring, needs_drive, to_be_brought
from livecheck.plan import Plan
from livecheck.records import Proved, Run
from livecheck.saving import save
from tests.diagnosis.laptop import DRIVE1, PORT1, drive, laptop, run
from tests.inventory.fake_host import FakeHost

TABLES = knowledge.load()
PLAN = Plan(ticket="K-1", known_good=("drive",))
# proc_pid_mountinfo(5), as live-boot's system and a mounted FAT make them.
MEMORY = "22 21 7:0 / /run/live/rootfs/filesystem.squashfs ro - squashfs /dev/loop0 ro"


def _run(started: str) -> Run:
    made = run(0, laptop(drive(DRIVE1, PORT1)))
    return msgspec.structs.replace(made, started=started)


def _shops(tmp_path: Path) -> tuple[Shop, Shop]:
    for name in ("memory", "stick"):
        (tmp_path / name).mkdir()
    return Shop(tmp_path / "memory"), Shop(tmp_path / "stick")


def test_runs_join_the_case_they_belong_to(tmp_path: Path) -> None:
    """One run of the ticket stands on the drive already: the two of memory come after it, with
    what was told of the case; a second time there is nothing to bring."""
    memory, stick = _shops(tmp_path)
    save(_run("2026-01-01T10:00:00Z"), Plan(ticket="K-1"), TABLES, stick)
    for hour in (11, 12):
        kept = save(_run(f"2026-01-01T{hour}:00:00Z"), PLAN, TABLES, memory)
        Path(kept.run_file).with_name("recorder.jsonl").write_text(f"seconds of {hour}")
    (saved,) = bring(memory, stick, TABLES)
    runs = saved.loaded.runs
    assert [(r.number, r.started[11:13]) for r in runs] == [(1, "10"), (2, "11"), (3, "12")]
    assert CaseFolder(Path(saved.case_folder)).case().spares == ("drive",)
    beside = [f.read_text() for f in sorted(stick.root.rglob("recorder.jsonl"))]
    assert beside == ["seconds of 11", "seconds of 12"]
    assert not list(bring(memory, stick, TABLES))
    assert len(list((memory.root / BROUGHT).iterdir())) == 1


@pytest.mark.parametrize("step", ["run 1", "run 2", "beside", "proved", "aside"])
def test_pulled_half_way_nothing_comes_twice(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    """The drive goes right after a step was written, before it was told so; then it is back."""
    memory, stick = _shops(tmp_path)
    for hour in (11, 12):
        kept = save(_run(f"2026-01-01T{hour}:00:00Z"), PLAN, TABLES, memory)
        Path(kept.run_file).with_name("recorder.jsonl").write_text(f"seconds of {hour}")
    proved = Proved(case="", recorded="", component=DRIVE1, kind="drive", proved=True)
    CaseFolder(Path(kept.case_folder)).add_proved(proved)
    written: list[Path] = []
    last = {"run 1": "0001/run.json", "run 2": "0002/run.json", "beside": "recorder.jsonl"}
    last |= {"proved": "outcome.json", "aside": BROUGHT}

    def pulled(real: Callable[..., None]) -> Callable[..., None]:
        def call(path: Path, *more: bytes) -> None:
            real(path, *more)
            if str(path).endswith(last[step]):
                written.append(path)
                raise OSError(errno.EIO, "pulled")

        return call

    with monkeypatch.context() as patch:
        for name in ("save", "make_folder"):
            patch.setattr(atomic, name, pulled(getattr(atomic, name)))
        with pytest.raises((OSError, ShopError)):
            list(bring(memory, stick, TABLES))
    assert len(written) == 1
    (saved,) = bring(memory, stick, TABLES)
    assert [r.started[11:13] for r in saved.loaded.runs] == ["11", "12"]
    assert CaseFolder(Path(saved.case_folder)).proved()[0] == (proved,)
    assert len(list(stick.root.rglob("recorder.jsonl"))) == 2


def test_a_run_that_goes_on_is_waited_for(tmp_path: Path) -> None:
    memory, stick = _shops(tmp_path)
    begun = msgspec.structs.replace(_run("2026-01-01T10:00:00Z"), finished=False)
    save(begun, PLAN, TABLES, memory)
    assert not list(bring(memory, stick, TABLES))
    assert len(memory.entries()) == 1
    (case,) = (CaseFolder(Path(entry.path)) for entry in memory.entries())
    (saved,) = case.load().runs
    # As the technician's key ends it.
    case.save_run(msgspec.structs.replace(saved, stopped=True))
    assert len(list(bring(memory, stick, TABLES))) == 1


@pytest.mark.parametrize(("lines", "brings"), [((MEMORY,), False), ((MEMORY, "stick"), True)])
def test_only_a_system_that_lives_in_memory_brings_anything(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, lines: tuple[str, ...], brings: bool
) -> None:
    """And only onto a drive: without one there is nowhere to bring it to, nor a kept run."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "reports").mkdir()
    save(_run("2026-01-01T10:00:00Z"), PLAN, TABLES, Shop(Path("reports")))
    stick = tmp_path / "drive"
    (stick / "livecheck-cases").mkdir(parents=True)
    told = [line if line != "stick" else f"40 21 8:1 / {stick} rw - vfat /dev/sda1 rw"
            for line in lines]  # fmt: skip
    host = FakeHost({"/proc/self/mountinfo": "\n".join(told) + "\n"}, [])
    found = to_be_brought(host, None)
    assert len(found) == (2 if brings else 0)
    # A drive pulled since: nothing is brought from memory into memory, and then let go.
    with contextlib.nullcontext() if brings else pytest.raises(ShopError, match="plug it in"):
        needs_drive(host, find_shop(host, None))
    on_disk = FakeHost({"/proc/self/mountinfo": f"40 1 8:1 / {stick} rw - vfat /dev/sda1 rw\n"}, [])
    assert to_be_brought(on_disk, None) == ()
    needs_drive(on_disk, Shop(Path("reports")))
