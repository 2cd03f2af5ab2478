"""What livecheck saves and passes on: frozen, typed records.

Data goes one way: host -> inventory -> readings -> run -> diagnosis -> report
and console. Every record is immutable, so any stage may be replayed from a
saved file. ``None`` always means "not known"; words are chosen when rendering.

Identifiers. A component (part, place, controller) has an ``id`` that is unique
in its run. Ids of places and controllers follow the wiring and are the same in
every run of the same board; ids of parts follow the part where it carries an
identity (serial, WWN, MAC), else the place it was seen in.

Units are SI, sizes bytes, times seconds or ISO 8601 UTC, temperatures °C; the
unit stands in the field name wherever it is not plain.
"""

from livecheck.records.answers import (
    Answer,
    CleanedPart,
    ComplaintShows,
    FirstPartBack,
    GoesBack,
    HowEnded,
    LastStartEnded,
    PartIs,
    PluggedIn,
    Remark,
    RepairedPart,
    SettingPutRight,
    WhereShown,
)
from livecheck.records.base import (
    SCHEMA,
    Complaint,
    DamagedRecord,
    NotJudged,
    Outcome,
    Presence,
    Record,
    Side,
    Value,
    encode,
    spelt,
    whole_percent,
)
from livecheck.records.case_index import (
    HeldOut,
    Learned,
    LearnedTables,
    Proved,
    RunLine,
    Summary,
)
from livecheck.records.facts import (
    BacklightFacts,
    BlockFacts,
    CameraFacts,
    DeviceFacts,
    InputFacts,
    NetFacts,
    NvmeFacts,
    PciFacts,
    ScreenFacts,
    UsbFacts,
)
from livecheck.records.figures import BadRange, Figures, ReadFigures
from livecheck.records.location import (
    Candidate,
    Evidence,
    Location,
    NextStep,
    PredictedOutcome,
    Swap,
)
from livecheck.records.machine import Controller, Device, Inventory, Machine, Part, Place
from livecheck.records.machine_answers import (
    AllPowerAway,
    BoardReplaced,
    FirmwareFlashed,
    LookedInside,
)
from livecheck.records.parameters import BenchTable, Losses, ModelParameters, Parameter
from livecheck.records.reading import decode
from livecheck.records.run import (
    Case,
    Course,
    KernelEvent,
    Line,
    NotTested,
    ProbeRun,
    Reading,
    Run,
    TakenOut,
    ToldLine,
)
from livecheck.records.tables import Blame, Caution, Check, IntakeRow, Kind, Knowledge

__all__ = [
    "SCHEMA",
    "AllPowerAway",
    "Answer",
    "BacklightFacts",
    "BadRange",
    "BenchTable",
    "Blame",
    "BlockFacts",
    "BoardReplaced",
    "CameraFacts",
    "Candidate",
    "Case",
    "Caution",
    "Check",
    "CleanedPart",
    "Complaint",
    "ComplaintShows",
    "Controller",
    "Course",
    "DamagedRecord",
    "Device",
    "DeviceFacts",
    "Evidence",
    "Figures",
    "FirmwareFlashed",
    "FirstPartBack",
    "GoesBack",
    "HeldOut",
    "HowEnded",
    "InputFacts",
    "IntakeRow",
    "Inventory",
    "KernelEvent",
    "Kind",
    "Knowledge",
    "LastStartEnded",
    "Learned",
    "LearnedTables",
    "Line",
    "Location",
    "LookedInside",
    "Losses",
    "Machine",
    "ModelParameters",
    "NetFacts",
    "NextStep",
    "NotJudged",
    "NotTested",
    "NvmeFacts",
    "Outcome",
    "Parameter",
    "Part",
    "PartIs",
    "PciFacts",
    "Place",
    "PluggedIn",
    "PredictedOutcome",
    "Presence",
    "ProbeRun",
    "Proved",
    "ReadFigures",
    "Reading",
    "Record",
    "Remark",
    "RepairedPart",
    "Run",
    "RunLine",
    "ScreenFacts",
    "SettingPutRight",
    "Side",
    "Summary",
    "Swap",
    "TakenOut",
    "ToldLine",
    "UsbFacts",
    "Value",
    "WhereShown",
    "decode",
    "encode",
    "spelt",
    "whole_percent",
]
