"""Screens read out: by the same voice that plays the flow without one."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from textual.screen import Screen
from textual.widgets import Input, Static

from livecheck.console.frame import BenchScreen, KeyLine
from livecheck.console.text_list import TextList
from livecheck.voice.speech import Speech, spoken
from livecheck.wording import clean, text


def read_out(screen: Screen[Any]) -> Iterator[str]:
    """What stands on a screen, from top to bottom; of a list last what is under the bar."""
    if isinstance(screen, BenchScreen):
        yield screen.where()
        told = screen.read_instead()
        if told is not None:
            yield from told
            return
    for widget in screen.query("*"):
        if not widget.display:
            continue
        if isinstance(widget, Static):
            yield from str(widget.content).split("\n")
        elif isinstance(widget, TextList):
            yield from _rows(widget)
        elif isinstance(widget, Input):
            yield text("voice.field", value=widget.value or text("voice.empty"))
        elif isinstance(widget, KeyLine):
            yield text("voice.keys-here", keys="; ".join(widget.entries))


def _rows(listed: TextList) -> Iterator[str]:
    rows = [str(option.prompt) for option in listed.options]
    yield from rows
    if listed.highlighted is not None and len(rows) > 1:
        yield text("voice.under-bar", row=rows[listed.highlighted])


class Aloud:
    """Says what it was given last, and lets go of what it was at."""

    def __init__(self, speech: Speech, trouble: Callable[[str], None]) -> None:
        self._speech, self._trouble = speech, trouble
        self._turn = 0
        self._one_at_a_time = threading.Lock()

    def say(self, sentences: Sequence[str]) -> None:
        """These instead of what is being said; none: silence."""
        self._turn += 1
        turn = self._turn
        threading.Thread(target=self._say, args=(tuple(sentences), turn), daemon=True).start()

    def _say(self, sentences: tuple[str, ...], turn: int) -> None:
        def over() -> bool:
            return turn != self._turn

        with self._one_at_a_time:
            for sentence in sentences:
                words = spoken(clean(sentence))
                if over():
                    return
                if words and (why := self._speech.say(words, over)) is not None:
                    self._trouble(text("voice.silent", why=why))
                    return
