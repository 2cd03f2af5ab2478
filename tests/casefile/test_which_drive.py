"""Which drive is the shop's, whether it is still there, and which machine a case is of.

Lines of /proc/self/mountinfo: proc_pid_mountinfo(5).
"""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest

from livecheck.casefile import CaseFolder, Shop, ShopError, find_shop, presence
from livecheck.casefile.shop import other_machine
from livecheck.records import TakenOut
from tests import factories
from tests.inventory.fake_host import FakeHost


class Mounted(FakeHost):
    """Drives that are mounted, each at a folder of this name; one of them bears the label."""

    def __init__(self, top: Path, names: str, labelled: str = "", there: str = "") -> None:
        rows = "\n".join(f"40 21 8:{n} / {top / name} rw shared:9 - vfat /dev/{name} rw"
                         for n, name in enumerate(names.split()))  # fmt: skip
        nodes = {f"/dev/{name}": "" for name in (there or names).split()}
        super().__init__({"/proc/self/mountinfo": f"{rows}\n", **nodes}, [])
        self._labelled = labelled
        for name in names.split():
            (top / name).mkdir(exist_ok=True)

    def target(self, path: str) -> str | None:
        wanted = path == "/dev/disk/by-label/SHOPDRIVE" and self._labelled
        return f"/dev/{self._labelled}" if wanted else None


def test_the_drive_that_holds_cases_goes_before_the_one_with_the_label(tmp_path: Path) -> None:
    host = Mounted(tmp_path, "sda1 sdb1 sdc1", labelled="sdb1")
    assert find_shop(host, None).root == tmp_path / "sdb1"
    (tmp_path / "sdc1/livecheck-cases").mkdir()
    assert find_shop(host, None).root == tmp_path / "sdc1"
    assert find_shop(host, tmp_path / "sda1").root == tmp_path / "sda1"


def test_no_drive_is_guessed_at(tmp_path: Path) -> None:
    """Neither with cases nor with the label: the folder here, whatever is mounted."""
    found = find_shop(Mounted(tmp_path, "sda1"), None).root
    assert not found.is_relative_to(tmp_path)
    with pytest.raises(ShopError, match="not a folder"):
        find_shop(Mounted(tmp_path, "sda1"), tmp_path / "none")


def test_a_drive_that_is_gone_is_told(tmp_path: Path) -> None:
    """No longer mounted; another mount beneath; still mounted and its device gone."""
    folder = tmp_path / "sda1/livecheck-cases"
    whole = Mounted(tmp_path, "sda1")
    before = presence.mount_of(whole, folder)
    assert before is not None and presence.trouble(whole, folder, before) is None
    for host, says in (
        (FakeHost({"/proc/self/mountinfo": ""}, []), "no longer mounted"),
        (FakeHost({"/proc/self/mountinfo": f"1 0 8:9 / {tmp_path} rw - ext4 /dev/sdz rw\n"}, []),
         "no longer mounted"),
        (Mounted(tmp_path, "sda1", there="sdb1"), "was pulled"),
    ):  # fmt: skip
        assert says in (presence.trouble(host, folder, before) or "")
    (tmp_path / "sda1").rmdir()
    assert "gone" in (presence.trouble(whole, folder, None) or "")


def test_a_run_taken_out_and_put_back_is_told_to_who_asked(tmp_path: Path) -> None:
    run = factories.port_and_battery().runs[0]
    shop = Shop(tmp_path)
    case = CaseFolder(
        shop.open_case(run.inventory, "T", run.complaint, "2026-03-02T09:00:00Z").path
    )
    case.save_run(msgspec.structs.replace(run, number=case.claim_run()))
    out = TakenOut(run=1, why="another machine", at="2026-03-02T09:00:00Z")
    assert case.take_out(out).taken_out == (out,)
    assert case.put_back(1).taken_out == ()


@pytest.mark.parametrize(("kept", "other"), [(4, False), (2, False), (1, True), (0, True)])
def test_half_of_the_parts_make_the_machine(kept: int, other: bool, tmp_path: Path) -> None:
    """Another board with half of a case's parts is a repair; with fewer, another machine."""
    run = factories.port_and_battery().runs[0]
    part = run.inventory.parts[0]
    parts = [msgspec.structs.replace(part, id=f"x:{n}", identity=f"serial:S{n}")
             for n in range(8)]  # fmt: skip
    first = msgspec.structs.replace(run.inventory, parts=tuple(parts[:4]))
    shop = Shop(tmp_path)
    case = shop.open_case(first, "T", run.complaint, "2026-03-02T09:00:00Z").case()
    machine = msgspec.structs.replace(
        run.inventory.machine, board_serial="ANOTHER", serial="ANOTHER"
    )
    second = msgspec.structs.replace(first, machine=machine, parts=tuple(parts[:kept] + parts[4:]))
    assert other_machine(case, msgspec.structs.replace(run, inventory=second)) is other
    same = msgspec.structs.replace(second, machine=run.inventory.machine)
    assert not other_machine(case, msgspec.structs.replace(run, inventory=same))
