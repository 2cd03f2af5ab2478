"""What is really wrong with a machine, and which verdicts are right of it."""

from __future__ import annotations

from tests.simulation.bill import Bill
from tests.simulation.fault import Fault


class Truth(Bill):
    """The faults of a machine and what is bought for it."""

    faults: list[Fault]
    orders: list[str]
    units: frozenset[str]
    """Units of the faults the machine came with; a bad spare's is not among them."""

    def left(self) -> list[Fault]:
        """Faults not yet repaired, in the machine or on the table beside it."""
        return [fault for fault in self.faults if not fault.gone]

    def true_units(self) -> set[str]:
        """Units of all faults."""
        return {fault.unit() for fault in self.faults}

    def types(self) -> tuple[tuple[str, str], ...]:
        """(Name, seat) of every fault."""
        return tuple((fault.type.name, fault.type.role) for fault in self.faults)

    def accepts(self, unit: str | None) -> bool:
        """Whether naming this unit, or none, is right of the machine as it came."""
        return unit in self.units if unit is not None else not self.units

    def cured_for_nothing(self) -> bool:
        """True: a contact made anew or a cleaning cured it, and nothing was bought."""
        cured = (f for f in self.faults if f.gone and (f.type.role == "contact" or f.type.cleans))
        return any(cured) and not self.orders
