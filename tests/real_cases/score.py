"""The score of all cases, by class."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from livecheck.diagnosis.steps.actions import Action
from livecheck.records import Knowledge, Location, NextStep, Run, Side
from tests.real_cases import lines, play
from tests.real_cases.cases import RealCase

SURE: Final = 0.9
ACCUSED: Final = 0.3
NOTHING_TO_BUY: Final = frozenset(
    {"setting", "none", "disc", "reseat", "power", "cool", "remove", "system", "drain"}
)
CURES: Final[dict[str, frozenset[str]]] = {
    "swap": frozenset({Action.SWAP, Action.MOVE, Action.KNOWN_GOOD_MACHINE, Action.REPLACE}),
    "reseat": frozenset({Action.RESEAT}),
    "setting": frozenset({Action.SETTING}),
    "reflash": frozenset({Action.REFLASH}),
    "cool": frozenset({Action.CLEAN}),
    "remove": frozenset({Action.REMOVE, Action.MINIMUM}),
    "power": frozenset({Action.MEASURE}),
    "disc": frozenset({Action.ENABLE}),
    "system": frozenset({Action.REPAIR_SYSTEM}),
    "drain": frozenset({Action.POWER_AWAY}),
}
"""What helped in the thread -> actions that are it; ``none``: nothing had to be done."""


class Judged(msgspec.Struct, frozen=True, kw_only=True):
    """What came of one case."""

    name: str
    side: str
    expected: tuple[str, ...]
    probability: float
    likeliest: tuple[tuple[str, float], ...]
    steps: tuple[str, ...]
    right: bool
    surely_wrong: bool
    wrong_unit: bool
    accused: bool | None = None
    """Sound machines: a part or place stood above 0.3; None: not sound."""
    no_fault: bool | None = None
    """Sound machines: "no fault found" once the load probes passed."""
    cure_proposed: bool | None = None
    """None: nothing had to be done, or it is not told."""
    repaired_right: bool | None = None
    lines: int = 0
    wrong_layers: tuple[str, ...] = ()
    wrong_places: tuple[str, ...] = ()


class Share(msgspec.Struct, frozen=True):
    """So many of so many."""

    count: int
    of: int


def judge(case: RealCase, knowledge: Knowledge) -> Judged:
    """Play one case and hold it against what the thread told."""
    played = play.runs(case, knowledge)
    before = tuple(r for r, shown in zip(played, case.runs, strict=True) if not shown.repaired)
    layers, places, count = _lines(case, played)
    return msgspec.structs.replace(
        _judged(case, play.verdict(case, before, knowledge)),
        repaired_right=_repaired(case, played, knowledge),
        lines=count,
        wrong_layers=layers,
        wrong_places=places,
        no_fault=_no_fault(case, before, knowledge) if case.sound else None,
    )


def judge_kept(case: RealCase, knowledge: Knowledge) -> Judged:
    """The same with its lines read from a saved log, and a look that finds nothing."""
    return _judged(case, play.verdict(case, play.kept(case, knowledge), knowledge))


def _judged(case: RealCase, found: Location) -> Judged:
    return Judged(
        name=case.name,
        side=found.side.value,
        expected=tuple(sorted(case.sides)),
        probability=round(found.probability, 3),
        likeliest=tuple((c.component, round(c.probability, 3)) for c in found.candidates[:4]),
        steps=tuple(f"{step.action}: {step.target}" for step in _steps(found)),
        right=_right(case, found),
        surely_wrong=not _right(case, found) and found.probability > SURE,
        wrong_unit=_wrong_unit(case, found),
        cure_proposed=_cure(case, found),
        accused=_accused(found) if case.sound else None,
    )


def _right(case: RealCase, found: Location) -> bool:
    if case.sound and found.side is Side.NO_FAULT:
        return True
    return found.side.value in case.sides


def _steps(found: Location) -> list[NextStep]:
    first = [found.next_step] if found.next_step is not None else []
    return [*first, *found.alternatives][:3]


def _wrong_unit(case: RealCase, found: Location) -> bool:
    """Something is surely to be ordered that could not have helped."""
    if found.unit in (None, "software", "firmware") or found.probability <= SURE:
        return False
    return not _right(case, found) or case.cure in NOTHING_TO_BUY or case.sound


def _cure(case: RealCase, found: Location) -> bool | None:
    if case.cure not in CURES:
        return None
    return any(step.action in CURES[case.cure] for step in _steps(found))


def _repaired(case: RealCase, played: Sequence[Run], knowledge: Knowledge) -> bool | None:
    """After the cure nothing is accused that the thread cleared."""
    if not any(shown.repaired for shown in case.runs):
        return None
    found = play.verdict(case, played, knowledge)
    return _right(case, found) or found.side is Side.NO_FAULT


def _accused(found: Location) -> bool:
    return any(
        c.probability > ACCUSED and c.side in (Side.DEVICE, Side.CONTROLLER)
        for c in found.candidates
    )


def _no_fault(case: RealCase, before: Sequence[Run], knowledge: Knowledge) -> bool:
    """Whether no fault is found, or its system named where that is what the thread ended in."""
    loaded = [play.sound_under_load(run) for run in before]
    side = play.verdict(case, loaded, knowledge).side
    return side is Side.NO_FAULT or (side is Side.SOFTWARE and side.value in case.sides)


def _lines(case: RealCase, played: Sequence[Run]) -> tuple[tuple[str, ...], tuple[str, ...], int]:
    """Lines read wrongly, lines given to the wrong place, and how many there are."""
    layers, places, seen = [], [], set()
    for shown, run in zip(case.runs, played, strict=True):
        events = lines.read(shown.lines, run.inventory)
        for position, (line, event) in enumerate(zip(shown.lines, events, strict=True)):
            if (position, line.text) in seen:
                continue
            seen.add((position, line.text))
            got = "not recognised" if event is None else f"{event.layer}, {event.says}"
            at = event.component if event is not None else None
            want = f"{'/'.join(sorted(line.layers))} at {line.place}"
            if not lines.layer_right(line, event):
                layers.append(f"{line.text} [{want}; read: {got}]")
            elif not lines.place_right(line, event, run.inventory):
                places.append(f"{line.text} [{want}; given to: {at}]")
    return tuple(layers), tuple(places), len(seen)


def totals(judged: Sequence[Judged]) -> dict[str, dict[str, Share]]:
    """The shares of each class of cases: storage and links, the rest, both."""
    groups = {"storage": [j for j in judged if j.name.startswith("storage/")]}
    groups["other"] = [j for j in judged if j.name.startswith("other/")]
    groups["all"] = list(judged)
    return {name: _total(members) for name, members in groups.items()}


def _total(judged: Sequence[Judged]) -> dict[str, Share]:
    count = sum(one.lines for one in judged)
    layers = sum(len(one.wrong_layers) for one in judged)
    places = sum(len(one.wrong_places) for one in judged)
    return {
        "lines at the right layer": Share(count - layers, count),
        "lines at the right layer and place": Share(count - layers - places, count),
        "sides right or rightly open": _share([one.right for one in judged]),
        "confidently wrong": _share([one.surely_wrong for one in judged]),
        "wrong units above 0.9": _share([one.wrong_unit for one in judged]),
        "sound machines with a part above 0.3": _share([one.accused for one in judged]),
        "sound machines called so after load": _share([one.no_fault for one in judged]),
        "told cure among three steps": _share([one.cure_proposed for one in judged]),
        "right or no fault after the cure": _share([one.repaired_right for one in judged]),
    }


def _share(values: Sequence[bool | None]) -> Share:
    told = [value for value in values if value is not None]
    return Share(sum(told), len(told))
