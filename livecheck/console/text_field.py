"""Fields to type into."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widgets import Input


class PlainField(Input):
    """What is pasted may hold anything; what steers a terminal or a line is left out."""

    def validate_value(self, value: str) -> str:
        """Letters and signs that are drawn, and no others."""
        return "".join(filter(str.isprintable, value))


class TextField(PlainField):
    """Up and Down go to what stands before and after it, as Tab does."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "app.focus_previous", show=False),
        Binding("down", "app.focus_next", show=False),
    ]
