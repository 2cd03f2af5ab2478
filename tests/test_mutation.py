"""The changes that tests are to see: each is one, and each is made."""

from __future__ import annotations

import ast

import pytest

from tests.mutation import changed, changes


@pytest.mark.parametrize(
    ("source", "made"),
    [
        ("a < b", ["a <= b"]),
        ("a in b", ["a not in b"]),
        ("a == b != c", ["a != b != c", "a == b == c"]),
        ("a and b", ["a or b"]),
        ("a + b", ["a - b"]),
        ("x = 3", ["x = 4"]),
        ("x = True", ["x = False"]),
        ("y if x else z", ["y if not x else z"]),
        ("while x:\n    pass", ["while not x:\n    pass"]),
        ("def f():\n    return x", ["def f():\n    return None"]),
        ("x = 'text'", []),
        ("def f():\n    return None", []),
    ],
)
def test_one_place_is_changed_at_a_time(source: str, made: list[str]) -> None:
    count = len(changes(ast.parse(source)))
    assert [changed(source, number)[0] for number in range(count)] == made
