"""Words of the tables in the language that is spoken: sentences, kinds, cautions, questions.

The tables hold them in English beside their figures; a catalogue of another language has them
by key (``table_words``), and what it lacks stays English. Records and reports are judged and
written by the English tables: only a screen puts these over them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

import msgspec

from livecheck.languages import ENGLISH, spoken
from livecheck.records import Check, IntakeRow, Knowledge
from livecheck.records.tables import HISTORY, KERNEL
from livecheck.wording import catalogue, text

_FIELDS = (("kinds", "title", "kind"), ("kinds", "workaround", "workaround"),
           ("cautions", "text", "caution"), ("intake", "title", "intake-row"),
           ("checks", "question", "question"), ("checks", "setting", "setting"),
           ("checks", "lacks", "lacks"), ("checks", "again", "again"))  # fmt: skip
"""Table, field of its rows, and section of the catalogue."""


def worded(tables: Knowledge) -> Knowledge:
    """The tables in the language that is spoken."""
    if spoken() == ENGLISH:
        return tables
    known = catalogue(spoken())
    own: dict[str, Any] = {
        "sentences": {key: known.get(f"say.{key}", said) for key, said in tables.sentences.items()}
    }
    for table, field, section in _FIELDS:
        rows = own.get(table) or getattr(tables, table)
        own[table] = {name: _row(row, field, f"{section}.{name}", known)
                      for name, row in rows.items()}  # fmt: skip
    states = {name: _row(row, "title", f"state.{name}", known)
              for name, row in tables.model.hidden_states.items()}  # fmt: skip
    own["model"] = msgspec.structs.replace(tables.model, hidden_states=states)
    found: Knowledge = msgspec.structs.replace(tables, **own)
    logged = {name: _of_the_log(found, check) for name, check in found.checks.items()
              if name.startswith(HISTORY)}  # fmt: skip
    return msgspec.structs.replace(found, checks=found.checks | logged)


def _of_the_log(tables: Knowledge, check: Check) -> Check:
    """A check of the installed system's log asks what that of the stick's own kernel does."""
    own = tables.checks[check.name.replace(HISTORY, KERNEL, 1)]
    asked = text("log.question", question=own.question)
    return msgspec.structs.replace(check, question=asked, setting=own.setting, lacks=own.lacks)


def _row(row: msgspec.Struct, field: str, key: str, known: Mapping[str, str]) -> msgspec.Struct:
    return msgspec.structs.replace(row, **{field: known[key]}) if key in known else row


def table_word(key: str, english: str) -> str:
    """What stands in English in a table or a record, in the language that is spoken."""
    return catalogue(spoken()).get(key, english)


def choice_title(row: IntakeRow, words: str) -> str:
    """An answer of the intake sheet as it is read: those to choose from are saved in English."""
    return table_word(_choice(row, words), words) if words in row.choices else words


def _choice(row: IntakeRow, words: str) -> str:
    return f"intake-choice.{row.about}.{slug(words)}"


def slug(words: str) -> str:
    """English words as a part of a key."""
    return re.sub("[^a-z]+", "-", words.lower())


def table_words(tables: Knowledge) -> Iterator[tuple[str, str]]:
    """Every word of the tables that a screen may show: its key in a catalogue, and its English."""
    for table, field, section in _FIELDS:
        for name, row in getattr(tables, table).items():
            if (said := getattr(row, field)) and not name.startswith(HISTORY):
                yield f"{section}.{name}", said
    for name, state in tables.model.hidden_states.items():
        yield f"state.{name}", state.title
    for row in tables.intake.values():
        yield from ((_choice(row, words), words) for words in row.choices)
