"""A case judged with the shop's own tables, and its report written."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from pathlib import Path
from typing import Final

import msgspec

from livecheck import knowledge, report
from livecheck.case_index import learned
from livecheck.case_index.settings import BrokenSettings, read_settings
from livecheck.case_index.summary import summarize
from livecheck.casefile import CaseFolder, Loaded, place_names
from livecheck.diagnosis import Resources, locate
from livecheck.diagnosis.steps.actions import Action
from livecheck.found_words import reworded
from livecheck.intake import OFTEN, leans, missed, opens, shows, would_show
from livecheck.languages import ENGLISH, LANGUAGES, speaking
from livecheck.learning.apply import applied
from livecheck.near import near
from livecheck.offers import WAYS
from livecheck.records import (
    DamagedRecord,
    IntakeRow,
    Knowledge,
    Location,
    NotJudged,
    Remark,
    ToldLine,
)
from livecheck.worded import worded
from livecheck.worded_runs import worded_runs
from livecheck.wording import text

A_SOAK: Final = 4.0
"""Hours that a bench leaves a machine to itself on a working day: assumed."""
NO_MACHINE: Final = "no known-good machine"


def own_tables(root: Path) -> tuple[Knowledge, bool, list[str]]:
    """Built-in tables, the shop's own over them; whether what was learned is to be used; what was
    wrong with anything of the shop's, which the tables do without.
    """
    found, troubles, learns = knowledge.load(), [], False
    for own in (root / name for name in knowledge.SHOP_TABLES):
        try:
            found = knowledge.with_shop_file(found, own)
        except FileNotFoundError:
            continue
        except (knowledge.BrokenTable, OSError) as error:
            troubles.append(f"{error}. The built-in table is used.")
    try:
        chosen = read_settings(root)
        found = msgspec.structs.replace(found, shop=chosen.shop)
        troubles += unknown_words(found)
        learns = chosen.priors.outcomes
    except BrokenSettings as error:
        troubles.append(f"{error}. What was learned is left out.")
    return found, learns, troubles


def shop_tables(root: Path, besides: str | None = None) -> tuple[Knowledge, str | None]:
    """The shop's tables, moved by what its confirmed cases taught.

    ``besides``: id of the case that is judged; one that was learned from is judged without. Also
    returns what was wrong with anything of the shop's; the tables do without that then.
    """
    found, learns, troubles = own_tables(root)
    try:
        taught = learned.read(root) if learns else None
        if taught is not None and besides not in taught.cases:
            found = applied(found, taught.learned, len(taught.cases))
    except (DamagedRecord, OSError) as error:
        troubles.append(text("learned.damaged", file=root / learned.FILE, error=error))
    return found, " ".join(troubles) or None


def unknown_words(tables: Knowledge) -> list[str]:
    """A sentence for each word of the shop's own facts that names nothing."""
    shop = tables.shop
    bought = {row.unit for row in tables.kinds.values()} | set(tables.kinds)
    steps = {*Action, "no spare", NO_MACHINE, *WAYS}
    never = [one.partition(":")[0].strip() for one in shop.never]
    theirs = [] if shop.customer_language is None else [shop.customer_language]
    return [
        f"shop.toml: {where}: {word} is not known{near(word, known)}. It is left out."
        for where, words, known in (
            ("spares", shop.spares or (), set(tables.kinds)),
            ("prices", shop.prices, bought | set(WAYS)),
            ("never", never, {str(step) for step in steps}),
            ("customer_language", theirs, set(LANGUAGES)),
            ("language", (shop.language,), set(LANGUAGES)),
        )
        for word in words
        if word not in known
    ]


def ruled_out(tables: Knowledge) -> tuple[str, ...]:
    """Steps this shop can never do: no such spare, no second machine, what it never offers."""
    shop = tables.shop
    bought = [kind for kind, row in tables.kinds.items() if row.role == "part"]
    ready = bought if shop.spares is None else shop.spares
    missing = tuple(f"no spare: {kind}" for kind in bought if kind not in ready)
    machine = (NO_MACHINE,) if shop.second_machine is False else ()
    return (*missing, *machine, *shop.never)


def rare(told: Iterable[ToldLine], sheet: Mapping[str, IntakeRow]) -> bool:
    """Whether a soak of ``A_SOAK`` hours is likelier than not to miss what comes so seldom."""
    share = would_show(told, sheet[OFTEN], A_SOAK) if OFTEN in sheet else None
    return share is not None and share < 0.5


def locate_case(loaded: Loaded, tables: Knowledge) -> Location:
    """The fault location from a case's saved runs. Raises NotJudged, whatever went wrong."""
    case = loaded.case
    barred = (*case.cannot, *ruled_out(tables))
    own = (one for run in loaded.runs if not run.in_known_good_machine for one in run.answers)
    remarks = [answer.words for answer in own if isinstance(answer, Remark)]
    resources = Resources(
        spares=case.spares,
        cannot=barred,
        hurt=opens(case.told, tables.intake, remarks),
        sleeps=shows(case.told, "sleep"),
        starts=shows(case.told, "some starts"),
        on_battery=shows(case.told, "on battery"),
        missed=missed(case.told, tables.intake),
        rare=rare(case.told, tables.intake),
        leans=leans(case.told, tables.intake),
    )
    try:
        return locate(case.id, loaded.runs, tables, resources)
    except Exception as error:
        raise NotJudged(case.id, error) from error


def locate_in_words(
    loaded: Loaded, tables: Knowledge, own: Collection[str] = ()
) -> tuple[Loaded, Knowledge, Location]:
    """The case, the tables and the fault location in the language that is spoken, for a screen.

    ``own``: what the shop itself calls places. Raises NotJudged.
    """
    said = worded(tables)
    shown = msgspec.structs.replace(loaded, runs=worded_runs(loaded.runs, said, own))
    # A step may be ruled out by the title that a kind has in English.
    kinds = {row.title: kind for kind, row in tables.kinds.items()}
    parted = (rule.partition(": ") for rule in loaded.case.cannot)
    cannot = tuple("".join((step, mark, kinds.get(at, at))) for step, mark, at in parted)
    case = msgspec.structs.replace(loaded.case, cannot=cannot)
    return shown, said, locate_case(msgspec.structs.replace(shown, case=case), said)


@speaking(ENGLISH)
def save_report(folder: CaseFolder, tables: Knowledge) -> tuple[Loaded, Location]:
    """Judge a case and save its report and summary. Raises OSError and DamagedRecord."""
    loaded = folder.load()
    location = locate_case(loaded, tables)
    folder.save_report(_render(folder, loaded, location, tables))
    folder.save_summary(summarize(location, loaded.runs, folder.run_numbers()))
    return loaded, location


@speaking(ENGLISH)
def write_report(folder: CaseFolder, tables: Knowledge, to: Path) -> None:
    """Write a case's report where the technician wants it. Raises OSError and DamagedRecord."""
    loaded = folder.load()
    location = locate_case(loaded, tables)
    to.write_text(_render(folder, loaded, location, tables), encoding="utf-8")


def _render(folder: CaseFolder, loaded: Loaded, location: Location, tables: Knowledge) -> str:
    """The page, its technician's part in the shop's language."""
    english = report.Reported(loaded.case, loaded.runs, location, tables, loaded.damaged)
    try:
        if tables.shop.language == ENGLISH:
            return report.render(*english)
        own = place_names.own_words(folder.path.parent)
        with speaking(tables.shop.language):
            shown, said, found = locate_in_words(loaded, tables, own)
            damaged = tuple(map(reworded, loaded.damaged))
            told = report.Reported(loaded.case, shown.runs, found, said, damaged)
            return report.render_for(told, english)
    except OSError:
        raise
    except Exception as error:
        raise NotJudged(loaded.case.id, error) from error
