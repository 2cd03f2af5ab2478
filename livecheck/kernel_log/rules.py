"""What a rule of the kernel-log tables is.

A family gathers the messages of one subsystem: ``gate`` tells its lines from all
others, then the first rule that matches decides. A line of the family that no
rule knows is kept as ``other`` when the kernel gave it warning priority or worse:
it is counted, never guessed at.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import NamedTuple

Judged = tuple[str, str, bool]
"""Layer, what to say, serious."""


class Rule(NamedTuple):
    """One kind of line. ``dev`` in the pattern names the device; the family's gate may too."""

    pattern: re.Pattern[str]
    layer: str = ""
    says: str = ""
    """May hold names of the pattern's groups in braces."""
    serious: bool = True
    judge: Callable[[re.Match[str]], Judged] | None = None
    """Decides instead of the three fields where they depend on the line's figures."""


class Family(NamedTuple):
    """The rules of one subsystem."""

    subsystem: str
    gate: re.Pattern[str]
    rules: tuple[Rule, ...]


def rule(pattern: str, layer: str, says: str, serious: bool = True) -> Rule:
    """A rule whose layer is fixed."""
    return Rule(re.compile(pattern), layer, says, serious)


def judged(pattern: str, judge: Callable[[re.Match[str]], Judged]) -> Rule:
    """A rule whose layer depends on figures in the line."""
    return Rule(re.compile(pattern), judge=judge)


def apply(known: Rule, match: re.Match[str]) -> Judged:
    """What a matching rule makes of a line."""
    if known.judge is not None:
        return known.judge(match)
    return known.layer, known.says.format(**match.groupdict()), known.serious
