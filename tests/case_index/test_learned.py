"""What a shop's confirmed cases taught is used when told to, told in every verdict, and undone."""

from __future__ import annotations

import json
from pathlib import Path

import msgspec
import pytest

from livecheck import cli, knowledge
from livecheck.case_index import learned
from livecheck.case_index.outcomes import confirmed, read_taught
from livecheck.case_index.settings import BrokenSettings, read_settings
from livecheck.casefile import Shop
from livecheck.judgement import shop_tables
from livecheck.learning import held_out
from livecheck.records import Proved
from livecheck.records.shop import ShopFacts
from tests import factories
from tests.case_index.drives import add_case
from tests.shop_file import write_shop_file
from tests.simulation.confirmed import Shelf

TABLES = knowledge.load()
CASES = 42


def outcome(component: str, *, proved: bool = True, recorded: str = "1") -> Proved:
    return Proved(case="c", recorded=recorded, component=component, kind="x", proved=proved)


@pytest.mark.parametrize(
    ("outcomes", "component"),
    [
        ([], None),
        ([outcome("drive", proved=False)], None),
        ([outcome("drive"), outcome("drive", recorded="2")], "drive"),
        ([outcome("drive"), outcome("drive", recorded="2", proved=False)], None),
        ([outcome("drive", proved=False), outcome("battery")], "battery"),
        ([outcome("drive"), outcome("battery")], None),
    ],
)
def test_which_cases_count(outcomes: list[Proved], component: str | None) -> None:
    """The last word on each component; of two that were proved no check tells which it showed."""
    found = confirmed(outcomes)
    assert (found.component if found else None) == component


@pytest.fixture(scope="module", name="drive")
def _drive(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop drive with confirmed cases, as a bench saves them."""
    root = tmp_path_factory.mktemp("drive")
    shop = Shop(root)
    for case in Shelf(1, 4, 1).cases(CASES, TABLES, None):
        run = case.runs[0]
        folder = shop.open_case(run.inventory, case.proved.case, run.complaint, run.started)
        folder.save_run(msgspec.structs.replace(run, number=folder.claim_run()))
        folder.add_proved(msgspec.structs.replace(case.proved, case=folder.path.name))
    return root


def run(drive: Path, *words: str) -> int:
    return cli.main(["learn", "--shop", str(drive), *words])


def test_a_shop_with_few_cases_is_where_it_started(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for number in range(3):
        add_case(Shop(tmp_path), number, proved="mainboard")
    assert len(read_taught(Shop(tmp_path).cases_folder)[0]) == 3
    assert run(tmp_path, "--use") == 3
    told = capsys.readouterr().err
    assert "3 confirmed cases" in told
    assert f"{held_out.least_machines(TABLES)} machines are needed" in told
    assert not (tmp_path / learned.FILE).exists()
    assert shop_tables(tmp_path) == (TABLES, None)


def test_shown_used_and_undone(
    drive: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """By the command line, from the runs on the drive; what is not surely better is refused."""
    assert run(drive, "--json") == 0
    found = json.loads(capsys.readouterr().out)["learned"]
    assert len(found["cases"]) == found["held_out"]["cases"] == CASES
    monkeypatch.setattr(held_out, "SURE", 1e9)
    assert run(drive, "--use") == 3
    out, err = capsys.readouterr()
    assert f"{CASES} confirmed cases" in out
    assert "false alarms: all checks that are not named" in out
    assert "not surely better" in err
    assert shop_tables(drive) == (TABLES, None)
    monkeypatch.setattr(held_out, "SURE", -1e9)
    assert run(drive, "--use") == 0
    tables, trouble = shop_tables(drive)
    assert trouble is None
    assert tables.origin == f"built-in, moved by {CASES} confirmed cases of this shop"
    assert tables.checks != TABLES.checks
    # Learned anew it starts from the table again, and comes to the same.
    capsys.readouterr()
    assert run(drive, "--json") == 0
    assert json.loads(capsys.readouterr().out)["learned"]["learned"] == found["learned"]
    (case, *_) = found["cases"]
    assert cli.main(["locate", case, "--shop", str(drive)]) == 0
    assert shop_tables(drive, besides=case) == (TABLES, None)
    assert run(drive, "--undo") == 0
    assert shop_tables(drive) == (TABLES, None)
    assert "Nothing learned is in use" in capsys.readouterr().out


def test_what_is_in_use_is_shown_without_learning_anew(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(tmp_path, "--show") == 0
    assert "Nothing learned is in use" in capsys.readouterr().out
    learned.use(tmp_path, factories.learned_tables())
    assert run(tmp_path, "--show") == 0
    shown = capsys.readouterr().out
    assert "2 confirmed cases" in shown
    assert "shows: storage.link-errors part" in shown
    assert "1 mended, 0 spoilt" in shown


def test_figures_read_are_the_figures_used(tmp_path: Path) -> None:
    """A factor of 0.5 on odds of p is p / (2 - p)."""
    learned.use(tmp_path, factories.learned_tables())
    tables, _ = shop_tables(tmp_path)
    rows = {t.origin: t.checks["storage.link-errors"].blames for t in (TABLES, tables)}
    before, after = ({row.who: row.detect for row in blames} for blames in rows.values())
    assert after == before | {"part": pytest.approx(before["part"] / (2 - before["part"]))}
    weight = TABLES.kinds["battery"].weight
    assert tables.kinds["battery"].weight == pytest.approx(1.5 * weight)
    alarm = TABLES.checks["storage.wear"].false_alarm
    assert tables.checks["storage.wear"].false_alarm == pytest.approx(2 * alarm / (1 + alarm))


@pytest.mark.parametrize(
    "change",
    [
        lambda text: text.replace(b"1.5", b"2.5"),
        lambda text: text.split(b',\n "checksum"')[0].replace(b"1.5", b"50.0") + b"\n}\n",
        lambda text: text[:200],
        lambda text: b"[]",
    ],
)
def test_a_damaged_file_is_ignored_and_told(tmp_path: Path, change: object) -> None:
    """A bit lost, a figure farther than any may move, a file cut off: the tables do without."""
    learned.use(tmp_path, factories.learned_tables())
    file = tmp_path / learned.FILE
    assert callable(change)
    file.write_bytes(change(file.read_bytes()))
    tables, trouble = shop_tables(tmp_path)
    assert tables == TABLES
    assert trouble is not None
    assert learned.FILE in trouble
    assert "left out" in trouble


def test_a_shop_can_do_without(tmp_path: Path) -> None:
    learned.use(tmp_path, factories.learned_tables())
    write_shop_file(tmp_path, ShopFacts(), learns=False)
    assert shop_tables(tmp_path) == (TABLES, None)


@pytest.mark.parametrize("text", ["[priors]\noutcomes = 3", "[prior]\n", "[[", "\xff"])
def test_a_broken_settings_file_is_told(tmp_path: Path, text: str) -> None:
    (tmp_path / "shop.toml").write_bytes(text.encode("latin-1"))
    with pytest.raises(BrokenSettings, match=r"shop\.toml"):
        read_settings(tmp_path)
    tables, trouble = shop_tables(tmp_path)
    assert tables == TABLES
    assert trouble is not None
    assert "left out" in trouble
