"""How sure something is, in words and per cent: by published scales."""

from __future__ import annotations

from typing import Final

from livecheck.records import whole_percent
from livecheck.wording import text

SAYS_LITTLE: Final = 1.0
"""Natural log of a likelihood ratio below which a reading says little; see ``weight``."""


def percent(probability: float) -> str:
    """A probability as a percentage that never claims certainty."""
    key, number = whole_percent(probability)
    return text(f"say.percent.{key}", percent=number)


def in_column(probability: float) -> str:
    """The same at the right of a column that holds any of them."""
    return percent(probability).rjust(max(len(percent(0.0)), len(percent(1.0))))


def chance(probability: float) -> str:
    """A probability in words.

    The terms and their bounds are the likelihood scale of Mastrandrea et al.,
    Guidance Note for Lead Authors of the IPCC Fifth Assessment Report, 2010, table 1.
    """
    for bound, word in (
        (0.99, "virtually-certain"),
        (0.90, "very-likely"),
        (0.66, "likely"),
        (0.33, "about-even"),
        (0.10, "unlikely"),
        (0.01, "very-unlikely"),
    ):
        if probability >= bound:
            return text(f"chance.{word}")
    return text("chance.exceptionally-unlikely")


def weight(log_ratio: float) -> str:
    """How much a reading says, in words, from the natural log of its likelihood ratio.

    Bounds at 1, 3 and 5 (twice the log: 2, 6, 10): Kass and Raftery, Bayes Factors,
    Journal of the American Statistical Association 90 (1995), section 3.2.
    """
    if abs(log_ratio) < SAYS_LITTLE:
        return text("weight.little")
    way = "for" if log_ratio > 0 else "against"
    strength = abs(log_ratio)
    word = "very-strong" if strength > 5 else "strong" if strength > 3 else "positive"
    return text(f"weight.{way}-{word}")
