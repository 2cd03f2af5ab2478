"""Next steps in words: why this one, and what each outcome would mean."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from livecheck.diagnosis import actions
from livecheck.diagnosis.components import Component
from livecheck.diagnosis.explain import percent
from livecheck.diagnosis.situation import Move, Situation
from livecheck.diagnosis.trial import Outcome
from livecheck.diagnosis.verdict import Group
from livecheck.records import NextStep, PredictedOutcome, Side

_SHOWN: Final = 4
_HANDS_INSIDE: Final = (
    actions.RESEAT,
    actions.SWAP,
    actions.MOVE,
    actions.REMOVE,
    actions.MINIMUM,
    actions.HALF_BACK,
    actions.PUT_BACK,
    actions.ELSEWHERE,
    actions.CLEAN,
    actions.REPLACE,
)


def step(here: Situation, move: Move, results: Sequence[Outcome]) -> NextStep:
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
        cautions=_cautions(here, move.action, move.about),
        money=move.money,
        to=move.to,
        parts=move.parts,
        checks=move.checks,
    )


def repair(here: Situation, group: Group, action: str) -> NextStep:
    """Order and fit a unit, or put the installed system right."""
    bench = here.bench
    component = bench.graph.components[group.lead]
    title = bench.title(component.unit) or component.unit
    kept = percent(group.probability)
    minutes = bench.covers([component.unit]) + bench.hands(component.unit) + bench.trial()
    means = "the repair is proven: hand it back"
    otherwise = "it was not that alone: look at the second fault"
    why = (
        "The hardware passed what was tested: repair or reinstall the installed system, "
        "after saving the customer's data."
        if action == actions.REPAIR_SYSTEM
        else f"{component.name} is at fault with {kept}: fit a new {title} and test again."
    )
    return NextStep(
        action=action,
        target=component.id,
        minutes=round(minutes, 1),
        why=why,
        outcomes=(
            PredictedOutcome(result="passes", probability=group.probability, means=means),
            PredictedOutcome(
                result="still fails", probability=1.0 - group.probability, means=otherwise
            ),
        ),
        cautions=_cautions(here, action, group.lead),
        money=bench.money(component.unit),
    )


def last_try(here: Situation) -> NextStep:
    """The firmware written again, the last try before a board is ordered (common practice)."""
    bench = here.bench
    number = bench.graph.index.get("firmware")
    chance = here.belief.marginals[number] if number is not None else 0.0
    return NextStep(
        action=actions.REFLASH,
        target="firmware",
        minutes=round(bench.hands("firmware") + bench.trial(), 1),
        why="The last try before ordering a board: write the maker's firmware again.",
        outcomes=(
            PredictedOutcome(result="passes", probability=chance, means="it was the firmware"),
            PredictedOutcome(
                result="still fails", probability=1.0 - chance, means="order the board"
            ),
        ),
        cautions=("flash",),
    )


def _about(here: Situation, move: Move) -> Component | None:
    graph = here.bench.graph
    return graph.components[move.about] if move.about is not None else None


def place_name(here: Situation, place: str | None) -> str:
    """A place, controller or the machine as a technician would say it."""
    if place in (None, "machine"):
        return "the machine"
    number = here.bench.graph.index.get(here.fitted.scoped(place or ""))
    return here.bench.graph.components[number].name if number is not None else str(place)


def _why(here: Situation, move: Move) -> str:
    component = _about(here, move)
    name = component.name if component is not None else "the machine"
    spot = place_name(here, move.to)
    sentences = {
        actions.RESEAT: f"Costs little and rules the contact at {place_name(here, move.target)} "
        "in or out.",
        actions.SWAP: f"A known-good part in {spot} separates {name} from its place.",
        actions.MOVE: f"In {spot}, {name} shows whether the fault goes with it.",
        actions.REMOVE: f"Without {name} the machine shows whether it was the cause.",
        actions.MINIMUM: "Many parts are open: with only board, processor, one module, power "
        "and screen one trial splits them in two.",
        actions.HALF_BACK: "The minimum passes: putting back the likelier half splits what is "
        "left in two.",
        actions.PUT_BACK: f"If the fault comes back with {name} in {spot}, it is the part "
        "and not the contact.",
        actions.ELSEWHERE: f"In a known-good machine {name} shows whether it is at fault itself.",
        actions.DEEPER: f"{name} is open, and the full tests have not been run on it.",
        actions.SOAK: "The fault may show only sometimes: repeated trials catch it.",
        actions.MEASURE: f"A meter tells more about {name} than another start.",
        actions.CLEAN: "Dirt and dry paste are the commonest heat faults and cost no part.",
        actions.REFLASH: "Firmware is the last thing to try before a board is ordered.",
    }
    return sentences[move.action]


def _result(here: Situation, move: Move, result: Outcome) -> str:
    if len(result.failed) == 1:
        return "fails" if result.failed[0] else "passes"
    words = (
        f"{'fails' if bad else 'passes'} at {place_name(here, site.at)}"
        for site, bad in zip(move.sites, result.failed, strict=True)
    )
    return ", ".join(words)


def _means(here: Situation, result: Outcome) -> str:
    """The likeliest explanation after this outcome."""
    mass: dict[int | None, float] = {}
    for members, probability in result.sets:
        for number in members or (None,):
            mass[number] = mass.get(number, 0.0) + probability
    best = max(mass, key=lambda number: mass[number])
    if best is None:
        return f"most likely no fault, {percent(mass[best])}"
    component = here.bench.graph.components[best]
    named = "the installed system" if component.side is Side.SOFTWARE else component.name
    return f"most likely {named}, {percent(mass[best])}"


def _cautions(here: Situation, action: str, about: int | None) -> tuple[str, ...]:
    """Names of the cautions that belong beside a step."""
    kind = here.bench.graph.components[about].kind if about is not None else ""
    unit = here.bench.graph.components[about].unit if about is not None else ""
    names: list[str] = []
    if action in _HANDS_INSIDE and kind not in ("adapter", "usb-device", "sd-card"):
        names.append("static")
    if kind == "battery" or action in (actions.MINIMUM, actions.HALF_BACK):
        names.append("cell")
    if kind in ("adapter", "power-jack"):
        names.append("mains")
    if kind in ("cooling", "processor"):
        names.append("hot")
    if kind == "cooling":
        names.append("fan")
    if kind in ("panel", "camera"):
        names.append("glass")
    if action == actions.MEASURE:
        names.append("meter")
    if action == actions.REPLACE and unit == "mainboard":
        names.append("board")
    if action == actions.REFLASH:
        names.append("flash")
    if kind == "drive" or action in (actions.DEEPER, actions.SOAK, actions.REPAIR_SYSTEM):
        names.append("data")
    return tuple(name for name in names if name in here.bench.knowledge.cautions)
