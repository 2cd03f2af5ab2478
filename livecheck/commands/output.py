"""What commands print: results on standard output, all else on standard error."""

from __future__ import annotations

import re
import sys
from typing import TYPE_CHECKING, Final

import msgspec

from livecheck.commands.language import telling
from livecheck.languages import ENGLISH, spoken
from livecheck.wording import clean, text

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from livecheck.casefile import Loaded
    from livecheck.probes.runner import Event
    from livecheck.records import Knowledge, Location
    from livecheck.saving import Saved


MOST: Final = 2000
"""Characters of a line of a message: it may repeat what it is about, which has no end."""

_STEERS: Final = re.compile("[\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]")


def complain(message: str) -> None:
    """A message on standard error; names and keys of files in it steer no terminal."""
    said = "\n".join(map(told, message.split("\n")))
    lines = "\n".join(clean(line[:MOST])[:MOST] for line in said.split("\n"))
    print(f"livecheck: {lines}", file=sys.stderr)


def told(line: str) -> str:
    """A line of English in the language that is told in."""
    with telling():
        if spoken() == ENGLISH:
            return line
        from livecheck.found_words import reworded

        bare = line.lstrip(" ")
        return f"{line[: len(line) - len(bare)]}{reworded(bare)}"


def say(words: str, end: str = "\n") -> None:
    """Lines on standard error, as standard output is for the result."""
    lines = "\n".join(clean(told(line)) for line in words.split("\n"))
    print(lines, end=end, file=sys.stderr, flush=True)


def agreed(explained: Sequence[str], *, yes: bool) -> bool:
    """Whether to begin, once it is said what will happen and what to heed (all but the first).

    ``yes``: nobody is asked.
    """
    happens, *heed = explained
    with telling():
        cautions = [text("console.caution", says=one) for one in heed]
    say("\n".join((happens, *cautions)))
    return yes or answered("Begin?")


def answered(question: str) -> bool:
    """Whether a question is answered by yes at the terminal."""
    say(f"{question} [y/N]", end=" ")
    return sys.stdin.readline().strip().lower() in ("y", "yes")


def tell(event: Event) -> None:
    """One line of progress on standard error."""
    from livecheck import printing

    with telling():
        line = printing.event(event)
    if line:
        print(line, file=sys.stderr)


def print_saved(saved: Saved, tables: Knowledge, as_json: bool) -> None:
    """What a saved run came to, on standard output."""
    from livecheck import printing

    if as_json:
        print_json(printing.saved_json(saved))
        return
    with telling():
        shown, said, found = in_words(saved.loaded, saved.location, tables, saved.case_folder)
        shown_so = msgspec.structs.replace(saved, loaded=shown, location=found)
        print(printing.saved(shown_so, said))


def print_verdict(case: Path, loaded: Loaded, location: Location, tables: Knowledge) -> None:
    """A case as it is judged now, on standard output. ``case``: its folder."""
    from livecheck import printing

    with telling():
        shown, said, found = in_words(loaded, location, tables, case)
        print(printing.verdict(shown, found, said))


def in_words(
    loaded: Loaded, location: Location, tables: Knowledge, case: Path | str
) -> tuple[Loaded, Knowledge, Location]:
    """A case in the language that is told in, as for a screen. ``case``: its folder."""
    if spoken() == ENGLISH:
        return loaded, tables, location
    from pathlib import Path

    from livecheck.casefile.place_names import own_words
    from livecheck.judgement import locate_in_words

    return locate_in_words(loaded, tables, own_words(Path(case).parent))


def print_path(path: Path) -> None:
    """Where a file was made, on standard output."""
    print(clean(str(path)))


def print_json(value: object) -> None:
    """A result for other programs, on standard output."""
    told = msgspec.json.format(msgspec.json.encode(value), indent=1)
    # In JSON what steers a terminal (ECMA-48, 8.3) or turns a line round can be spelt out.
    plain = _STEERS.sub(lambda found: f"\\u{ord(found[0]):04x}", told.decode())
    sys.stdout.buffer.write(plain.encode() + b"\n")
    sys.stdout.buffer.flush()
