"""What a rule of the kernel-log tables is.

A family gathers the messages of one subsystem: ``prefix`` matches how the kernel begins
its lines, which the kernel alone writes, and each rule must match right behind it. So no
name or string of a device, which stands later in a line, can pass for a message. The
first rule that matches decides. A line of a family that no rule knows is kept when the
kernel gave it warning priority or worse: it is counted, never guessed at. Where it
complains of something, it has at least the layer that its driver's complaints have.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import NamedTuple

from livecheck.kernel_log.words import OTHER

Judged = tuple[str, str, bool]
"""Layer, what to say, serious."""


class Rule(NamedTuple):
    """One kind of line. A group ``dev`` of the pattern names the device, before the prefix's."""

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
    prefix: re.Pattern[str]
    """Anchored at the line's begin. Groups ``dev``, ``dev2`` … name the device, the first that
    is there; groups
    ``driver`` … stand for it where only its driver is named."""
    rules: tuple[Rule, ...]
    claims: bool = True
    """False: a line that no rule knows may be another family's."""
    more: tuple[Rule, ...] = ()
    """Rules for the further lines of one message; other families' messages have none."""
    complains: str = OTHER
    """Layer of a complaint that no rule knows."""


def rule(pattern: str, layer: str, says: str, serious: bool = True) -> Rule:
    """A rule whose layer is fixed."""
    return Rule(re.compile(pattern), layer, says, serious)


def chatter(pattern: str, says: str) -> Rule:
    """Lines that speak of no fault."""
    return Rule(re.compile(pattern), OTHER, says, serious=False)


def judged(pattern: str, judge: Callable[[re.Match[str]], Judged]) -> Rule:
    """A rule whose layer depends on figures in the line."""
    return Rule(re.compile(pattern), judge=judge)


def apply(known: Rule, match: re.Match[str]) -> Judged:
    """What a matching rule makes of a line."""
    if known.judge is not None:
        return known.judge(match)
    return known.layer, known.says.format(**match.groupdict()), known.serious


def named(match: re.Match[str], what: str = "dev") -> str | None:
    """The device, or the driver, that a prefix or a rule names."""
    groups = match.groupdict()
    return next((groups[n] for n in sorted(groups) if n.startswith(what) and groups[n]), None)
