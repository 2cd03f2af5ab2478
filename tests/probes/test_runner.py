"""A probe that hangs, crashes or talks nonsense costs its reading and nothing else."""

from __future__ import annotations

import contextlib
import faulthandler
import os
import signal
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest

from livecheck import knowledge
from livecheck.live_host import LiveHost
from livecheck.probes import Context, Probe, Progress, Yield, process, runner
from livecheck.probes.control import NONE, Control
from livecheck.records import Inventory, Outcome, Reading


def _reading(says: str) -> Reading:
    return Reading(check="probe.answers", at="machine", outcome=Outcome.PASSED, says=says)


def sound(context: Context) -> Iterator[Yield]:
    """Yields two readings."""
    yield _reading("first")
    yield Progress(says="half", done=0.5)
    yield _reading("second")


def hangs(context: Context) -> Iterator[Yield]:
    """Yields one reading, then ignores every request to end."""
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    yield _reading("before the hang")
    time.sleep(600)


def crashes(context: Context) -> Iterator[Yield]:
    """Yields one reading, then dies as a broken library would."""
    faulthandler.disable()  # of the tests' process, which would tell of it at length
    yield _reading("before the crash")
    os.kill(os.getpid(), signal.SIGSEGV)


def raises(context: Context) -> Iterator[Yield]:
    """A bug in the probe."""
    yield _reading("before the bug")
    raise ZeroDivisionError("a bug")


def noisy(context: Context) -> Iterator[Yield]:
    """Writes where it must not."""
    os.write(1, b"stray output\n")
    os.write(2, b"stray complaint\n")
    yield _reading("noisy")


NAP = "86399.25"
"""Seconds no other process of this machine sleeps."""


def commands(context: Context) -> Iterator[Yield]:
    """Has a command running that takes for ever."""
    yield _reading("before the command")
    context.host.command(["sleep", NAP], 86400)


def crashes_commanding(context: Context) -> Iterator[Yield]:
    """Dies while a command of its runs."""
    yield _reading("before the crash")
    threading.Timer(0.5, lambda: os.kill(os.getpid(), signal.SIGSEGV)).start()
    context.host.command(["sleep", NAP], 86400)


def garbles(context: Context) -> Iterator[Yield]:
    """Yields what no reading holds, as a driver's nonsense taken over unchecked would be."""
    yield _reading("before")
    yield Progress(says=b"\xff", done="half")  # type: ignore[arg-type]
    yield msgspec.structs.replace(_reading("bad"), value=["a", {"list": 1}])
    yield _reading("after")


def surrogates(context: Context) -> Iterator[Yield]:
    """Passes on a device's name that is not UTF-8, as Python reads it (PEP 383)."""
    yield _reading(os.fsdecode(b"Wander \xff 14"))
    yield _reading("after")


def _probe(name: str, deadline: float = 20, passive: bool = True) -> Probe:
    return Probe(
        name=name,
        title=name.title(),
        function=f"{__name__}:{name}",
        passive=passive,
        deadline=deadline,
    )


def _context() -> Context:
    return Context(host=LiveHost(), inventory=Inventory(), events=(), knowledge=knowledge.load())


def test_every_probe_is_heard_whatever_becomes_of_it(capfd: pytest.CaptureFixture[str]) -> None:
    """Sound readings come in whatever the neighbours do; each ending is named."""
    begun = time.monotonic()
    names = ["sound", "hangs", "crashes", "raises", "noisy"]
    probes = [_probe(n, deadline=1 if n == "hangs" else 20) for n in names]
    results = runner.run(probes, _context())
    assert {p.probe: p.ended for p in results.probes} == {
        "sound": "done",
        "hangs": "did not answer",
        "crashes": "died",
        "raises": "died",
        "noisy": "done",
    }
    said = [r.says for r in results.readings if r.outcome is Outcome.PASSED]
    assert said == ["first", "second", "before the hang", "before the crash", "before the bug",
                    "noisy"]  # fmt: skip
    lost = {r.value: r for r in results.readings if r.outcome is Outcome.NOT_JUDGED}
    assert set(lost) == {"hangs", "crashes", "raises"}
    assert "SIGSEGV" in lost["crashes"].says
    assert "a bug" in lost["raises"].says
    # Deadline 1 s, then grace 2 s for the request and for force: far from the 600 s it wanted.
    assert time.monotonic() - begun < 10
    assert capfd.readouterr() == ("", "")


def test_stopping_keeps_what_was_read() -> None:
    """The technician's stop ends a probe within the grace time; its readings stay."""
    begun = time.monotonic()
    seen: list[str] = []

    def on_event(event: runner.Event) -> None:
        seen.append(event.kind)

    probes = [_probe("hangs", deadline=500), _probe("sound", passive=False)]
    results = runner.run(probes, _context(), on_event, stopped=lambda: "reading" in seen)
    assert [(p.probe, p.ended) for p in results.probes] == [("hangs", "stopped")]
    assert [r.says for r in results.readings] == ["before the hang"]
    assert time.monotonic() - begun < 10


def test_passive_probes_run_side_by_side() -> None:
    """Ten probes that wait half a second each end in far less than five."""
    begun = time.monotonic()
    runner.run([_probe("sleeps") for _ in range(10)], _context())
    assert time.monotonic() - begun < 3


def sleeps(context: Context) -> Iterator[Yield]:
    """Waits half a second."""
    time.sleep(0.5)
    yield _reading("slept")


def hears(context: Context) -> Iterator[Yield]:
    """Works for half a second beside its pauses, and stops at a skip."""
    worked = 0.0
    while worked < 0.5:
        if context.control.skip():
            yield _reading("left out")
            return
        if not context.control.paused():
            worked += 0.05
        yield Progress(says="at it", paused=context.control.paused())
        time.sleep(0.05)
    yield _reading("worked to the end")


def lingers(context: Context) -> Iterator[Yield]:
    """Hands on its reading and cannot end: something of it is stuck in the kernel."""
    yield _reading("before it got stuck")
    # A grandchild that holds the pipe stands in for a thread in uninterruptible sleep.
    if os.fork() == 0:
        signal.signal(signal.SIGTERM, signal.SIG_IGN)
        time.sleep(30)
        os._exit(0)


class _Bench(Control):
    """Pauses for a while, or skips once."""

    def __init__(self, pause: float = 0.0, skip_after: float | None = None) -> None:
        self._begun = time.monotonic()
        self._pause, self._skip_after = pause, skip_after

    def paused(self) -> bool:
        return 0.3 < time.monotonic() - self._begun < 0.3 + self._pause

    def skip(self) -> bool:
        if self._skip_after is None or time.monotonic() - self._begun < self._skip_after:
            return False
        self._skip_after = None
        return True


def _hearing(name: str, deadline: float) -> Probe:
    return Probe(
        name=name,
        title=name,
        function=f"{__name__}:{name}",
        passive=False,
        deadline=deadline,
        supports_control=name == "hears",
    )


def test_a_pause_costs_no_time_of_the_deadline() -> None:
    """A probe of half a second with a deadline of one and a half outlives a pause of two."""
    paused: list[bool] = []

    def on_event(event: runner.Event) -> None:
        if event.progress is not None:
            paused.append(event.progress.paused)

    results = runner.run([_hearing("hears", 1.5)], _context(), on_event, control=_Bench(pause=2.0))
    assert [p.ended for p in results.probes] == ["done"]
    assert [r.says for r in results.readings] == ["worked to the end"]
    assert True in paused


def test_a_skip_is_passed_on_or_ends_the_probe() -> None:
    """One that hears skips its item and goes on; one that does not is ended and named so."""
    heard = runner.run([_hearing("hears", 20)], _context(), control=_Bench(skip_after=0.2))
    assert [r.says for r in heard.readings] == ["left out"]
    assert [p.ended for p in heard.probes] == ["done"]
    deaf = runner.run([_hearing("hangs", 60)], _context(), control=_Bench(skip_after=0.2))
    assert [(p.ended, p.says.partition(" ")[0]) for p in deaf.probes] == [("stopped", "skipped")]
    assert [r.says for r in deaf.readings] == ["before the hang"]


def test_a_process_that_cannot_end_holds_nobody_up() -> None:
    """Once a probe has said all, its process has the grace time to go, not its deadline."""
    begun = time.monotonic()
    results = runner.run([_probe("lingers", deadline=60)], _context())
    assert time.monotonic() - begun < 10
    assert [p.ended for p in results.probes] == ["done"]
    assert [r.says for r in results.readings] == ["before it got stuck"]


def _napping() -> list[str]:
    found = []
    for folder in Path("/proc").iterdir():
        with contextlib.suppress(OSError):
            if folder.name.isdigit() and NAP.encode() in (folder / "cmdline").read_bytes():
                found.append(folder.name)
    return found


@pytest.mark.parametrize("name", ["commands", "crashes_commanding"])
def test_commands_end_with_their_probe(name: str) -> None:
    """Skipped, out of time or dead: nothing it started goes on reading a drive."""
    control = _Bench(skip_after=0.5) if name == "commands" else NONE
    results = runner.run([_probe(name, 30, passive=False)], _context(), control=control)
    assert [p.ended for p in results.probes] == ["stopped" if name == "commands" else "died"]
    # A killed process is to be seen for a moment yet, until the kernel has taken it down.
    until = time.monotonic() + process.GRACE_SECONDS
    while _napping() and time.monotonic() < until:
        time.sleep(0.02)
    assert _napping() == []


def test_messages_that_cannot_be_read_cost_a_reading() -> None:
    """The run goes on, what could be read is kept, and the probe does not count as done."""
    results = runner.run([_probe("garbles"), _probe("sound")], _context())
    assert [p.ended for p in results.probes] == ["died", "done"]
    assert "could not be read" in results.probes[0].says
    says = [r.says for r in results.readings]
    assert says[:2] == ["before", "after"]
    assert says[-2:] == ["first", "second"]


def test_a_name_that_is_no_text_costs_no_reading() -> None:
    results = runner.run([_probe("surrogates")], _context())
    assert [r.says for r in results.readings] == ["Wander \\udcff 14", "after"]
