"""Next steps in words: why this one, and what each outcome would mean."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from livecheck.diagnosis.explain import percent
from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.steps.prediction import PredictedResult
from livecheck.diagnosis.steps.situation import BY_HAND, Move, Situation
from livecheck.diagnosis.verdict import RepairGroup
from livecheck.records import Check, NextStep, PredictedOutcome, Side
from livecheck.topology.graph import Component
from livecheck.topology.ids import MAINBOARD, THE_FIRMWARE

_SHOWN: Final = 4
HANDS_INSIDE: Final = (
    Action.RESEAT,
    Action.SWAP,
    Action.MOVE,
    Action.REMOVE,
    Action.MINIMUM,
    Action.HALF_BACK,
    Action.PUT_BACK,
    Action.KNOWN_GOOD_MACHINE,
    Action.CLEAN,
    Action.CLEAN_CONTACTS,
    Action.EXCHANGE_LEAD,
    Action.REPLACE,
)
"""Steps with the cover off."""

_BY_THE_CELL: Final = ("battery", "touchpad")
"""A swollen cell lifts the pad that lies over it (common practice, no source)."""
_NEAR_THE_CELL: Final = (Action.MINIMUM, Action.HALF_BACK, Action.POWER_AWAY, Action.INSPECT)


def step(here: Situation, move: Move, results: Sequence[PredictedResult]) -> NextStep:
    """A move as the record that is shown and saved."""
    likely = sorted(results, key=lambda result: -result.probability)[:_SHOWN]
    return NextStep(
        action=move.action,
        target=move.target,
        minutes=round(move.minutes, 1),
        why=_why(here, move),
        outcomes=tuple(
            PredictedOutcome(
                result=_result(here, move, result),
                probability=result.probability,
                means=_means(here, result),
            )
            for result in likely
        ),
        cautions=_cautions(here, move.action, move.about, move.checks),
        money=move.money,
        to=move.to,
        parts=move.parts,
        checks=move.checks,
    )


def repair(here: Situation, group: RepairGroup, action: Action) -> NextStep:
    """Order and fit a unit, or put the installed system right."""
    bench = here.bench
    say = bench.knowledge.say
    component = bench.graph.components[group.lead]
    minutes = bench.covers([component.unit]) + bench.hands(component.unit) + bench.trial()
    record = here.record(component.id)
    key = "system" if action == Action.REPAIR_SYSTEM else "part"
    key = "soldered" if record is not None and record.soldered else key
    whole = component.unit == component.kind or component.unit != MAINBOARD
    beside = "" if whole else " " + say("repair.board-level", name=component.name)
    return NextStep(
        action=action,
        target=str(component.id),
        minutes=round(minutes, 1),
        why=say(
            f"repair.{key}",
            name=component.name,
            share=percent(group.probability, bench.knowledge),
            unit=bench.title(component.unit) or component.unit,
        )
        + beside,
        outcomes=_two(here, group.probability, "repair.proven", "repair.not-alone"),
        cautions=_cautions(here, action, group.lead),
        money=bench.money(component.unit),
    )


def beside(here: Situation, group: RepairGroup) -> NextStep:
    """The installed system put right, told beside a trial."""
    say, share = here.bench.knowledge.say, percent(group.probability, here.bench.knowledge)
    step = repair(here, group, Action.REPAIR_SYSTEM)
    return msgspec.structs.replace(step, why=say("repair.system-beside", share=share))


def _two(here: Situation, chance: float, good: str, bad: str) -> tuple[PredictedOutcome, ...]:
    """Passed and still failing, and the keys of what each means."""
    say = here.bench.knowledge.say
    return (
        PredictedOutcome(result=say("result.passes"), probability=chance, means=say(good)),
        PredictedOutcome(
            result=say("result.still-fails"), probability=1.0 - chance, means=say(bad)
        ),
    )


def last_try(here: Situation) -> NextStep:
    """The firmware written again, the last try before a board is ordered (common practice)."""
    bench = here.bench
    number = bench.graph.index.get(THE_FIRMWARE)
    chance = here.belief.marginals[number] if number is not None else 0.0
    return NextStep(
        action=Action.REFLASH,
        target="firmware",
        minutes=round(bench.hands("firmware") + bench.trial(), 1),
        why=bench.knowledge.say("last-try.why"),
        outcomes=_two(here, chance, "last-try.cured", "last-try.not-cured"),
        cautions=("flash",),
    )


def update(here: Situation, number: int) -> NextStep:
    """A newer firmware of the drive's maker."""
    bench, component = here.bench, here.graph.components[number]
    record = here.record(component.id)
    release = record.firmware if record is not None else None
    return NextStep(
        action=Action.REFLASH,
        target=str(component.id),
        minutes=round(bench.hands("firmware") + bench.trial(), 1),
        why=bench.knowledge.say(
            "update.why", name=component.name, release=release or bench.knowledge.say("update.none")
        ),
        outcomes=_two(here, here.belief.marginals[number] / 2, "update.cured", "update.not-cured"),
        cautions=("data", "update"),
    )


def plain(
    here: Situation, action: Action, target: str, key: str, to: str | None = None
) -> NextStep:
    """A minute's work from outside, which nothing is predicted of."""
    component = here.graph.named(target)
    return NextStep(
        action=action,
        target=target,
        minutes=round(1.0 + here.bench.trial(), 1),
        why=here.bench.knowledge.say(
            key,
            name=component.name if component is not None else target,
            there=place_name(here, to),
        ),
        outcomes=(),
        to=to,
    )


def bare(here: Situation, action: Action, target: str, key: str, minutes: float) -> NextStep:
    """A step of which nothing is predicted."""
    place = place_name(here, target)
    # Nobody touches anything to answer.
    asked = action == Action.ASK
    return NextStep(
        action=action,
        target=target,
        minutes=round(minutes, 1),
        why=here.bench.knowledge.say(key, place=place),
        outcomes=(),
        cautions=() if asked else _cautions(here, action, here.number_at(target)),
    )


def once_more(here: Situation, target: str, check: Check) -> NextStep:
    """A measurement that is made again."""
    minutes = here.bench.knowledge.bench.actions.measurement.minutes
    return NextStep(
        action=Action.MEASURE,
        target=target,
        minutes=round(minutes, 1),
        why=check.again,
        outcomes=(),
        cautions=("meter",),
        checks=(check.name,),
    )


def _about(here: Situation, move: Move) -> Component | None:
    graph = here.graph
    return graph.components[move.about] if move.about is not None else None


def place_name(here: Situation, place: str | None) -> str:
    """A place, controller or the machine as a technician would say it."""
    if place in (None, "machine"):
        return here.bench.knowledge.say("machine")
    component = here.graph.named(str(here.now.on_board(place or "")))
    return component.name if component is not None else str(place)


def _why(here: Situation, move: Move) -> str:
    component, checks = _about(here, move), here.bench.knowledge.checks
    seen = all(name.startswith(BY_HAND) for one in here.symptoms for name in one.checks)
    action = move.action.replace(" ", "-")
    hint = f"hint.{action}-{component.kind if component is not None else ''}"
    key = f"why.{action}"
    if move.action == Action.MEASURE and not _metered(here, move.checks):
        key = "look.by-eye"
    elif move.action == Action.SOAK and here.symptoms and seen:
        key = "look.again"
    why = here.bench.knowledge.say(
        key,
        name=component.name if component is not None else place_name(here, None),
        there=place_name(here, move.to),
        place=place_name(here, move.target),
        asks=" ".join(checks[name].question for name in move.checks),
    )
    known = hint in here.bench.knowledge.sentences
    return f"{why} {here.bench.knowledge.say(hint)}" if known else why


def _metered(here: Situation, checks: tuple[str, ...]) -> bool:
    """Whether any of these has a figure to read, and so takes a meter."""
    known = here.bench.knowledge.checks
    return any(name.startswith("bench.") and known[name].unit is not None for name in checks)


def _result(here: Situation, move: Move, result: PredictedResult) -> str:
    say = here.bench.knowledge.say
    if len(result.failed) == 1:
        return say("result.fails" if result.failed[0] else "result.passes")
    return ", ".join(
        say("result.fails-at" if bad else "result.passes-at", place=place_name(here, test.at))
        for test, bad in zip(move.tests, result.failed, strict=True)
    )


def _means(here: Situation, result: PredictedResult) -> str:
    """The likeliest unit after this outcome, by the component of it that is likeliest."""
    components, knowledge = here.graph.components, here.bench.knowledge
    shares: dict[str, float] = {}
    own: dict[int, float] = {}
    for members, probability in result.sets:
        for group in {components[number].group for number in members} or {""}:
            shares[group] = shares.get(group, 0.0) + probability
        for number in members:
            own[number] = own.get(number, 0.0) + probability
    best = max(shares, key=lambda group: shares[group])
    share = percent(shares[best], knowledge)
    inside = [number for number in own if components[number].group == best]
    if not inside:
        return knowledge.say("means.no-fault", share=share)
    component = components[max(inside, key=lambda number: own[number])]
    if component.side is Side.SOFTWARE:
        return knowledge.say("means.software", share=share)
    return knowledge.say("means.part", name=component.name, share=share)


def _cautions(
    here: Situation, action: Action, about: int | None, checks: tuple[str, ...] = ()
) -> tuple[str, ...]:
    """Names of the cautions that belong beside a step."""
    kind = here.graph.components[about].kind if about is not None else ""
    unit = here.graph.components[about].unit if about is not None else ""
    names: list[str] = []
    inside = action == Action.INSPECT or action in HANDS_INSIDE
    if inside and kind not in ("adapter", "usb-device", "sd-card"):
        names.append("static")
    if kind in _BY_THE_CELL or action in _NEAR_THE_CELL:
        names.append("cell")
    if kind in ("adapter", "power-jack"):
        names.append("mains")
    if kind in ("cooling", "processor"):
        names.append("hot")
    if kind == "cooling":
        names.append("fan")
    if kind in ("panel", "panel-connector", "camera"):
        names.append("glass")
    if kind == "backlight-inverter":
        names.append("inverter")
    if action == Action.MEASURE and _metered(here, checks):
        names.append("meter")
    if action == Action.REPLACE and unit == "mainboard":
        names.append("board")
    if action == Action.REFLASH:
        names.append("flash")
    if kind == "drive" or action in (Action.DEEPER, Action.SOAK, Action.REPAIR_SYSTEM):
        names.append("data")
    return tuple(name for name in names if name in here.bench.knowledge.cautions)
