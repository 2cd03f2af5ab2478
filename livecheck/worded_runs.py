"""Runs in the language that is spoken, for a screen: names, and what was said of components.

Records are kept in English; nothing of this is to be saved.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from functools import partial
from typing import TypeVar

import msgspec

from livecheck.diagnosis.worksheet import NEITHER
from livecheck.found_words import figures, reworded
from livecheck.languages import ENGLISH, proper, spoken, titled
from livecheck.records import (
    Controller,
    Inventory,
    Knowledge,
    NotTested,
    Part,
    Place,
    ProbeRun,
    Reading,
    Run,
)
from livecheck.topology.called import SAID
from livecheck.worded import table_word
from livecheck.wording import text

_Row = TypeVar("_Row", Controller, Place, Part)
_Say = Callable[[str], str]


def worded_runs(
    runs: Iterable[Run], tables: Knowledge, own: Collection[str] = ()
) -> tuple[Run, ...]:
    """Runs in the language that is spoken; not to be saved.

    Finders' common words are English: the title of the kind takes their place. ``own``: what
    the shop itself calls places, which stays as it is.
    """
    if spoken() == ENGLISH:
        return tuple(runs)

    def called(row: _Row) -> _Row:
        kind = tables.kinds.get(row.kind)
        if kind is None:
            return row
        name = row.name if row.name in own else figures(proper(row.name, kind.title))
        if isinstance(row, Place) and isinstance(side := row.attributes.get("where"), str):
            name = f"{name} {table_word(f'socket-side.{side}', side)}".strip()
        if isinstance(row, Part) and row.bench_own:
            name = f"{name}{SAID}{text('names.bench-own')})"
        return msgspec.structs.replace(row, name=titled(kind.title, name))

    def worded(run: Run) -> Run:
        seen = run.inventory
        shown = msgspec.structs.replace(
            seen, controllers=tuple(map(called, seen.controllers)),
            places=tuple(map(called, seen.places)), parts=tuple(map(called, seen.parts)),
        )  # fmt: skip
        say = partial(reworded, names=_called(seen, shown))
        return msgspec.structs.replace(
            run, inventory=shown, readings=tuple(_reading(one, say) for one in run.readings),
            not_tested=tuple(_missed(one, say) for one in run.not_tested),
            probes=tuple(_ended(one, say) for one in run.probes),
        )  # fmt: skip

    return tuple(map(worded, runs))


def names_of(seen: Run, shown: Run) -> dict[str, str]:
    """What components are called in a run, and what in the same run that is worded."""
    return _called(seen.inventory, shown.inventory)


def _called(seen: Inventory, shown: Inventory) -> dict[str, str]:
    return dict(zip(_names(seen), _names(shown), strict=True))


def _names(seen: Inventory) -> Iterator[str]:
    for rows in (seen.controllers, seen.places, seen.parts):
        yield from (row.name for row in rows)


def worded_reading(one: Reading, names: Mapping[str, str]) -> Reading:
    """A reading in the language that is spoken."""
    return one if spoken() == ENGLISH else _reading(one, partial(reworded, names=names))


def _reading(one: Reading, say: _Say) -> Reading:
    """Raw lines and values stay, and what the next step is chosen by."""
    why = one.why_not
    return msgspec.structs.replace(
        one, says=say(one.says), source=say(one.source),
        why_not=why if why in (None, NEITHER) else say(why),
        conditions=tuple(map(say, one.conditions)),
    )  # fmt: skip


def _missed(one: NotTested, say: _Say) -> NotTested:
    return msgspec.structs.replace(one, what=say(one.what), why=say(one.why))


def _ended(one: ProbeRun, say: _Say) -> ProbeRun:
    return msgspec.structs.replace(one, says=say(one.says))
