"""Confirmed outcomes move the priors as the published update of shares says, never silently."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import beta, dirichlet

from livecheck import knowledge
from livecheck.case_index import priors
from livecheck.case_index.outcomes import read_outcomes
from livecheck.case_index.settings import (
    BrokenSettings,
    Priors,
    Settings,
    read_settings,
    save_settings,
)
from livecheck.casefile import Shop
from livecheck.judgement import shop_tables
from livecheck.records import Complaint, Proved, Side
from tests.case_index.drives import add_case

TABLES = knowledge.load()
FITTED = {"drive": 1, "memory-module": 2, "battery": 1, "sata-port": 2, "contact:sata-port": 1}


def outcome(kind: str, case: str = "c", proved: bool = True, recorded: str = "1") -> Proved:
    return Proved(case=case, recorded=recorded, component=kind, kind=kind, proved=proved,
                  complaint=Complaint.UNSTABLE, fitted=FITTED)  # fmt: skip


def test_beta_update_of_the_textbook() -> None:
    """Gelman and others, Bayesian Data Analysis, 3rd edition, section 2.4: 437 girls of 980
    births, uniform prior (two pseudo-counts of share 1/2), gives Beta(438, 544), mean 0.446.
    """
    count = priors.KindCount(strength=2.0, expected=490.0, found=437, cases=980)
    assert 0.5 * count.factor == pytest.approx(beta(438, 544).mean())
    assert round(0.5 * count.factor, 3) == 0.446


@pytest.mark.parametrize("worth", [2, 5, 10, 20, 100, 200])
def test_beta_update_with_a_prior_worth_some_cases(worth: int) -> None:
    """The same births with a prior of mean 0.485 worth ``worth`` cases (its table 2.1)."""
    count = priors.KindCount(float(worth), 980 * 0.485, 437, 980)
    posterior = beta(worth * 0.485 + 437, worth * 0.515 + 543)
    assert 0.485 * count.factor == pytest.approx(posterior.mean())


def test_dirichlet_update_of_the_textbook() -> None:
    """Section 3.4 of the same: 727, 583 and 137 of 1447 answers, uniform prior (three
    pseudo-counts of share 1/3), gives Dirichlet(728, 584, 138).
    """
    counts = [priors.KindCount(3.0, 1447 / 3, n, 1447) for n in (727, 583, 137)]
    means = [count.factor / 3 for count in counts]
    assert means == pytest.approx(list(dirichlet([728, 584, 138]).mean()))
    assert sum(means) == pytest.approx(1.0)


def test_the_whole_way_from_outcomes_to_weights() -> None:
    """Ten drives proved in like machines: by hand, from the table's own weights."""
    worth = TABLES.model.table_cases.value
    alike = [outcome("drive", f"c{n}") for n in range(10)]
    moved = priors.learn(TABLES, alike)

    def own(kind: str) -> float:
        row = TABLES.kinds[kind]
        return row.weight * row.complaints.get(Complaint.UNSTABLE, 1.0)

    total = own("drive") + 2 * own("memory-module") + own("battery")
    total += (2 + TABLES.kinds["contact"].weight) * own("sata-port")
    share = own("drive") / total
    hoped = (worth * share + 10) / (worth * share + 10 * share)
    assert moved.kinds["drive"].weight / TABLES.kinds["drive"].weight == pytest.approx(
        hoped, rel=1e-3
    )
    drive = next(row for row in moved.learned if row.kind == "drive")
    assert drive.found == 10
    assert drive.expected == pytest.approx(10 * share, abs=1e-3)
    # Shares of what was fitted still sum to one: what one gains the others lose.
    after = priors.shares(moved, Complaint.UNSTABLE, FITTED)
    assert after["drive"] == pytest.approx((worth * share + 10) / (worth + 10), rel=0.01)
    # A kind no counted machine held stands as the table has it.
    assert moved.kinds["camera"] == TABLES.kinds["camera"]
    assert moved.origin == "built-in, moved by 10 confirmed outcomes of this shop"


@pytest.mark.parametrize(
    ("outcomes", "counted"),
    [
        ([], 0),
        ([outcome("drive", proved=False)], 0),
        ([outcome("drive"), outcome("drive", recorded="2")], 1),
        ([outcome("drive"), outcome("drive", recorded="2", proved=False)], 0),
        ([outcome("drive"), outcome("battery")], 2),
        ([outcome("drive", "mine")], 0),
    ],
)
def test_what_counts(outcomes: list[Proved], counted: int) -> None:
    """The last word on each component of each case; never the case that is being judged."""
    moved = priors.learn(TABLES, outcomes, besides="mine")
    assert sum(row.found for row in moved.learned) == counted
    assert (moved == TABLES) == (counted == 0)


def test_no_fault_and_software_are_shares_of_all_cases() -> None:
    """Beta: (A·s + n) / (A + N); they never reach what the engine caps."""
    mixed = [outcome("no-fault", f"n{n}") for n in range(30)]
    mixed += [outcome("drive", f"d{n}") for n in range(10)]
    moved = priors.learn(TABLES, mixed)
    worth, row = TABLES.model.table_cases.value, TABLES.model.no_fault
    share = row.under(Complaint.UNSTABLE)
    hoped = row.value * (worth * share + 30) / ((worth + 40) * share)
    assert moved.model.no_fault.value == pytest.approx(min(hoped, priors.MOST_SHARE), rel=1e-3)


KINDS = st.sampled_from(sorted({"drive", "memory-module", "battery", "no-fault", "software"}))


@settings(max_examples=60, deadline=None)
@given(st.lists(KINDS, max_size=40))
def test_weights_stay_weights(kinds: list[str]) -> None:
    """Whatever was proved: above zero, finite, shares below one; more of a kind never lowers it."""
    moved = priors.learn(TABLES, [outcome(kind, f"c{n}") for n, kind in enumerate(kinds)])
    assert all(0 < kind.weight < 1e6 for kind in moved.kinds.values())
    assert moved.kinds["software"].weight <= priors.MOST_SHARE
    assert 0 < moved.model.no_fault.value <= priors.MOST_SHARE
    more = priors.learn(
        TABLES, [outcome(kind, f"c{n}") for n, kind in enumerate([*kinds, "drive"])]
    )
    before = priors.shares(moved, Complaint.UNSTABLE, FITTED)["drive"]
    assert priors.shares(more, Complaint.UNSTABLE, FITTED)["drive"] >= before - 1e-3


def test_the_drive_s_outcomes_are_read_and_can_be_switched_off(tmp_path: Path) -> None:
    root = tmp_path
    shop = Shop(root)
    add_case(shop, 1, proved="drive")
    add_case(shop, 2, proved="battery")
    add_case(shop, 3, side=Side.NO_FAULT)
    outcomes, damaged = read_outcomes(shop.cases_folder)
    assert [o.kind for o in outcomes] == ["drive", "battery"]
    assert damaged == ()
    tables, trouble = shop_tables(root)
    assert trouble is None
    assert tables.origin.endswith("moved by 2 confirmed outcomes of this shop")
    mine, _ = shop_tables(root, besides=outcomes[0].case)
    assert mine.origin.endswith("moved by 1 confirmed outcome of this shop")
    save_settings(root, Settings(priors=Priors(outcomes=False)))
    assert shop_tables(root) == (TABLES, None)


@pytest.mark.parametrize("text", ["[priors]\noutcomes = 3", "[prior]\n", "[[", "\xff"])
def test_a_broken_settings_file_is_told(tmp_path: Path, text: str) -> None:
    root = tmp_path
    (root / "shop.toml").write_bytes(text.encode("latin-1"))
    with pytest.raises(BrokenSettings, match=r"shop\.toml"):
        read_settings(root)
    tables, trouble = shop_tables(root)
    assert tables == TABLES
    assert trouble is not None
    assert "left out" in trouble
