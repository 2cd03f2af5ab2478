"""What a repair costs, and the other ways beside it: what the customer chooses from. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import msgspec

from livecheck.diagnosis.steps.actions import Action
from livecheck.names import Names
from livecheck.partssheet.sheet import NEVER_ORDERED
from livecheck.records import Knowledge, Location, Run, Side
from livecheck.records.shop import ShopFacts
from livecheck.topology.ids import MAINBOARD
from livecheck.wording import text

REPAIRS: Final = (Action.REPLACE, Action.REPAIR_SYSTEM)
BOARD_LEVEL: Final = "board-level repair"
WORKAROUND: Final = "workaround"
NOT_WORTH_IT: Final = "not worth it"
WAYS: Final = (BOARD_LEVEL, WORKAROUND, NOT_WORTH_IT)
"""As shop.toml names them: what it never offers, and prices."""


class Offer(msgspec.Struct, frozen=True):
    """One way."""

    what: str
    price: str | None
    """None: the shop did not tell, or it costs nothing."""


class Estimate(msgspec.Struct, frozen=True):
    """What the repair itself costs; None: the shop did not tell, or it is not proposed yet."""

    part: float | None
    work: float | None

    @property
    def whole(self) -> float | None:
        """Part and work."""
        known = self.part is not None and self.work is not None
        return (self.part or 0.0) + (self.work or 0.0) if known else None


def estimate(found: Location, tables: Knowledge) -> Estimate:
    """Of the unit that the verdict names, and of the work that the repair is."""
    shop = tables.shop
    bought = found.unit is not None and found.unit not in NEVER_ORDERED
    steps = (found.next_step, *found.alternatives)
    minutes = next((step.minutes for step in steps if step and step.action in REPAIRS), None)
    work = shop.hour * minutes / 60.0 if shop.hour is not None and minutes is not None else None
    return Estimate(shop.prices.get(found.unit or "") if bought else 0.0, work)


def money(amount: float | None, shop: ShopFacts) -> str | None:
    """An amount in the shop's currency."""
    return None if amount is None else f"{amount:,.2f} {shop.currency}".strip()


def offers(
    found: Location, runs: Sequence[Run], names: Names, tables: Knowledge
) -> tuple[Offer, ...]:
    """The ways beside the repair of what the verdict names; none while nothing is named, nor
    where nothing is left to repair."""
    if found.component is None or found.free or found.side not in (Side.DEVICE, Side.CONTROLLER):
        return ()
    made = (
        *_board_level(found, names, tables.shop),
        *_workarounds(found, runs, names, tables),
        *_not_worth_it(found, tables),
    )
    return tuple(offer for way, offer in made if way not in tables.shop.never)


def _board_level(found: Location, names: Names, shop: ShopFacts) -> Iterator[tuple[str, Offer]]:
    if found.unit == MAINBOARD and found.component is not None:
        where = names.of(found.component).label
        price = money(shop.prices.get(BOARD_LEVEL), shop)
        yield BOARD_LEVEL, Offer(text("offers.board-level", where=where), price)


def _workarounds(
    found: Location, runs: Sequence[Run], names: Names, tables: Knowledge
) -> Iterator[tuple[str, Offer]]:
    price = money(tables.shop.prices.get(WORKAROUND), tables.shop)
    for place in _free(found.component, runs):
        yield WORKAROUND, Offer(text("offers.place", place=names.of(place).label), None)
    kind = next((c.kind for c in found.candidates if c.component == found.component), "")
    row = tables.kinds.get(kind)
    if row is not None and row.workaround:
        yield WORKAROUND, Offer(text("offers.workaround", instead=row.workaround), price)


def _free(component: str | None, runs: Sequence[Run]) -> Iterator[str]:
    """Places of the same kind, seen empty in the last run of the machine itself."""
    own = [run for run in runs if not run.in_known_good_machine]
    inventory = own[-1].inventory if own else None
    if inventory is None:
        return
    taken = {part.place for part in inventory.parts} | {component}
    kind = next((p.kind for p in inventory.places if p.id == component), None)
    yield from (p.id for p in inventory.places if p.kind == kind and p.id not in taken)


def _not_worth_it(found: Location, tables: Knowledge) -> Iterator[tuple[str, Offer]]:
    shop, whole = tables.shop, estimate(found, tables).whole
    if whole is not None and shop.worth is not None and whole > shop.worth:
        told = {"whole": money(whole, shop) or "", "worth": money(shop.worth, shop) or ""}
        yield NOT_WORTH_IT, Offer(text("offers.not-worth-it", **told), None)
