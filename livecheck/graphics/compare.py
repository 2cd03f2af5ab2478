"""Where two results differ, and in which bits. Pure."""

from __future__ import annotations

from .messages import WrongImage


def difference(
    kind: str, seconds: float, width: int, expected: bytes, got: bytes
) -> WrongImage | None:
    """None where the results are the same. ``width``: 32-bit words in a row of pixels."""
    if expected == got:
        return None
    wanted, had = memoryview(expected).cast("I"), memoryview(got).cast("I")
    per_pixel = 4 if kind != "picture" else 1
    wrong = [
        (start + n, one ^ other)
        for start in range(0, len(wanted), width)
        if wanted[start : start + width] != had[start : start + width]
        for n, (one, other) in enumerate(
            zip(wanted[start : start + width], had[start : start + width], strict=True)
        )
        if one != other
    ]
    ever, always = 0, 0xFFFFFFFF
    for _, bits in wrong:
        ever |= bits
        always &= bits
    columns = [at % width // per_pixel for at, _ in wrong]
    first = wrong[0][0]
    return WrongImage(
        kind=kind,
        seconds=seconds,
        words=len(wrong),
        first=(min(columns), first // width),
        last=(max(columns), wrong[-1][0] // width),
        expected=wanted[first],
        got=had[first],
        ever=ever,
        always=always,
    )
