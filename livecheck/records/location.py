"""What was worked out: swaps, candidates, evidence, next step and fault location."""

from __future__ import annotations

from livecheck.records.base import SCHEMA, Outcome, Record, Side


class Swap(Record, frozen=True, kw_only=True):
    """What changed at one place between two runs."""

    from_run: int
    to_run: int
    change: str
    """``swapped``, ``moved``, ``removed``, ``added``, ``reseated`` or ``board replaced``."""
    place: str
    before: str | None
    after: str | None
    part_kind: str | None = None


class Candidate(Record, frozen=True, kw_only=True):
    """One component that could explain what was seen."""

    component: str
    kind: str
    unit: str
    """The replaceable unit to order if this one is at fault."""
    side: Side
    probability: float
    name: str = ""
    bears: bool = True
    """False: no fault in it is what the customer complains of; it was found besides."""
    of_unit: float | None = None
    """Probability of a fault in anything that the same order mends; None: not known."""


class Evidence(Record, frozen=True, kw_only=True):
    """One reading that speaks for or against a candidate."""

    run: int
    check: str
    at: str
    outcome: Outcome
    says: str
    weight: float = 0.0
    """Natural log of the likelihood ratio for the verdict's component; > 0 speaks for it."""


class PredictedOutcome(Record, frozen=True, kw_only=True):
    """What one result of the next step would mean."""

    result: str
    probability: float
    means: str


class NextStep(Record, frozen=True, kw_only=True):
    """The action with the best expected progress per minute and money."""

    action: str
    target: str
    minutes: float
    why: str
    outcomes: tuple[PredictedOutcome, ...] = ()
    cautions: tuple[str, ...] = ()
    """Names in shared/cautions.toml that belong beside this step."""
    money: float | None = None
    to: str | None = None
    """Place the target goes to or sits in, where the action has one."""
    parts: tuple[str, ...] = ()
    """Further parts the step touches (see livecheck.diagnosis.steps.actions)."""
    checks: tuple[str, ...] = ()
    """Names of the checks whose outcome decides."""


class Location(Record, frozen=True, kw_only=True):
    """The fault location: which component best explains all runs of a case."""

    case: str
    runs: int
    side: Side
    component: str | None
    unit: str | None
    probability: float
    sides: dict[str, float]
    candidates: tuple[Candidate, ...]
    next_step: NextStep | None
    evidence: tuple[Evidence, ...]
    swaps: tuple[Swap, ...]
    sentence: str = ""
    """The verdict as a technician would say it."""
    explanation: tuple[str, ...] = ()
    """Further sentences, each traceable to readings."""
    pattern: str | None = None
    """Name of the swap pattern seen, when one fits."""
    alternatives: tuple[NextStep, ...] = ()
    """The next steps that came second and third."""
    priors: str = "built-in"
    """Which table of priors was used."""
    schema: int = SCHEMA

    @property
    def put_right(self) -> str | None:
        """Unit of what is named and is no order of either side: a contact, a controller that
        hangs, a setting. None: something else is named, or nothing."""
        if self.side is not Side.UNDETERMINED:
            return None
        return next((c.unit for c in self.candidates if c.component == self.component), None)

    @property
    def free(self) -> bool:
        """True: what is named is of a side, and yet nothing to order: it was treated since, or is
        the shop's own."""
        sides = (Side.DEVICE, Side.CONTROLLER)
        return self.component is not None and self.unit is None and self.side in sides
