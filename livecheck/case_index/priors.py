"""Confirmed outcomes move the prior weights of kinds, by a formula anyone can follow.

The table says how often each kind is at fault; the shop's confirmed outcomes say how
often it was. The table is taken as a Dirichlet prior worth ``A`` cases: kind k has
``A·s`` pseudo-counts, ``s`` its mean share by the table over the counted cases. After
N cases with n of kind k the posterior mean of its share is (A·s + n) / (A + N), the
conjugate update of the multinomial (Gelman and others, Bayesian Data Analysis, 3rd
edition, section 3.4; for two outcomes the Beta update of section 2.4). Divided by s it
is the factor on the weight:

    (A·s + n) / (A·s + N·s)

N·s is what the table expected among the counted cases. Shares depend on what a
machine holds and on the complaint, so N·s is summed case by case.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from typing import Final

import msgspec

from livecheck.case_index.summary import CONTACT
from livecheck.diagnosis.model import priors
from livecheck.records import Complaint, Knowledge, Learned, Proved

NO_FAULT: Final = "no-fault"
SOFTWARE: Final = "software"
CONTACTS: Final = "contact"
WHOLE: Final = (NO_FAULT, SOFTWARE)
"""What holds a share of all cases; every other kind's share is of cases with a fault."""
MOST_SHARE: Final = 0.9


class KindCount(msgspec.Struct, frozen=True):
    """One kind's part in the sums."""

    strength: float
    """A, in cases."""
    expected: float
    """N·s, by the table."""
    found: int
    """n."""
    cases: int
    """N."""

    @property
    def factor(self) -> float:
        """On the table's weight; 1 where no counted case could have shown the kind."""
        share = self.expected / self.cases if self.cases else 0.0
        if share <= 0.0:
            return 1.0
        return (self.strength * share + self.found) / (self.strength * share + self.expected)


def learn(
    knowledge: Knowledge, outcomes: Iterable[Proved], besides: str | None = None
) -> Knowledge:
    """The tables with weights moved by what repairs proved.

    Counted are outcomes that proved a component (not those that cleared one), one for
    each component of a case, the last recorded. ``besides``: id of a case that is left
    out, so that no case is judged by its own outcome. Without any the tables come back
    as they are.
    """
    counted = confirmed(o for o in outcomes if o.case != besides)
    counts = tally(knowledge, counted)
    learned = tuple(
        Learned(
            kind=kind,
            expected=round(count.expected, 3),
            found=count.found,
            factor=round(count.factor, 4),
        )
        for kind, count in counts.items()
    )
    if not counted:
        return knowledge
    kinds, model = dict(knowledge.kinds), knowledge.model
    for row in learned:
        if row.kind == NO_FAULT:
            value = min(model.no_fault.value * row.factor, MOST_SHARE)
            moved = msgspec.structs.replace(model.no_fault, value=value)
            model = msgspec.structs.replace(model, no_fault=moved)
            continue
        kind = kinds[row.kind]
        weight = kind.weight * row.factor
        if row.kind == SOFTWARE:
            weight = min(weight, MOST_SHARE)
        kinds[row.kind] = msgspec.structs.replace(kind, weight=weight)
    origin = f"{knowledge.origin}, moved by {len(counted)} confirmed outcome"
    origin += f"{'' if len(counted) == 1 else 's'} of this shop"
    return msgspec.structs.replace(
        knowledge, kinds=kinds, model=model, origin=origin, learned=learned
    )


def confirmed(outcomes: Iterable[Proved]) -> tuple[Proved, ...]:
    """Those that proved a component: the last word on each component of each case."""
    last = {(o.case, o.component): o for o in sorted(outcomes, key=lambda o: o.recorded)}
    return tuple(o for o in last.values() if o.proved)


def tally(knowledge: Knowledge, counted: Sequence[Proved]) -> dict[str, KindCount]:
    """Expected and found of every kind that any counted case could have shown."""
    worth = knowledge.model.table_cases.value
    found = Counter(outcome.kind for outcome in counted)
    faulty = [outcome for outcome in counted if outcome.kind not in WHOLE]
    expected: defaultdict[str, float] = defaultdict(float)
    for outcome in faulty:
        for kind, share in shares(knowledge, outcome.complaint, outcome.fitted).items():
            expected[kind] += share
    counts = {
        kind: KindCount(worth, expected[kind], found[kind], len(faulty))
        for kind in sorted(expected)
    }
    for kind in WHOLE if counted else ():
        hoped = sum(_share_of_cases(knowledge, kind, o.complaint) for o in counted)
        counts[kind] = KindCount(worth, hoped, found[kind], len(counted))
    return counts


def _share_of_cases(knowledge: Knowledge, kind: str, complaint: Complaint) -> float:
    if kind == NO_FAULT:
        return priors.share(knowledge.model.no_fault, complaint)
    return priors.software_share(knowledge, complaint)


def shares(knowledge: Knowledge, complaint: Complaint, fitted: dict[str, int]) -> dict[str, float]:
    """Share of each kind among single faults of such a machine, by the table; they sum to 1."""
    weights: defaultdict[str, float] = defaultdict(float)
    contact = knowledge.kinds.get(CONTACTS)
    for kind, count in fitted.items():
        made = kind.startswith(CONTACT)
        row = knowledge.kinds.get(kind.removeprefix(CONTACT))
        if row is None or row.kind in WHOLE or (made and contact is None):
            continue
        own = priors.weight(row, complaint) * count
        if made and contact is not None:
            weights[CONTACTS] += own * contact.weight
        else:
            weights[row.kind] += own
    total = sum(weights.values())
    return {kind: weight / total for kind, weight in weights.items()} if total > 0 else {}
