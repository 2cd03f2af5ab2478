"""One conversation: sentences out, three keys in.

Whatever is said is printed too, so that a braille line, a serial line or a second screen
shows it. Where nothing speaks, or nobody has answered yet, codes are beeped besides.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Final, Protocol

import msgspec

from livecheck.found_words import reworded
from livecheck.lamp_codes import Signal
from livecheck.voice.presses import Press, Presses
from livecheck.voice.speech import Speech, spoken
from livecheck.wording import clean, text

ANSWER_SECONDS: Final = 30.0
"""A question is waited for so long, then asked again."""
ASKED_TIMES: Final = 2


class Asked(msgspec.Struct, frozen=True, kw_only=True):
    """A question for yes or no."""

    says: str
    otherwise: bool | None = False
    """What no key comes to; None: to nothing, and that is told."""
    seconds: float = ANSWER_SECONDS
    times: int = ASKED_TIMES


class Codes(Protocol):
    """What tells codes: lamps and speaker."""

    def show(self, signal: Signal, beeps: bool) -> None:
        """This code from now on."""


class Talk:
    """Says and asks."""

    def __init__(
        self, speech: Speech, presses: Presses, codes: Codes, show: Callable[[str], None]
    ) -> None:
        self._speech, self._presses, self._codes, self._show = speech, presses, codes, show
        self._answered = self._silent = False
        self._explained = False
        self.gone = False
        """No key will come any more."""

    def signal(self, signal: Signal) -> None:
        """Tell a code from now on."""
        self._codes.show(signal, beeps=self._silent or not self._answered)

    async def say(self, *sentences: str) -> None:
        """Say them one after another; a key ends them all."""
        for sentence in sentences:
            words = spoken(clean(sentence))
            self._show(words)
            if self._presses.waiting():
                continue
            why = await asyncio.to_thread(self._speech.say, words, self._presses.waiting)
            if (why is not None) is not self._silent:
                self._silent = why is not None
                if why is not None:
                    self._show(text("voice.trouble", says=clean(reworded(why))))

    async def key(self, seconds: float | None) -> Press | None:
        """The next key; None: none came in that time."""
        pressed = await self._presses.next(seconds)
        self.gone = self.gone or pressed is Press.GONE
        self._answered = self._answered or pressed not in (None, Press.GONE)
        return pressed

    async def ask(self, question: Asked) -> bool | None:
        """Yes or no; repeated on the third key, on any other, and a few times on none."""
        left = question.times
        says = [question.says]
        while left:
            self.signal(Signal.ASKS)
            # What was pressed before it was asked is no answer to it.
            self._presses.forget()
            await self.say(*says, *([] if self._explained else [text("voice.keys")]))
            self._explained = True
            pressed = await self.key(question.seconds)
            says = [question.says]
            if pressed in (Press.YES, Press.NO):
                return pressed is Press.YES
            if pressed is Press.OTHER:
                says = [text("voice.other-key"), text("voice.keys"), question.says]
            elif pressed is not Press.AGAIN:
                left = 0 if self.gone else left - 1
        if question.otherwise is False:
            await self.say(text("voice.taken-as-no"))
        return question.otherwise
