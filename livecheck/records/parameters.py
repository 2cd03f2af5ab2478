"""Figures that belong to no one kind of component: work on the bench, the engine's parameters."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from livecheck.records.base import Complaint, Record

Share = Annotated[float, msgspec.Meta(ge=0.0, le=1.0)]
Chance = Annotated[float, msgspec.Meta(gt=0.0, lt=1.0)]
"""Neither never nor always: the engine takes its logarithm and its rest's."""
Minutes = Annotated[float, msgspec.Meta(ge=0.0, le=10_000.0)]
Factor = Annotated[float, msgspec.Meta(gt=0.0, le=1_000.0)]
Amount = Annotated[float, msgspec.Meta(gt=0.0, le=1_000_000.0)]
"""A weight or a count; bounded, so that sums and products of them stay finite."""


class Duration(Record, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Minutes of the bench, and where the figure comes from."""

    minutes: Minutes
    source: str


class ActionMinutes(Record, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Steps that are not about one kind of part."""

    boot: Duration
    """From the press to the first reading."""
    trial: Duration
    """A start and the quick probes."""
    full_trial: Duration
    """A start and the full probes."""
    soak: Duration
    """Repeated trials, unattended."""
    measurement: Duration
    """One measurement with a meter."""
    power_away: Duration
    """To take adapter and battery off, wait, and put them back."""
    setting: Duration
    """To find a switch, or an entry of the firmware's setup, and change it."""
    test_again: Duration
    """To test once more what a treatment has cured."""


class Losses(Record, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What it costs when the bench is wrong."""

    out_of_candidates: Duration
    """Every candidate was tried and none was it."""
    comeback: Duration
    """A machine handed back as sound comes back; also paid to prove one sound."""
    unproven_board: Duration
    """A board is ordered on evidence that outlived no swap: in the mean."""
    wrong_order: Duration
    """Beside the price of what was ordered."""


class BenchTable(Record, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """shared/bench.toml: what work costs beside the minutes and prices of components."""

    covers: dict[str, Duration]
    """Cover -> to take off and put back; ``Kind.behind`` names them."""
    actions: ActionMinutes
    losses: Losses


class Level(Record, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A share, a chance or an exponent, 0 … 1, whatever the complaint."""

    value: Share
    source: str


class Parameter(Level, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The same, by complaint."""

    complaints: dict[Complaint, Factor] = msgspec.field(default_factory=dict)
    """Complaint -> factor on the value; 1 where it is not named."""

    def under(self, complaint: Complaint) -> float:
        """The value under a complaint."""
        return self.value * self.complaints.get(complaint, 1.0)


class Cases(Record, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A number of cases."""

    value: Amount
    source: str


class HiddenState(Record, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Something about a machine that is no fault and makes several checks fail together."""

    title: str
    """As a technician would say it."""
    shares: tuple[Chance, ...]
    """Shares of machines (of parts, where it is a part's) that are so, mildly first."""
    repeats: Share
    """Chance that it makes a check that it shows in fail in one run."""
    of: Literal["machine", "controller", "part"]
    """What it belongs to; ``controller``: what serves the place, on any board of the model."""
    everywhere: bool = False
    """True: a check that it shows in shows it all over what it belongs to, whatever is fitted."""
    source: str


class ModelParameters(Record, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """shared/model.toml: what the engine takes for granted of cases and readings."""

    no_fault: Parameter
    """Share of cases behind which nothing is at fault."""
    two_faults: Parameter
    """Share of faulty machines with two independent faults."""
    three_faults: Parameter
    bad_spare: Level
    """Share of parts a shop vouches for that are bad."""
    known_good: Parameter
    """Factor on the weight of a part or machine that the shop vouches for."""
    empty_place: Parameter
    """Factor on the weight of a place that nothing was in, in any run."""
    answering_part: Parameter
    """Factor on the weight of a part that told who it is when the machine came in."""
    external_part: Level
    """Factor on the weight of what is plugged in from outside."""
    not_missed: Level
    """Factor on the weight of what is not on the way to the part that is missed."""
    reseat_cures: Level
    """Chance that taking a part out and putting one in cures a bad contact of the place."""
    reseat_spoils: Level
    """Chance that it makes a good contact bad."""
    repair_cures: Level
    """Chance that a repair of what is neither cooling nor firmware takes."""
    dies_on_bench: Level
    """Share of faulty parts that fail only from some run of the case on."""
    hidden_faults: Level
    """Share of faults that no check sees."""
    intermittent_faults: Level
    """Share of faults that show in some runs only."""
    symptom_group: Level
    """Exponent; how far checks that see the same events repeat each other."""
    repeated_check: Level
    """Exponent; how far a check that is run again repeats itself."""
    shows_again: Level
    """Exponent; how far a fault that comes and goes shows again what it has shown."""
    persistent_alarms: Level
    """Share of false alarms that come back in every run."""
    persistent_findings: Level
    """The same for findings: what is worn is worn in every run."""
    """Chance that a hidden state that made a check fail makes it fail in each run."""
    table_doubt: Level
    """Share by which every reading's log-likelihood is shortened."""
    inside_software: Parameter
    """Chance that a fault of the installed system shows as a message of its kernel."""
    inside_false_alarms: Parameter
    """Chance of a false alarm in the months that a log of the installed system holds."""
    device_verdict: Level
    """Probability from which a part, the installed system or no fault is the verdict."""
    board_verdict: Level
    """The same for what is ordered as a mainboard."""
    cured_verdict: Level
    """The same for what a treatment took away: nothing is ordered for it."""
    system_verdict: Level
    """The same for the installed system, where the machine was tested clean."""
    inside_verdict: Level
    unknown_cause: Level
    last_verdict: Level
    clean_open: Level
    """With the machine tested clean, from which a part still keeps the verdict open."""
    verdict_stands: Level
    """Probability from which a verdict is acted on after one more trial."""
    last_order: Level
    """With no step left that tells anything: from which a part is ordered."""
    last_board_order: Level
    """The same for a board."""
    last_system_repair: Level
    """The same for repairing the installed system where nothing fails."""
    cleaning_cures: Level
    """Share of cooling faults that cleaning cures."""
    reflash_cures: Level
    """Share of firmware faults that the same image written again cures."""
    update_cures: Level
    """Share of a drive's faults that a newer firmware of its own cures."""
    power_away_cures: Level
    put_right_cures: Level
    setting_cures: Level
    exchange_cures: Level
    table_cases: Cases
    """Confirmed cases that the table's shares of kinds weigh as much as."""
    table_looks: Cases
    """Cases that each chance of a check weighs as much as."""
    least_cases: Cases
    """Machines with a confirmed outcome below which nothing moves."""
    false_outcomes: Level
    """Share of recorded outcomes that name what was not at fault."""
    hidden_states: dict[str, HiddenState]
    beside_complaint: Level
    """Factor on the chance that a fault behind the complaint shows in a check that is no sign
    of it."""
    signs: dict[str, tuple[Complaint, ...]]
    """First words of checks -> the complaints that what they see can be behind; the longest
    counts, and a check that none fits is a sign of every complaint."""
