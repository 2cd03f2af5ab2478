"""Which tests a change can touch: over invented sources, and once over the project's own."""

from __future__ import annotations

import pytest

from tests.import_graph import modules
from tests.touched import holding_tests, meant, touched

SOURCES = {
    "livecheck": "",
    "livecheck.a": "",
    "livecheck.b": "def f():\n    from livecheck import a",
    "livecheck.c": "PROBE = 'livecheck.b:probe'",
    "livecheck.d": "'''Says livecheck.a in words; reads rows.toml.'''",
    "livecheck.e": "from livecheck.f.g import x",
    "livecheck.f": "",
    "livecheck.f.g": "",
    "tests.conftest": "",
    "tests.test_c": "from livecheck.c import PROBE",
}


@pytest.mark.parametrize(
    ("path", "found"),
    [
        ("livecheck/a.py", {"a", "b", "c", "test_c"}),
        ("livecheck/c.py", {"c", "test_c"}),
        ("shared/rows.toml", {"d"}),
        ("livecheck/f/__init__.py", {"f", "f.g", "e"}),
        ("livecheck/f/templates/page.css", {"f", "f.g", "e"}),
        ("tests/conftest.py", {"conftest", "test_c"}),
        ("livecheck/gone.py", set()),
        ("README.md", set()),
    ],
)
def test_a_change_touches_what_leads_to_it(path: str, found: set[str]) -> None:
    said = {module.partition(".")[2] for module in touched([path], SOURCES)}
    assert said == found


def test_a_probe_touches_its_own_test_and_the_run() -> None:
    found = holding_tests(
        touched(["livecheck/probes/bus/usb.py"], {**modules("livecheck"), **modules("tests")})
    )
    assert {"tests/probes/bus/test_usb.py", "tests/test_run.py"} <= set(found)
    assert "tests/thermal/test_fit.py" not in found


def test_a_table_is_meant_for_its_loader() -> None:
    assert "livecheck.knowledge" in meant("shared/model.toml", modules("livecheck"))
