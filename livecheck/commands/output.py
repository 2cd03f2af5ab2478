"""What commands print: results on standard output, all else on standard error."""

from __future__ import annotations

import re
import sys
from typing import TYPE_CHECKING, Final

import msgspec

from livecheck.wording import clean

if TYPE_CHECKING:
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
    lines = "\n".join(clean(line[:MOST])[:MOST] for line in message.split("\n"))
    print(f"livecheck: {lines}", file=sys.stderr)


def tell(event: Event) -> None:
    """One line of progress on standard error."""
    from livecheck import printing

    line = printing.event(event)
    if line:
        print(line, file=sys.stderr)


def print_saved(saved: Saved, tables: Knowledge, as_json: bool) -> None:
    """What a saved run came to, on standard output."""
    from livecheck import printing

    if as_json:
        print_json(printing.saved_json(saved))
    else:
        print(printing.saved(saved, tables))


def print_verdict(loaded: Loaded, location: Location, tables: Knowledge, as_json: bool) -> None:
    """A case as it is judged after a change of it, on standard output."""
    from livecheck import printing

    if as_json:
        print_json({"case": loaded.case, "location": location})
    else:
        print(printing.verdict(loaded, location, tables))


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
