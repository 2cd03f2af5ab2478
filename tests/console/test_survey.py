"""What can be told before a run: every place that the tables say is mended without a mainboard."""

from __future__ import annotations

from pathlib import Path

from livecheck import inventory, knowledge
from livecheck.casefile import Shop
from livecheck.console.replies import Looked
from livecheck.console.survey import survey
from livecheck.plan import Plan
from tests.testbeds import laptops
from tests.testbeds.bed import BedHost


def test_a_repair_can_be_told_of_every_place_that_is_a_unit_of_its_own(tmp_path: Path) -> None:
    """Else a repaired socket would be taken for the faulty one."""
    kinds = knowledge.load().kinds
    host = BedHost(laptops.ahci())
    places = inventory.take(host).places
    own = {p.id for p in places if p.kind in kinds and kinds[p.kind].unit == p.kind}
    assert any(p.kind == "usb-port" for p in places if p.id in own)
    (looked,) = (one for one in survey(host, Shop(tmp_path), Plan()) if isinstance(one, Looked))
    assert own <= {told.value.partition("=")[0] for told in looked.treated}
