"""While probes run: what is tested now, how it goes, what was found so far."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import DataTable, Footer, Label, Static

from livecheck import wording
from livecheck.console.frame import TitleLine
from livecheck.probes import Probe, Progress
from livecheck.probes.runner import Event
from livecheck.records import Outcome

MOST_FINDINGS = 200
"""Lines kept on screen; the record keeps all."""


class RunningScreen(Screen[None]):
    """One row a probe, and a list of findings."""

    HELP = """# While it runs
Each line is one probe; it runs in a process of its own and is given up at its
deadline. **F8** stops the run: what was read by then is kept and judged.
"""
    BINDINGS: ClassVar[list[BindingType]] = [Binding("f8", "app.stop", "Stop and keep")]

    def __init__(self, probes: tuple[Probe, ...]) -> None:
        super().__init__()
        self._probes = probes
        self._found: list[str] = []
        self._counts: dict[str, tuple[int, int]] = {}

    def compose(self) -> ComposeResult:
        yield TitleLine("running")
        yield DataTable[str](id="probes", cursor_type="none", show_cursor=False)
        yield Label("Found so far", classes="heading")
        with VerticalScroll(id="findings"):
            yield Static("Nothing yet.", id="found", markup=False)
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """One row for each probe of the plan."""
        table = self.query_one(DataTable)
        for key, title in (("probe", "Probe"), ("state", "State"), ("seen", "Readings")):
            table.add_column(title, key=key)
        for probe in self._probes:
            table.add_row(probe.title, "waiting", "", key=probe.name)
        self.query_one("#findings").focus()

    def happened(self, event: Event) -> None:
        """Show one event of the run."""
        table = self.query_one(DataTable)
        if event.probe not in {probe.name for probe in self._probes}:
            return
        if event.kind == "started":
            table.update_cell(event.probe, "state", "running", update_width=True)
        elif event.progress is not None:
            table.update_cell(event.probe, "state", _progress(event.progress), update_width=True)
        elif event.ended is not None:
            state = f"{event.ended.ended} ({event.ended.seconds:.1f} s)"
            table.update_cell(event.probe, "state", state, update_width=True)
        elif event.reading is not None:
            self._count(event)

    def _count(self, event: Event) -> None:
        reading = event.reading
        assert reading is not None
        failed = reading.outcome is Outcome.FAILED
        seen, bad = self._counts.get(event.probe, (0, 0))
        self._counts[event.probe] = seen, bad = seen + 1, bad + failed
        words = f"{seen}, of them failed: {bad}" if bad else f"{seen}"
        self.query_one(DataTable).update_cell(event.probe, "seen", words, update_width=True)
        if failed:
            self._found = [*self._found, f"FAILED  {wording.clean(reading.says)}"][-MOST_FINDINGS:]
            self.query_one("#found", Static).update("\n".join(self._found))


def _progress(progress: Progress) -> str:
    share = f" {progress.done:.0%}" if progress.done is not None else ""
    left = progress.seconds_left
    time_left = f", {left:.0f} s left" if left is not None else ""
    return wording.clean(f"{progress.says}{share}{time_left}")
