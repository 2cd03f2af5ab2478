"""Words and figures: against the standards they follow, and against hostile text."""

from __future__ import annotations

import unicodedata
from string import Formatter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from livecheck import chances, wording
from livecheck.records import Complaint, Machine, Outcome, Presence, Side

N = wording.NBSP


@pytest.mark.parametrize("word", [*Outcome, *Presence, *Side, *Complaint])
def test_every_word_of_the_records_has_a_title(
    word: Outcome | Presence | Side | Complaint,
) -> None:
    assert wording.title(word)


# Bidirectional formatting characters of Unicode Standard Annex 9, section 2 (from memory).
BIDI = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"


@pytest.mark.parametrize("char", [*BIDI, "\x00", "\x1b", "\n", "\x7f", "\x9b", "\ud800", "\ufeff"])
def test_what_steers_or_hides_becomes_visible(char: str) -> None:
    assert wording.clean(f"a{char}b") == f"a[U+{ord(char):04X}]b"


@given(st.text(alphabet=st.characters()))
def test_clean_text_holds_nothing_hidden_and_stays_clean(raw: str) -> None:
    shown = wording.clean(raw)
    assert not {unicodedata.category(c) for c in shown} & {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
    assert wording.clean(shown) == shown
    shown.encode("utf-8")


def test_plain_text_of_any_script_is_left_alone() -> None:
    for plain in ("Größe 5 µm", "ドライブ", "קשיח", "19,5\u00a0V", "é as e\u0301"):
        assert wording.clean(plain) == plain


def test_a_heap_of_marks_cannot_paint_over_its_neighbours() -> None:
    assert wording.clean("e" + "\u0301" * 40).count("\u0301") == 2


# IPCC AR5 guidance note on uncertainty (2010), table 1 (from memory): virtually certain
# 99-100 %, very likely 90-100, likely 66-100, about as likely as not 33-66, unlikely 0-33,
# very unlikely 0-10, exceptionally unlikely 0-1.
@pytest.mark.parametrize(
    ("probability", "word"),
    [
        (0.995, "virtually certain"),
        (0.95, "very likely"),
        (0.70, "likely"),
        (0.50, "about as likely as not"),
        (0.20, "unlikely"),
        (0.05, "very unlikely"),
        (0.005, "exceptionally unlikely"),
    ],
)
def test_words_for_probabilities_follow_the_published_scale(probability: float, word: str) -> None:
    assert chances.chance(probability) == word


# Kass & Raftery 1995, section 3.2 (from memory), on 2 ln(Bayes factor): 0-2 not worth more
# than a bare mention, 2-6 positive, 6-10 strong, over 10 very strong.
@pytest.mark.parametrize(
    ("twice_log", "word"),
    [
        (1.9, "says little"),
        (-1.9, "says little"),
        (3.0, "speaks for it"),
        (7.0, "speaks strongly for it"),
        (11.0, "speaks very strongly for it"),
        (-11.0, "speaks very strongly against it"),
    ],
)
def test_words_for_weight_follow_the_published_scale(twice_log: float, word: str) -> None:
    assert chances.weight(twice_log / 2) == word


@given(st.floats(0, 1))
def test_a_percentage_never_claims_certainty(probability: float) -> None:
    shown = chances.percent(probability)
    assert shown not in (f"0{N}%", f"100{N}%")


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (None, "V", "not known"),
        (True, None, "yes"),
        (False, None, "no"),
        (19.4823, "V", f"19.48{N}V"),
        (1, "errors", f"1{N}error"),
        (0, "errors", f"0{N}errors"),
        (37, "°C", f"37{N}°C"),
        (-5.0, "°C", f"-5{N}°C"),
        (9.99996, "V", f"10{N}V"),
        (0.0, "A", f"0{N}A"),
        (0.00004, "A", f"4e-05{N}A"),
        (123456, "hours", f"123{N}456{N}h"),
        pytest.param(10**400, None, "1.00e+400", id="vast"),
        (1234.6, "rpm", f"1235{N}rpm"),
        (512110190592, "bytes", f"512{N}GB"),
        ("PASSED", None, "PASSED"),
        (float("nan"), "V", f"no number{N}V"),
    ],
)
def test_a_quantity_carries_its_unit_and_no_more_digits_than_it_deserves(
    value: str | float | bool | None, unit: str | None, shown: str
) -> None:
    assert wording.quantity(value, unit) == shown


# IEC 80000-13: kibi is 1024; SI: kilo is 1000.
@pytest.mark.parametrize(
    ("number", "binary", "shown"),
    [
        (8 * 2**30, True, f"8{N}GiB"),
        (999, False, f"999{N}B"),
        (1000, False, f"1{N}kB"),
        (999_999, False, f"1{N}MB"),
        (2**20 - 1, True, f"1{N}MiB"),
        (1_500_000_000_000, False, f"1.5{N}TB"),
    ],
)
def test_sizes(number: int, binary: bool, shown: str) -> None:
    assert wording.size(number, binary) == shown


@pytest.mark.parametrize("number", [10**400, -(10**400), float("nan")], ids=["huge", "low", "nan"])
def test_a_size_without_measure_is_no_number(number: float) -> None:
    """JSON has integers of any length, and a record may hold them (RFC 8259, 6)."""
    assert wording.size(number) == wording.text("value.no-number")


def test_run_numbers_are_joined() -> None:
    assert wording.numbers([3, 1, 2, 5]) == "1–3, 5"
    assert wording.numbers([1, 2]) == "1, 2"
    assert wording.runs([4]) == "run 4"


def test_bench_times() -> None:
    assert [wording.minutes(m) for m in (0.2, 5, 60, 75)] == [
        f"1{N}min",
        f"5{N}min",
        f"1{N}h",
        f"1{N}h 15{N}min",
    ]


def test_times_lose_their_letters_and_nothing_else() -> None:
    assert wording.moment("2026-03-02T09:14:09Z") == f"2026-03-02 09:14{N}UTC"
    assert wording.moment("yesterday") == "yesterday"


def test_every_text_that_counts_has_both_forms_with_the_same_fields() -> None:
    texts = wording.catalogue()
    for key, one in texts.items():
        stem, _, form = key.rpartition(".")
        if form == "one" and not stem.startswith("unit."):
            fields = {f for _, f, _, _ in Formatter().parse(one) if f}
            other = {f for _, f, _, _ in Formatter().parse(texts[f"{stem}.other"]) if f}
            assert fields <= other | {"n"}, key


def test_a_text_that_is_not_there_is_an_error() -> None:
    with pytest.raises(KeyError):
        wording.text("no.such.text")


@pytest.mark.parametrize(
    ("maker", "model", "named"),
    [
        ("Larkhollow", "Tern 14", "Larkhollow Tern 14"),
        ("Larkhollow", "LARKHOLLOW Tern 14", "LARKHOLLOW Tern 14"),
        (None, "Tern 14", "Tern 14"),
        ("Larkhollow", None, "Larkhollow"),
        (None, None, ""),
    ],
)
def test_a_maker_is_named_once(maker: str | None, model: str | None, named: str) -> None:
    assert Machine(vendor=maker, product=model).named == named
    assert Machine(board_vendor=maker, board_product=model).board_named == named
