"""A drive's test of itself, as command line and console both ask for it.

Nothing here begins a test but ``course``, which is called after the technician has read
``explained`` and agreed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Final

from livecheck.host import Host
from livecheck.probes.drive import self_test, smart
from livecheck.probes.drive.self_test import (
    SelfTestState as SelfTestState,  # what the callers follow
)
from livecheck.probes.finding import Finding, unjudged
from livecheck.records import Inventory, Knowledge, Part, Reading
from livecheck.wording import minutes

POLL_SECONDS: Final = {"short": 5.0, "long": 30.0}
LOOK_SECONDS: Final = 1.0
"""Between two looks whether it should be broken off."""

PATIENCE: Final = 3
"""Times the stated duration after which a test is no longer waited for: drives make way for
other work, and state round figures."""
UNSTATED_MINUTES: Final = {"short": 10, "long": 600}
"""Waited for where the drive states no duration (assumed)."""

CAUTIONS: Final = ("data", "self-test")


class NotPossible(Exception):
    """The drive cannot be asked, or will not; says what to try."""


def drives(inventory: Inventory) -> dict[str, Part]:
    """Kernel name -> drive, for every drive that has one."""
    return {
        block: part
        for part in inventory.parts
        if part.kind == "drive" and (block := part.block) is not None
    }


def find(inventory: Inventory, host: Host, named: str) -> tuple[Part, str]:
    """The drive meant, and the node to ask it through. Raises NotPossible."""
    name = Path(named).name
    known = drives(inventory)
    for block, part in known.items():
        # nvme0 is the controller of nvme0n1.
        if name == block or (block.startswith("nvme") and block.rpartition("n")[0] == name):
            node = smart.node(host, part.scsi, block)
            if node is None:
                raise NotPossible(f"{name}: {smart.NO_NODE}")
            return part, node
    listed = ", ".join(known) or "none"
    raise NotPossible(f"{named} is no drive of this machine (there are: {listed})")


def offer(host: Host, node: str) -> SelfTestState:
    """What the drive says of its tests before one is begun. Raises NotPossible."""
    if not host.facts().as_root:
        raise NotPossible("only root may ask a drive to test itself (run as root)")
    state = self_test.ask(host, node)
    if state.trouble is not None:
        raise NotPossible(f"/dev/{node} cannot test itself: {state.trouble}")
    if state.running:
        raise NotPossible("a test runs in this drive already (wait for its end, or smartctl -X)")
    return state


def explained(
    part: Part, state: SelfTestState, kind: str, tables: Knowledge, way_out: str
) -> list[str]:
    """What will happen, how long it takes by the drive's own word, then what to heed.

    ``way_out``: the key that breaks the test off.
    """
    stated = state.minutes.get(kind)
    lasts = (
        f"The drive states {minutes(stated)} for it."
        if stated
        else "The drive does not state how long it takes."
    )
    what = (
        "reads its whole medium"
        if kind == "long"
        else "checks its electronics and mechanics and reads a small part of its medium"
    )
    return [
        f"{part.name}: the {kind} test of itself. The drive {what}, by itself; it writes "
        f"nothing but its own log. {lasts} It can be used meanwhile, which makes it longer. "
        f"{way_out} breaks the test off.",
        *(tables.cautions[name].text for name in CAUTIONS if name in tables.cautions),
    ]


def course(
    host: Host,
    node: str,
    before: SelfTestState,
    kind: str,
    stopped: Callable[[], bool] = lambda: False,
) -> Iterator[SelfTestState | Finding]:
    """Begin a test and follow it: states while it runs, at last what it found.

    Stopping breaks it off. Raises NotPossible when the drive does not begin.
    """
    trouble = self_test.begin(host, node, kind)
    if trouble is not None:
        raise NotPossible(f"/dev/{node} did not begin its test: {trouble}")
    allowed = 60.0 * PATIENCE * (before.minutes.get(kind) or UNSTATED_MINUTES[kind])
    begun = asked = host.clock()
    while True:
        host.wait(min(LOOK_SECONDS, POLL_SECONDS[kind]))
        if stopped():
            yield broken_off(host, node)
            return
        if host.clock() - asked < POLL_SECONDS[kind]:
            continue
        asked = host.clock()
        state = self_test.ask(host, node)
        if state.trouble is not None:
            why = f"the drive could no longer be asked: {state.trouble}"
            yield unjudged(self_test.CHECK, why)
            return
        if not state.running or asked - begun > allowed:
            yield self_test.judge(before, state, kind)
            return
        yield state


def broken_off(host: Host, node: str) -> Finding:
    """End a test that runs."""
    trouble = self_test.abort(host, node)
    why = "broken off by the technician"
    if trouble is not None:
        why += f", but the drive did not take that: {trouble} (switch it off to be sure)"
    return unjudged(self_test.CHECK, why)


def told(state: SelfTestState) -> str:
    """How far a test is, in words."""
    return f"{state.percent_left} % left" if state.percent_left is not None else "running"


def as_reading(found: Finding, part: Part, node: str) -> Reading:
    """The finding at its drive."""
    source = f"the drive's own test, by smartctl on /dev/{node}"
    return found.reading(part.id, source, part.block)
