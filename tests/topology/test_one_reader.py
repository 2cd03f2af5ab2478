"""A report card and the verdict never disagree about what speaks for a component."""

from __future__ import annotations

import msgspec
import pytest
from hypothesis import given, settings

from livecheck import knowledge
from livecheck.diagnosis import locate
from livecheck.diagnosis.observations import observations
from livecheck.names import Names
from livecheck.records import Check, Inventory, Knowledge, Location, Outcome, Run, Side
from livecheck.report.faults import Fault, accusing, contacts, section
from livecheck.topology.graph import build
from livecheck.topology.history import configurations
from tests.diagnosis.laptop import DRIVE1, PORT1, drive, laptop, reading, run, tables
from tests.diagnosis.test_properties import runs

FEW = tables()
TABLES = knowledge.load()
LAPTOP = laptop(drive(DRIVE1, PORT1), silent=("bay:BAT0",))


def accused(case: list[Run], table: Knowledge) -> dict[str, set[tuple[int, str, str]]]:
    """For the engine: component -> (run, check, at) of the failures it could explain."""
    graph = build(configurations(case), table)
    found: dict[str, set[tuple[int, str, str]]] = {str(c.id): set() for c in graph.components}
    for one in observations(case, graph, table):
        for number, _ in one.members if one.failed else ():
            own = str(graph.components[number].id)
            found[own].add((one.run, one.reading.check, one.reading.at))
    return found


def cards(case: list[Run], location: Location, table: Knowledge) -> list[Fault]:
    """Every card of the report."""
    names = Names(case, table)
    sides = [section(side, case, location, names, table) for side in (Side.DEVICE, Side.CONTROLLER)]
    faults = [fault for one in sides for fault in (*one.faults, *one.unlikely)]
    return [*faults, *contacts(case, location, names, table)]


@pytest.mark.slow
@given(runs())
@settings(max_examples=150, deadline=None)
def test_cards_show_just_what_the_verdict_counts(case: list[Run]) -> None:
    location = locate("t", case, FEW)
    engine = accused(case, FEW)
    for card in cards(case, location, FEW):
        readings = engine[card.component.id]
        # A card tells one check at one component once, whatever the number of runs.
        assert len(card.findings) + card.more == len({(check, at) for _, check, at in readings})
        if card.component.id == location.component:
            speaks = {
                (e.run, e.check, e.at)
                for e in location.evidence
                if e.weight > 0 and e.outcome is Outcome.FAILED
            }
            # The verdict may be about several components that one order repairs.
            shown = {(one.check, one.at.id) for one in card.findings} if not card.more else None
            own = {(check, at) for _, check, at in speaks & readings}
            assert shown is None or own <= shown


@given(runs())
@settings(max_examples=60, deadline=None)
def test_a_named_component_has_findings(case: list[Run]) -> None:
    """What the verdict names for its failures never shows an empty card."""
    location = locate("t", case, FEW)
    for card in cards(case, location, FEW):
        if card.component.id == location.component and location.side is not Side.SOFTWARE:
            failed = any(e.weight > 0 and e.outcome is Outcome.FAILED for e in location.evidence)
            assert card.findings or not failed or location.side is Side.CONTROLLER


def _points(inventory: Inventory) -> list[str]:
    parts, places = inventory.parts, inventory.places
    ids = [part.id for part in parts] + [place.id for place in places]
    return ["machine", *ids, *(controller.id for controller in inventory.controllers)]


@pytest.mark.parametrize("check", TABLES.checks.values(), ids=TABLES.checks)
def test_each_check_accuses_the_same_everywhere(check: Check) -> None:
    """Every check of the table, failing at every component of a machine."""
    for at in _points(LAPTOP):
        case = [run(1, LAPTOP, reading(check.name, at, False))]
        engine, names = accused(case, TABLES), Names(case, TABLES)
        for component, readings in engine.items():
            shown = {(r.number, one.check, one.at) for r, one in accusing(component, case, names)}
            assert shown == readings, (check.name, at, component)


def test_a_bad_contact_s_card_shows_what_speaks_for_it() -> None:
    """Seen in practice before: named at 0.92, and no finding on its card."""
    inventory = laptop(drive(DRIVE1, PORT1))
    case = [run(1, inventory, reading("storage.works", DRIVE1, False))]
    contact = f"contact:{PORT1}"
    location = msgspec.structs.replace(locate("t", case, FEW), component=contact)
    (card,) = (c for c in cards(case, location, FEW) if c.component.id == contact)
    assert [finding.check for finding in card.findings] == ["storage.works"]
    assert PORT1 in {place.id for place in Names(case, FEW).path(contact)}
