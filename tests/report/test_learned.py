"""The report says which figures were moved, and carries the parts sheet with its code."""

from __future__ import annotations

import re

import msgspec

from livecheck.learning.apply import applied
from livecheck.report import render
from tests import factories
from tests.partssheet.test_parts import decoded, drawn
from tests.report.pages import Page


def test_moved_figures_are_never_silent() -> None:
    """Origin, formula and each factor stand under method; with nothing learned none of them."""
    whole = factories.port_and_battery()
    moved = applied(whole.knowledge, factories.learned_tables().learned, 40)
    said = msgspec.structs.replace(whole.location, priors=moved.origin)
    page = Page(render(*whole._replace(knowledge=moved, location=said)))
    assert page.faults == []
    method = page.text("method")
    assert "moved by 40 confirmed cases of this shop" in method
    assert "(A·m + found) / (A + counted)" in method
    assert re.search(r"how usual: battery ?6.0 ?4.00 ?1.50", method)
    assert re.search(r"shows: storage.link-errors part ?6.0 ?4.00 ?0.50", method)
    assert "Dirichlet" not in Page(render(*whole)).text("method")


def test_the_parts_sheet_stands_in_the_report_with_its_code() -> None:
    """The code on the page, read by another library, holds what the sheet knows."""
    html = render(*factories.port_and_battery())
    page = Page(html)
    assert "Parts sheet: mainboard" in page.text()
    assert "one model name can cover a hundred sub-models" in page.text().lower()
    codes = re.findall(r'<svg class="qr".*?</svg>', html)
    assert codes
    read = decoded(drawn(codes[0]))
    assert read.startswith("mainboard")
    assert "Board serial: QB14M-88120" in read
    assert "parts" not in Page(render(*factories.undetermined())).having("id")
