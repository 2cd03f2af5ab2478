"""Things that only have to be there: fingerprint reader, TPM. No screen, no question."""

from __future__ import annotations

from livecheck.guided.ending import Basis, ended, reading
from livecheck.guided.events import Event
from livecheck.guided.rows import GuideOffer
from livecheck.guided.steps import GuideStep
from livecheck.records import Knowledge, Outcome


class Present:
    """Done as soon as it is begun: the thing answers, or the check were not offered."""

    def __init__(self, offer: GuideOffer, knowledge: Knowledge) -> None:
        self._step = ended(
            *(
                reading(offer.row, t, Outcome.PASSED, offer.row.passed.format(name=t.name),
                        Basis(value=t.name, details=[f"{k}: {v}" for k, v in t.attributes.items()]))
                for t in offer.targets
            )
        )  # fmt: skip

    def start(self) -> GuideStep:
        """The end."""
        return self._step

    def feed(self, event: Event) -> GuideStep:
        """Still the end."""
        return self._step
