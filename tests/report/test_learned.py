"""The report says which priors were used, and carries the parts sheet with its code."""

from __future__ import annotations

import re

import msgspec

from livecheck.case_index.priors import learn
from livecheck.case_index.summary import fitted
from livecheck.records import Complaint, Proved
from livecheck.report import render
from tests import factories
from tests.partssheet.test_parts import decoded, drawn
from tests.report.pages import Page


def test_moved_priors_are_never_silent() -> None:
    """Origin, formula and each factor stand under method; without outcomes none of them."""
    whole = factories.port_and_battery()
    proved = Proved(case="other", recorded="1", component="battery", kind="battery", proved=True,
                    complaint=Complaint.PART_MISSING,
                    fitted=fitted(whole.runs[0].inventory))  # fmt: skip
    moved = learn(whole.knowledge, [proved])
    said = msgspec.structs.replace(whole.location, priors=moved.origin)
    page = Page(render(*whole._replace(knowledge=moved, location=said)))
    assert page.faults == []
    method = page.text("method")
    assert "moved by 1 confirmed outcome of this shop" in method
    assert "(A·s + proved) / (A·s + expected)" in method
    factor = next(row.factor for row in moved.learned if row.kind == "battery")
    assert re.search(rf"battery ?1 .*{factor:.2f}", method)
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
