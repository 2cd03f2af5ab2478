"""What is so in one world: drawn once a case, known to no table of the engine.

Each distribution stands beside its reason. Where no source is named it is assumed, and wide
because it is: a chance is bent on the log-odds, a rate on the logarithm, so that factors of
two to five either way are usual.
"""

from __future__ import annotations

import random
from math import exp, log
from typing import NamedTuple


class Habits(NamedTuple):
    """The technician of one world. Assumed: from one who never errs to a careless one."""

    not_done: float
    """Chance that a treatment or reseat is reported and was not done."""
    unsaid: float
    """Chance that what was done is not told: a reseat, a spare without identity, a cleaning."""
    wrong_flag: float
    """Chance that the known-good flag is set on the wrong part, or forgotten."""
    bad_spare: float
    """Chance that a part the shop vouches for is bad."""
    disturbs: float
    """Chance that work inside makes another contact anew, for better."""
    crosses: float
    """Chance that two modules go back crossed."""
    tells_slot: float
    """Chance that he says unasked which part is in a place where nothing answers."""
    unplugs: float
    """Chance that battery and adapter are out long enough for a hung controller to forget."""
    misreads: float
    """Chance that an answer of the worksheet is wrong."""
    watches: tuple[float, float]
    """Chance that he says where the complaint shows: at the first run, at each later one."""
    pace: float
    """His minutes against the table's."""


class World:
    """The figures of one world."""

    def __init__(self, seed: int) -> None:
        self._seed = seed
        dice = random.Random(f"{seed}/world")
        # Shares of groups of cases (assumed).
        self.software = dice.uniform(0.15, 0.25)
        self.sound = dice.uniform(0.10, 0.15)
        self.no_table = dice.uniform(0.02, 0.06)
        self.in_place = dice.uniform(0.06, 0.12)
        self.second = dice.uniform(0.02, 0.10)
        # How readily faults show: all together, and each in each check (``detect``).
        self._detect = dice.gauss(0.0, 0.5)
        # False alarms: all together; how many of them stay with the machine, and how far those
        # of one subject come together. Correlations of 0.1 to 0.9: nothing is known.
        self._alarms = dice.lognormvariate(-0.32, 0.8)
        self.alarm_stays = dice.uniform(0.1, 0.85)
        self.alarm_shared = dice.uniform(0.0, 0.95 - self.alarm_stays)
        # What a fault shows: how far it is the same in every run, and alike in one run.
        self.same = dice.uniform(0.2, 0.8)
        self.day = dice.uniform(0.05, 0.95 - self.same)
        # Faults that come and go: acts an hour of load; the median of 4 and its spread (a factor
        # of 4.5 at one sigma) cover from one in a day of load to one every few seconds.
        self.acts_an_hour = exp(log(4.0) + dice.gauss(0.0, 0.5))
        self.room = dice.uniform(18.0, 31.0)
        """Celsius."""
        # Newer programs tell of what passed where older ones were silent.
        self.tells_passes = dice.random() < 0.7
        self.hidden = dice.uniform(0.01, 0.08)
        """Share of faults that no check ever sees, though the customer does. Over half of failed
        drives had none of four signals: Pinheiro, Weber, Barroso, FAST 2007; of all checks
        together few. None in a machine that is dead: its complaint is what is looked at."""
        self.habits = _habits(dice)
        self.machine_elsewhere = dice.random() < 0.5
        """Whether the shop has a known-good machine that takes the part."""
        self.meter = dice.random() < 0.85
        lacks = {kind: dice.random() < chance for kind, chance in NO_SPARE.items()}
        self.no_spare = tuple(kind for kind, lacking in lacks.items() if lacking)

    def own(self, name: str) -> float:
        """A standard normal value that belongs to a name in this world, whoever asks when."""
        return random.Random(f"{self._seed}/{name}").gauss(0.0, 1.0)

    def detect(self, kind: str, check: str, usual: float) -> float:
        """Chance that a kind of fault shows in a check; log-odds bent with sigma 0.5 and 0.7."""
        odds = usual / (1.0 - usual) * exp(self._detect + 0.7 * self.own(f"detect/{kind}/{check}"))
        return odds / (1.0 + odds)

    def alarm(self, check: str, usual: float) -> float:
        """Chance that a check fails on a sound machine; a factor of about 2.3 at one sigma, both.

        The mean over worlds is the usual chance: the mean of a log-normal's exponent is moved
        down by half its variance.
        """
        return min(0.45, usual * self._alarms * exp(0.9 * self.own(f"alarm/{check}") - 0.405))


NO_SPARE = {
    "drive": 0.1,
    "memory-module": 0.1,
    "wireless-card": 0.3,
    "battery": 0.5,
    "adapter": 0.05,
    "panel": 0.6,
    "cooling": 0.75,
    "processor": 0.9,
}
"""Chance that the shop has no spare of a kind. Assumed: what fits many machines is at hand."""


def _habits(dice: random.Random) -> Habits:
    careless = dice.betavariate(1.2, 3.0)
    """One trait behind all slips: mean 0.29, a tenth above 0.6."""
    watches = dice.choices(((0.0, 0.0), (0.9, 0.0), (0.9, 0.7)), (0.3, 0.3, 0.4))[0]
    return Habits(
        not_done=0.10 * careless,
        unsaid=0.35 * careless,
        wrong_flag=0.12 * careless,
        bad_spare=dice.uniform(0.0, 0.05),
        disturbs=dice.uniform(0.0, 0.3),
        crosses=0.3 * careless,
        tells_slot=dice.uniform(0.0, 1.0),
        unplugs=dice.uniform(0.3, 0.95),
        misreads=0.08 * careless,
        watches=watches,
        pace=dice.lognormvariate(0.0, 0.2),
    )


class Oddities(NamedTuple):
    """What is odd about a machine beside its fault, and harmless."""

    thin: bool
    """Runs at its limit by design. About 22 % of machines (assumed)."""
    wear: float
    """Share of the battery's capacity that is lost."""
    past_links: int
    """Damaged transfers counted in an earlier life."""
    past_sectors: int
    """Sectors replaced long ago."""
    old_self_test: bool
    chatty: bool
    """Firmware that logs errors at every start."""
    no_firmware: bool
    """The system carries no firmware for the radio."""
    noisy: float
    """Errors an hour on every link of the chipset."""
    crash_told: bool
    """An old crash in the log."""


def oddities(dice: random.Random, *, sound: bool) -> Oddities:
    """A sound machine that was brought in alarms more often: that is why it was brought in."""
    more = 1.6 if sound else 1.0
    worn = dice.random() < 0.22
    return Oddities(
        thin=dice.random() < 0.22 * more,
        wear=dice.uniform(0.41, 0.75) if worn else dice.betavariate(1.5, 8.0),
        past_links=int(dice.lognormvariate(3.0, 1.5)) if dice.random() < 0.2 * more else 0,
        past_sectors=1 + int(dice.lognormvariate(1.0, 1.2)) if dice.random() < 0.1 * more else 0,
        old_self_test=dice.random() < 0.03 * more,
        chatty=dice.random() < 0.25 * more,
        no_firmware=dice.random() < 0.08 * more,
        noisy=dice.lognormvariate(1.5, 1.2) if dice.random() < 0.12 * more else 0.0,
        crash_told=dice.random() < 0.06 * more,
    )
