"""How a visit went."""

from __future__ import annotations

from dataclasses import dataclass, field

from livecheck.records import Location
from tests.simulation.visits.arrival import Arrival


@dataclass
class Ordered:
    """A unit that was bought, and whether it mends anything that is wrong."""

    unit: str
    right: bool
    at_probability: float


@dataclass
class Played:
    """How a visit went."""

    arrival: Arrival
    last: Location
    steps: int = 0
    minutes: float = 0.0
    orders: list[Ordered] = field(default_factory=list)
    again: int = 0
    """Times that it was to be bought once more, though it had not helped."""
    cured: bool = False
    lines: list[str] = field(default_factory=list)
