"""How far a run is, told without a screen."""

from __future__ import annotations

import re

import msgspec
import pytest

from livecheck import languages, wording
from livecheck.console.answers import probe_title
from livecheck.console.glyphs import FAINT, FULL
from livecheck.console.progress import BAR_WIDTH, RunProgress, span
from livecheck.probes import Probe, Progress, registry
from livecheck.probes.runner import Event
from livecheck.records import Outcome, ProbeRun, Reading

LOOK = Probe(name="look", title="Look", function="x:y", passive=True, deadline=20)
LATER = Probe(name="later", title="Later", function="x:y", passive=True, deadline=60)
LOAD = Probe(
    name="load", title="Load", function="x:y", passive=False, deadline=300, full_deadline=7200
)


class Clock:
    """A clock that is set."""

    now = 0.0

    def __call__(self) -> float:
        return self.now


def _time(course: RunProgress) -> str:
    return course.summary()[2]


def test_time_left_is_what_is_known_else_a_bound() -> None:
    """By arithmetic: told by the probe, known from the last run, or no more than deadlines."""
    clock = Clock()
    course = RunProgress((LOOK, LATER, LOAD), {"load": 100.0}, "quick", clock)
    # Passive probes run side by side: the longer deadline bounds both.
    assert _time(course) == "TIME   0 s so far, at most 3 min left (quick depth)"
    for probe in (LOOK, LATER):
        course.take(Event(kind="started", probe=probe.name, title=probe.title))
        gone = ProbeRun(probe=probe.name, seconds=2.0, ended="done")
        course.take(Event(kind="ended", probe=probe.name, title=probe.title, ended=gone))
    course.take(Event(kind="started", probe="load", title="Load"))
    clock.now = 40.0
    assert _time(course) == "TIME   40 s so far, about 60 s left (quick depth)"
    told = Progress(says="pass 1", done=0.5, seconds_left=20)
    course.take(Event(kind="progress", probe="load", title="Load", progress=told))
    assert _time(course) == "TIME   40 s so far, about 20 s left (quick depth)"
    course.deepen()
    course.take(Event(kind="started", probe="load", title="Load"))
    assert _time(course) == "TIME   40 s so far, at most 2 h left (full depth)"


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0.4, "0 s"), (89, "89 s"), (100, "2 min"), (5400, "1 h 30 min"), (7200, "2 h")],
)
def test_spans(seconds: float, words: str) -> None:
    """Times as one waits for them."""
    assert span(seconds) == words


def test_the_bar_is_full_when_the_run_is() -> None:
    """Of three probes one is done and one is half through: half of the bar; none else is."""
    course = RunProgress((LOOK, LATER, LOAD), {}, "quick", Clock())
    assert course.summary()[1] == f"DONE   {FAINT * BAR_WIDTH} 0 of 3 probes"
    course.take(Event(kind="started", probe="look", title="Look"))
    gone = ProbeRun(probe="look", seconds=2.0, ended="done")
    course.take(Event(kind="ended", probe="look", title="Look", ended=gone))
    course.take(Event(kind="started", probe="load", title="Load"))
    half = Progress(says="pass 1", done=0.5, seconds_left=20)
    course.take(Event(kind="progress", probe="load", title="Load", progress=half))
    drawn = course.summary()[1].split()[1]
    assert (drawn.count(FULL), drawn.count(FAINT)) == (BAR_WIDTH // 2, BAR_WIDTH // 2)
    for probe in ("later", "load"):
        ended = ProbeRun(probe=probe, seconds=2.0, ended="done")
        course.take(Event(kind="ended", probe=probe, title=probe, ended=ended))
    assert course.summary()[1] == f"DONE   {FULL * BAR_WIDTH} 3 of 3 probes"


def test_what_is_done_while_no_probe_runs() -> None:
    """Nothing is between two probes before the first of them, or behind the last."""
    course = RunProgress((LOOK, LOAD), {}, "quick", Clock())
    assert course.summary()[0] == "NOW    looking at what is in the machine"
    for probe, said in (("look", "between two probes"), ("load", "all probes have ended")):
        course.take(Event(kind="started", probe=probe, title=probe))
        assert probe.title() in course.summary()[0]
        ended = ProbeRun(probe=probe, seconds=2.0, ended="done")
        course.take(Event(kind="ended", probe=probe, title=probe, ended=ended))
        assert course.summary()[0] == f"NOW    {said}"


@pytest.mark.parametrize("language", languages.LANGUAGES)
@pytest.mark.parametrize("ended", ["done", "did not answer", "died", "stopped", "skipped"])
def test_the_table_tells_every_line_whole_at_80_columns(language: str, ended: str) -> None:
    """With the longest title, two hours of work and findings; 76 cells are inside the frame."""
    with languages.speaking(language):
        probe = max(registry.ALL, key=lambda one: len(probe_title(one)))
        course = RunProgress((probe,), {}, "full", Clock())
        course.take(Event(kind="started", probe=probe.name, title=probe.title))
        for number in range(12):
            outcome = Outcome.FAILED if number < 3 else Outcome.PASSED
            reading = Reading(check="c", at="a", outcome=outcome, says="s")
            course.take(Event(kind="reading", probe=probe.name, title="", reading=reading))
        told = Progress(says="pass 1", done=0.26, seconds_left=45_900)
        course.take(Event(kind="progress", probe=probe.name, title="", progress=told))
        found = wording.text("running.read", n=12) + wording.text("running.and-failed", n=3)
        (row,) = course.table(76)
        assert f"26%{wording.text('running.left', left='12 h 45 min')} " in row
        assert row.startswith(f"{probe_title(probe)} ") and row.endswith(f" {found}")
        course.take(Event(kind="progress", probe=probe.name, title="",
                          progress=msgspec.structs.replace(told, paused=True)))  # fmt: skip
        assert f"{wording.text('running.state-paused')} 26%  " in course.table(76)[0]
        gone = ProbeRun(probe=probe.name, seconds=7193.5, ended=ended)
        course.take(Event(kind="ended", probe=probe.name, title="", ended=gone))
        (row,) = course.table(76)
        assert re.search(r" \(719[34] s\) ", row) and row.endswith(f" {found}")
