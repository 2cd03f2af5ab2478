"""Frames that came damaged over the wired network, by the counts of its circuit.

``rx_crc_errors`` and ``rx_frame_errors`` count frames whose checksum was wrong or that did not
end at a whole byte (Linux Documentation/ABI/testing/sysfs-class-net-statistics): what was sent
is not what arrived. They begin at zero with the kernel.
"""

from __future__ import annotations

from collections.abc import Iterator

from livecheck.host import number
from livecheck.probes import Context, Yield
from livecheck.records import Device, NetFacts, NotTested, Outcome, Reading

CHECK = "wired.damaged-frames"


def probe(context: Context) -> Iterator[Yield]:
    """A reading for each wired network circuit that a cable was in."""
    wired = [device for device in context.inventory.devices if _is_wired(device)]
    if not wired:
        yield NotTested(what="Wired network", why="the kernel finds no wired network here")
    for device in wired:
        yield _judged(device, context)


def _is_wired(device: Device) -> bool:
    facts = device.facts
    return isinstance(facts, NetFacts) and not facts.wireless and not facts.virtual


def _judged(device: Device, context: Context) -> Yield:
    folder = f"{device.path}/statistics"
    came = number(context.host, f"{folder}/rx_packets")
    counts = [number(context.host, f"{folder}/rx_{kind}_errors") for kind in ("crc", "frame")]
    known = [count for count in counts if count is not None]
    damaged, whole = sum(known), came or 0
    if known and not whole + damaged:
        return NotTested(
            what=f"Wired network {device.name}", why="nothing came over its cable since the start"
        )
    limits = context.knowledge.checks[CHECK].limits
    many = damaged >= max(limits["frames"], limits["share"] * (whole + damaged))
    outcome = Outcome.FAILED if many else Outcome.PASSED if known else Outcome.NOT_JUDGED
    return Reading(
        check=CHECK,
        at=device.component or "machine",
        outcome=outcome,
        value=damaged if known else None,
        unit="frames",
        source=folder,
        says=f"{damaged:,} of {whole + damaged:,} frames came damaged over the cable."
        if known
        else "",
        why_not=None if known else "its circuit's driver gives no counts",
        device=device.name,
    )
