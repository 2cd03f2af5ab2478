"""A context for a probe on a made-up host."""

from __future__ import annotations

from collections.abc import Callable

from livecheck import knowledge
from livecheck.inventory.tree import Contribution, Seen
from livecheck.probes import Context, ProbeFunction
from livecheck.records import Inventory, Machine, NotTested, Reading
from tests.inventory.fake_host import FakeHost
from tests.inventory.fake_host import seen as seen_of

Finder = Callable[[FakeHost, Seen], Contribution]


def context(host: FakeHost, *finders: Finder, first: Contribution | None = None) -> Context:
    """The host with the inventory that these finders make of it."""
    seen = seen_of(host)
    if first is not None:
        seen.add(first)
    for finder in finders:
        seen.add(finder(host, seen))
    inventory = Inventory(
        machine=seen.machine or Machine(),
        controllers=tuple(seen.controllers.values()),
        places=tuple(seen.places.values()),
        parts=tuple(seen.parts.values()),
        devices=tuple(seen.devices.values()),
    )
    return Context(host=host, inventory=inventory, events=(), knowledge=knowledge.load())


def readings(probe: ProbeFunction, given: Context) -> dict[str, Reading]:
    """The last reading of each check."""
    return {r.check: r for r in probe(given) if isinstance(r, Reading)}


def untested(probe: ProbeFunction, given: Context) -> dict[str, str]:
    """What was not tested, and why."""
    return {n.what: n.why for n in probe(given) if isinstance(n, NotTested)}
