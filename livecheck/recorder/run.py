"""The recorder's part in a run: begun first, moved to the run's folder, ended last.

What the record of an earlier start says is judged at the beginning and belongs to this run;
its note goes only when this run is saved.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from pathlib import Path
from typing import Final

import msgspec

from livecheck.capture import CapturedHost
from livecheck.casefile import CaseFolder, atomic
from livecheck.host import Host
from livecheck.probes.runner import Event
from livecheck.recorder import aftermath, openings, process
from livecheck.recorder.course import course
from livecheck.recorder.ending import ending
from livecheck.recorder.judge import judge
from livecheck.records import Knowledge, LastStartEnded, NotTested, Run

WHAT: Final = "Record of every second"


def _spoken_of(folder: Path, case: CaseFolder) -> Run | None:
    """The run of this case whose record lies in ``folder``; None: of another, or of none."""
    for run in case.load().runs:
        if case.run_file(run.number).parent == folder:
            return run
    return None


class Recording:
    """One run's recorder; does nothing in a replay. Nothing here raises."""

    def __init__(self, host: Host, cases: Path) -> None:
        self._host = host.scope("recorder")
        self._cases = cases
        self._folder: Path | None = None
        self._found: list[openings.Found] = []
        self._recorder: process.Recorder | None = None
        self._running: set[str] = set()
        if isinstance(host, CapturedHost):
            return
        machine, boot = aftermath.machine(self._host), aftermath.boot(self._host)
        self._found = openings.find(cases, machine, boot)
        self._recorder = process.start(self._host, cases)

    def judged(self, run: Run, knowledge: Knowledge, case: CaseFolder) -> Run:
        """The run with what the last start's record says.

        Where that record is of an earlier run of the same case, the readings speak of what was
        fitted then: parts may have been exchanged since.
        """
        if not self._found:
            return run
        try:
            return self._with_last_start(run, knowledge, case)
        except Exception as error:
            # A record is on the drive for anyone to write: what it does costs it, not the run.
            missed = NotTested(what=WHAT, why=f"that of the last start is damaged: {error}")
            return msgspec.structs.replace(run, not_tested=(*run.not_tested, missed))

    def _with_last_start(self, run: Run, knowledge: Knowledge, case: CaseFolder) -> Run:
        found = self._found[-1]
        end = ending(found.recorded, aftermath.look(self._host))
        where = str(found.folder.relative_to(self._cases))
        told = next((a.how for a in run.answers if isinstance(a, LastStartEnded)), None)
        then = _spoken_of(found.folder, case)
        inventory = run.inventory if then is None else then.inventory
        readings, missed = judge(end, inventory, knowledge, where, told)
        if then is not None:
            readings = tuple(msgspec.structs.replace(r, of_run=then.number) for r in readings)
        return msgspec.structs.replace(
            run,
            readings=(*run.readings, *readings),
            not_tested=(*run.not_tested, *missed),
        )

    def saved(self, folder: Path) -> None:
        """The run stands in its folder: the record goes there, judged notes go away."""
        self._folder = folder
        if self._recorder is not None:
            self._recorder.move(folder)
        for found in self._found:
            with contextlib.suppress(OSError):
                self._keep(found, folder)
                openings.close(found.note)
        self._found = []

    def heard(self, on_event: Callable[[Event], None]) -> Callable[[Event], None]:
        """An event handler that also tells the recorder which probe is at work."""

        def listen(event: Event) -> None:
            if event.kind == "started":
                self._running.add(event.probe)
            elif event.kind == "ended":
                self._running.discard(event.probe)
            if event.kind in ("started", "ended") and self._recorder is not None:
                self._recorder.step("+".join(sorted(self._running)))
            on_event(event)

        return listen

    def ended(self, run: Run) -> Run:
        """Stop recording; the run with the course of its meters, or why there is none."""
        summary = self._stop()
        if summary is None:
            return run
        if summary.trouble is not None:
            why = f"it ended early: {summary.trouble}"
            missed = NotTested(what=WHAT, why=why)
            run = msgspec.structs.replace(run, not_tested=(*run.not_tested, missed))
        recorded = openings.read(self._folder) if self._folder else None
        if recorded is None:
            return run
        drawn = course(recorded.header.channels, recorded.samples)
        return msgspec.structs.replace(run, course=drawn)

    def abandon(self) -> None:
        """Stop, whatever came of the run."""
        self._stop()

    def _stop(self) -> process.RecordingSummary | None:
        if self._recorder is None:
            return None
        recorder, self._recorder = self._recorder, None
        return recorder.stop()

    def _keep(self, found: openings.Found, folder: Path) -> None:
        """A record cut off before its run had a folder goes with the run that judged it."""
        if found.folder.parent.name != openings.FOLDER:
            return
        target = folder / "last-start"
        if not target.exists():
            atomic.move(found.folder, target)
