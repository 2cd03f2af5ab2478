"""The path tree: what stays and what can be swapped, each with its state in words."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from livecheck import wording
from livecheck.chances import percent
from livecheck.console.events import PlaceCalled
from livecheck.console.evidence_lines import taken_at
from livecheck.console.frame import BACK_KEYS, BenchScreen
from livecheck.console.text_list import TextList, TextRow
from livecheck.console.views import EvidenceView
from livecheck.suspects import one_number

if TYPE_CHECKING:
    from livecheck.console.judged_case import JudgedCase
    from livecheck.report.tree import Node


class TreeLines(TextList):
    """The tree, a node a line or more."""

    HELP = "tree-lines"


class TreeScreen(BenchScreen[None]):
    """Mainboard, controllers, places, parts."""

    HELP = "tree"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "open", "readings-at-it"),
        Binding("f", "filter", "only-what-was-found-all"),
        Binding("w", "call", "what-it-is-called-here"),
        Binding(f"{BACK_KEYS},t,f4", "app.pop_screen", "back"),
    ]

    def __init__(self, case: JudgedCase) -> None:
        super().__init__()
        from livecheck.report.tree import path_tree

        self._case = case
        self._root = path_tree(case.loaded.runs, one_number(case.location), case.names)
        self._only_found = False

    def where(self) -> str:
        """The case."""
        return wording.text("where.tree", case=wording.clean(self._case.loaded.case.id))

    def body(self) -> ComposeResult:
        """The tree."""
        yield TreeLines(id="tree")

    def on_mount(self) -> None:
        """Draw it."""
        lines = self.query_one(TreeLines)
        lines.focus()
        self.call_after_refresh(self._draw)

    def _draw(self) -> None:
        width = max(30, self.size.width - 6)
        rows = []
        if self._root is not None:
            rows = list(_rows(self._root, width, self._only_found, "", ""))
        lines = self.query_one(TreeLines)
        lines.show(rows or [TextRow(wording.text("parts-tree.none"))])
        if lines.highlighted is None:
            lines.highlighted = 0

    def action_filter(self) -> None:
        """Only branches with something found, or all."""
        self._only_found = not self._only_found
        self._draw()

    def action_call(self) -> None:
        """Ask what the place under the bar is called here."""
        place = self.query_one(TreeLines).chosen
        if place is not None and self._case.names.of(place).role == "place":
            self.say(PlaceCalled(self._case, place))

    @on(TextList.OptionSelected)
    def _opened(self, event: TextList.OptionSelected) -> None:
        component = event.option.id
        if component is not None:
            proofs = tuple(taken_at(self._case, component))
            name = self._case.names.of(component).label
            self.say(EvidenceView(wording.text("parts-tree.readings", name=name), proofs))


def _rows(node: Node, width: int, only_found: bool, first: str, rest: str) -> Iterator[TextRow]:
    yield TextRow("\n".join(_node_lines(node, width, first, rest)), node.component.id)
    children = [c for c in node.children if not only_found or _found(c)]
    for index, child in enumerate(children):
        last = index == len(children) - 1
        branch, beyond = ("└─ ", "   ") if last else ("├─ ", "│  ")
        yield from _rows(child, width, only_found, rest + branch, rest + beyond)


def _node_lines(node: Node, width: int, first: str, rest: str) -> list[str]:
    many = wording.text("parts-tree.folded", n=node.folded) if node.folded > 1 else ""
    states = [*node.states]
    if node.suspicion is not None:
        states.append(wording.text("parts-tree.at-fault", share=percent(node.suspicion)))
    mark = wording.text("parts-tree.failed") if node.level == "failed" else ""
    words = f"{mark}{node.component.label}{many}"
    if states:
        words += f" : {'; '.join(states)}"
    below = rest + ("│  " if node.children else "   ")
    return textwrap.wrap(
        wording.clean(words),
        max(width, len(below) + 20),
        initial_indent=first,
        subsequent_indent=below,
    )


def _found(node: Node) -> bool:
    return (
        node.level == "failed"
        or node.suspicion is not None
        or any(_found(c) for c in node.children)
    )
