"""What the technician told on a screen, as the screens hand it on."""

from __future__ import annotations

from enum import StrEnum

import msgspec

from livecheck.plan import QUICK
from livecheck.probes import Probe, registry
from livecheck.records import (
    Answer,
    ComplaintShows,
    FirstPartBack,
    HowEnded,
    LastStartEnded,
    PartIs,
    WhereShown,
)
from livecheck.records.answer_words import understood
from livecheck.telling import Telling
from livecheck.worded import table_word
from livecheck.wording import text


def probe_title(probe: Probe) -> str:
    """What a probe looks at."""
    return table_word(f"probe.{probe.name}", probe.title)


class RunOptions(msgspec.Struct, frozen=True, kw_only=True):
    """What differs from an ordinary run; it holds until changed."""

    depth: str = QUICK
    probes: tuple[str, ...] | None = None
    """None: what the complaint calls for."""

    def says(self) -> str:
        """In a line; empty for an ordinary run."""
        words = []
        if self.depth != QUICK:
            words.append(text(f"options.only-{self.depth}"))
        if self.probes is not None:
            titles = ", ".join(probe_title(registry.BY_NAME[name]) for name in self.probes)
            words.append(text("options.only", probes=titles or text("options.no-probe")))
        return text("options.says", words="; ".join(words)) if words else ""


class ResumeAnswers(msgspec.Struct, frozen=True, kw_only=True):
    """What was done since the case's last run."""

    reseated: tuple[str, ...] = ()
    known_good: tuple[str, ...] = ()
    spares: tuple[str, ...] = ()
    """Ids of parts without a number that are the shop's now."""
    returned: tuple[str, ...] = ()
    """Ids of parts without a number that are the machine's first ones again."""
    treated: tuple[str, ...] = ()
    in_known_good_machine: bool = False
    cannot: tuple[str, ...] = ()
    shows: str | None = None
    """Where the complaint shows: a word of ``WhereShown``; None: not known."""
    ended: str | None = None
    """How the start that was cut off ended: a word of ``HowEnded``; None: not known."""

    def with_told(self, more: Telling) -> ResumeAnswers:
        """These, and what the proposed step comes to."""
        return msgspec.structs.replace(
            self,
            reseated=tuple(dict.fromkeys((*self.reseated, *more.reseated))),
            treated=tuple(dict.fromkeys((*self.treated, *more.answers))),
            in_known_good_machine=self.in_known_good_machine or more.elsewhere,
        )

    def answers(self) -> tuple[Answer, ...]:
        """What no sensor tells, for the run's record."""
        told: list[Answer] = [
            PartIs(place=part, name="bench spare", known_good=True) for part in self.spares
        ]
        told += [FirstPartBack(place=part) for part in self.returned]
        told += [LastStartEnded(how=HowEnded(self.ended))] if self.ended else []
        told += [ComplaintShows(where=WhereShown(self.shows))] if self.shows else []
        parted = (one.rpartition("=") for one in self.treated)
        return (*told, *(understood(about, words) for about, _, words in parted))


class Way(StrEnum):
    """How the technician left the screen of a machine that was here before."""

    RUN = "run"
    MEASURE = "measure"
    OPEN = "open"
    OTHER = "other"
