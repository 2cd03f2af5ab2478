"""What the panel says of itself, read again and again: a look at the wires it comes over."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from livecheck.host import ScreenHost, Unreadable
from livecheck.inventory.edid import parse
from livecheck.probes import Context
from livecheck.probes.finding import Finding, finding, unjudged
from livecheck.records import Part, Reading, ScreenFacts

EDID: Final = "display.edid"


def probe_panel(context: Context, part: Part) -> Iterator[Reading]:
    """One reading of a panel."""
    device = next(
        (d for d in context.inventory.devices if d.subsystem == "drm" and d.component == part.id),
        None,
    )
    if device is None or not isinstance(device.facts, ScreenFacts):
        return
    bus = device.facts.bus
    if bus is None or not isinstance(context.host, ScreenHost):
        yield judge_once(device.facts).reading(part.id, f"{device.path}/edid", device.name)
        return
    wanted = int(context.knowledge.checks[EDID].limits["reads"])
    reads = [_read(context.host, f"/dev/{bus}") for _ in range(wanted)]
    found = judge(reads) if any(reads) else judge_once(device.facts)
    yield found.reading(part.id, f"/dev/{bus}, read {wanted} times", device.name)


def _read(host: ScreenHost, bus: str) -> bytes | None:
    try:
        return host.edid_block(bus)
    except Unreadable:
        return None


def judge(reads: list[bytes | None]) -> Finding:
    """Many reads, at least one of them answered."""
    told = [block for block in reads if block is not None]
    usual = max(set(told), key=told.count)
    silent, other = len(reads) - len(told), sum(block != usual for block in told)
    damage = parse(usual).damage
    # One block announces extensions that were not asked for: that is no damage.
    damaged = [words for words in damage if "announces" not in words]
    bad = silent + other
    if damaged:
        return finding(EDID, True, len(told), f"The panel's EDID is damaged: {damaged[0]}", "reads")
    if bad:
        says = (
            f"Of {len(reads)} reads of the panel's EDID {silent} were not answered and {other} "
            "came damaged."
        )
        return finding(EDID, True, bad, says, "reads")
    return finding(EDID, False, 0, f"The panel's EDID read the same {len(reads)} times.", "reads")


def judge_once(facts: ScreenFacts) -> Finding:
    """The kernel's own one read, where the bus cannot be asked."""
    if facts.damage is not None:
        return finding(EDID, True, 1, f"The panel's EDID is damaged: {facts.damage}", "reads")
    if not facts.read:
        return unjudged(EDID, "the panel gave no EDID; many old ones have none that can be read")
    return unjudged(EDID, "the kernel read it once; its bus cannot be asked again from here", 1)
