"""The customer's page: what is broken, are the data safe, what is proposed and what it costs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from livecheck.chances import chance
from livecheck.diagnosis.steps.actions import Action
from livecheck.heed import data_in
from livecheck.names import Names
from livecheck.partssheet.sheet import NEVER_ORDERED
from livecheck.records import Knowledge, Location, Run, Side
from livecheck.records.shop import ShopFacts
from livecheck.suspects import Suspect
from livecheck.wording import kind_title, text

REPAIRS: Final = (Action.REPLACE, Action.REPAIR_SYSTEM)
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
    also: tuple[str, ...]


def customer_page(
    runs: Sequence[Run],
    found: Location,
    listed: Sequence[Suspect],
    names: Names,
    knowledge: Knowledge,
) -> CustomerPage:
    """The page of a case whose machine is not handed over yet. Pure."""
    unit = kind_title(found.unit, knowledge) if found.unit else None
    named = found.side in (Side.DEVICE, Side.CONTROLLER, Side.SOFTWARE) and found.component
    return CustomerPage(
        shop=knowledge.shop,
        broken=_broken(found, unit, listed, names),
        sure=chance(found.probability) if named else None,
        data=text(f"customer.data-{data_in(runs, knowledge)}"),
        proposal=_proposal(found, unit, names),
        costs=_costs(found, unit, knowledge),
        also=_also(found, listed, names),
    )


def _broken(found: Location, unit: str | None, listed: Sequence[Suspect], names: Names) -> str:
    if found.component is None or unit is None or found.side is Side.SOFTWARE:
        said = text(f"customer.broken-{found.side.value}")
        leads = [one for one in listed[:1] if found.component is None and _telling(one)]
        likely = (text("customer.likely", name=_label(one, names)) for one in leads)
        return " ".join((said, *likely))
    where = names.of(found.component).label
    key = "part" if found.side is Side.DEVICE else "board"
    return text(f"customer.broken-{key}", unit=unit, where=where)


def _telling(one: Suspect) -> bool:
    return one.bears and one.probability >= ALSO and one.lead.side is not Side.SOFTWARE


def _label(one: Suspect, names: Names) -> str:
    return names.of(one.lead.component, one.lead.name, one.lead.kind).label


def _proposal(found: Location, unit: str | None, names: Names) -> str:
    """The repair, after what is to be tried before it."""
    step = found.next_step
    if step is None or step.action in REPAIRS or found.unit is None:
        return _repair(found, unit)
    first = text("customer.first", action=step.action, target=names.target(step.target))
    return f"{first} {_repair(found, unit)}"


def _repair(found: Location, unit: str | None) -> str:
    if found.unit is not None and found.unit not in NEVER_ORDERED:
        key = "board" if found.side is Side.CONTROLLER else "part"
        return text(f"customer.propose-{key}", unit=unit)
    if found.unit == "contact" or found.side is Side.SOFTWARE:
        return text(f"customer.propose-{found.unit or found.side.value}")
    return text(f"customer.propose-{found.side.value}")


def _costs(found: Location, unit: str | None, knowledge: Knowledge) -> tuple[CostLine, ...]:
    """Unit and work where something is to be done; what the shop did not tell stays open."""
    shop = knowledge.shop
    if found.unit is None or unit is None:
        return ()
    lines = []
    price: float | None = 0.0
    if found.unit not in NEVER_ORDERED:
        price = shop.prices.get(found.unit)
        lines.append(CostLine(unit, _money(price, shop)))
    minutes = _repair_minutes(found)
    work = shop.hour * minutes / 60.0 if shop.hour is not None and minutes is not None else None
    lines.append(CostLine(text("customer.work"), _money(work, shop)))
    whole = price + work if price is not None and work is not None else None
    return (*lines, CostLine(text("customer.sum"), _money(whole, shop)))


def _repair_minutes(found: Location) -> float | None:
    """Of the repair itself, not of what is tried before it; None: it is not proposed yet."""
    steps = (found.next_step, *found.alternatives)
    return next((step.minutes for step in steps if step and step.action in REPAIRS), None)


def _money(amount: float | None, shop: ShopFacts) -> str | None:
    return None if amount is None else f"{amount:,.2f} {shop.currency}".strip()


def _also(found: Location, listed: Sequence[Suspect], names: Names) -> tuple[str, ...]:
    # What is likeliest while nothing is settled stands above, and is found nothing beside.
    beside = listed[1:] if found.component is None and listed and listed[0].bears else listed
    others = [one for one in beside
              if one.probability >= ALSO and one.lead.component != found.component]  # fmt: skip
    return tuple(_label(one, names) for one in others[:MOST_ALSO]
                 if one.lead.side is not Side.SOFTWARE)  # fmt: skip
