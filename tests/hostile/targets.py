"""Every parser of what comes from a device, a file or a process, with inputs it understands."""

from __future__ import annotations

import contextlib
import gzip
import json
import tempfile
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any, Final, NamedTuple

import msgspec

from livecheck import capture, guarded, inventory, kernel_log, kmsg, knowledge
from livecheck.case_index.settings import Settings
from livecheck.console import replies, requests
from livecheck.diagnosis import worksheet
from livecheck.diagnosis.worksheet_words import BadAnswers
from livecheck.displayport import decode as screen
from livecheck.graphics.frames import disturbed, parsed
from livecheck.host import KernelMessage, Unreadable
from livecheck.inventory import config_space, edid, smbios_decode, smbios_table
from livecheck.kernel_log import saved
from livecheck.probes.drive import smart, smart_judge
from livecheck.radio import decode as radio
from livecheck.recorder import lines
from livecheck.recorder.aftermath import Aftermath
from livecheck.recorder.course import course
from livecheck.recorder.ending import ending
from livecheck.recorder.openings import Opening
from livecheck.records import (
    Case,
    DamagedRecord,
    LearnedTables,
    Proved,
    Run,
    Summary,
    decode,
    encode,
)
from livecheck.starts.planned import OneStart, StartKind, StartsPlan
from livecheck.windows_log import cper
from livecheck.windows_log.kept import Sieve
from livecheck.wording import clean
from tests import event_log, factories, kernel_lines
from tests.graphics.test_frames import printed
from tests.inventory import edid_builder, smbios_builder
from tests.radio import messages
from tests.recorder import machines
from tests.records import test_convert
from tests.testbeds import config

TABLES: Final = knowledge.load()
DEMO: Final = Path(capture.__file__).parent / "demo"
SHARED: Final = Path(knowledge.__file__).parents[1] / "shared"
SCREEN_REGISTERS: Final = (*range(0x20), *range(0x100, 0x118), *range(0x200, 0x218), 0x600, 0x700,
                           0x720, 0x2006, 0x2007, 0x2008)  # fmt: skip
CRASHES: Final = Aftermath(boot="x", up_since=1_772_000_100.0)


OWN_PIPE: Final = (msgspec.DecodeError, UnicodeDecodeError, RecursionError)
"""Between console and worker, which are one program: no crash of the interpreter will do."""


class Target(NamedTuple):
    """One way in."""

    name: str
    corpus: tuple[bytes, ...]
    work: Callable[[bytes], object]
    refuses: tuple[type[Exception], ...] = (DamagedRecord,)
    """What it may say no with."""
    share: float = 1.0
    """How often it is chosen."""


def _runs() -> tuple[bytes, ...]:
    old = [json.dumps(run).encode() for name in test_convert.KEPT[:6]
           for run in test_convert.kept(name)["runs"][:2]]  # fmt: skip
    return (*old, *(encode(run) for run in factories.three_runs()))


def _proved() -> Proved:
    return Proved(case="x", recorded="2026-03-01T00:00:00Z", component="drive:1", kind="drive",
                  proved=True, fitted={"drive": 1})  # fmt: skip


def _recorder(data: bytes) -> None:
    found = lines.parse(*data.split(b"\x1e"))
    if found is not None:
        ending(found, CRASHES)
        course(found.header.channels, found.samples)


def _written() -> bytes:
    made = machines.record(seconds=30)
    return lines.encode(made.header) + b"".join(map(lines.encode, made.samples))


def _capture(data: bytes) -> None:
    host = capture.parse(gzip.compress(data, 0), "capture")
    for scope in ("session", "inventory"):
        with contextlib.suppress(Unreadable):
            host.scope(scope).facts()
    inventory.take(host.scope("inventory"))


def _toml(use: Callable[[Path], object], name: str) -> Callable[[bytes], object]:
    file = Path(tempfile.mkdtemp(prefix="livecheck-hostile-")) / name

    def work(data: bytes) -> object:
        file.write_bytes(data)
        return use(file)

    return work


def _settings(file: Path) -> Settings:
    return msgspec.convert(guarded.toml(file), Settings)


def _worksheet(data: bytes) -> None:
    sheet = knowledge.worksheet()
    filled = worksheet.parse(data.decode("utf-8"), sheet)
    worksheet.judge(filled.answers, filled.label, sheet)


def _kernel(data: bytes) -> None:
    found = kernel_log.events(tuple(kmsg.parse_kmsg(iter(data.split(b"\x1e")))))
    for event in found:
        clean(event.says)


def _plain_lines(data: bytes) -> None:
    texts = data.decode("utf-8", "replace").split("\x1e")
    kernel_log.events([KernelMessage(seconds=1.0, priority=3, text=text) for text in texts])


def _kmsg_seeds() -> tuple[bytes, ...]:
    told = [line.encode() for line, *_ in kernel_lines.ALL]
    return tuple(b"3,%d,%d,-;%s\n SUBSYSTEM=scsi\n DEVICE=+scsi:0:0:0:0\n" % (n, n * 999, line)
                 for n, line in enumerate(told))  # fmt: skip


_WINDOWS: Final = Sieve(knowledge.windows_events())


def _windows_seeds() -> tuple[bytes, ...]:
    """As the library that reads event logs puts them."""
    return tuple(
        json.dumps({"Event": {
            "System": {"Provider": {"#attributes": {"Name": provider}}, "EventID": number,
                       "TimeCreated": {"#attributes": {"SystemTime": "2026-03-06T12:00:00Z"}}},
            "EventData": data,
        }}).encode()
        for provider, number, data in (
            ("disk", 7, {"Data": {"#text": ["\\Device\\Harddisk0\\DR0"]}}),
            ("BugCheck", 1001, {"param1": "0x0000007a (0x0, 0xc000009c, 0x0, 0x0)"}),
            ("Microsoft-Windows-Kernel-Power", 41, {"BugcheckCode": 0, "SleepInProgress": False}),
            ("Microsoft-Windows-WHEA-Logger", 18, {"MciStat": "0xbea0", "RawData": "43504552"}),
        )
    )  # fmt: skip


def _log_seeds() -> tuple[bytes, ...]:
    lines = [line for line, *_ in kernel_lines.ALL][:6]
    fields = [{"__REALTIME_TIMESTAMP": "1772000000000000", "_TRANSPORT": "kernel", "PRIORITY": "3",
               "MESSAGE": line} for line in lines]  # fmt: skip
    export = "\n\n".join("\n".join(f"{k}={v}" for k, v in row.items()) for row in fields)
    binary = b"MESSAGE\n" + (5).to_bytes(8, "little") + b"a\nb=c\n"
    return (
        "\n".join(f"[    1.{n:06}] {line}" for n, line in enumerate(lines)).encode(),
        "\n".join(f"Mar  1 10:00:0{n} bench kernel: {x}" for n, x in enumerate(lines)).encode(),
        "\n".join(
            f"2026-03-01T10:00:0{n}+0000 b kernel: {x}" for n, x in enumerate(lines)
        ).encode(),
        "\n".join(map(json.dumps, fields)).encode(),
        export.encode() + b"\n" + binary,
        "\n".join(
            f"6.12.0,3,{n},{n}000000,-;{x}\n DEVICE=+x:{n}" for n, x in enumerate(lines)
        ).encode(),
        json.dumps(
            {"dmesg": [{"pri": 3, "time": 1.5, "msg": x} for x in lines]}, indent=3
        ).encode(),
        "\n".join(f"[Mai0{n + 1} 10:00] {x}\n[  +0,5] {x}" for n, x in enumerate(lines)).encode(),
    )


def _smart(data: bytes) -> None:
    found = smart.from_json(smart.parse(data))
    smart_judge.judge(found, TABLES.checks)


def _smart_seeds() -> tuple[bytes, ...]:
    row: dict[str, Any] = {"id": 5, "name": "Reallocated_Sector_Ct", "value": 100, "worst": 100,
                           "thresh": 10, "when_failed": "", "flags": {"prefailure": True},
                           "raw": {"value": 8, "string": "8 (0 0)"}}  # fmt: skip
    ata = {
        "device": {"name": "/dev/sda", "type": "ata", "protocol": "ATA"},
        "smart_status": {"passed": True},
        "ata_smart_attributes": {"table": [row, {**row, "id": 197}, {**row, "id": 199}]},
        "sata_phy_event_counters": {"table": [{"id": 10, "name": "x", "value": 3}]},
        "ata_smart_error_log": {"summary": {"count": 2}},
        "ata_smart_self_test_log": {"standard": {"table": [
            {"type": {"string": "Short offline"}, "status": {"value": 0, "passed": True},
             "lifetime_hours": 100}]}},
        "temperature": {"current": 33},
        "power_on_time": {"hours": 1000},
        "interface_speed": {"current": {"bits_per_unit": 100000000, "units_per_second": 60}},
    }  # fmt: skip
    nvme = {
        "device": {"name": "/dev/nvme0", "type": "nvme", "protocol": "NVMe"},
        "smart_status": {"passed": False, "nvme": {"value": 4}},
        "nvme_smart_health_information_log": {
            "critical_warning": 4, "temperature": 40, "available_spare": 100,
            "available_spare_threshold": 10, "percentage_used": 120, "media_errors": 7,
            "num_err_log_entries": 20, "unsafe_shutdowns": 3, "power_on_hours": 999},
    }  # fmt: skip
    return tuple(json.dumps(one).encode() for one in (ata, nvme))


def _radio(data: bytes) -> None:
    rows = data.split(b"\x1e\x1e")
    for use in (radio.radios, radio.interfaces, radio.regulatory, radio.cells, radio.stations,
                radio.noise):  # fmt: skip
        use(tuple(rows))


def _smbios(data: bytes) -> None:
    entry, _, table = data.partition(b"\x1e\x1e\x1e")
    smbios_table.entry_point(entry)
    smbios_decode.parse(table, entry)
    smbios_decode.parse(table, None)


def targets() -> tuple[Target, ...]:
    """All of them."""
    table = smbios_builder.laptop()
    captures = tuple(gzip.decompress(file.read_bytes()) for file in sorted(DEMO.glob("*.gz")))
    toml = (DamagedRecord, msgspec.ValidationError)
    shop_file = (DamagedRecord, knowledge.BrokenTable)
    return (
        Target("run record", _runs(), lambda data: decode(data, Run)),
        Target("case record", (encode(factories.case()),), lambda data: decode(data, Case)),
        Target("outcome", (encode(_proved()),), lambda data: decode(data, Proved)),
        Target("summary", (encode(Summary(case="x", numbers=(1,))),),
               lambda data: decode(data, Summary)),
        Target("learned tables", (encode(factories.learned_tables()),),
               lambda data: decode(data, LearnedTables)),
        Target("recorder's note",
               (encode(Opening(boot="x", machine=machines.MACHINE, folders=("a/runs/0001",))),),
               lambda data: decode(data, Opening)),
        Target("plan of starts",
               (encode(StartsPlan(starts=(OneStart(kind=StartKind.WARM, due=1.0),))),),
               lambda data: decode(data, StartsPlan)),
        Target("recorder's lines", (_written(),), _recorder),
        Target("capture", captures, _capture, share=0.05),
        Target("shop.toml", (b"[priors]\noutcomes = true\n",), _toml(_settings, "shop.toml"), toml),
        *(Target(name, ((SHARED / name).read_bytes(),),
                 _toml(lambda file: knowledge.with_shop_file(TABLES, file), name), shop_file,
                 share=0.1)
          for name in knowledge.SHOP_TABLES),
        Target("worksheet answers",
               (b'[label]\nvolts = 19.5\n[answers]\nadapter-open-voltage = 19.4\n',),
               _worksheet, (BadAnswers, UnicodeDecodeError)),
        Target("kernel messages", _kmsg_seeds(), _kernel),
        Target("kernel lines", tuple(line.encode() for line, *_ in kernel_lines.ALL), _plain_lines),
        Target("saved log", _log_seeds(), lambda data: list(saved.read(BytesIO(data), 2026))),
        Target("Windows events", _windows_seeds(),
               lambda data: _WINDOWS.kept(data.decode("utf-8", "replace"))),
        Target("error records", (event_log.error_record(1, event_log.MEMORY, bytes(80)),
                                 event_log.error_record(2, event_log.PCIE, event_log.AT_THE_CARD)),
               lambda data: list(cper.lines(data))),
        Target("smartctl's JSON", _smart_seeds(), _smart),
        Target("radio", (b"\x1e\x1e".join((
            messages.wiphy(0, "phy0", messages.TWO_BANDS), messages.interface(3, "wlan0"),
            messages.rules("DE"))),), _radio),
        Target("SMBIOS", (smbios_builder.entry_point_64(table) + b"\x1e\x1e\x1e" + table,
                          smbios_builder.entry_point_32(table, 14) + b"\x1e\x1e\x1e" + table),
               _smbios),
        Target("EDID", (edid_builder.panel(), edid_builder.panel() + edid_builder.extension()),
               edid.parse),
        Target("screen registers", (bytes(range(256)),),
               lambda data: screen(dict(zip(SCREEN_REGISTERS, data, strict=False)))),
        Target("frames of a screen", (printed((1, 40), (2, 1), (1, 40)),),
               lambda data: disturbed(parsed(data))),
        Target("PCI configuration space",
               (bytes(config.plain("8086:9d03", 0x010601)) + bytes(192),
                bytes(config.express("8086:9d18", 0x060400))), config_space.decode),
        Target("console's requests", (msgspec.json.encode(
            requests.Request(job=requests.SwitchOff())),),
            lambda data: msgspec.json.decode(data, type=requests.Request), OWN_PIPE),
        Target("console's replies", (msgspec.json.encode(replies.Trouble(says="x")),),
               lambda data: msgspec.json.decode(data, type=replies.Reply), OWN_PIPE),
    )  # fmt: skip
