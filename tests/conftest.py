"""Options of the whole test suite."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import hypothesis
import pytest

from tests.fast_part import takes_long
from tests.virtual_laptop.image import wanted

hypothesis.settings.register_profile("busy", deadline=None)
hypothesis.settings.load_profile("busy")  # other processes make a call slow, too


def pytest_addoption(parser: pytest.Parser) -> None:
    """``--boot`` adds the tests that boot the stick's image in a virtual laptop."""
    parser.addoption("--boot", action="store_true", help="boot the image in a virtual laptop too")


@pytest.fixture(autouse=True, scope="session")
def own_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """What the program keeps in the user's cache goes into a folder of the tests."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        yield


@pytest.fixture(scope="module")
def demo_shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop drive with the demo's cases on it."""
    from livecheck import demo, knowledge

    folder = tmp_path_factory.mktemp("shop")
    for _ in demo.play(folder, knowledge.load()):
        pass
    return folder


@pytest.fixture(scope="session")
def image() -> Path:
    """The stick's image, for tests that boot it."""
    return wanted()


@pytest.hookimpl(tryfirst=True)  # before ``-m`` chooses by the marks
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Mark what ``slow.txt`` names; without ``--boot`` boots are skipped, as the summary says."""
    for item in items:
        if takes_long(item.path):
            item.add_marker(pytest.mark.slow)
    if config.getoption("--boot"):
        return
    off = pytest.mark.skip(reason="boots a virtual laptop, which takes minutes; add --boot")
    for item in items:
        if item.get_closest_marker("boot"):
            item.add_marker(off)
