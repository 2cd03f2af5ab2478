"""What a run says on standard error while it goes on."""

from __future__ import annotations

import sys
import time
from typing import TYPE_CHECKING, Final

from livecheck.commands.language import telling
from livecheck.commands.output import tell
from livecheck.found_words import reworded
from livecheck.worded import table_word
from livecheck.wording import clean, minutes, text

if TYPE_CHECKING:
    from livecheck.probes.runner import Event

EVERY_SECONDS: Final = 15.0
"""Between two lines of progress."""


class ProgressOutput:
    """Takes a run's events; what lasts long says now and then how far it is."""

    def __init__(self) -> None:
        self._next = time.monotonic() + EVERY_SECONDS

    def __call__(self, event: Event) -> None:
        """One event."""
        tell(event)
        if event.kind == "started":
            _caution(event.probe)
        if event.progress is None or time.monotonic() < self._next:
            return
        self._next = time.monotonic() + EVERY_SECONDS
        left = event.progress.seconds_left
        with telling():
            told = left is not None and left >= 30
            rest = text("printed.progress-left", time=minutes(left / 60)) if left and told else ""
            title = table_word(f"probe.{event.probe}", event.title)
            line = f"  {title}: {reworded(event.progress.says)}{rest}"
        print(clean(line), file=sys.stderr)


def _caution(probe: str) -> None:
    from livecheck import knowledge
    from livecheck.probes import registry

    known = registry.BY_NAME.get(probe)
    if known is not None and known.cautions:
        texts = knowledge.load().cautions
        for name in known.cautions:
            with telling():
                says = table_word(f"caution.{name}", texts[name].text)
                line = text("console.caution", says=says)
            print(f"  {line}", file=sys.stderr)
