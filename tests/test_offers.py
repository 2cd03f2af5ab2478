"""What a customer can choose beside the repair: told with its price, and never what is never done.

Which workaround serves for what is common practice, no source.
"""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest

from livecheck import knowledge
from livecheck.judgement import shop_tables
from livecheck.names import Names
from livecheck.offers import BOARD_LEVEL, NOT_WORTH_IT, WAYS, WORKAROUND, estimate, offers
from livecheck.records import Knowledge, NextStep, Place
from livecheck.records.shop import ShopFacts
from livecheck.report import render
from tests import factories
from tests.report.test_customer import told

SHOP = ShopFacts(
    currency="EUR", hour=60.0, worth=300.0, prices={"mainboard": 340.0, BOARD_LEVEL: 150.0}
)
REPAIR = NextStep(action="replace", target=factories.PORT_1, minutes=120.0, why="")


def _said(shop: ShopFacts) -> list[tuple[str, str | None]]:
    whole, tables = factories.port_and_battery(), _tables(shop)
    found = msgspec.structs.replace(whole.location, next_step=REPAIR)
    names = Names(whole.runs, tables)
    return [(one.what, one.price) for one in offers(found, whole.runs, names, tables)]


def _tables(shop: ShopFacts) -> Knowledge:
    return msgspec.structs.replace(knowledge.load(), shop=shop)


def test_a_port_of_the_board_has_ways_beside_a_new_board() -> None:
    """340.00 and two hours at 60.00 are 460.00, which is more than 300.00."""
    whole = factories.port_and_battery()
    free = [p.id for p in whole.runs[-1].inventory.places if p.kind == "sata-port"]
    assert len(free) == 2
    said = _said(SHOP)
    board, *more, worth = said
    assert board[0].startswith("The board-level repair of") and board[1] == "150.00 EUR"
    assert "460.00 EUR" in worth[0] and "300.00 EUR" in worth[0]
    assert any("external drive" in what for what, _ in more)


@pytest.mark.parametrize("way", WAYS)
def test_what_is_never_offered_is_not_offered(way: str) -> None:
    least = {BOARD_LEVEL: "board-level", WORKAROUND: "Leave it, and use", NOT_WORTH_IT: "worth it"}
    told = " ".join(what for what, _ in _said(SHOP))
    rest = " ".join(what for what, _ in _said(msgspec.structs.replace(SHOP, never=(way,))))
    assert least[way] in told and least[way] not in rest


def test_a_price_that_is_not_told_is_not_made_up() -> None:
    said = _said(ShopFacts())
    assert said and all(price is None for _, price in said)
    assert not any("worth" in what for what, _ in said)
    whole = factories.port_and_battery()
    assert estimate(whole.location, _tables(ShopFacts())).whole is None


def test_another_place_is_offered_only_while_it_is_empty() -> None:
    """The last run says what sits where."""
    whole, tables = factories.port_and_battery(), _tables(ShopFacts())
    last = whole.runs[-1]
    spare = Place(id="ata:0000:00:17.0:9", kind="sata-port", name="SATA port 9", controller=None)
    more = msgspec.structs.replace(last.inventory, places=(*last.inventory.places, spare))
    runs = (*whole.runs[:-1], msgspec.structs.replace(last, inventory=more))
    said = [one.what for one in offers(whole.location, runs, Names(runs, tables), tables)]
    assert "Leave it, and use SATA port 9." in said
    assert not any("SATA port 9" in what for what, _ in _said(ShopFacts()))


def test_nothing_is_offered_beside_what_is_not_settled() -> None:
    whole, tables = factories.undetermined(), _tables(SHOP)
    assert offers(whole.location, whole.runs, Names(whole.runs, tables), tables) == ()


def test_the_customer_reads_them_and_what_else_was_found() -> None:
    whole = factories.port_and_battery()
    found = msgspec.structs.replace(whole.location, next_step=REPAIR)
    answers = told(render(whole.case, whole.runs, found, _tables(SHOP)))
    assert "board-level repair" in answers["Other ways"] and "(150.00 EUR)" in answers["Other ways"]
    assert "battery" in answers["Also found"]


def test_a_word_of_the_shops_that_names_nothing_is_told(tmp_path: Path) -> None:
    """With what may have been meant; the rest of the file counts."""
    (tmp_path / "shop.toml").write_text(
        '[shop]\nname = "A"\nspares = ["drvie"]\nnever = ["banana", "workaround"]\n'
        "[shop.prices]\nmainbord = 3.0\ndrive = 2.0\n"
    )
    tables, trouble = shop_tables(tmp_path)
    assert trouble is not None and tables.shop.name == "A"
    assert "did you mean drive?" in trouble and "did you mean mainboard?" in trouble
    assert "banana" in trouble and "never: workaround" not in trouble
