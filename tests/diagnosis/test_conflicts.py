"""Conflicts, minimal diagnoses, suspicion scores and the choice of measurement.

Expected sets were computed by brute force outside this project from the circuits
of the papers named beside each test.
"""

from __future__ import annotations

import math
import random
from itertools import chain, combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pysat.examples.hitman import Hitman

from livecheck.diagnosis import locate
from livecheck.diagnosis.model import conflicts, spectrum
from livecheck.diagnosis.model.conflicts import JudgedCheck
from livecheck.diagnosis.steps import measure
from tests.diagnosis.circuits import (
    FULL_ADDER,
    MANUAL_ADDER,
    POLYBOX,
    POLYBOX_INPUTS,
    Circuit,
    Values,
    consistent_boolean,
    polybox_values,
)
from tests.diagnosis.laptop import DRIVE1, DRIVE2, PORT1, drive, laptop, reading, run, tables

GATES = frozenset(POLYBOX)
TABLES = tables()


def sets(*words: str) -> frozenset[frozenset[str]]:
    """``sets("A1 M1", "M2")`` -> {{A1, M1}, {M2}}."""
    return frozenset(frozenset(word.split()) for word in words)


def subsets(of: frozenset[str]) -> list[frozenset[str]]:
    members = sorted(of)
    every = chain.from_iterable(combinations(members, n) for n in range(len(members) + 1))
    return [frozenset(chosen) for chosen in every]


# De Kleer & Williams, "Diagnosing Multiple Faults", Artificial Intelligence 32:97-130, 1987.
# Conflicts as printed on public lecture slides of a course on it; the rest computed by brute
# force over all 32 candidates.

SEEN_F = {**POLYBOX_INPUTS, "F": 10}
SEEN = {**SEEN_F, "G": 12}


def polybox_conflicts(seen: Values) -> frozenset[frozenset[str]]:
    return conflicts.minimal_conflicts(GATES, lambda s: polybox_values(s, seen) is not None)


def polybox_diagnoses(seen: Values) -> frozenset[frozenset[str]]:
    return conflicts.minimal_diagnoses(GATES, lambda s: polybox_values(s, seen) is not None)


def polybox_candidates(seen: Values) -> list[frozenset[str]]:
    return [d for d in subsets(GATES) if polybox_values(GATES - d, seen) is not None]


def polybox_posterior(seen: Values, p: float = 0.01) -> dict[frozenset[str], float]:
    """Independent faults of probability p; every consistent candidate equally likely to show."""
    weights = {d: p ** len(d) * (1 - p) ** (len(GATES) - len(d)) for d in polybox_candidates(seen)}
    total = sum(weights.values())
    return {d: weight / total for d, weight in weights.items()}


def predictions(seen: Values, point: str) -> list[measure.Prediction]:
    rows: list[measure.Prediction] = []
    for candidate, probability in polybox_posterior(seen).items():
        values = polybox_values(GATES - candidate, seen)
        assert values is not None
        rows.append((probability, values.get(point)))
    return rows


def test_polybox_conflicts_and_diagnoses() -> None:
    assert polybox_conflicts(SEEN) == sets("A1 M1 M2", "A1 A2 M1 M3")
    assert polybox_diagnoses(SEEN) == sets("A1", "M1", "A2 M2", "M2 M3")


def test_polybox_candidates_by_size() -> None:
    sizes = [len(c) for c in polybox_candidates(SEEN)]
    assert [sizes.count(n) for n in range(6)] == [0, 2, 9, 10, 5, 1]


def test_polybox_with_one_output_measured() -> None:
    assert polybox_conflicts(SEEN_F) == sets("A1 M1 M2")
    assert polybox_diagnoses(SEEN_F) == sets("A1", "M1", "M2")
    assert len(polybox_candidates(SEEN_F)) == 28


@pytest.mark.parametrize(
    ("x", "diagnosis", "probability"),
    [(4, "M1", 0.9606), (6, "A1", 0.9420), (6, "A2 M2", 0.0095), (6, "M2 M3", 0.0095)],
)
def test_polybox_after_measuring_x(x: int, diagnosis: str, probability: float) -> None:
    seen = {**SEEN, "X": x}
    found = frozenset(diagnosis.split())
    assert found in polybox_diagnoses(seen)
    assert polybox_posterior(seen)[found] == pytest.approx(probability, abs=5e-5)


def test_polybox_x_equal_4_leaves_one_minimal_diagnosis() -> None:
    assert polybox_diagnoses({**SEEN, "X": 4}) == sets("M1")


def test_polybox_probabilities() -> None:
    posterior = polybox_posterior(SEEN)
    marginal = {g: sum(w for d, w in posterior.items() if g in d) for g in GATES}
    assert posterior[frozenset({"A1"})] == pytest.approx(0.478026, abs=5e-7)
    assert posterior[frozenset({"M1"})] == pytest.approx(0.478026, abs=5e-7)
    assert marginal["A1"] == marginal["M1"] == pytest.approx(0.497635, abs=5e-7)
    assert marginal["M2"] == pytest.approx(0.019609, abs=5e-7)
    assert marginal["M3"] == marginal["A2"] == pytest.approx(0.014780, abs=5e-7)
    assert measure.entropy(posterior.values()) == pytest.approx(1.3594, abs=5e-5)


@pytest.mark.parametrize(
    ("point", "masses", "apart", "spread"),
    [
        ("X", {4: 0.492561, 6: 0.502365, None: 0.005074}, 0.3186, 0.3646),
        ("Y", {6: 0.990097, 4: 0.009706, None: 0.000197}, 1.2779, 1.2801),
        ("Z", {6: 0.994926, 8: 0.004829, None: 0.000246}, 1.3120, 1.3146),
    ],
)
def test_polybox_next_measurement_table(
    point: str, masses: dict[int | None, float], apart: float, spread: float
) -> None:
    rows = predictions(SEEN, point)
    for value, mass in masses.items():
        assert sum(p for p, v in rows if v == value) == pytest.approx(mass, abs=1e-6)
    assert measure.expected_entropy(rows, spread=False) == pytest.approx(apart, abs=5e-5)
    assert measure.expected_entropy(rows, spread=True) == pytest.approx(spread, abs=5e-5)


def test_polybox_chooses_x() -> None:
    assert measure.best({p: predictions(SEEN, p) for p in "ZYX"}) == "X"


def test_polybox_chooses_x_among_the_minimal_diagnoses_alone() -> None:
    weights = {"A1": 0.495, "M1": 0.495, "A2 M2": 0.005, "M2 M3": 0.005}
    assert measure.entropy(weights.values()) == pytest.approx(1.0808, abs=5e-5)
    expected = {"X": 0.0809, "Y": 1.0000, "Z": 1.0354}
    points = {}
    for point, bits in expected.items():
        points[point] = [
            (w, (polybox_values(GATES - set(d.split()), SEEN) or {}).get(point))
            for d, w in weights.items()
        ]
        assert measure.expected_entropy(points[point]) == pytest.approx(bits, abs=5e-5)
    assert measure.best(points) == "X"


# Reiter, "A theory of diagnosis from first principles", Artificial Intelligence 32:57-95, 1987,
# and the correction by Greiner, Smith & Wilkerson, 1989: families from memory, answers by brute
# force.


def test_reiter_family() -> None:
    family = ["2 4 5", "1 2 3", "1 3 5", "2 4 6", "2 4", "2 3 5", "1 6"]
    assert conflicts.minimal_hitting_sets(sets(*family)) == sets(
        "1 2", "1 3 4", "1 4 5", "2 3 6", "2 5 6", "3 4 6"
    )


def test_labels_that_are_not_minimal_do_no_harm() -> None:
    family = [frozenset(w) for w in ("ab", "bc", "ac", "bd", "b")]
    assert conflicts.minimal_hitting_sets(family) == sets("a b", "b c")


def test_full_adder() -> None:
    seen = {"a": 1, "b": 0, "c": 1, "sum": 1, "carry": 0}
    check = consistent_boolean(FULL_ADDER, seen)
    assert conflicts.minimal_conflicts(list(FULL_ADDER), check) == sets("X1 X2", "A2 O1 X1")
    assert conflicts.minimal_diagnoses(list(FULL_ADDER), check) == sets("X1", "A2 X2", "O1 X2")


@pytest.mark.parametrize(
    ("inputs", "outputs", "single"),
    [((1, 1, 0), (1, 0), {"F4"}), ((1, 0, 1), (0, 0), {"F1", "F3"})],
)
def test_manual_adder_at_most_one_fault(
    inputs: tuple[int, int, int], outputs: tuple[int, int], single: set[str]
) -> None:
    """The adder of a constraint language's manual (secondary copy), answers checked by hand.

    Inputs X, Y, Cin; outputs Sum, Cout. The fault model there is weak, one fault at most.
    """
    assert single_faults(MANUAL_ADDER, inputs, outputs) == single


def single_faults(
    circuit: Circuit, inputs: tuple[int, int, int], outputs: tuple[int, int]
) -> set[str]:
    seen = dict(zip(("X", "Y", "Cin", "Sum", "Cout"), inputs + outputs, strict=True))
    found = conflicts.minimal_diagnoses(list(circuit), consistent_boolean(circuit, seen))
    return {next(iter(d)) for d in found if len(d) == 1}


def test_agrees_with_an_independent_hitting_set_library() -> None:
    """python-sat's Hitman on 1,000 random families."""
    random_source = random.Random(1987)
    for _ in range(1000):
        universe = range(random_source.randint(1, 9))
        family = [
            random_source.sample(universe, random_source.randint(1, len(universe)))
            for _ in range(random_source.randint(1, 9))
        ]
        with Hitman(bootstrap_with=family, htype="sorted") as oracle:
            expected = frozenset(frozenset(found) for found in oracle.enumerate())
        assert conflicts.minimal_hitting_sets(family) == expected, family


@given(st.sets(st.frozensets(st.integers(0, 6), min_size=1), max_size=7))
def test_hitting_twice_gives_the_minimal_family_back(family: set[frozenset[int]]) -> None:
    """Duality of minimal transversals (Berge)."""
    hitting = conflicts.minimal_hitting_sets(family)
    assert conflicts.minimal_hitting_sets(hitting) == conflicts.minimal(family)


@given(st.sets(st.frozensets(st.integers(0, 6)), max_size=7), st.integers(0, 4))
def test_a_size_limit_only_leaves_out_the_larger(family: set[frozenset[int]], most: int) -> None:
    every = conflicts.minimal_hitting_sets(family)
    assert conflicts.minimal_hitting_sets(family, most) == {s for s in every if len(s) <= most}


def test_nothing_seen_and_nothing_possible() -> None:
    assert conflicts.minimal_hitting_sets([]) == frozenset({frozenset()})
    assert conflicts.minimal_hitting_sets([[]]) == frozenset()
    assert conflicts.minimal_diagnoses("ab", lambda _: False) == frozenset()
    assert conflicts.minimal_conflicts("ab", lambda _: False) == frozenset({frozenset()})
    assert conflicts.minimal_conflicts("ab", lambda _: True) == frozenset()


# Swap experiments: a run with device D in port P looks at {D, P, H}. Own examples of the standard
# theory, sets by brute force.

SWAPS = [
    ("D1P1- D2P1+ D1P2-", ("D1", "H", "P1 P2"), ("D1",)),
    ("D1P1- D2P1- D1P2+", ("P1", "H", "D1 D2"), ("P1",)),
    ("D1P1- D2P1+ D1P2+", ("D1", "P1", "H"), ()),
]


def runs_of(text: str) -> list[JudgedCheck]:
    return [
        JudgedCheck(
            name="works", failed=run[-1] == "-", looked_at=frozenset({run[:2], run[2:4], "H"})
        )
        for run in text.split()
    ]


@pytest.mark.parametrize(("runs", "weak", "permanent"), SWAPS)
def test_swap_experiments(runs: str, weak: tuple[str, ...], permanent: tuple[str, ...]) -> None:
    seen = conflicts.view(runs_of(runs))
    assert frozenset(seen.diagnoses) == sets(*weak)
    assert frozenset(seen.permanent) == sets(*permanent)
    assert seen.unexplained == (not permanent)


def test_a_failure_nobody_can_steadily_explain_names_no_part() -> None:
    said = conflicts.sentence(conflicts.view(runs_of(SWAPS[2][0])), str, TABLES)
    assert "contact" in said
    assert not {"D1", "P1", "H"} & set(said.replace(".", "").split())


def test_the_sentence_names_what_is_left() -> None:
    said = conflicts.sentence(
        conflicts.view(runs_of(SWAPS[0][0])), {"D1": "the drive"}.__getitem__, TABLES
    )
    assert "the drive" in said
    all_passed = conflicts.view(runs_of("D1P1+ D2P1+"))
    assert all_passed.diagnoses == all_passed.permanent == ()
    assert "No check failed" in conflicts.sentence(all_passed, str, TABLES)


def test_more_faults_than_searched_for_is_said() -> None:
    seen = conflicts.view(
        [JudgedCheck(name=c, failed=True, looked_at=frozenset({c})) for c in "abcd"], max_size=3
    )
    assert seen.permanent == ()
    assert not seen.unexplained
    assert "More faults at once" in conflicts.sentence(seen, str, TABLES)


@pytest.mark.parametrize(
    ("prior", "shows", "passes", "probability"),
    [
        (5, 0.5, 1, 0.9091),
        (5, 0.5, 3, 0.9756),
        (5, 0.5, 5, 0.9938),
        (1, 0.1, 10, 0.7415),
    ],
)
def test_intermittent_odds(prior: float, shows: float, passes: int, probability: float) -> None:
    """Odds = prior odds / (1-g)^n: standard theory, figures computed by hand."""
    odds = measure.odds_after_passes(prior, shows, passes)
    assert odds / (1 + odds) == pytest.approx(probability, abs=5e-5)


@pytest.mark.parametrize(("shows", "passes"), [(0.5, 5), (0.1, 28), (0.01, 293)])
def test_passes_to_95_percent(shows: float, passes: int) -> None:
    assert measure.passes_to_reach(0.95, shows) == passes


def test_no_passes_needed_when_already_there() -> None:
    assert measure.passes_to_reach(0.95, 0.5, prior_odds=19) == 0
    assert measure.passes_to_reach(0.95, 0.5, prior_odds=1000) == 0


@pytest.mark.parametrize(("runs", "bound"), [(10, 0.2589), (29, 0.0981)])
def test_upper_bound_after_clean_runs(runs: int, bound: float) -> None:
    """Exact binomial 95 % bound for zero failures."""
    assert measure.hidden_rate(runs) == pytest.approx(bound, abs=5e-5)


def test_one_bad_of_eight_needs_three_tests() -> None:
    """The information bound of group testing, ceil(log2 N), is reached by the chosen halves."""
    left = list(range(8))
    bad, tests = 5, 0
    while len(left) > 1:
        groups = [frozenset(g) for n in range(1, len(left)) for g in combinations(left, n)]
        chosen = measure.best({g: [(1 / len(left), c in g) for c in left] for g in groups})
        left = [c for c in left if (c in chosen) == (bad in chosen)]
        tests += 1
    assert left == [bad]
    assert tests == math.ceil(math.log2(8))


# Jones & Harrold, "Empirical evaluation of the Tarantula automatic fault-localization technique",
# ASE 2005: mid() with the bug at line 7. Program from memory, scores computed.


def lines_of_mid(x: int, y: int, z: int) -> tuple[set[int], int]:
    """Executed lines and result of the paper's faulty mid()."""
    lines, m = {1, 2, 3, 13}, z
    if y < z:
        lines.add(4)
        if x < y:
            lines.add(5)
            m = y
        else:
            lines.add(6)
            if x < z:
                lines.add(7)
                m = y
    else:
        lines |= {8, 9}
        if x > y:
            lines.add(10)
            m = y
        else:
            lines.add(11)
            if x > z:
                lines.add(12)
                m = x
    return lines, m


def mid_spectrum() -> list[tuple[set[int], bool]]:
    inputs = [(3, 3, 5), (1, 2, 3), (3, 2, 1), (5, 5, 5), (5, 3, 4), (2, 1, 3)]
    runs = [(lines_of_mid(*given), sorted(given)[1]) for given in inputs]
    rows = [(lines, result != right) for (lines, result), right in runs]
    assert [failed for _, failed in rows] == [False] * 5 + [True]
    return rows


@pytest.mark.parametrize(
    ("lines", "ochiai"),
    [
        ((1, 2, 3, 13), 0.408),
        ((4,), 0.500),
        ((6,), 0.577),
        ((7,), 0.707),
        ((5, 8, 9, 10, 11), 0.0),
    ],
)
def test_suspicion_scores(lines: tuple[int, ...], ochiai: float) -> None:
    for line in lines:
        assert spectrum.ochiai(mid_spectrum())[line] == pytest.approx(ochiai, abs=5e-4)


def test_a_line_never_executed_scores_nothing() -> None:
    assert 12 not in spectrum.ochiai(mid_spectrum())
    used_nowhere = [(frozenset[int](), True), (frozenset({1}), False)]
    assert spectrum.ochiai(used_nowhere) == {1: 0.0}
    assert spectrum.ochiai([(frozenset({1}), False)]) == {1: 0.0}


def test_a_case_is_told_without_odds_too() -> None:
    """Row 2 of the swap table, as a case: two drives fail at one port."""
    runs = [
        run(1, laptop(drive(DRIVE1, PORT1)), reading("storage.works", DRIVE1, False)),
        run(2, laptop(drive(DRIVE2, PORT1)), reading("storage.works", DRIVE2, False)),
    ]
    told = locate("case", runs, tables()).explanation[-1]
    assert told.startswith("By elimination alone:")
    assert "SATA port 1" in told
    sound = locate("case", [run(1, laptop(drive(DRIVE1, PORT1)))], tables())
    assert not any("By elimination" in sentence for sentence in sound.explanation)
