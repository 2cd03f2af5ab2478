"""A case and its fault location as one self-contained HTML page.

The page loads nothing and needs no script. Device strings are hostile: every
string the template puts out goes through ``wording.clean`` and is then escaped.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

import msgspec

from livecheck.records import Case, Knowledge, Location, Outcome, Run, Side

if TYPE_CHECKING:
    from jinja2 import Environment, Template
    from markupsafe import Markup

    from livecheck.partssheet import PartsSheet


class Reported(NamedTuple):
    """What a report is made from, as ``render`` takes it."""

    case: Case
    runs: Sequence[Run]
    location: Location
    knowledge: Knowledge
    damaged: Sequence[str] = ()


def render(
    case: Case,
    runs: Sequence[Run],
    location: Location,
    knowledge: Knowledge,
    damaged: Sequence[str] = (),
) -> str:
    """The report as HTML text.

    ``runs`` may be empty and in any order; ``damaged`` holds one sentence for each
    saved file that could not be read. Never raises for what a record holds.
    """
    from livecheck.report.view import page

    return _template().render(page=page(case, runs, location, knowledge, damaged))


def render_for(technician: Reported, customer: Reported) -> str:
    """The report in the language that is spoken, but for the customer's part.

    ``technician``: in words of that language. ``customer``: as it was saved, since that part is
    put into a language of its own.
    """
    from livecheck import languages
    from livecheck.report.view import page

    with languages.speaking(languages.ENGLISH):
        theirs = page(*customer).for_customer
    return _template().render(page=msgspec.structs.replace(page(*technician), for_customer=theirs))


@cache
def _template() -> Template:
    return page_environment("livecheck.report").get_template("report.html")


def page_environment(package: str) -> Environment:
    """The template engine for a package's ``templates`` over those of the report.

    It escapes, and brings the report's words and drawings.
    """
    # Imported late: the console starts faster without the template engine.
    import jinja2

    from livecheck import chances, wording
    from livecheck.found_words import reworded
    from livecheck.report import svg

    environment = jinja2.Environment(
        loader=jinja2.ChoiceLoader(
            [jinja2.PackageLoader(name) for name in dict.fromkeys((package, __name__))]
        ),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        finalize=_shown,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["in_words"] = reworded
    environment.globals.update(
        t=wording.text,
        n=wording.count,
        title=wording.title,
        percent=chances.percent,
        chance=chances.chance,
        in_language=_in_language,
        weight=chances.weight,
        bar=svg.bar,
        balance=svg.balance,
        icon=svg.icon,
        code=_code,
        undetermined=Side.UNDETERMINED,
        failing=Outcome.FAILED,
    )
    return environment


def _in_language(language: str, caller: Callable[[], Markup]) -> Markup:
    """A block of a template, called with the language it is in."""
    from livecheck import languages

    with languages.speaking(language):
        return caller()


def _code(sheet: PartsSheet) -> Markup | str:
    """The QR code of a parts sheet; nothing where it would not fit into one."""
    from livecheck import wording
    from livecheck.partssheet import qr_svg

    shown = _shown(sheet.code.replace("\n", " / "))
    named = wording.text("parts.qr", unit=sheet.unit)
    try:
        return qr_svg(str(shown), str(_shown(named)))
    except ValueError:
        return ""


def _shown(value: object) -> object:
    """What the template puts out: strings made safe to look at, unknown said in words."""
    from unicodedata import normalize

    from markupsafe import Markup

    from livecheck.wording import clean, text

    if value is None:
        return text("value.unknown")
    if isinstance(value, str) and not isinstance(value, Markup):
        # HTML asks for composed characters (W3C, Character Model: String Matching).
        return normalize("NFC", clean(value))
    return value
