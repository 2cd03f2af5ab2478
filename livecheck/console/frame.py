"""What every screen has: a line on top that says where one is."""

from __future__ import annotations

from textual.widgets import Static


class TitleLine(Static):
    """``livecheck``, and the name of the screen."""

    def __init__(self, where: str) -> None:
        super().__init__(f"livecheck : {where}", markup=False, classes="title")
