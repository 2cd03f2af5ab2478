"""What the technician told on a screen, as the screens hand it on."""

from __future__ import annotations

import msgspec

from livecheck.plan import QUICK
from livecheck.probes import registry
from livecheck.records import COMPLAINT, LAST_START, Answer


class RunOptions(msgspec.Struct, frozen=True, kw_only=True):
    """What differs from an ordinary run; it holds until changed."""

    depth: str = QUICK
    probes: tuple[str, ...] | None = None
    """None: what the complaint calls for."""

    def says(self) -> str:
        """In a line; empty for an ordinary run."""
        words = []
        if self.depth != QUICK:
            words.append(f"depth {self.depth}")
        if self.probes is not None:
            titles = [registry.BY_NAME[name].title for name in self.probes]
            words.append(f"only: {', '.join(titles) or 'no probe'}")
        return f"Options: {'; '.join(words)}" if words else ""


class ResumeAnswers(msgspec.Struct, frozen=True, kw_only=True):
    """What was done since the case's last run."""

    reseated: tuple[str, ...] = ()
    known_good: tuple[str, ...] = ()
    spares: tuple[str, ...] = ()
    """Ids of parts without a number that are the shop's now."""
    returned: tuple[str, ...] = ()
    """Ids of parts without a number that are the machine's first ones again."""
    treated: tuple[str, ...] = ()
    elsewhere: bool = False
    cannot: tuple[str, ...] = ()
    shows: str | None = None
    """Where the complaint shows: ``INSIDE``, ``OUTSIDE``, ``NOWHERE``, or not known."""
    ended: str | None = None
    """How the start that was cut off ended: ``BY_ITSELF``, ``BY_HAND``, or not known."""

    def answers(self) -> tuple[Answer, ...]:
        """What no sensor tells, for the run's record."""
        told = [Answer(about=part, says="bench spare") for part in self.spares]
        told += [Answer(about=part, says="original") for part in self.returned]
        told += [Answer(about=LAST_START, says=self.ended)] if self.ended else []
        told += [Answer(about=COMPLAINT, says=self.shows)] if self.shows else []
        parted = (one.rpartition("=") for one in self.treated)
        return (*told, *(Answer(about=about, says=says) for about, _, says in parted))
