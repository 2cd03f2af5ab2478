"""A shop's own tables: figures it may change, and nonsense that is refused with the reason."""

from __future__ import annotations

from pathlib import Path

import pytest

from livecheck import knowledge
from livecheck.judgement import shop_tables

BUILT_IN = knowledge.load()


def written(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.write_text(text, "utf-8")
    return path


def test_a_shop_changes_single_figures_and_keeps_the_rest(tmp_path: Path) -> None:
    written(tmp_path, "components.toml", '[drive]\nweight = 4.5\nweight_source = "our cases"\n')
    written(tmp_path, "bench.toml", '[covers."bottom cover"]\nminutes = 9\nsource = "ours"\n')
    written(tmp_path, "model.toml", "[no_fault]\nvalue = 0.2\n")
    found, trouble = shop_tables(tmp_path)
    assert trouble is None
    drive = found.kinds["drive"]
    assert (drive.weight, drive.weight_source) == (4.5, "our cases")
    assert drive.complaints == BUILT_IN.kinds["drive"].complaints
    assert found.bench.covers["bottom cover"].minutes == 9.0
    assert found.bench.covers["screen frame"] == BUILT_IN.bench.covers["screen frame"]
    assert found.bench.actions == BUILT_IN.bench.actions
    assert found.model.no_fault.value == 0.2
    assert found.model.no_fault.complaints == BUILT_IN.model.no_fault.complaints
    assert all(str(tmp_path / name) in found.origin for name in knowledge.SHOP_TABLES)


@pytest.mark.parametrize(
    ("name", "text", "says"),
    [
        ("components.toml", "drive = 5", "drive is 5"),
        ("components.toml", "[drive]\nweight = inf", "[drive]"),
        ("components.toml", "[drive]\nweight = nan", "[drive]"),
        ("components.toml", "[drive]\nweight = 1e308", "[drive]"),
        ("components.toml", "[drive]\nweight = 0", "[drive]"),
        ("components.toml", "[drive]\nweight = -1", "[drive]"),
        ("components.toml", '[drive]\nweight = "many"', "[drive]"),
        ("components.toml", "[drive]\nprice = nan", "[drive]"),
        ("components.toml", "[drive]\nswap_minutes = 1e308", "[drive]"),
        ("components.toml", "[drive]\nrisk = 1.5", "[drive]"),
        ("components.toml", "[drive.complaints]\nslow = inf", "[drive]"),
        ("components.toml", "[drive.complaints]\nsloow = 2.0", "[drive]"),
        ("components.toml", "[drive.modes]\nmedium = 0.9", "sum to 1"),
        ("components.toml", '[drive]\nbehind = ["lid"]', "'lid'"),
        ("components.toml", '[drive]\nunit = "brick"', "'brick'"),
        ("components.toml", "[drive]\nwieght = 2", "wieght"),
        ("components.toml", "[flux-capacitor]\nweight = 2", "flux-capacitor"),
        ("components.toml", "[drive\n", "line 1"),
        ("bench.toml", "covers = 5", "covers"),
        ("bench.toml", '[covers."bottom cover"]\nminutes = inf', "minutes"),
        ("bench.toml", "[actions.trial]\nminutes = nan", "actions.trial.minutes"),
        ("bench.toml", "[actions.nap]\nminutes = 5", "nap"),
        ("model.toml", "no_fault = 5", "no_fault"),
        ("model.toml", "[no_fault]\nvalue = nan", "no_fault.value"),
        ("model.toml", "[symptom_group]\nvalue = 1.5", "symptom_group.value"),
        ("model.toml", "[board_verdict.complaints]\nslow = 2.0", "complaints"),
        ("components.toml", "[drive]\nfull_tests_show = 2", "[drive]"),
        ("model.toml", "[table_cases]\nvalue = inf", "table_cases.value"),
        ("model.toml", "[luck]\nvalue = 0.5", "luck"),
    ],
)
def test_nonsense_is_refused_with_file_and_row(
    tmp_path: Path, name: str, text: str, says: str
) -> None:
    path = written(tmp_path, name, text)
    with pytest.raises(knowledge.BrokenTable) as refused:
        knowledge.with_shop_file(BUILT_IN, path)
    assert str(path) in str(refused.value) and says in str(refused.value)
    found, trouble = shop_tables(tmp_path)
    assert found == BUILT_IN, "a broken table changes nothing"
    assert trouble and says in trouble


def test_rows_that_nothing_reads_are_gone() -> None:
    """Components only: each kind has a weight that counts."""
    for kind in BUILT_IN.kinds.values():
        assert "not used" not in kind.weight_source
        assert kind.role in ("part", "place", "controller", "mainboard", "software", "contact")
