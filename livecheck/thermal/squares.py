"""Linear least squares for a handful of unknowns, in plain Python."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec


class Solution(msgspec.Struct, frozen=True):
    """Coefficients, the sum of squared residuals, and the inverse normal matrix."""

    coefficients: tuple[float, ...]
    squares: float
    inverse: tuple[tuple[float, ...], ...]


def solve(columns: Sequence[Sequence[float]], values: Sequence[float]) -> Solution | None:
    """Least squares by the normal equations of scaled columns.

    ``columns``: one sequence a coefficient, as long as ``values``. None when the columns
    do not tell the coefficients apart.
    """
    scales = [max(map(abs, column), default=0.0) for column in columns]
    if not all(scales):
        return None
    scaled = [[x / s for x in column] for column, s in zip(columns, scales, strict=True)]
    normal = [[_dot(a, b) for b in scaled] for a in scaled]
    inverse = invert(normal)
    if inverse is None:
        return None
    right = [_dot(column, values) for column in scaled]
    found = [_dot(row, right) for row in inverse]
    squares = 0.0
    for k, value in enumerate(values):
        squares += (
            value - sum(c * column[k] for c, column in zip(found, scaled, strict=True))
        ) ** 2
    size = range(len(scales))
    return Solution(
        tuple(found[i] / scales[i] for i in size),
        squares,
        tuple(tuple(inverse[i][j] / scales[i] / scales[j] for j in size) for i in size),
    )


def invert(matrix: Sequence[Sequence[float]]) -> list[list[float]] | None:
    """Inverse by elimination with row exchange; None when it is as good as singular."""
    size = len(matrix)
    rows = [[*row, *(float(i == j) for j in range(size))] for i, row in enumerate(matrix)]
    largest = max(abs(x) for row in matrix for x in row)
    for k in range(size):
        pivot = max(range(k, size), key=lambda i: abs(rows[i][k]))
        if abs(rows[pivot][k]) < 1e-12 * largest:
            return None
        rows[k], rows[pivot] = rows[pivot], rows[k]
        head = rows[k][k]
        rows[k] = [x / head for x in rows[k]]
        for i in range(size):
            if i != k and rows[i][k]:
                factor = rows[i][k]
                rows[i] = [x - factor * y for x, y in zip(rows[i], rows[k], strict=True)]
    return [row[size:] for row in rows]


def _dot(a: Sequence[float], b: Sequence[float]) -> float:
    return sum(x * y for x, y in zip(a, b, strict=True))
