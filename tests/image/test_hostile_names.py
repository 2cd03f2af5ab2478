"""Names that a USB descriptor, SMBIOS or a drive gives, from the device to the page.

The same laptop is looked at twice, once with sound names and once with names that go on
with anything a device can send; the pages may differ in their text only. ECMA-48 says what
of it a terminal would obey, HTML what a browser would.
"""

from __future__ import annotations

import dataclasses
import tempfile
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Final

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from livecheck import knowledge, printing, wording
from livecheck.casefile.shop import Shop
from livecheck.plan import Plan
from livecheck.probes import registry
from livecheck.run import RunContext
from livecheck.saving import run_and_save
from tests.report.pages import Page
from tests.testbeds import devices, laptops
from tests.testbeds.bed import Bed, BedHost

pytestmark = pytest.mark.slow

NAMES: Final = {"usb": "Quillon pointer", "smbios": "TW77", "drive": "FENNEL D2 120GB"}
PASSIVE: Final = tuple(probe.name for probe in registry.ALL if probe.passive)
# No NUL: it ends a string in SMBIOS and in the kernel. No lone surrogate: no bytes hold one.
TAILS = st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=24)


def laptop(names: Mapping[str, str]) -> Bed:
    """A laptop with a pointer on USB, a drive and a machine of these names."""
    bed = laptops.ahci()
    disk = dataclasses.replace(laptops.DISK, model=names["drive"])
    port = devices.sata_port(1, disk, "sda")
    paths = {node.path for node in port}
    kept = tuple(node for node in bed.nodes if node.path not in paths)
    pointer = devices.usb("1-2", "1234:0042", (3, 1, 2), names["usb"], names["usb"])
    extra = {**bed.extra, **laptops.tables(names["smbios"], 0x1001)}
    return dataclasses.replace(
        bed, nodes=(*kept, *port, *pointer), extra=extra, drives={"sda": disk}
    )


def page_of(names: Mapping[str, str]) -> tuple[str, str]:
    """The report of a run of what loads nothing, and what a terminal gets."""
    judge_by = knowledge.load()
    plan = Plan(probes=PASSIVE)
    context = RunContext(host=BedHost(laptop(names)), plan=plan, knowledge=judge_by)
    with tempfile.TemporaryDirectory() as folder:
        saved = run_and_save(context, Shop(Path(folder)))
        html = Path(saved.case_folder, saved.report_file).read_text("utf-8")
    return html, printing.saved(saved, judge_by)


def skeleton(html: str) -> list[tuple[str, tuple[str, ...]]]:
    """Elements with the names of their attributes, in order."""
    page = Page(html)
    assert page.faults == []
    return [(tag, tuple(sorted(attributes))) for tag, attributes in page.tags]


@cache
def sound() -> list[tuple[str, tuple[str, ...]]]:
    return skeleton(page_of(NAMES)[0])


@settings(max_examples=8, deadline=None)
@given(st.fixed_dictionaries(dict.fromkeys(NAMES, TAILS)))
@example(dict.fromkeys(NAMES, "\x1b[2J\x1b]0;x\x07<img src=x onerror=y>&amp;\u202e\x9b31m"))
@example(dict.fromkeys(NAMES, "</td></table><script>x()</script>\r\n{{7*7}}{% raw %}"))
def test_names_change_nothing_but_their_text(tails: dict[str, str]) -> None:
    names = {kind: name + tails[kind] for kind, name in NAMES.items()}
    html, printed = page_of(names)
    assert skeleton(html) == sound()
    for text in (html, printed):
        assert wording.clean(text.replace("\n", "")) == text.replace("\n", "")
    assert all(name in Page(html).text() for name in NAMES.values())
