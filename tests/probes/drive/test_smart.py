"""Drive health: recorded drives, sound and failing, get the verdict their data deserves.

Recordings: pySMART 1.4.3's test data (34 devices, all sound but one that hides its data) and
libatasmart 0.19's ``blob-examples`` ("bad or weird drives"), judged beside libatasmart's own
``skdump``.
"""

from __future__ import annotations

import re
import subprocess
from pathlib import Path
from typing import Any

import msgspec
import pySMART
import pytest
from pySMART.smartctl import Smartctl

from livecheck import knowledge
from livecheck.host import CommandResult
from livecheck.probes.drive import smart, smart_ata_judge, smart_count, smart_nvme
from livecheck.probes.drive.smart_data import AtaAttribute, AtaHealth, PhyCounter, SmartData
from livecheck.probes.drive.smart_judge import judge
from livecheck.probes.finding import Finding
from livecheck.records import Outcome
from tests import corpora
from tests.probes.drive import smart_blobs

CHECKS = knowledge.load().checks


def _by_check(data: SmartData) -> dict[str, Finding]:
    return {one.check: one for one in judge(data, CHECKS)}


def _failed(data: SmartData) -> set[str]:
    return {one.check for one in judge(data, CHECKS) if one.outcome is Outcome.FAILED}


# --- Sound drives: pySMART's recordings


class _Recorded(Smartctl):  # type: ignore[misc]  # pySMART carries no types
    """Answers from a folder of recorded smartctl outputs, by its file-name convention."""

    def __init__(self, folder: Path) -> None:
        super().__init__(smartctl_path="smartctl")
        self.folder = folder

    def _exec(self, cmd: list[str]) -> tuple[list[str], int]:
        name = "_" + "_".join(re.sub(r"[/\\:]", "_", word) for word in cmd[1:])
        path = self.folder / name
        if not path.is_file():
            return [], 1
        return self._decode_output(path.read_bytes()), 0


def _cases(kind: str) -> list[Path]:
    folder = corpora.smartctl_outputs() / kind
    return sorted(path for path in folder.iterdir() if path.is_dir())


def _decoded(case: Path) -> SmartData:
    described: dict[str, Any] = msgspec.json.decode((case / "device.json").read_bytes())
    recorded = next(iter(sorted(case.glob("_-d_*_--all*"))), None)
    kind = re.match(r"_-d_([\w+,]+)_--all", recorded.name) if recorded else None
    device = pySMART.Device(
        described["name"], interface=kind[1] if kind else None, smartctl=_Recorded(case)
    )
    return smart.decode(device, {})


def test_all_sound_recordings_are_there() -> None:
    """34 single devices and 6 listings, as the release holds them."""
    assert len(_cases("singletests")) == 34
    assert len(_cases("listingtests")) == 6


def test_sound_drives_have_no_device_fault() -> None:
    """Every recorded drive passed its own assessment: none gets a fault of any kind."""
    judged = 0
    for case in _cases("singletests"):
        data = _decoded(case)
        assert _failed(data) == set(), case.name
        judged += "storage.health" in _by_check(data) and (
            _by_check(data)["storage.health"].outcome is Outcome.PASSED
        )
    assert judged == 32  # a RAID volume and an unsupported device give no verdict


def test_listed_drives_have_no_device_fault() -> None:
    """The same for every drive of the recorded listings."""
    outputs = [p for case in _cases("listingtests") for p in case.rglob("*--all*")]
    assert outputs
    for output in outputs:
        kind = re.search(r"_-d_([\w+,]+)_--all", output.name)
        name = output.name.rpartition("__dev_")[2]
        device = pySMART.Device(
            name, interface=kind[1] if kind else None, smartctl=_Recorded(output.parent)
        )
        assert _failed(smart.decode(device, {})) == set(), output


def test_error_log_entries_are_no_media_errors() -> None:
    """A sound NVMe drive with thousands of refused commands (status 0xc005) passes."""
    entries = []
    for case in _cases("singletests"):
        data = _decoded(case)
        if data.nvme is not None and (data.nvme.error_entries or 0) > 200:
            entries.append(data.nvme.error_entries)
            found = _by_check(data)
            assert found["storage.medium-errors"].outcome is Outcome.PASSED
            assert found["storage.command-errors"].outcome is Outcome.NOT_JUDGED
    assert {2888, 283, 261} <= set(entries)


# --- Bad and weird drives: libatasmart's recordings

LOST = "storage.medium-errors"
BLOBS: dict[str, tuple[set[str], int | None, str]] = {
    "FUJITSU_MHY2120BH--0084000D": (set(), 0, "attribute 5 holds 7d000000000h: packed, count 0"),
    "FUJITSU_MHY2120BH--0085000B": (set(), 0, "197 to 199 hold the maker's own fields"),
    "FUJITSU_MHY2250BH--0085000B": (set(), 0, "the same"),
    "FUJITSU_MHZ2160BH_G1--0084000A": (set(), 0, "attribute 5 packed as above"),
    "INTEL_SSDSA2MH080G1GC--045C8820": (set(), 0, "sound flash drive"),
    "MCCOE64GEMPP--2.9.09": (set(), 0, "attribute 5 holds 245000h: no telling where it ends"),
    "Maxtor_96147H8--BAC51KJ0": (
        {LOST, "storage.medium-lost", "storage.link-history"},
        71,
        "69 + 2 sectors; 22047 damaged transfers: the way to it was bad as well",
    ),
    "Maxtor_96147H8--BAC51KJ0--2": (
        {LOST, "storage.medium-lost", "storage.link-history", "storage.health"},
        71,
        "the same drive later: attribute 10 fell to 212, below its threshold of 223",
    ),
    "SAMSUNG_HD501LJ--CR100-12": ({LOST}, 2, "1 replaced, 1 waiting"),
    "SAMSUNG_MMCQE28G8MUP--0VA_VAM08L1Q": (set(), 0, "sound flash drive"),
    "SAMSUNG_MP0804H--UE100-14": (set(), 0, "sound"),
    "ST320410A--3.39": ({LOST, "storage.link-history"}, 5, "5 replaced; 177 damaged transfers"),
    "ST9100821AS--3.CME": (set(), 0, "attribute 4 is worn out (1, threshold 20): age, no fault"),
    "ST9160821AS--3.CLH": ({LOST}, 1, "1 waiting, met by its own scan"),
    "TOSHIBA_MK1651GSY--38IGT0G5T": ({LOST}, 1, "1 replaced; 199 is packed (value still 100)"),
    "WDC_WD2500JB--00REA0-20.00K20": ({LOST}, 1, "1 waiting; no verdict of the drive recorded"),
    "WDC_WD2500JS-75NCB3--10.02E04": (set(), 0, "sound"),
    "WDC_WD5000AAKS--00TMA0-12.01C01": (
        {LOST, "storage.medium-lost"},
        592,
        "63 replaced, 529 waiting",
    ),
}
"""Recording -> checks that must fail, sectors lost, why. All medium and health failures are
the device's side; ``storage.link-history`` is evidence against the way to the drive."""


def _blobs() -> list[Path]:
    folder = corpora.smart_blobs()
    return sorted(path for path in folder.iterdir() if path.name != "README")


def test_blobs_are_the_known_ones() -> None:
    """18 recordings, each with a written expectation."""
    assert {path.name for path in _blobs()} == set(BLOBS)


@pytest.mark.parametrize("name", BLOBS)
def test_each_known_blob_gives_its_known_findings(name: str) -> None:
    """The expected checks fail, no other, and the sectors are counted right."""
    data = smart_blobs.read(corpora.smart_blobs() / name)
    failed, sectors, _ = BLOBS[name]
    assert _failed(data) - {"storage.temperature"} == failed
    assert _by_check(data)[LOST].value in (sectors, None)


@pytest.mark.parametrize("name", BLOBS)
def test_blobs_decode_as_the_reference_library_decodes_them(name: str) -> None:
    """skdump's verdict: the drive's own word, and the number of bad sectors."""
    path = corpora.smart_blobs() / name
    said = subprocess.run(
        ["skdump", f"--load={path}"], capture_output=True, text=True, check=False
    ).stdout
    data = smart_blobs.read(path)
    good = re.search(r"SMART Disk Health Good: (yes|no)", said)
    assert data.passed == ({"yes": True, "no": False}[good[1]] if good else None)
    bad = re.search(r"Bad Sectors: (\d+) sectors", said)
    if bad is not None:
        assert (_by_check(data)[LOST].value or 0) == int(bad[1])


def test_the_same_drive_twice_shows_a_link_still_bad() -> None:
    """Between its two recordings the CRC count rose from 22047 to 29259."""
    folder = corpora.smart_blobs()
    before = smart_blobs.read(folder / "Maxtor_96147H8--BAC51KJ0").ata
    after = smart_blobs.read(folder / "Maxtor_96147H8--BAC51KJ0--2").ata
    assert before is not None
    assert after is not None
    assert smart_ata_judge.link_change(before, after) == 29259 - 22047


# --- Rules one by one


@pytest.mark.parametrize(
    ("row", "number"),
    [
        # raw16(raw16): bytes 00 00 00 00 d0 07 print as "0 (2000 0)" and count nothing.
        (AtaAttribute(number=5, raw=0x7D000000000, value=100), 0),
        (AtaAttribute(number=5, raw_text="0 (2000 0)", value=100), 0),
        (AtaAttribute(number=5, raw=0x45, value=226), 69),
        (AtaAttribute(number=199, raw=42_899_987, value=100), None),
        (AtaAttribute(number=197, raw=0x6D4BFD220002, value=100), None),
        (AtaAttribute(number=199, raw=29259, value=199), 29259),
    ],
)
def test_counts_are_taken_apart_only_where_that_is_certain(
    row: AtaAttribute, number: int | None
) -> None:
    """Counts are taken out of what makers pack into raw values (smartmontools drivedb)."""
    assert smart_count.count(row) == number


@pytest.mark.parametrize(
    ("bits", "failed"),
    [
        (0x00, set()),
        (0x01, {"storage.health"}),
        (0x02, {"storage.temperature"}),
        (0x04, {"storage.health"}),
        (0x08, {"storage.health"}),
        (0x10, {"storage.health"}),
    ],
)
def test_nvme_critical_warning_bits_fail_their_checks(bits: int, failed: set[str]) -> None:
    """Each bit of the critical warning fails its own check (struct nvme_smart_log)."""
    log = {"critical_warning": bits, "percentage_used": 3, "media_errors": 0}
    data = smart.from_json(
        {"nvme_smart_health_information_log": log, "temperature": {"current": 40}}
    )
    assert _failed(data) == failed


@pytest.mark.parametrize("spare_and_warning", [(0, 0), (255, 255), (100, 0x40)])
def test_a_log_of_zeros_or_ones_is_not_the_drives(spare_and_warning: tuple[int, int]) -> None:
    """A bridge that times out hands on zeros (smartmontools issue 496); the spare is a
    percentage and bits above 5 of the warning are reserved (NVM Express base, log 02h)."""
    spare, warning = spare_and_warning
    log = {"available_spare": spare, "critical_warning": warning, "media_errors": warning}
    told = smart.believed(
        smart.from_json(
            {"nvme_smart_health_information_log": log, "smart_status": {"passed": warning == 0}}
        )
    )
    assert _failed(told) == set()
    assert _by_check(told)["storage.health"].outcome is Outcome.NOT_JUDGED


def test_a_drive_without_spare_blocks_that_says_so_is_believed() -> None:
    """Bit 0 of the warning stands with it."""
    log = {"available_spare": 0, "critical_warning": 1, "power_on_hours": 900}
    told = smart.believed(smart.from_json({"nvme_smart_health_information_log": log}))
    assert "storage.health" in _failed(told)


def test_grown_defects_are_entries_and_not_bytes() -> None:
    """prometheus-community/smartctl_exporter issue 118: 240 in the JSON, 30 in the text."""
    told = smart.from_json(
        {
            "scsi_grown_defect_list": 240,
            "smartctl": {"output": ["Elements in grown defect list: 30", ""]},
        }
    )
    assert told.scsi is not None
    assert told.scsi.grown_defects == 30


def test_nvme_data_units_are_thousands_of_512_bytes() -> None:
    """29,426,647 units of 512,000 bytes are 15.066 TB."""
    log = smart_nvme.from_json(
        {"nvme_smart_health_information_log": {"data_units_written": 29_426_647}}
    )
    assert log is not None
    assert log.bytes_written is not None
    assert round(log.bytes_written / 1e12, 3) == 15.066


def test_phy_counters_fail_the_link_and_not_the_medium() -> None:
    """A command that failed of a bad checksum (001) counts; a COMRESET (00A) does not."""
    quiet = AtaHealth(phy=(PhyCounter(number=0x00A, count=6), PhyCounter(number=0x001, count=0)))
    noisy = AtaHealth(phy=(PhyCounter(number=0x001, count=2),))
    assert "storage.link-errors" not in _failed(SmartData(ata=quiet))
    assert "storage.link-errors" in _failed(SmartData(ata=noisy))
    assert smart_ata_judge.link_change(quiet, noisy) == 2


# --- Asking


class _Host:
    """Only what ``smart.ask`` uses: commands, from a table of the words they hold."""

    def __init__(self, answers: dict[str, CommandResult]) -> None:
        self.answers = answers
        self.asked: list[list[str]] = []

    def command(self, argv: list[str], deadline: float) -> CommandResult:
        self.asked.append(list(argv))
        return next(
            (answer for key, answer in self.answers.items() if key in argv),
            CommandResult(1, b"", b""),
        )


@pytest.mark.parametrize(
    ("answers", "why"),
    [
        (
            {"smartctl": CommandResult(None, b"", b"", "smartctl is not installed")},
            "smartctl is not installed",
        ),
        (
            {
                "test": CommandResult(1, b"a\n\n/dev/sdb: Unknown USB bridge\n", b""),
                "-j": CommandResult(
                    1, b'{"smartctl":{"messages":[{"string":"/dev/sdb: Unknown USB bridge"}]}}', b""
                ),
            },
            "Unknown USB bridge",
        ),
        (
            {"test": CommandResult(0, b"x\n/dev/sdb: Device of type 'sat' [ATA] opened\n", b"")},
            "",
        ),
    ],
)
def test_a_drive_that_cannot_be_asked_is_not_judged_and_says_why(
    answers: dict[str, CommandResult], why: str
) -> None:
    """No smartctl, a bridge it does not know, nonsense: not judged, with the reason."""
    data = smart.ask(_Host(answers), "sdb")  # type: ignore[arg-type]
    found = _by_check(data)["storage.health"]
    assert found.outcome is Outcome.NOT_JUDGED
    assert why in (found.why_not or "")


@pytest.mark.parametrize(
    "cmd",
    [
        ["smartctl", "-t", "short", "/dev/sda"],
        ["smartctl", "-X", "/dev/sda"],
        ["smartctl", "-s", "on", "/dev/sda"],
        ["smartctl", "-S", "on", "/dev/sda"],
        ["smartctl", "-o", "on", "/dev/sda"],
        ["smartctl", "-l", "sataphy,reset", "/dev/sda"],
        ["smartctl", "--smart=on", "/dev/sda"],
        ["smartctl", "-l", "scterc,70,70", "/dev/sda"],
    ],
)
def test_calls_that_change_a_drive_are_refused(cmd: list[str]) -> None:
    """Options of smartctl(8) that set, start or reset anything never get to the host."""
    host = _Host({})
    with pytest.raises(smart.Refused):
        smart.HostSmartctl(host)._exec(cmd)  # type: ignore[arg-type]
    assert host.asked == []
