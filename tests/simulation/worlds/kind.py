"""One way to be broken: where it sits, what it shows, what puts it right."""

from __future__ import annotations

from typing import Final, NamedTuple

Shares = dict[str, float]

PART, PLACE, LEAD, CONTACT = "part", "place", "lead", "contact"
CONTROLLER, BOARD, FIRMWARE, SOFTWARE = "controller", "board", "firmware", "software"
SETTING, HUNG, UNKNOWN = "setting", "hung", "unknown"
FREE: Final = (CONTACT, SETTING, HUNG)
"""Seats at which nothing has to be bought."""


class Kind(NamedTuple):
    """A kind of fault. Chances are of a run in which it acts, before a world bends them."""

    name: str
    share: float
    """Weight among the kinds of its group."""
    seat: str
    of: str
    """Kind of the part, of the part whose place it is, or of the controller; ``*``: none."""
    shows: Shares
    """Check -> chance to fail."""
    complaints: Shares
    silent: float = 0.0
    """Chance that the part does not answer at all."""
    steady: float = 0.6
    """Share of such faults that act all the time; the others so many times an hour of load."""
    heat: tuple[float, float] = (1.0, 1.0)
    """Range of the factor on the machine's rise over the room."""
    hot_only: float = 0.0
    """Share of such faults that act only while the machine is hot."""
    worsens: float = 0.05
    """Share of such faults that get worse from run to run and may end as dead."""
    cured_by: tuple[str, ...] = ()
    """Treatments that may help: ``reseat``, ``clean``, ``drain``, ``set``, ``flash``."""
    cure: float = 0.85
    """Chance that such a treatment helps."""
    ends: str = ""
    """How the machine dies of it: a cause of the checks ``ended.*``; empty: it goes on."""
    inside: float = 0.8
    """Chance that, while it acts, the complaint is seen in the installed system."""
    outside: float = 0.5
    """The same outside it."""


# What is seen of the same events. The figures are this population's own.
MEDIUM: Final[Shares] = {
    "storage.medium-errors": 0.7,
    "storage.read-errors": 0.55,
    "storage.read-medium": 0.4,
    "storage.read-slow": 0.4,
    "storage.read-stalls": 0.35,
    "kernel.storage-medium": 0.5,
    "kernel.storage-timeout": 0.15,
    "storage.health": 0.25,
    "storage.self-test-log": 0.2,
    "storage.medium": 0.4,
    "storage.command-errors": 0.35,
}
LINK: Final[Shares] = {
    "storage.link-errors": 0.65,
    "storage.link-change": 0.55,
    "storage.link-history": 0.7,
    "kernel.storage-link": 0.6,
    "kernel.storage-timeout": 0.4,
    "kernel.storage-host-bus": 0.15,
    "kernel.storage-protocol": 0.25,
    "storage.link-speed": 0.3,
    "storage.link-slowed": 0.3,
    "storage.read-stalls": 0.35,
    "storage.command-errors": 0.2,
    "pcie.errors": 0.55,
    "kernel.pcie": 0.45,
    "pcie.link-width": 0.25,
    "pcie.link-speed": 0.25,
    "kernel.wireless": 0.3,
}
MODULE: Final[Shares] = {
    "memory.words": 0.7,
    "memory.module-words": 0.9,
    "memory.early-test": 0.35,
    "memory.error-counts": 0.1,
    "memory.machine-checks": 0.15,
    "kernel.machine-check": 0.2,
    "bench.own-screen": 0.95,
    "bench.external-screen": 0.95,
    "bench.code-memory": 0.55,
}
DARK: Final[Shares] = {"bench.own-screen": 0.96, "bench.external-screen": 0.94}
FEED: Final[Shares] = {
    "power.adapter": 0.6,
    "power.charging": 0.55,
    "power.flex-losses": 0.35,
    "power.adapter-holds": 0.35,
    "bench.life": 0.85,
}
WIRELESS: Final[Shares] = {
    "wireless.driver": 0.45,
    "wireless.starts": 0.4,
    "wireless.hears": 0.5,
    "kernel.wireless": 0.55,
    "bluetooth.driver": 0.3,
    "wireless.halves": 0.2,
}

# What the customer says of it.
SAYS_DRIVE: Final[Shares] = {"slow": 4, "unstable": 2.5, "part-missing": 2, "intake": 0.7}
SAYS_LINK: Final[Shares] = {"part-missing": 3, "unstable": 2.5, "slow": 2}
SAYS_MISSING: Final[Shares] = {"part-missing": 8, "intake": 0.8, "slow": 0.3}
SAYS_MEMORY: Final[Shares] = {"unstable": 6, "no-picture": 2.5, "switches-off": 0.7}
SAYS_POWER: Final[Shares] = {"not-charging": 5, "no-power": 3.5, "switches-off": 1.5}
SAYS_HEAT: Final[Shares] = {"switches-off": 4, "slow": 4, "unstable": 1.2, "intake": 0.4}
SAYS_DARK: Final[Shares] = {"no-picture": 1}
SAYS_CRASH: Final[Shares] = {"unstable": 5, "switches-off": 2, "slow": 0.4}
