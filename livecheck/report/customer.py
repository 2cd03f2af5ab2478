"""The customer's page: what is broken, are the data safe, what is proposed and what it costs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import msgspec

from livecheck import step_names
from livecheck.chances import chance
from livecheck.diagnosis.steps.actions import Action
from livecheck.names import Names
from livecheck.offers import REPAIRS, Offer, estimate, money, offers
from livecheck.partssheet.sheet import NEVER_ORDERED
from livecheck.records import Knowledge, Location, Outcome, Reading, Run, Side
from livecheck.records.shop import ShopFacts
from livecheck.report.conclusion import Standing, withheld
from livecheck.suspects import Suspect
from livecheck.wording import kind_title, text

ALSO: Final = 0.5
"""A further fault at least this likely is told to the customer."""
MOST_ALSO: Final = 3


class CostLine(msgspec.Struct, frozen=True):
    """One line of the estimate."""

    what: str
    price: str | None
    """None: the shop did not tell; to be filled in by hand."""


class CustomerPage(msgspec.Struct, frozen=True, kw_only=True):
    """What the template shows."""

    shop: ShopFacts
    broken: str
    sure: str | None
    data: str
    proposal: str
    costs: tuple[CostLine, ...]
    others: tuple[Offer, ...]
    """Ways beside what is proposed."""
    also: tuple[str, ...]


def customer_page(
    runs: Sequence[Run],
    found: Location,
    standing: Standing,
    names: Names,
    knowledge: Knowledge,
) -> CustomerPage:
    """The page of a case whose machine is not handed over yet. Pure."""
    listed, data = standing.listed, standing.data
    # A system is not installed anew over data that nobody could read.
    locked = withheld(found, standing)
    done = standing.left and found.put_right is None
    unit = kind_title(found.unit, knowledge) if found.unit else None
    trial = _trial(found)
    bought = msgspec.structs.replace(found, unit=trial) if trial is not None else found
    sides = (Side.DEVICE, Side.CONTROLLER, Side.SOFTWARE)
    named = found.component is not None and (found.side in sides or found.put_right is not None)
    return CustomerPage(
        shop=knowledge.shop,
        broken=text("customer.broken-withheld") if locked else _broken(found, unit, listed, names),
        sure=chance(found.probability) if named else None,
        data=text(f"customer.data-{data}"),
        proposal=text("customer.done")
        if done
        else _proposal(found, names, knowledge, locked=locked),
        costs=_costs(bought, knowledge),
        others=() if done else offers(found, runs, names, knowledge),
        also=_also(found, runs, listed, names, knowledge),
    )


def _broken(found: Location, unit: str | None, listed: Sequence[Suspect], names: Names) -> str:
    if found.component is not None and found.free:
        return text("customer.broken-free", where=names.of(found.component).label)
    if found.component is None or unit is None or found.side is Side.SOFTWARE:
        said = text(f"customer.broken-{found.put_right or found.side.value}")
        leads = [one for one in listed[:1] if found.component is None and _telling(one)]
        likely = (text("customer.likely", name=_label(one, names)) for one in leads)
        return " ".join((said, *likely))
    where = names.of(found.component).label
    key = "part" if found.side is Side.DEVICE or where == unit else "board"
    return text(f"customer.broken-{key}", unit=unit, where=where)


def _telling(one: Suspect) -> bool:
    return one.bears and one.probability >= ALSO and one.lead.side is not Side.SOFTWARE


def _label(one: Suspect, names: Names) -> str:
    return names.of(one.lead.component, one.lead.name, one.lead.kind).label


def _proposal(found: Location, names: Names, knowledge: Knowledge, *, locked: bool) -> str:
    """The repair, after what is to be tried before it."""
    unit = kind_title(found.unit, knowledge) if found.unit else None
    if locked:
        return text("customer.propose-withheld")
    step = found.next_step
    if step is not None and _trial(found) is not None:
        return text("customer.propose-trial", target=names.target(step.target))
    if step is None or step.action in REPAIRS or found.unit is None:
        return _repair(found, unit)
    words = step_names.action(step, knowledge).replace(" ", "-")
    whole = step.target == "machine"
    target = text("customer.machine") if whole else names.target(step.target)
    first = text(f"customer.step-{words}", target=target)
    return f"{text('customer.first', step=first)} {_repair(found, unit)}"


def _trial(found: Location) -> str | None:
    """The unit that is to be bought next though nothing is settled: no test is left before it."""
    step = found.next_step
    if step is None or step.action != Action.REPLACE or found.component is not None:
        return None
    return next((c.unit for c in found.candidates if c.component == step.target), None)


def _repair(found: Location, unit: str | None) -> str:
    if found.free:
        return text("customer.propose-free")
    if found.unit is None or found.unit in NEVER_ORDERED:
        return text(f"customer.propose-{found.put_right or found.unit or found.side.value}")
    key = "board" if found.side is Side.CONTROLLER else "part"
    return text(f"customer.propose-{key}", unit=unit)


def _costs(found: Location, knowledge: Knowledge) -> tuple[CostLine, ...]:
    """Unit and work where something is to be done; what the shop did not tell stays open."""
    if found.unit is None:
        return ()
    unit = kind_title(found.unit, knowledge)
    shop, costs = knowledge.shop, estimate(found, knowledge)
    bought = found.unit not in NEVER_ORDERED
    lines = [CostLine(unit, money(costs.part, shop))] if bought else []
    work = CostLine(text("customer.work"), money(costs.work, shop))
    return (*lines, work, CostLine(text("customer.sum"), money(costs.whole, shop)))


def _also(
    found: Location,
    runs: Sequence[Run],
    listed: Sequence[Suspect],
    names: Names,
    knowledge: Knowledge,
) -> tuple[str, ...]:
    # What is likeliest while nothing is settled stands above, and is found nothing beside.
    beside = listed[1:] if found.component is None and listed and listed[0].bears else listed
    others = [one.lead for one in beside
              if one.probability >= ALSO and one.lead.component != found.component]  # fmt: skip
    told = [names.of(c.component, c.name, c.kind).label for c in others
            if c.side is not Side.SOFTWARE]  # fmt: skip
    findings = _findings(found, runs, knowledge)
    # A record of another program's making may say nothing of its own.
    told += [": ".join(filter(None, (names.of(r.at).label, r.says.rstrip(".")))) for r in findings]
    return tuple(dict.fromkeys(told))[:MOST_ALSO]


def _findings(found: Location, runs: Sequence[Run], knowledge: Knowledge) -> Iterator[Reading]:
    """What failed in the last run and is told for what it is, such as a worn battery."""
    own = [run for run in runs if not run.in_known_good_machine]
    vouched = {identity for run in own for identity in run.known_good}
    shops = {p.id for run in own for p in run.inventory.parts if p.identity in vouched}
    for reading in own[-1].readings if own else ():
        check = knowledge.checks.get(reading.check)
        beside = reading.at != found.component and reading.at not in shops
        failed = reading.outcome is Outcome.FAILED and beside
        if failed and check is not None and check.finding:
            yield reading
