"""What a case costs: minutes by the bench's structure, prices by the tables."""

from __future__ import annotations

from livecheck.records import Knowledge

TRIAL_MINUTES = 5.0
COMEBACK_MINUTES = 45.0


class Bill:
    """Minutes and money of one case; covers are opened once a sitting."""

    knowledge: Knowledge
    pace: float
    """This bench's hands against the table's minutes."""
    minutes: float
    opened: set[str]

    def spend(self, kind: str, *, reseat: bool = False, trial: bool = True) -> None:
        """Minutes for one part: covers once a sitting, hands, a start."""
        row = self.knowledge.kinds.get(kind)
        minutes = TRIAL_MINUTES if trial else 0.0
        if row is not None:
            hands = row.reseat_minutes if reseat else row.swap_minutes
            minutes += (hands if hands is not None else 5.0) * self.pace
            for cover in row.behind:
                if cover not in self.opened:
                    self.opened.add(cover)
                    minutes += self.knowledge.bench.covers[cover].minutes * self.pace
        self.minutes += minutes

    def _price(self, unit: str) -> float:
        row = self.knowledge.kinds.get(unit)
        return row.price if row is not None and row.price is not None else 0.0
