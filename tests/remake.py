"""Makes anew every file that is made from others: ``python -m tests.remake [PART ...]``.

    captures    the demonstration's recorded machines; after a probe asks something new
    pages       check table, guide, record format and its schema, man pages and completions;
                after a change of checks, components, cautions, records or commands
    pictures    the demo's reports, pictures of report and console; needs Chromium

Without a part all of them, in this order: the later ones are made from the earlier.
Tests say which part is stale. The same checkout gives the same files.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import Final

from tests import pictures
from tests.testbeds import build_demo

PARTS: Final[dict[str, Callable[[], None]]] = {
    "captures": build_demo.main,
    "pages": pictures.write_pages,
    "pictures": pictures.write_pictures,
}


def _part(word: str) -> str:
    if word not in PARTS:
        raise argparse.ArgumentTypeError(f"{word!r} is none of {', '.join(PARTS)}")
    return word


def main() -> None:
    """Make the parts that were asked for."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.remake",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("part", nargs="*", metavar="PART", type=_part)
    asked = parser.parse_args().part
    for name, make in PARTS.items():
        if not asked or name in asked:
            print(f"{name} …", flush=True)
            make()


if __name__ == "__main__":
    main()
