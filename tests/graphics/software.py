"""Whether Mesa's renderer for the processor is at hand, which stands in for a chip."""

from __future__ import annotations

import time

import pytest

from livecheck.graphics.messages import SOFTWARE, Begun, Broken, Message
from livecheck.graphics.worker import ChipFollower


def heard(node: str = SOFTWARE, spoilt: int = 0, wanted: int = 1) -> list[Message]:
    """So many messages of a load, or all where it ends sooner."""
    found: list[Message] = []
    until = time.monotonic() + 60
    with ChipFollower(node, spoilt) as follower:
        while len(found) < wanted and follower.status is None and time.monotonic() < until:
            found += follower.heard(0.1)
    return found


def _missing() -> str | None:
    match heard():
        case [Begun(), *_]:
            return None
        case [Broken(says=says), *_]:
            return says
    return "Mesa's renderer said nothing"


MISSING = _missing()
needs_mesa = pytest.mark.skipif(MISSING is not None, reason=f"no renderer: {MISSING}")
