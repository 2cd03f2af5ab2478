"""shared/worksheet.toml as records, and the values of a filled-in sheet."""

from __future__ import annotations

from livecheck.records import Record


class SupplyTolerance(Record, frozen=True, kw_only=True):
    """A kind of supply, and how far its voltage may stray."""

    title: str
    tolerance: float
    """Share of the voltage, both ways."""
    tolerance_source: str
    volts_at_rest: float | None = None
    """What the plug gives before anything is agreed; None: the label's voltage."""
    silent_below: float | None = None
    """Below this at rest it may be waiting for a machine; None: it never waits."""
    fixed_volts: tuple[float, ...] = ()
    """The only voltages it can have been made for; empty: any."""


class MeasurementRule(Record, frozen=True, kw_only=True):
    """How one answer becomes one reading. Limits are in the step's unit."""

    check: str
    at: str
    """A name of ``WHERE``."""
    passed: str
    failed: str
    source: str
    low: float | None = None
    high: float | None = None
    band: str | None = None
    """``rest`` or ``label``: within the supply's tolerance of that voltage."""
    low_of_rest: float | None = None
    low_of_label: float | None = None
    high_of_label: float | None = None
    """Factors on the label's volts or amps, by the step's unit."""
    low_of_answer: str | None = None
    low_factor: float = 1.0
    """Not below this factor times another step's answer."""
    passed_when: tuple[str, ...] = ()
    failed_when: tuple[str, ...] = ()


class Measurement(Record, frozen=True, kw_only=True):
    """One thing to measure or look at."""

    name: str
    complaints: tuple[str, ...]
    title: str
    do: str
    asks: str
    """``number`` or ``choice``."""
    unit: str | None = None
    choices: tuple[str, ...] = ()
    least: float = 0.0
    most: float = 0.0
    """A number outside least … most is a slip of the pen and refused."""
    cautions: tuple[str, ...] = ()
    """Names in shared/cautions.toml to be read before the step."""
    supplies: tuple[str, ...] = ()
    """Kinds of supply it is for; empty: all."""
    powers: bool = False
    """True: the machine is under power in it."""
    judge: tuple[MeasurementRule, ...] = ()


class Contradiction(Record, frozen=True, kw_only=True):
    """Two results that cannot both be: each is a check and whether it passed."""

    first: tuple[str, bool]
    second: tuple[str, bool]
    says: str
    source: str


class Above(Record, frozen=True, kw_only=True):
    """The lowest of several readings cannot lie above the first of them."""

    lowest: str
    first: str
    """Steps."""
    slack: float
    """In their unit."""
    says: str
    source: str


class Worksheet(Record, frozen=True, kw_only=True):
    """The whole of shared/worksheet.toml."""

    supply: dict[str, SupplyTolerance]
    step: tuple[Measurement, ...]
    contradiction: tuple[Contradiction, ...] = ()
    above: tuple[Above, ...] = ()


class Label(Record, frozen=True, kw_only=True):
    """What the adapter's label promises."""

    volts: float
    amps: float | None = None
    supply: str | None = None
    """None: not told, and the voltage alone leaves it open."""


class Filled(Record, frozen=True, kw_only=True):
    """A filled-in worksheet."""

    answers: dict[str, float | str]
    label: Label | None = None
    supply: str | None = None
    """The kind of supply by its plug or its label; None: not known."""
