"""Behind a verdict: the evidence, and the tree of parts and places."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen
from textual.widgets import DataTable, Footer, Tree
from textual.widgets.tree import TreeNode

from livecheck import wording
from livecheck.console.frame import TitleLine
from livecheck.records import Location, Outcome, Presence, Run


class EvidenceScreen(Screen[None]):
    """Every reading that bears on the verdict, the heaviest first."""

    HELP = """# Evidence
Each line is a reading that speaks for (+) or against (-) the verdict, the
heaviest first. **Escape** goes back.
"""
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "app.pop_screen", "Back")]

    def __init__(self, location: Location) -> None:
        super().__init__()
        self._location = location

    def compose(self) -> ComposeResult:
        yield TitleLine("evidence")
        yield DataTable[str](id="evidence", cursor_type="row")
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Fill the table."""
        table = self.query_one(DataTable)
        table.add_columns("Run", "For", "Outcome", "What it says")
        for item in sorted(self._location.evidence, key=lambda e: -abs(e.weight)):
            sign = "+" if item.weight > 0 else "-" if item.weight < 0 else " "
            says = wording.clean(item.says or f"{item.check} at {item.at}")
            table.add_row(str(item.run), sign, wording.title(item.outcome), says)


class TreeScreen(Screen[None]):
    """Mainboard, controllers, places, parts of one run."""

    HELP = """# Parts and places
What stays (controllers, places) and what can be swapped (parts), each with its
state in words. **Enter** opens and closes a branch, **Escape** goes back.
"""
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "app.pop_screen", "Back")]

    def __init__(self, run: Run) -> None:
        super().__init__()
        self._run = run
        self._states: dict[str, list[Outcome]] = {}
        for reading in run.readings:
            self._states.setdefault(reading.at, []).append(reading.outcome)

    def compose(self) -> ComposeResult:
        yield TitleLine(f"parts and places : run {self._run.number}")
        yield Tree[str]("mainboard", id="tree")
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Build the tree."""
        tree: Tree[str] = self.query_one(Tree)
        tree.show_guides = True
        self._controllers(tree.root, None)
        self._places(tree.root, None)
        tree.root.expand_all()
        tree.focus()

    def _controllers(self, node: TreeNode[str], parent: str | None) -> None:
        for controller in self._run.inventory.controllers:
            if controller.parent != parent:
                continue
            branch = node.add(self._label(controller.id, controller.name))
            self._controllers(branch, controller.id)
            self._places(branch, controller.id)

    def _places(self, node: TreeNode[str], controller: str | None) -> None:
        for place in self._run.inventory.places:
            if place.controller != controller:
                continue
            sensed = "" if place.presence is Presence.SEEN else f", {wording.title(place.presence)}"
            branch = node.add(self._label(place.id, f"{place.name}{sensed}"))
            for part in self._run.inventory.parts:
                if part.place == place.id:
                    branch.add_leaf(self._label(part.id, part.name))

    def _label(self, component: str, name: str) -> str:
        outcomes = self._states.get(component, [])
        if Outcome.FAILED in outcomes:
            state = "FAILED"
        elif Outcome.PASSED in outcomes:
            state = "passed"
        else:
            state = "not tested"
        # Brackets would be read as markup by the tree.
        return wording.clean(f"{name} : {state}").replace("[", "(").replace("]", ")")
