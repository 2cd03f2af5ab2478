"""Two pages for the bench that belong to no case: the guide, and the table of checks."""

from __future__ import annotations

from typing import Final

import msgspec

from livecheck import release
from livecheck.chances import percent
from livecheck.lamp_codes import Signal, in_words
from livecheck.records import Blame, Caution, Check, Knowledge
from livecheck.topology.blame import who
from livecheck.wording import catalogue, kind_title, quantity, text

CHAPTERS: Final = (
    ("start", ("cell", "wet", "burnt")),
    ("dead", ("mains", "meter")),
    ("run", ("data", "self-test", "fan", "hot")),
    ("verdict", ()),
    ("step", ("static", "board", "glass", "inverter")),
    ("order", ("flash", "update")),
    ("back", ()),
    ("blind", ()),
)
"""Chapters of the guide in order, each with the cautions that stand beside it."""

BLIND: Final = "blind"
"""The chapter that explains the codes of lamps and beeper."""

_ROLES: Final = ("part", "place", "controller", "upstream", "contact", "hardware")


class Chapter(msgspec.Struct, frozen=True, kw_only=True):
    """One chapter of the guide."""

    title: str
    steps: tuple[str, ...]
    cautions: tuple[Caution, ...]


class CheckRow(msgspec.Struct, frozen=True, kw_only=True):
    """One check as its row of the table tells it."""

    name: str
    question: str
    direct: bool
    false_alarm: str
    false_alarm_source: str
    limits: tuple[str, ...]
    limits_source: str
    blames: tuple[tuple[str, str, str], ...]
    """Who, how surely it shows, the source of that."""


def guide_page(knowledge: Knowledge) -> str:
    """The printable guide as HTML text."""
    from livecheck.report import page_environment

    chapters = [_chapter(name, cautions, knowledge) for name, cautions in CHAPTERS]
    page = page_environment("livecheck.report").get_template("guide.html")
    return page.render(chapters=chapters, version=release.told())


def checks_page(knowledge: Knowledge) -> str:
    """All checks, with who could make each fail, as HTML text."""
    from livecheck.report import page_environment

    families: dict[str, list[CheckRow]] = {}
    for check in sorted(knowledge.checks.values(), key=lambda check: check.name):
        family = check.name.partition(".")[0]
        families.setdefault(family, []).append(_row(check, knowledge))
    page = page_environment("livecheck.report").get_template("checks.html")
    return page.render(families=families, version=release.told())


def _chapter(name: str, cautions: tuple[str, ...], knowledge: Knowledge) -> Chapter:
    keys = (f"guide.{name}-{number}" for number in range(1, 10))
    steps = tuple(text(key) for key in keys if key in catalogue())
    return Chapter(
        title=text(f"guide.{name}"),
        steps=(*steps, *(in_words(signal) for signal in Signal)) if name == BLIND else steps,
        cautions=tuple(knowledge.cautions[caution] for caution in cautions),
    )


def _row(check: Check, knowledge: Knowledge) -> CheckRow:
    return CheckRow(
        name=check.name,
        question=check.question,
        direct=check.direct,
        false_alarm=percent(check.false_alarm),
        false_alarm_source=check.false_alarm_source,
        limits=tuple(
            f"{name.replace('_', ' ')} {quantity(limit)}" for name, limit in check.limits.items()
        ),
        limits_source=check.limits_source,
        blames=tuple((_who(b, knowledge), percent(b.detect), b.source) for b in check.blames),
    )


def _who(blame: Blame, knowledge: Knowledge) -> str:
    meant = who(blame)
    if meant.kind:
        return text(f"check-table.who-{meant.role}", kind=kind_title(meant.kind, knowledge))
    if meant.role in _ROLES:
        return text(f"check-table.who-{meant.role}")
    return kind_title(meant.role, knowledge)
