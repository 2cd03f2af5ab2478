"""More alarms that may stay than are summed over: the bound against the whole sum.

The whole sum is what test_oracle_latent.py holds against an independent library. With a part of
its terms left out a sum of positive terms is less, and no more than by those.
"""

from __future__ import annotations

import random
from itertools import combinations

import msgspec
import pytest

from livecheck.diagnosis.factors import Factor
from livecheck.diagnosis.model import intermittent
from livecheck.diagnosis.model.likelihood import Likelihood
from livecheck.diagnosis.model.priors import CorrelationParameters

CHECKS = 10
COMPONENTS = 3
COMES_AND_GOES = CorrelationParameters(
    intermittent=1.0, symptom_group=0.5, repeated_check=0.8, persistent_alarms=0.3
)


def case(seed: int) -> list[Factor]:
    """Half a dozen runs in which ten checks fail now and then, each at the same components."""
    dice = random.Random(seed)
    looks = [tuple(sorted(dice.sample(range(COMPONENTS), 2))) for _ in range(CHECKS)]
    misses = [tuple(dice.uniform(0.1, 0.7) for _ in look) for look in looks]
    alarms = [dice.choice([0.0005, 0.02, 0.1]) for _ in range(CHECKS)]
    factors = []
    for run in range(6):
        for turn, look in enumerate(looks):
            fails = int(dice.random() < 0.4)
            factors.append(
                Factor(members=look, misses=misses[turn], false_alarm=alarms[turn], fails=fails,
                       passes=1 - fails, check=f"{turn}", read_at="x", run=run)
            )  # fmt: skip
    return factors


@pytest.mark.parametrize("seed", range(20))
def test_alarms_beyond_the_most_are_bounded(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever is left out of the sum changes no fault's odds by more than a fifth."""
    factors = case(seed)
    sets = [s for size in (1, 2) for s in combinations(range(COMPONENTS), size)]
    bound = Likelihood(factors, COMES_AND_GOES)
    found = {members: bound.gain(members) for members in sets}
    monkeypatch.setattr(intermittent, "MAX_TEST_POINTS", CHECKS)
    whole = Likelihood(factors, COMES_AND_GOES)
    for members in sets:
        assert -0.2 < found[members] - whole.gain(members) < 1e-9


def test_a_fault_that_never_misses_is_weighed_beside_many_alarms() -> None:
    """Where all checks of a group see it or none, a pass rules it out: its ratio is zero."""
    certain = msgspec.structs.replace(COMES_AND_GOES, symptom_group=1.0)
    factors = [
        Factor(members=(0,), misses=(0.2,), false_alarm=0.02, fails=1, passes=1, check=f"{turn}",
               read_at="x", run=run)
        for turn in range(CHECKS)
        for run in range(3)
    ]  # fmt: skip
    assert Likelihood(factors, certain).gain((0,)) < 0.0
