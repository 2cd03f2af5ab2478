"""The worker obeys what it is told on its standard input, and outlives a console that is gone."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import msgspec
import pytest

from livecheck.casefile import Shop, presence
from livecheck.console import replies, requests, worker
from livecheck.console.link import WorkerLink
from livecheck.console.orders import Orders
from livecheck.host import Unreadable
from livecheck.live_host import LiveHost
from livecheck.plan import Plan
from livecheck.records import Complaint
from livecheck.saving import Saved, Unsaved, keep_elsewhere
from tests.diagnosis.laptop import DRIVE1, PORT1, drive, laptop, run


@pytest.fixture
def pipe() -> tuple[int, int]:
    """Both ends of a pipe."""
    return os.pipe()


LOOK = requests.Request(job=requests.SurveyMachine(Plan(complaint=Complaint.SLOW)))


def test_orders(pipe: tuple[int, int]) -> None:
    """The request, then a word a line, also in pieces; the end of input stops."""
    hearing, telling = pipe
    os.write(telling, msgspec.json.encode(LOOK) + b"\npau")
    orders = Orders(hearing)
    assert orders.request() == LOOK
    assert not orders.paused()
    os.write(telling, b"se\nskip\nskip\nnonsense\n")
    assert orders.paused()
    assert [orders.skip(), orders.skip(), orders.skip()] == [True, True, False]
    assert not orders.deepened()
    os.write(telling, b"deepen\nresume\n")
    assert orders.deepened()
    assert not orders.paused()
    assert not orders.stopped()
    os.close(telling)
    assert orders.stopped()
    os.close(hearing)


def _worker(request: requests.Request) -> subprocess.Popen[bytes]:
    process = subprocess.Popen(
        [sys.executable, "-m", "livecheck.console.worker"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip
    assert process.stdin is not None
    process.stdin.write(msgspec.json.encode(request) + b"\n")
    process.stdin.flush()
    return process


def test_no_unknown_job_starts_anything() -> None:
    """A word that is no job of the worker is refused before anything is done."""
    line = msgspec.json.encode(LOOK).replace(b'"survey"', b'"survex"')
    with pytest.raises(msgspec.ValidationError):
        msgspec.json.decode(line, type=requests.Request)


def test_a_console_that_is_gone_leaves_a_saved_run(tmp_path: Path) -> None:
    """Its pipes closed in the middle of a run: the worker ends by itself, the run is saved."""
    plan = Plan(complaint=Complaint.INTAKE, probes=("kernel", "memory"))
    process = _worker(requests.Request(job=requests.TakeRun(plan), shop=str(tmp_path)))
    assert process.stdout is not None
    assert process.stdin is not None
    while b"memory" not in process.stdout.readline():
        pass
    process.stdin.close()
    process.stdout.close()
    assert process.wait(60) == 0
    runs = list(tmp_path.glob("livecheck-cases/*/runs/*/run.json"))
    assert len(runs) == 1
    assert not msgspec.json.decode(runs[0].read_bytes())["finished"]


@pytest.mark.slow
async def test_an_order_reaches_the_run_whatever_else_is_asked_meanwhile(tmp_path: Path) -> None:
    """The machine is looked at once more while a run goes on: stop still stops the run."""
    link = WorkerLink(tmp_path, None)
    job = requests.TakeRun(Plan(probes=("kernel", "memory")))
    replied: list[replies.Reply] = []
    async for reply in link.ask(job):
        replied.append(reply)
        if isinstance(reply, replies.Happened) and reply.event.probe == "memory":
            async for looked in link.ask(requests.SurveyMachine(Plan())):
                assert isinstance(looked, replies.Looked | replies.Proposed)
            link.order(requests.RunOrder.STOP)
    assert isinstance(replied[-1], replies.Finished)
    (file,) = tmp_path.glob("livecheck-cases/*/runs/*/run.json")
    assert msgspec.json.decode(file.read_bytes())["stopped"]


def test_no_way_to_save_is_told(tmp_path: Path) -> None:
    """A folder that is none: one reply, which says what to try."""
    job = requests.TakeRun(Plan(complaint=Complaint.SLOW))
    process = _worker(requests.Request(job=job, shop=str(tmp_path / "none")))
    out, _ = process.communicate(timeout=60)
    (line,) = out.splitlines()
    reply = msgspec.json.decode(line, type=replies.Reply)
    assert isinstance(reply, replies.Trouble)
    assert "mount the shop drive" in reply.says


class Drives(LiveHost):
    """A host whose mounts and device nodes are as set (proc_pid_mountinfo(5))."""

    def __init__(self, mounted: dict[str, str], nodes: tuple[str, ...]) -> None:
        super().__init__()
        self.mounted, self.nodes = mounted, nodes

    def read(self, path: str) -> bytes:
        assert path == "/proc/self/mountinfo"
        lines = (f"36 35 8:1 / {point} rw - vfat {device} rw" for point, device in
                 self.mounted.items())  # fmt: skip
        return "\n".join(lines).encode()

    def names(self, path: str) -> tuple[str, ...]:
        if path != "/dev":
            raise Unreadable(path, 2)
        return self.nodes


def test_a_pulled_drive_is_noticed(tmp_path: Path) -> None:
    """The node gone, the mount gone, the folder gone; a drive plugged in since does as well."""
    folder = tmp_path / "livecheck-cases"
    point = str(tmp_path)
    host = Drives({"/": "/dev/sda1", point: "/dev/sdb1"}, ("sda1", "sdb1"))
    before = presence.mount_of(host, folder)
    assert before == presence.Mount(point, "/dev/sdb1")
    assert presence.trouble(host, folder, before) is None
    assert "pulled" in str(presence.trouble(Drives(host.mounted, ("sda1",)), folder, before))
    assert "mounted" in str(presence.trouble(Drives({"/": "/dev/sda1"}, ()), folder, before))
    other = Drives({"/": "/dev/sda1", point: "/dev/sdc1"}, ("sda1", "sdc1"))
    assert presence.trouble(other, folder, before) is None
    pulled = Drives({"/": "/dev/sda1", point: "/dev/sdc1"}, ("sda1", "sdb1"))
    assert "/dev/sdc1 is gone" in str(presence.trouble(pulled, folder, before))
    gone = tmp_path / "pulled" / "livecheck-cases"
    assert "gone" in str(presence.trouble(host, gone, None))


def test_a_run_goes_on_only_a_drive_that_holds_it(tmp_path: Path) -> None:
    """Another prepared stick in its place is refused (ENODEV): the run has no case there."""
    folder = tmp_path / "livecheck-cases"
    folder.mkdir()
    host = Drives({str(tmp_path): "/dev/sdb1"}, ("sdb1",))
    guard = presence.Guard(host, folder)
    guard.check(lambda: False)
    host.nodes = ()
    with pytest.raises(OSError, match="pulled"):
        guard.check(lambda: True)
    host.mounted, host.nodes = {str(tmp_path): "/dev/sdc1"}, ("sdc1",)
    guard.check(lambda: True)
    with pytest.raises(OSError, match="another drive"):
        guard.check(lambda: False)


def test_a_kept_run_of_a_case_on_the_pulled_drive_opens_one_on_the_next(tmp_path: Path) -> None:
    """A run that goes on with a known case names it, and another stick does not have it."""
    file = str(keep_elsewhere(run(0, laptop(drive(DRIVE1, PORT1)))))
    plan = Plan(ticket="K-7", case="2026-01-01-on-the-other")
    saved = worker._save_kept(requests.SaveKept(plan, file), Shop(tmp_path))
    Path(file).unlink()
    assert saved.loaded.case.ticket == "K-7" and Path(saved.run_file).is_file()


async def test_where_nothing_was_kept_nothing_is_said(tmp_path: Path) -> None:
    """A drive that is plugged in again brings nothing: no process failed."""
    link = WorkerLink(tmp_path, None)
    assert [reply async for reply in link.ask(requests.BringKept(()))] == []


def _bring(plan: Plan, file: str) -> requests.Job:
    return requests.BringKept((requests.SaveKept(plan, file),))


@pytest.mark.parametrize("job", [requests.SaveKept, _bring])
def test_a_kept_run_that_is_refused_again_stays_in_its_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, job: Callable[[Plan, str], requests.Job]
) -> None:
    """A second copy would come onto the drive as a second run."""
    whole = run(0, laptop(drive(DRIVE1, PORT1)))
    file = str(keep_elsewhere(whole))
    before = set(Path(file).parent.glob("livecheck-run-*"))
    request = requests.Request(job=job(Plan(), file), shop=str(tmp_path))

    def refused(*_: object) -> Saved:
        raise Unsaved("pulled again", whole)

    said: list[replies.Reply] = []
    monkeypatch.setattr(worker, "Orders", lambda: SimpleNamespace(request=lambda: request))
    monkeypatch.setattr(worker, "save", refused)
    monkeypatch.setattr(worker, "_reply", said.append)
    monkeypatch.setattr(os, "nice", int)
    worker.main()
    kept = file if isinstance(request.job, requests.SaveKept) else None
    assert said == [replies.Trouble(says="pulled again", kept=kept)]
    assert set(Path(file).parent.glob("livecheck-run-*")) == before
    Path(file).unlink()
