"""A run the technician stopped: nothing of it is called passed that was not, and it says so."""

from __future__ import annotations

import io
import json
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest
from pytest_mock import MockerFixture

from livecheck import capture, knowledge, printing, report, run
from livecheck.casefile import CaseFolder, Loaded, Shop
from livecheck.commands.stopping import stop_requests
from livecheck.completeness import incomplete
from livecheck.console.judged_case import JudgedCase
from livecheck.console.replies import Looked
from livecheck.console.survey import survey
from livecheck.console.verdict_lines import verdict_lines
from livecheck.diagnosis.handover import compare
from livecheck.judgement import locate_case
from livecheck.live_host import LiveHost
from livecheck.plan import Plan
from livecheck.probes import Context, Probe, Yield
from livecheck.probes.control import StopRequest
from livecheck.records import Case, Complaint, Machine, Outcome, Reading, Run
from livecheck.run import RunContext, RunControl, run_probes
from tests.console.test_case_end import _replay

TABLES = knowledge.load()
RUN = Run(number=1, started="2026-03-01T10:00:00Z")
STOPPED = msgspec.structs.replace(RUN, finished=False, stopped=True)
CUT = msgspec.structs.replace(RUN, finished=False)


def loads(context: Context) -> Iterator[Yield]:
    """A load that ends early when it is told to, and judges what it saw until then."""
    with StopRequest() as stop:
        yield _reading("begun", Outcome.PASSED)
        while not stop.asked:
            context.host.wait(0.02)
    yield _reading("results", Outcome.PASSED)
    yield _reading("errors", Outcome.FAILED)


def _reading(says: str, outcome: Outcome) -> Reading:
    return Reading(check="processor.results", at="machine", outcome=outcome, says=says)


def _probe(name: str) -> Probe:
    return Probe(
        name=name, title=name, function=f"{__name__}:loads", passive=False, deadline=20
    )  # fmt: skip


def _stopped(mocker: MockerFixture) -> Run:
    mocker.patch.object(run, "planned_probes", return_value=(_probe("first"), _probe("second")))
    seen: list[str] = []
    control = RunControl(on_event=lambda e: seen.append(e.kind), stopped=lambda: "reading" in seen)
    context = RunContext(host=LiveHost(), plan=Plan(), knowledge=TABLES, control=control)
    return run_probes(RUN, context)


def test_a_check_that_was_cut_short_has_not_passed(mocker: MockerFixture) -> None:
    """What it had read before counts; a fault it saw counts; the rest is not judged."""
    done = _stopped(mocker)
    assert [(r.says, r.outcome) for r in done.readings] == [
        ("begun", Outcome.PASSED),
        ("results", Outcome.NOT_JUDGED),
        ("errors", Outcome.FAILED),
    ]
    why = done.readings[1].why_not or ""
    assert why.startswith("stopped by the technician after")
    assert [(p.probe, p.ended) for p in done.probes] == [("first", "stopped")]


def test_what_never_came_to_its_turn_is_not_tested(mocker: MockerFixture) -> None:
    done = _stopped(mocker)
    assert done.stopped
    assert not done.finished
    missed = {m.what: m.why for m in done.not_tested}
    assert missed["second"] == "the run was stopped by the technician before"
    assert "first" not in missed


def _case(*runs: Run) -> JudgedCase:
    case = Case(id="c", ticket=None, complaint=Complaint.SLOW, machine=Machine(), opened="2026")
    loaded = Loaded(case, runs, ())
    return JudgedCase(
        loaded=loaded, location=locate_case(loaded, TABLES), tables=TABLES, report="r"
    )  # fmt: skip


@pytest.mark.parametrize(
    ("last", "words"),
    [(STOPPED, "stopped by the technician"), (CUT, "cut off before its end")],
)
def test_an_incomplete_run_says_so_above_the_verdict(last: Run, words: str) -> None:
    """On the console, on paper and in plain text; a run that is whole says nothing of it."""
    case = _case(last)
    says = incomplete((last,))
    assert says is not None
    assert says.startswith("INCOMPLETE: run 1 was ")
    assert words in says
    assert next(verdict_lines(case)).text == says
    printed = printing.verdict(case.loaded, case.location, TABLES)
    assert " ".join(printed.split()).startswith(says)
    page = report.render(case.loaded.case, (last,), case.location, TABLES)
    assert page.index(says) < page.index('id="verdict"')
    whole = msgspec.structs.replace(RUN, number=2)
    assert incomplete((last, whole)) is None
    loaded = msgspec.structs.replace(case.loaded, runs=(last, whole))
    assert "INCOMPLETE" not in printing.verdict(loaded, case.location, TABLES)


def test_a_hand_over_that_was_stopped_says_who_ended_it() -> None:
    handed = msgspec.structs.replace(STOPPED, number=2, hand_over=True)
    held = compare((RUN, handed))
    assert held is not None
    assert not held.signed
    assert held.ended == "stopped by the technician"


@pytest.mark.parametrize("stopped", [True, False])
def test_a_stopped_run_is_not_taken_for_a_power_cut(tmp_path: Path, stopped: bool) -> None:
    """At the next start, only a run that nobody ended raises the question how it ended."""
    source = _replay(tmp_path, "drive-1")
    (path,) = (p.parent for p in tmp_path.glob("livecheck-cases/*/case.json"))
    (first,) = CaseFolder(path).load().runs
    CaseFolder(path).save_run(msgspec.structs.replace(first, finished=False, stopped=stopped))
    looked = next(iter(survey(capture.load(source), Shop(tmp_path), Plan())))
    assert isinstance(looked, Looked)
    assert looked.known is not None
    assert (looked.known.stopped, looked.known.cut_off) == (stopped, not stopped)


def test_ctrl_c_stops_a_run_of_the_command_line(tmp_path: Path) -> None:
    """The run is saved as stopped, and judged; the command ends well."""
    words = ["run", "--probes", "kernel,memory", "--shop", str(tmp_path), "--json"]
    process = subprocess.Popen(
        [sys.executable, "-m", "livecheck", *words],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stderr is not None
    for line in process.stderr:
        if "done (" in line:
            break
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=120)
    assert process.returncode == 0, err
    saved = json.loads(out)["run"]
    assert (saved["stopped"], saved["finished"]) == (True, False)
    assert "what was read is kept" in err


def test_ctrl_c_in_the_middle_of_a_line_of_progress_ends_no_run(
    monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    """Python's buffered writers are not reentrant (io, Reentrancy): the handler stays off them."""

    class Interrupted(io.RawIOBase):
        def writable(self) -> bool:
            return True

        def write(self, data: object) -> int:
            signal.raise_signal(signal.SIGINT)
            return len(memoryview(data))  # type: ignore[arg-type]

    stream = io.TextIOWrapper(io.BufferedWriter(Interrupted()), write_through=True)
    with stop_requests("Stopping.") as stopped:
        monkeypatch.setattr(sys, "stderr", stream)
        print("progress", file=sys.stderr, flush=True)
        assert stopped()
    monkeypatch.undo()
    assert "Stopping." in capfd.readouterr().err
