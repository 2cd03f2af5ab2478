"""The self-checking load: right results pass, a spoilt one names its core."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from livecheck.native import _load, load

CPUS = sorted(os.sched_getaffinity(0))


@settings(max_examples=150, deadline=None)
@given(
    kind=st.sampled_from(load.KINDS),
    rounds=st.integers(1, 4000),
    seed=st.integers(0, 2**64 - 1),
)
def test_right_results_are_never_reported(kind: load.Kind, rounds: int, seed: int) -> None:
    assert _load.work(kind, rounds, seed) is None


@settings(max_examples=150, deadline=None)
@given(
    kind=st.sampled_from(load.KINDS),
    rounds=st.integers(1, 4000),
    seed=st.integers(0, 2**64 - 1),
    bit=st.integers(0, 19),
)
def test_one_spoilt_bit_is_always_reported(
    kind: load.Kind, rounds: int, seed: int, bit: int
) -> None:
    found = _load.work(kind, rounds, seed, 1 << bit)
    assert found is not None
    assert found[0] != found[1]


def test_integer_steps_are_inverses_by_number_theory() -> None:
    """The two constants of the backward steps, computed here with Python's own arithmetic."""
    assert pow(0x9E3779B97F4A7C15, -1, 2**64) == 0xF1DE83E19937733D


@pytest.mark.parametrize("wrong_core", CPUS[:2])
def test_the_core_that_computes_wrongly_is_named(wrong_core: int) -> None:
    results = load.run(CPUS, 0.5, lambda *_: False, {wrong_core: 4})
    assert [r.cpu for r in results if r.wrong] == [wrong_core]
    for result in results:
        assert result.pinned
        assert result.calls > 0
        assert result.wrong_count == (result.calls if result.cpu == wrong_core else 0)
        assert {w.kind for w in result.wrong} <= set(load.KINDS)


def test_stops_when_asked() -> None:
    results = load.run(CPUS, 60, lambda gone, _: gone > 0.2)
    assert all(result.calls > 0 for result in results)


def test_a_core_that_is_not_ours_is_not_named() -> None:
    (result,) = load.run([4095], 0.1, lambda *_: False)
    assert not result.pinned
    assert result.calls > 0


@pytest.mark.parametrize(("kind", "rounds"), [("matrix", 1), ("integer", 0), ("float", 2**32 + 1)])
def test_refusals(kind: str, rounds: int) -> None:
    with pytest.raises(ValueError, match=r"no work called|rounds must be"):
        _load.work(kind, rounds, 1)  # type: ignore[arg-type]


def test_threads_stay_on_their_core() -> None:
    """Pinning holds for the calling thread only: the caller may still run anywhere."""
    program = (
        "import os\n"
        "from livecheck.native import load\n"
        "cpus = sorted(os.sched_getaffinity(0))\n"
        "load.run(cpus, 0.1, lambda *_: False)\n"
        "assert sorted(os.sched_getaffinity(0)) == cpus\n"
    )
    subprocess.run([sys.executable, "-c", program], check=True, timeout=60)
