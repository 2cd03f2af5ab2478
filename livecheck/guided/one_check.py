"""What guided checks of one thing have in common: a step at a time, and left out at any of them."""

from __future__ import annotations

from livecheck.guided.ending import ended, skipped
from livecheck.guided.events import Event, Skip
from livecheck.guided.rows import GuideOffer
from livecheck.guided.steps import GuideStep
from livecheck.records import Knowledge


class OneCheck:
    """A guided check of the first thing it is offered for; its own part is ``_on``."""

    _step: GuideStep

    def __init__(self, offer: GuideOffer, knowledge: Knowledge) -> None:
        self._row, self._target = offer.row, offer.targets[0]
        check = knowledge.checks.get(self._row.becomes)
        self._limits = check.limits if check is not None else {}

    def start(self) -> GuideStep:
        """The first step."""
        return self._step

    def feed(self, event: Event) -> GuideStep:
        """The step after an event; none changes the last one."""
        if self._step.done:
            return self._step
        if isinstance(event, Skip):
            self._step = ended(not_tested=skipped(self._row, (self._target,), event))
        else:
            self._on(event)
        return self._step

    def _on(self, event: Event) -> None:
        raise NotImplementedError
