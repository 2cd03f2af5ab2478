"""The pair of a cold and a hot reading, judged. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import msgspec

from livecheck.records import Outcome, Reading, Record

LINK: Final = "storage.link-errors-hot"
MEDIUM: Final = "storage.read-errors-hot"
PCIE: Final = "pcie.errors-hot"
SCREEN: Final = "display.link-errors-hot"

MIN_RISE: Final = 8.0
"""Kelvin between the two readings below which there was no heat to speak of (assumed)."""


class Target(Record, frozen=True, kw_only=True):
    """A part whose errors are counted cold and hot."""

    part: str
    name: str
    block: str | None = None
    """Kernel name of a drive; None: another part on a link."""
    channel: str | None = None
    """Kernel name of the channel that a panel's counters are read over."""

    @property
    def check(self) -> str:
        """The check that its link's errors are a reading of."""
        if self.channel is not None:
            return SCREEN
        return LINK if self.block is not None else PCIE


class Phase(msgspec.Struct, kw_only=True):
    """What was counted in one of the two readings, by part."""

    celsius: float | None = None
    """Hottest sensor."""
    seconds: float = 0.0
    links: dict[str, int | None] = {}
    """Errors on the link; None: cannot be counted."""
    media: dict[str, int] = {}
    """Places of a drive that could not be read."""
    bytes: dict[str, int] = {}


class Pair(msgspec.Struct, frozen=True, kw_only=True):
    """Both readings, and how the load between them went."""

    cold: Phase
    hot: Phase
    ended: str | None = None
    """Why the load ended early; None: it did not."""
    rise: float = MIN_RISE
    """Kelvin between the two that count."""

    def why_not(self, errors: tuple[int | None, int | None]) -> str | None:
        """Why a pair of counts says nothing of heat; None: it does."""
        before, after = errors
        cold, hot = self.cold.celsius, self.hot.celsius
        if before is None or after is None:
            return "neither part nor port keeps link counters that can be read"
        if before:
            return "there are errors cold as well, so heat is not what brings them"
        if cold is None or hot is None:
            return "no sensor of this machine gives a temperature"
        if hot - cold < self.rise:
            return f"the load made it no more than {max(0.0, hot - cold):.0f} K warmer"
        return None


def judge(target: Target, pair: Pair) -> Iterator[Reading]:
    """Readings of one part."""
    cold, hot = pair.cold, pair.hot
    errors = cold.links.get(target.part), hot.links.get(target.part)
    yield _reading(target, target.check, errors, pair)
    if target.block is not None and target.part in cold.media and target.part in hot.media:
        yield _reading(target, MEDIUM, (cold.media[target.part], hot.media[target.part]), pair)


def _reading(
    target: Target,
    check: str,
    errors: tuple[int | None, int | None],
    pair: Pair,
) -> Reading:
    cold, hot = pair.cold, pair.hot
    why = pair.why_not(errors)
    before, after = errors
    outcome = Outcome.NOT_JUDGED
    if why is None:
        outcome = Outcome.FAILED if after else Outcome.PASSED
    what = "places could not be read" if check == MEDIUM else "errors on the link"
    heat = "" if hot.celsius is None else f" at {hot.celsius:.0f} °C"
    says = f"{after} {what} while hot{heat}, {before} before." if after is not None else ""
    details = [_line("cold", before, cold, target), _line("hot", after, hot, target)]
    if pair.ended is not None:
        details.append(f"the load ended early: {pair.ended}")
    return Reading(
        check=check,
        at=target.part,
        outcome=outcome,
        value=after,
        unit="errors",
        source="the same reading cold and under the self-checking load",
        says=says,
        why_not=why,
        details=tuple(details),
        conditions=("cold", "hot"),
        device=target.block or target.channel,
    )


def _line(name: str, errors: int | None, phase: Phase, target: Target) -> str:
    count = "errors cannot be counted" if errors is None else f"{errors} errors"
    heat = "temperature not known" if phase.celsius is None else f"{phase.celsius:.0f} °C"
    read = phase.bytes.get(target.part)
    amount = "" if read is None else f", {read} bytes read"
    return f"{name}: {count} in {phase.seconds:.0f} s, {heat}{amount}"
