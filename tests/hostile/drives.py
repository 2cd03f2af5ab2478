"""A shop drive with something of everything on it, and what every command says of it."""

from __future__ import annotations

import contextlib
import io
import random
import sys
from collections.abc import Iterator
from pathlib import Path

from livecheck import capture, cli
from livecheck.case_index import learned
from livecheck.casefile import CaseFolder, Shop, place_names
from livecheck.casefile.place_names import board_of
from livecheck.recorder import lines, openings
from livecheck.recorder.file import RecordFile
from livecheck.recorder.openings import Opening
from livecheck.records import Proved, Run, encode
from livecheck.records.shop import ShopFacts
from tests import factories
from tests.case_index.drives import add_case, shop_at
from tests.recorder.machines import BOOT, MACHINE, record
from tests.shop_file import write_shop_file

REPO = Path(__file__).parents[2]
MAIN = [sys.executable, "-P", "-m", "livecheck"]
"""The program in a process of its own."""
CAPTURE = Path(capture.__file__).parent / "demo/contact-1.capture.gz"
A_PLACE = factories.port_and_battery().runs[0].inventory.places[0].id
PLACES = (
    "case.json",
    "summary.json",
    "report.html",
    "runs/0001/run.json",
    "outcomes/0001/outcome.json",
    "runs/0001/kernel.log",
    "runs/0001/recorder.jsonl",
    "runs/0001",
    "runs",
    "outcomes",
    ".lock",
    "/shop.toml",
    "/components.toml",
    "/bench.toml",
    "/model.toml",
    "/livecheck-cases/.lock",
    "/livecheck-cases/place-names.json",
    "/livecheck-cases/index.html",
    "/livecheck-cases/.recorder",
    "/livecheck-cases/.recorder/a.json",
    "/livecheck-cases/.recorder/a/recorder.jsonl",
    "/livecheck-cases/stray",
)
"""What an attack is put in the place of: in the first case, or (with a slash) from the top."""


def drive(top: Path) -> Shop:
    """Two cases, an outcome in each, settings, figures of the shop and learned, an open record."""
    shop = shop_at(top)
    for number in range(2):
        folder = add_case(shop, number)
        proved = Proved(case=folder.path.name, recorded="2026-03-03T00:00:00Z", component="x",
                        kind="drive", proved=True, fitted={"drive": 1})  # fmt: skip
        folder.add_proved(proved)
        folder.save_report("<p>report")
    write_shop_file(shop.root, ShopFacts())
    learned.use(shop.root, factories.learned_tables())
    (shop.root / "components.toml").write_text("[drive]\nweight = 2.0\n")
    own = first(shop).load().runs[0].inventory
    place_names.keep(shop.cases_folder, board_of(own.machine) or "", A_PLACE, "left socket")
    spool = shop.cases_folder / openings.FOLDER / "a"
    spool.mkdir(parents=True)
    recorded = record()
    file = RecordFile(spool, lines.encode(recorded.header))
    file.append(b"".join(map(lines.encode, recorded.samples)))
    opening = Opening(boot=BOOT, machine=MACHINE, folders=(f"{openings.FOLDER}/a",))
    openings.write(openings.note(shop.cases_folder, "a"), opening)
    return shop


def place(shop: Shop, where: str) -> Path:
    """Where one of ``PLACES`` stands."""
    if where.startswith("/"):
        return shop.root / where[1:]
    return first(shop).path / where


def first(shop: Shop) -> CaseFolder:
    """The case that is attacked."""
    return CaseFolder(shop.cases_folder / "2026-03-02-T-0")


def second(shop: Shop) -> CaseFolder:
    """The case beside it."""
    return CaseFolder(shop.cases_folder / "2026-03-02-T-1")


def command(*words: str) -> tuple[int, str, str]:
    """Status, output and messages of one command; what it raises is raised here."""
    out, err = io.TextIOWrapper(io.BytesIO(), encoding="utf-8"), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = cli.main(words)
        out.flush()
    assert isinstance(out.buffer, io.BytesIO)
    return status, out.buffer.getvalue().decode(), err.getvalue()


def commands(shop: Shop, scratch: Path) -> Iterator[tuple[str, tuple[int, str, str]]]:
    """Every command that reads or adds to the drive, and what came of it."""
    for words in all_commands(shop, scratch):
        yield " ".join(words), command(*words)


def asked(shop: Shop, scratch: Path, dice: random.Random) -> list[tuple[str, ...]]:
    """Three of them, the listing first."""
    first, *others = [*all_commands(shop, scratch), *_runs(shop)]
    return [first, *dice.sample(others, 2)]


def _runs(shop: Shop) -> list[tuple[str, ...]]:
    """Commands that probe a recorded machine, which takes them a second."""
    played = ("--from", str(CAPTURE), "--same-machine")
    at, case = ("--shop", str(shop.root)), first(shop).path
    named = [str(case)] if case.resolve() == case.absolute() else ["--ticket", "T-0", *at]
    return [
        ("run", *played, "--probes", "passive", *at, "--ticket", "T-1"),
        ("run", *played, "--probes", "passive", *at, "--case", "2026-03-02-T-0"),
        ("hand-over", *named, "--no-guided", *played),
    ]


def all_commands(shop: Shop, scratch: Path) -> list[tuple[str, ...]]:
    """Their words.

    A folder that is a link is not named to any: whoever names a link means what it leads to.
    """
    at, cases = ("--shop", str(shop.root)), (first(shop).path, second(shop).path)
    kept = scratch / "kept.json"
    kept.write_bytes(encode(Run(number=7, started="2026-05-01T00:00:00Z")))
    asked = [
        ("cases", *at, "--json", "--rebuild"),
        ("cases", *at),
        ("cases", *at, "--boards"),
        ("cases", *at, "--csv", str(scratch / "cases.csv")),
        ("save", str(kept), *at, "--ticket", "T-1"),
        ("learn", *at, "--json"),
    ]
    for case in (str(path) for path in cases if path.resolve() == path.absolute()):
        asked += [("locate", case), ("report", case), ("tree", case), ("parts", case, "--json")]
        asked += [("note", case, "a word", "--told", "since=weeks", "--cannot", "no spare: drive")]
        asked += [("note", case, "--call", f"{A_PLACE}=my socket")]
        asked += [("outcome", case, "--unit", "no-fault", "--proved", "no")]
    return asked
