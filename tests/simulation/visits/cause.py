"""What a cause is, and the few forms that most of them have."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from tests.simulation.visits.laptop import ATA, NVME, Laptop, Piece


@dataclass(frozen=True)
class Befallen:
    """One cause."""

    name: str
    rate: float
    units: tuple[str, ...]
    """What mends it, by the trade's name of the unit; the first is the truth, all are right."""
    befall: Callable[[Laptop], None]
    still: Callable[[Laptop], bool]
    possible: Callable[[Laptop], bool] = lambda laptop: True


ALL: Final[dict[str, Befallen]] = {}


def add(name: str, rate: float, units: str, do: Callable[[Laptop], None],
         still: Callable[[Laptop], bool], **more: Callable[[Laptop], bool]) -> None:  # fmt: skip
    ALL[name] = Befallen(name, rate, tuple(units.split()), do, still, **more)


def own(laptop: Laptop, place: str) -> Piece:
    return laptop.pieces[place]


def put(place: str, **figures: object) -> Callable[[Laptop], None]:
    def do(laptop: Laptop) -> None:
        where = drive(laptop) if place == "drive" else place
        for name, value in figures.items():
            setattr(own(laptop, where), name, value() if callable(value) else value)

    return do


def held(place: str, test: Callable[[Piece], bool]) -> Callable[[Laptop], bool]:
    """Whether the customer's own part is still as it was; one on the shelf is not given up."""

    def still(laptop: Laptop) -> bool:
        wanted = {laptop.home[p] for p in (*ATA, NVME) if p in laptop.home} if place == "drive" \
            else {laptop.home.get(place)}  # fmt: skip
        return any(one.serial in wanted and test(one) for one in _all(laptop))

    return still


def _all(laptop: Laptop) -> tuple[Piece, ...]:
    return (*laptop.pieces.values(), *laptop.shelf.values())


def drive(laptop: Laptop) -> str:
    found = laptop.drive()
    assert found is not None
    return found
