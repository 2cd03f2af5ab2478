"""The switches that silence radios (Documentation/driver-api/rfkill.rst).

A *soft* block is the system's, or a setting kept in the machine's firmware; a *hard*
one is a line held by a slider, a key, the firmware or the slot itself, and no program
lifts it. A switch of the platform silences cards it does not hang on.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import msgspec

from livecheck.host import Host, flag, text
from livecheck.records import Device, Outcome, Reading

RADIO_WORDS = ("/ieee80211/", "/bluetooth/", "/wwan/")
PLATFORM_WORDS = ("/platform/", "/LNXSYSTM", "/virtual/", "/acpi")


class Switch(msgspec.Struct, frozen=True, kw_only=True):
    """One switch as it stands."""

    device: str
    name: str
    """What its driver calls it: ``phy0``, ``hci0``, or the platform's own word."""
    kind: str
    """``wlan``, ``bluetooth``, ``wwan`` …"""
    hard: bool
    soft: bool
    kept: bool
    """True: its soft state is kept in the machine's firmware over a restart."""
    component: str | None
    """Id of the card it is on; None: one of the platform's."""


def read(host: Host, devices: Sequence[Device]) -> tuple[Switch, ...]:
    """Every switch the kernel lists now; one whose state cannot be read is left out."""
    owners = {d.name: d.component for d in devices if d.subsystem == "rfkill"}
    found = []
    for listed in host.udev("rfkill"):
        hard, soft = flag(host, f"{listed.path}/hard"), flag(host, f"{listed.path}/soft")
        if hard is None:
            continue
        on_radio = any(word in listed.path for word in RADIO_WORDS)
        on_platform = not on_radio and any(word in listed.path for word in PLATFORM_WORDS)
        found.append(
            Switch(
                device=listed.name,
                name=text(host, f"{listed.path}/name") or listed.name,
                kind=text(host, f"{listed.path}/type") or "radio",
                hard=hard,
                soft=bool(soft),
                kept=bool(flag(host, f"{listed.path}/persistent")),
                component=None if on_platform else owners.get(listed.name),
            )
        )
    return tuple(found)


def lifts(switch: Switch) -> str:
    """What takes a block away, in words."""
    if switch.hard and switch.component is None:
        return (
            "move the slider at the case's edge or press the key with the aerial on it, "
            "then look for a switch of the radios in the firmware's setup"
        )
    if switch.hard:
        return (
            "the slot's radio-off line is held: try slider, key and firmware setup; if none "
            "lifts it, the line itself (contact, board) is left"
        )
    if switch.soft and switch.kept:
        return "press the key with the aerial on it; its state is kept in the firmware"
    if switch.soft:
        return "only the running system holds it off (rfkill unblock)"
    return ""


def readings(switches: Sequence[Switch], cards: Mapping[str, str]) -> Iterator[Reading]:
    """Two readings a switch: held off by hardware, held off by software.

    ``cards``: id -> name of the wireless cards. A switch of the platform is read at the
    one card there is, else at the machine.
    """
    only = next(iter(cards)) if len(cards) == 1 else "machine"
    for switch in switches:
        at = next((own for own in cards if own == switch.component), only)
        title = f"{switch.name} ({switch.kind})"
        yield Reading(
            check="wireless.blocked",
            at=at,
            outcome=Outcome.FAILED if switch.hard else Outcome.PASSED,
            value="blocked by hardware" if switch.hard else "free",
            source=f"rfkill {switch.device}",
            says=f"{title} is switched off by hardware: {lifts(switch)}."
            if switch.hard
            else f"{title} is not held off by hardware.",
            details=(f"hard {switch.hard:d}, soft {switch.soft:d}, kept {switch.kept:d}",),
            device=switch.device,
        )
        yield _soft(switch, at, title)


def _soft(switch: Switch, at: str, title: str) -> Reading:
    """Whether software holds it off. A driver may tell both from one key (rfkill_set_states() in
    include/linux/rfkill.h, from memory): beside a block by hardware it is no evidence of its own.
    """
    both = switch.soft and switch.hard
    lifted = lifts(msgspec.structs.replace(switch, hard=False))
    outcome = Outcome.FAILED if switch.soft else Outcome.PASSED
    held = f"switched off by software: {lifted}" if switch.soft else "not held off by software"
    return Reading(
        check="wireless.soft-block",
        at=at,
        outcome=Outcome.NOT_JUDGED if both else outcome,
        value="blocked by software" if switch.soft else "free",
        source=f"rfkill {switch.device}",
        says="" if both else f"{title} is {held}.",
        why_not="it is held off by hardware, and one key may tell both" if both else None,
        device=switch.device,
    )


def blocked(switches: Sequence[Switch], component: str, kind: str) -> Switch | None:
    """The switch that keeps a card's radio of this kind silent, hard ones first."""
    for way in ("hard", "soft"):
        for switch in switches:
            theirs = switch.component in (component, None)
            if theirs and switch.kind == kind and getattr(switch, way):
                return switch
    return None
