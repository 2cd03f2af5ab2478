"""The whole report as plain values: records in, words out, no markup."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from livecheck import heed, languages
from livecheck.completeness import incomplete, taken_out
from livecheck.found_words import reworded
from livecheck.intake import in_words
from livecheck.learning.words import learned_name, most_moved
from livecheck.names import Names
from livecheck.partssheet import PartsSheet, sheets
from livecheck.records import (
    Case,
    Knowledge,
    Learned,
    Location,
    Machine,
    Run,
    Side,
)
from livecheck.report.answers import told
from livecheck.report.conclusion import Conclusion, Standing, conclusion
from livecheck.report.courses import Meters, meters
from livecheck.report.customer import CustomerPage, customer_page
from livecheck.report.evidence import Aside, EvidenceRow, asides, software_findings, telling
from livecheck.report.faults import Fault, ReadingInRuns, Section, contacts, section
from livecheck.report.handover import SignOff, sign_off
from livecheck.report.storage import Drive, drives
from livecheck.report.swaptable import SwapTable, swap_table
from livecheck.report.tables import (
    ComponentReadings,
    Missed,
    PartRow,
    RunRow,
    identity,
    not_tested,
    parts,
    readings,
    run_row,
)
from livecheck.report.tree import Node, path_tree
from livecheck.suspects import one_number, suspects
from livecheck.topology.called import named
from livecheck.way_on import judged_in, no_step, step_left, way_on
from livecheck.wording import catalogue, moment, text

MAX_LEARNED: Final = 8


class ForCustomer(msgspec.Struct, frozen=True, kw_only=True):
    """What is for the customer, in a language of the shop's choice."""

    language: str
    incomplete: str | None
    """What the last run lacks; None: it came to its end."""
    page: CustomerPage
    """Shown while the machine is not handed over."""
    sign_off: SignOff | None


class Page(msgspec.Struct, frozen=True, kw_only=True):
    """Everything the template shows."""

    case: Case
    machine: str | None
    latest: str
    verdict: Conclusion
    device: Section
    controller: Section
    contacts: tuple[Fault, ...]
    software: tuple[ReadingInRuns, ...]
    swaps: SwapTable
    evidence: tuple[EvidenceRow, ...]
    """What says something."""
    asides: tuple[Aside, ...]
    """The other readings that were weighed."""
    tree: Node | None
    drives: tuple[Drive, ...]
    meters: Meters
    sheets: tuple[PartsSheet, ...]
    learned: tuple[tuple[str, Learned], ...]
    """Kinds whose prior the shop's outcomes moved, most moved first."""
    readings: tuple[ComponentReadings, ...]
    missed: tuple[Missed, ...]
    closed: str | None
    identity: tuple[tuple[str, tuple[tuple[str, str | None], ...]], ...]
    parts: tuple[PartRow, ...]
    runs: tuple[RunRow, ...]
    answers: tuple[tuple[int, str, str], ...]
    told: tuple[tuple[str, str], ...]
    """The intake sheet and notes: title and words."""
    damaged: tuple[str, ...]
    taken_out: tuple[str, ...]
    incomplete: str | None
    """What the last run lacks; None: it came to its end."""
    sign_off: SignOff | None
    for_customer: ForCustomer
    priors: str
    origin: str


def page(
    case: Case,
    runs: Sequence[Run],
    location: Location,
    knowledge: Knowledge,
    damaged: Sequence[str] = (),
) -> Page:
    """The report of a case. Pure; the runs may be none, empty, unfinished or many."""
    ordered = named(sorted(runs, key=lambda run: run.number))
    names = Names(ordered, knowledge, case.spares)
    standing = _standing(case, ordered, location, knowledge)
    location = one_number(location)
    return Page(
        case=case,
        machine=_machine(case, ordered).named or None,
        latest=moment(ordered[-1].started if ordered else case.opened),
        verdict=conclusion(location, standing, names, knowledge),
        device=section(Side.DEVICE, ordered, location, names, knowledge),
        controller=section(Side.CONTROLLER, ordered, location, names, knowledge),
        contacts=contacts(ordered, location, names, knowledge),
        software=software_findings(ordered, names, knowledge),
        swaps=swap_table(ordered, location, names),
        evidence=telling(location.evidence, names, knowledge),
        asides=asides(location.evidence, names, knowledge),
        tree=path_tree(ordered, location, names),
        drives=drives(ordered, names),
        meters=meters(ordered),
        sheets=sheets(case, ordered, location, knowledge),
        learned=_learned(knowledge),
        readings=readings(ordered, names, knowledge),
        missed=not_tested(ordered, names, knowledge),
        closed=moment(case.closed) if case.closed else None,
        identity=identity(_machine(case, ordered)),
        parts=parts(ordered, names),
        runs=tuple(run_row(run, names) for run in ordered),
        answers=tuple((r.number, *told(a, names)) for r in ordered for a in r.answers),
        told=in_words(case.told, knowledge.intake),
        damaged=tuple(damaged),
        taken_out=taken_out(case),
        incomplete=incomplete(ordered),
        sign_off=sign_off(case, ordered, names, knowledge),
        for_customer=_for_customer(case, ordered, location, standing, knowledge),
        priors=reworded(location.priors), origin=reworded(knowledge.origin),
    )  # fmt: skip


def _standing(
    case: Case, runs: Sequence[Run], location: Location, knowledge: Knowledge
) -> Standing:
    return Standing(
        listed=suspects(location),
        left=way_on(case, runs, location, knowledge),
        judged=judged_in(runs),
        closed=case.closed is not None,
        step=step_left(case, location),
        no_step=no_step(case, location, knowledge, judged_in(runs)),
        heed=heed.standing(case, runs, knowledge, step_left(case, location)),
        data=heed.data_in(runs, knowledge),
    )


def _for_customer(
    case: Case,
    runs: Sequence[Run],
    location: Location,
    standing: Standing,
    knowledge: Knowledge,
) -> ForCustomer:
    language = knowledge.shop.customer_language or knowledge.shop.language
    with languages.speaking(language):
        tables = _translated(knowledge)
        names = Names(runs, tables, case.spares)
        return ForCustomer(
            language=language,
            incomplete=incomplete(runs),
            page=customer_page(runs, location, standing, names, tables),
            sign_off=sign_off(case, runs, names, tables),
        )


def _translated(knowledge: Knowledge) -> Knowledge:
    """The tables, with what customers read of them in their language."""
    if languages.spoken() == languages.ENGLISH:
        return knowledge
    known = catalogue(languages.spoken())
    kinds = {
        own: msgspec.structs.replace(
            row,
            title=text(f"kind.{own}"),
            # What a shop added to its own table is in the words it chose.
            workaround=known.get(f"workaround.{own}", row.workaround),
        )
        for own, row in knowledge.kinds.items()
    }
    return msgspec.structs.replace(knowledge, kinds=kinds)


def _machine(case: Case, runs: Sequence[Run]) -> Machine:
    """The machine as the last run in it read it; the case's own where none read anything."""
    local = [run.inventory.machine for run in runs if not run.in_known_good_machine]
    return local[-1] if local and local[-1] != Machine() else case.machine


def _learned(knowledge: Knowledge) -> tuple[tuple[str, Learned], ...]:
    rows = most_moved(knowledge.learned)[:MAX_LEARNED]
    return tuple((learned_name(row, knowledge), row) for row in rows)
