"""A field to type into, which the arrows leave."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widgets import Input


class TextField(Input):
    """Up and Down go to what stands before and after it, as Tab does."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "app.focus_previous", show=False),
        Binding("down", "app.focus_next", show=False),
    ]
