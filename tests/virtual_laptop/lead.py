"""An adapter's lead that loses contact: a pattern of losses, played against the flex test."""

from __future__ import annotations

import json
import random
import statistics
import time
from typing import Any, Final

from tests.virtual_laptop.guest import Guest
from tests.virtual_laptop.shell import Shell

LOSSES: Final = (0.06, 0.08, 0.1, 0.15, 0.2, 0.3, 0.45, 0.6, 0.9, 1.2, 1.6, 2.0)
"""Seconds without power."""
WATCHED: Final = 60


def flicker(guest: Guest, seed: int) -> list[tuple[float, float]]:
    """Plays the losses in some order; returns when each began and how long it was, in fact."""
    order = random.Random(seed)
    played = []
    for seconds in order.sample(LOSSES, len(LOSSES)):
        time.sleep(order.uniform(0.8, 2.0))
        guest.page.set(ONLN=0)
        lost = time.monotonic()
        time.sleep(seconds)
        guest.page.set(ONLN=1)
        played.append((lost, time.monotonic() - lost))
    return played


def test(guest: Guest, shell: Shell, seed: int) -> dict[str, Any]:
    """The flex test in the guest while the lead flickers: what was played, what it saw."""
    job = shell.begin(f"livecheck flex --seconds {WATCHED} --json --no-save")
    guest.until(lambda: "Watching" in job.said(), 240, "the flex test")
    time.sleep(3)
    played = flicker(guest, seed)
    guest.until(job.over, 240, "the end of the flex test")
    text = job.said()
    found = json.loads(text[text.index("\n{") : text.rindex("}") + 1])["flex"]
    return compared(played, found)


def compared(played: list[tuple[float, float]], found: dict[str, Any]) -> dict[str, Any]:
    """Both side by side. The two clocks start apart by a constant, which is the median."""
    seen = found["losses"]
    same = len(seen) == len(played)
    apart = statistics.median(s["start"] - p[0] for s, p in zip(seen, played, strict=False))
    return {
        "played": len(played),
        "counted": len(seen),
        "shortest_surely_seen_s": round(found["longest_gap"], 4),
        "usual_gap_s": round(found["usual_gap"], 4),
        "losses": [
            {
                "played_s": round(p[1], 4),
                "seen_s": round(s["seconds"], 4),
                "may_be_longer_by_s": round(s["uncertain"], 4),
                "start_wrong_by_s": round(s["start"] - p[0] - apart, 4),
            }
            for s, p in zip(seen, played, strict=False)
        ]
        if same
        else seen,
    }
