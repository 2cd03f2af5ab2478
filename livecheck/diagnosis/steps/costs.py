"""What work on this bench costs: minutes, money, risk, covers opened once a sitting.

Costs are counted in minutes; money is turned into minutes by the price of a bench
hour, in which shared/components.toml gives prices; shared/bench.toml has the other minutes.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from livecheck.diagnosis.steps.actions import Action
from livecheck.records import Knowledge, Losses, Record, Swap
from livecheck.topology.configuration import Configuration
from livecheck.topology.graph import Component, Graph
from livecheck.topology.ids import ANTENNA_LEAD, DRIVE_LEAD

HOUR: Final = 60.0


class Bench(Record, frozen=True, kw_only=True):
    """The case's graph, the tables, and what this bench cannot do."""

    graph: Graph
    knowledge: Knowledge
    cannot: frozenset[str] = frozenset()
    opened: frozenset[str] = frozenset()
    """Covers that are off already in this sitting."""
    hurt: bool = False
    """True: it fell, was spilled on or opened before it came in."""
    sleeps: bool = False
    """True: it was told to show in or after sleep."""
    starts: bool = False
    """True: it was told to start only sometimes."""
    on_battery: bool = False
    """What is complained of shows on battery."""
    rare: bool = False
    """True: it was told to show so seldom that no soak of hours is likely to meet it."""
    leans: tuple[tuple[str, Mapping[str, float]], ...] = ()
    """What was told of the complaint, and the factors on weights by kind that follow from it."""

    @property
    def now(self) -> Configuration:
        """The machine as it stands: the last run that was not in another machine."""
        return (self.graph.home or self.graph.configurations)[-1]

    def allows(self, action: str, kind: str | None = None, target: str | None = None) -> bool:
        """False for what the technician ticked off, by action, kind, title or target."""
        words = {word for word in (kind, target, self.title(kind)) if word}
        barred = {action, *(f"{action}: {word}" for word in words)}
        if action == Action.SWAP:
            barred |= {"no spare", *(f"no spare: {word}" for word in words)}
        if action == Action.KNOWN_GOOD_MACHINE:
            barred.add("no known-good machine")
        return not barred & self.cannot

    def has(self, component: Component) -> bool:
        """False for a lead whose exchange was ruled out: the part plugs straight into the board."""
        lead = component.kind in (DRIVE_LEAD, ANTENNA_LEAD)
        return not lead or self.allows(Action.EXCHANGE_LEAD, target=str(component.id))

    def title(self, kind: str | None) -> str | None:
        """A kind as a technician would say it."""
        row = self.knowledge.kinds.get(kind or "")
        return row.title if row is not None else kind

    def trial(self) -> float:
        """Minutes of one start with the probes of the last run."""
        seconds = self.now.run.seconds
        if seconds is None or self.now.run.depth != "quick":
            return self.knowledge.bench.actions.trial.minutes
        return self.knowledge.bench.actions.boot.minutes + seconds / 60.0

    def covers(self, kinds: Iterable[str]) -> float:
        """Minutes to open what is still closed before these kinds of part."""
        behind = {cover for kind in kinds for cover in self.behind(kind)} - self.opened
        table = self.knowledge.bench.covers
        return sum(table[cover].minutes for cover in behind)

    def behind(self, kind: str) -> tuple[str, ...]:
        """Covers before a kind of part."""
        row = self.knowledge.kinds.get(kind)
        return row.behind if row is not None else ()

    def hands(self, kind: str, *, reseat: bool = False) -> float:
        """Minutes at the part itself, and the risk of harm turned into minutes."""
        row = self.knowledge.kinds.get(kind)
        if row is None:
            return 5.0
        minutes = row.reseat_minutes if reseat else row.swap_minutes
        return (minutes if minutes is not None else 5.0) + self.risk(kind)

    def risk(self, kind: str) -> float:
        """Expected loss in minutes: chance of harm times what a board costs."""
        row = self.knowledge.kinds.get(kind)
        return row.risk * (self.money("mainboard") or 6.0) * HOUR if row is not None else 0.0

    def money(self, unit: str) -> float | None:
        """Price of a unit in bench hours."""
        row = self.knowledge.kinds.get(unit)
        return row.price if row is not None else None

    def repair(self, component: int) -> float:
        """Cost in minutes of repairing by ordering and fitting this component's unit."""
        kind = self.graph.components[component].kind
        unit = self.graph.components[component].unit
        minutes = self.covers([unit]) + self.hands(unit, reseat=kind == "contact") + self.trial()
        return minutes + (self.money(unit) or 0.0) * HOUR

    def order(self, component: int) -> float:
        """Cost in minutes of ordering what is out of the machine already, and a last test."""
        unit = self.graph.components[component].unit
        return self.trial() + (self.money(unit) or 0.0) * HOUR


def opened(swaps: Sequence[Swap], knowledge: Knowledge) -> frozenset[str]:
    """Covers that the changes found so far must have taken off.

    A sitting is taken to last as long as the case: covers stay off between trials.
    """
    kinds = (swap.part_kind for swap in swaps)
    rows = (knowledge.kinds.get(kind or "") for kind in kinds)
    return frozenset(cover for row in rows if row is not None for cover in row.behind)


def expected_repair(mass: Sequence[tuple[float, float]], none: float, losses: Losses) -> float:
    """Expected minutes to a proven repair from (probability, cost) of each repair.

    Repairs are tried in falling probability over cost, which is the cheapest order
    for a single fault, Kadane & Simon, *Optimal strategies for a class of constrained
    sequential problems*, Ann. Statist. 5 (1977) 237-255; the sum is Breese &
    Heckerman's expected cost of repair (*Decision-Theoretic Troubleshooting*, UAI 1996).
    ``none``: probability that nothing is at fault, settled by handing the machine back.
    """
    left = 1.0
    cost = 0.0
    sound = (none, losses.comeback.minutes)
    steps = sorted([*mass, sound], key=lambda item: -item[0] / max(item[1], 0.1))
    for probability, price in steps:
        cost += left * price
        left = max(0.0, left - probability)
        if left < 1e-4:
            break
    return cost + left * losses.out_of_candidates.minutes
