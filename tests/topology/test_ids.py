"""Ids are values: one text each, and what tells two components apart tells their ids apart."""

from __future__ import annotations

from itertools import combinations

import pytest

from livecheck import knowledge
from livecheck.records import BoardReplaced, CleanedPart, FirmwareFlashed, PartIs, RepairedPart
from livecheck.topology.graph import build
from livecheck.topology.history import configurations
from livecheck.topology.ids import ComponentId
from tests.diagnosis.laptop import CARD, DRIVE1, DRIVE2, PORT1, drive, laptop, run

TEXTS = {
    ComponentId(key="drive:K1"): "drive:K1",
    ComponentId(scope="board 1", key="jack:AC"): "board 1/jack:AC",
    ComponentId(kind="adapter", place="jack:AC"): "adapter@jack:AC",
    ComponentId(kind="adapter", place="jack:AC", key="Ovik A65"): "adapter@jack:AC (Ovik A65)",
    ComponentId(scope="bench", kind="panel", place="p"): "bench/panel@p",
    ComponentId(kind="contact", place="p"): "contact:p",
    ComponentId(scope="board 1", kind="contact", place="p"): "contact:board 1/p",
}


@pytest.mark.parametrize(("own", "text"), TEXTS.items(), ids=TEXTS.values())
def test_the_text_form_is_that_of_the_records(own: ComponentId, text: str) -> None:
    """As records hold it."""
    assert str(own) == text


def test_ids_that_differ_have_texts_that_differ() -> None:
    assert all(str(a) != str(b) for a, b in combinations(TEXTS, 2))
    assert all(a != b for a, b in combinations(TEXTS, 2))


def test_every_component_of_a_case_is_found_by_its_text() -> None:
    """Whatever was swapped, treated, replaced or named: no two share a text."""
    inventory = laptop(drive(DRIVE1, PORT1))
    named = PartIs(place="jack:AC", name="bench spare", known_good=True)
    treated = (CleanedPart(part="cooling@cooling"), RepairedPart(component="jack:AC"))
    runs = [
        run(1, inventory),
        run(2, laptop(drive(DRIVE2, PORT1)), answers=(named, *treated, FirmwareFlashed())),
        run(3, inventory, answers=(BoardReplaced(),), reseated=(PORT1,)),
        run(4, laptop(drive(DRIVE1, PORT1), silent=("dimm:A",)), in_known_good_machine=True),
    ]
    graph = build(configurations(runs), knowledge.load())
    assert len(graph.by_text) == len(graph.components) == len(graph.index)
    for component in graph.components:
        assert graph.named(str(component.id)) == component
    assert {"cooling@cooling", "adapter:bench spare"} <= set(graph.by_text)


def test_what_was_done_to_a_board_is_not_done_to_the_next_one() -> None:
    inventory = laptop(drive(DRIVE1, PORT1))
    runs = [
        run(1, inventory, answers=(RepairedPart(component="jack:AC"),)),
        run(2, inventory, answers=(BoardReplaced(),)),
    ]
    before, after = configurations(runs)
    assert [count for _, count in before.treated.items()] == [1]
    assert after.treated.get(after.on_board("jack:AC"), 0) == 0


def test_known_good_is_what_the_technician_said_not_a_word_in_a_name() -> None:
    """The customer's own adapter, named so that nobody takes it for the shop's."""
    inventory = laptop(drive(DRIVE1, PORT1))
    named = PartIs(place="jack:AC", name="customer adapter, no spare")
    vouched = PartIs(place="jack:AC", name="the blue one", known_good=True)
    own, blue = (
        configurations([run(1, inventory), run(2, inventory, answers=(answer,))])[-1]
        for answer in (named, vouched)
    )
    assert own.known_good == frozenset()
    assert blue.known_good == {blue.parts["jack:AC"]}
    assert CARD in blue.ids
