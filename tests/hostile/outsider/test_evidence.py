"""Words that imitate what the kernel says of an error, in its log and in saved ones.

Sources: Linux Documentation/ABI/testing/dev-kmsg (user space cannot write with the kernel's
facility, 0); systemd.journal-fields(7) and src/journal/journald-kmsg.c (what user space wrote to
/dev/kmsg has the transport ``kernel`` and its own SYSLOG_FACILITY); drivers/firmware/dmi_scan.c
(dmi_format_ids: ``DMI: vendor product/board, BIOS version date``).
"""

from __future__ import annotations

import gzip
import io
import json
import lzma
import resource
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest

from livecheck import inventory, kernel_log, log_stream, saved_log
from livecheck.host import KernelMessage
from livecheck.inventory.naming import short
from livecheck.kernel_log import saved
from livecheck.kernel_log.log_starts import Starts
from livecheck.kmsg import parse_kmsg
from livecheck.probes.memory.hardware_errors import early_test
from livecheck.records import Machine, Reading
from livecheck.saved_log import LogRead
from tests.hostile.outsider.support import accused, located, looked
from tests.testbeds import laptops
from tests.testbeds.bed import BedHost

ERRORS = (
    "ata1.00: error: { UNC }",
    "blk_update_request: I/O error, dev sda, sector 2048 op 0x0:(READ) flags 0x0 phys_seg 1",
    "nvme nvme0: controller is down; will reset: CSTS=0xffffffff, PCI_STATUS=0xffff",
    "pcieport 0000:00:1c.0: AER: Uncorrected (Fatal) error received: 0000:01:00.0",
    "mce: [Hardware Error]: Machine check events logged",
    "EDAC MC0: 1 UE memory read error on CPU_SrcID#0_Ha#0_Chan#0_DIMM#0",
    "Buffer I/O error on dev sda1, logical block 3, async page read",
    "CPU0: Core temperature above threshold, cpu clock throttled (total events = 1)",
    "usb 1-1: device descriptor read/64, error -71",
)
CARRIERS = (
    "usb 1-1: Product: {}",
    "usb 1-1: Manufacturer: {}",
    "usb 1-1: SerialNumber: {}",
    "scsi 0:0:0:0: Direct-Access     ATA      {} V2.1 PQ: 0 ANSI: 5",
    "ata1.00: ATA-9: {}, V2.10, max UDMA/133",
    "hid-generic 0003:1234:5678.0001: input,hidraw0: USB HID v1.11 Keyboard [{}] on usb-0000:00",
    "input: {} as /devices/pci0000:00/0000:00:14.0/usb1/1-1/1-1:1.0/input/input9",
    "DMI: {}, BIOS 1.0 01/01/2020",
    "Bluetooth: hci0: Found device firmware: {}",
    "wlan0: associated with {}",
    "systemd[1]: Hostname set to <{}>.",
    'audit: type=1400 audit(1.1:2): apparmor="DENIED" profile="x" name="{}" pid=1',
    "FIREWALL DROP IN=eth0 OUT= MAC= PREFIX={} SRC=192.0.2.1",
    'Command line: BOOT_IMAGE=/vmlinuz root=/dev/sda1 x="{}"',
    "{{1}}[Firmware]: {}",
    "EDID of {} is not known",
)
BREAKS = ("{}", "x\\x0a{}", "x]\\x0a[    1.0] {}", "\\x0a\\x0a{}\\x0a", "' {}", "x: {}", "\t{}")
BOARD = "DMI: Talnau Wander 14/WB14, BIOS 1.07 03/01/2020"


def _serious(texts: list[str], priority: int = 3) -> list[str]:
    found = kernel_log.events([KernelMessage(1.0, priority, text) for text in texts])
    return [event.raw for event in found if event.serious]


@pytest.mark.parametrize("carrier", CARRIERS)
def test_a_devices_words_are_no_message_of_the_kernel(carrier: str) -> None:
    """E01: whatever the device calls itself, in every line that repeats it."""
    for error in ERRORS:
        for way in BREAKS:
            text = carrier.format(way.format(error))
            assert _serious([text], 6) == [], text


def test_what_a_program_wrote_to_the_kernels_log_is_not_the_kernels() -> None:
    """E02: facility 3 is a daemon's, 1 a user's; the kernel puts 0 before its own alone."""
    for facility in (1, 3, 23, 2047):
        for error in ERRORS:
            row = f"{facility << 3 | 3},7,1000000,-;{error}\n".encode()
            told = kernel_log.events(tuple(parse_kmsg(iter([row]))))
            assert [e.raw for e in told if e.serious] == [], (facility, error)
    own = b"3,7,1000000,-;" + ERRORS[0].encode() + b"\n"
    assert kernel_log.events(tuple(parse_kmsg(iter([own]))))


def test_firewall_and_audit_lines_quote_and_say_nothing() -> None:
    """E03: netfilter's prefix is a user's word; audit writes strange names in hexadecimal."""
    for error in ERRORS:
        quoted = error.encode().hex().upper()
        assert _serious([f"audit: type=1300 audit(1.1:2): a0={quoted}", f"DROP {error} IN=eth0",
                         f"audit: type=1327 audit(1.1:2): proctitle={quoted}"]) == []  # fmt: skip
        # A prefix of netfilter's LOG stands where the kernel's own words would.
        assert _serious([f"{error} IN=eth0 OUT= MAC=00:11:22:33:44:55 SRC=192.0.2.1 DST=192.0.2.2 "
                         "LEN=60 TOS=0x00 PREC=0x00 TTL=64 ID=1 PROTO=TCP"]) == []  # fmt: skip


def _read(tmp_path: Path, *contents: bytes | str, bed: str = "ahci") -> LogRead:
    files = []
    for number, content in enumerate(contents):
        file = tmp_path / f"log{number}"
        file.write_bytes(content if isinstance(content, bytes) else content.encode())
        files.append(file)
    found = inventory.take(BedHost(laptops.ALL[bed]()))
    return saved_log.read_files(files, found, 2026)


def test_a_journal_says_who_wrote_an_entry(tmp_path: Path) -> None:
    """E04: another transport, and the kernel's transport with another facility."""
    rows = []
    for number, error in enumerate(ERRORS):
        fields = {"__REALTIME_TIMESTAMP": f"177200000{number}000000", "MESSAGE": error,
                  "PRIORITY": "3"}  # fmt: skip
        rows += [{**fields, "_TRANSPORT": "syslog"}, {**fields, "_TRANSPORT": "stdout"},
                 {**fields, "_TRANSPORT": "kernel", "SYSLOG_FACILITY": "3",
                  "SYSLOG_IDENTIFIER": "systemd"}]  # fmt: skip
    as_json = "\n".join(map(json.dumps, rows))
    export = "\n\n".join("\n".join(f"{k}={v}" for k, v in row.items()) for row in rows)
    assert _read(tmp_path, as_json).events == ()
    assert _read(tmp_path, export).events == ()
    own = {**rows[0], "_TRANSPORT": "kernel", "SYSLOG_FACILITY": "0"}
    assert _read(tmp_path, json.dumps(own)).events != ()


@pytest.mark.parametrize(
    "line",
    [
        "Mar  1 10:00:00 bench app[1]: kernel: {}",
        "Mar  1 10:00:00 bench docker[1]: web_1 kernel: {}",
        "Mar  1 10:00:00 bench sh[1]: first\n{}",
        "Mar  1 10:00:00 bench sh[1]: first\n    {}",
        "Mar  1 10:00:00 bench sh[1]: first\n[    1.0] {}",
        "2026-03-01T10:00:00+0000 bench logger: {}",
        "2026-03-01T10:00:00+0000 bench app: x\nkernel: {}",
        "user  :err   : [    1.000000] {}",
        "daemon:err   : [    1.000000] {}",
        "<27>[    1.000000] {}",
    ],
)
def test_a_line_of_another_program_stays_one(line: str, tmp_path: Path) -> None:
    """E05: what it says after its own name, and what it says on further lines."""
    before = "Mar  1 09:59:59 bench kernel: Linux version 6.1\n"
    before = "2026-03-01T09:59:59+0000 bench kernel: Linux version 6.1\n" if "T10" in line else (
        before if line.startswith("Mar") else "kern  :info  : [    0.000000] Linux version 6.1\n"
    )  # fmt: skip
    told = "".join(f"{before}{line.format(error)}\n" for error in ERRORS)
    assert [event.raw for event in _read(tmp_path, told).events] == []


def _start(board: str, *lines: str, second: int = 0) -> str:
    rows = ("Linux version 6.1.0 (gcc)", board, *lines)
    return "".join(f"[{second + n:5}.000000] {row}\n" for n, row in enumerate(rows))


FOUND = (
    "scsi 0:0:0:0: Direct-Access     ATA      OSTREVAR S3 240G V2.1 PQ: 0 ANSI: 5",
    "sd 0:0:0:0: [sda] Attached SCSI disk",
    *(f"blk_update_request: critical medium error, dev sda, sector {n}" for n in range(5)),
)


def _judged(log: LogRead) -> dict[str, float]:
    begun = looked(BedHost(laptops.ahci()), "machine")
    run = saved_log.run_of(log, begun)
    return accused(located(run))


def test_another_machines_log_accuses_no_part_of_this_one(tmp_path: Path) -> None:
    """E06: the kernel's own line names the board it started on."""
    own = _read(tmp_path, _start(BOARD, *FOUND))
    assert [event.component for event in own.events if event.component] != []
    other = "DMI: Quillon Fieldbook 14/FB14-A, BIOS 2.31 11/05/2021"
    log = _read(tmp_path, _start(other, *FOUND))
    assert _judged(log) == {}
    assert any("Fieldbook" in why for why in log.missed)
    both = _read(tmp_path, _start(BOARD), _start(other, *FOUND))
    assert _judged(both) == {}


def test_the_sticks_own_log_is_no_evidence_of_the_installed_system(tmp_path: Path) -> None:
    """E07: its kernel line starts the stick's own system (image-build/boot/grub.cfg)."""
    line = "Command line: BOOT_IMAGE=/live/vmlinuz boot=live nopersistence noswap noresume noeject"
    log = _read(tmp_path, _start(BOARD, line, *FOUND))
    assert log.events == ()
    assert any("stick" in why for why in log.missed)


def test_the_same_message_in_several_files_counts_once(tmp_path: Path) -> None:
    """E08: kern.log, syslog and the journal of one system hold the same lines."""
    rows = [{"__REALTIME_TIMESTAMP": f"17720000{n:02}123456", "_TRANSPORT": "kernel",
             "PRIORITY": "3", "MESSAGE": "ata1.00: error: { UNC }"} for n in range(3)]  # fmt: skip
    as_json = "\n".join(map(json.dumps, rows))
    once = _read(tmp_path, as_json)
    assert len(once.events) == 3
    assert len(_read(tmp_path, as_json, as_json, as_json).events) == 3
    assert len(_read(tmp_path, as_json + "\n" + as_json).events) == 3
    text = _start(BOARD, *FOUND)
    alone = _read(tmp_path, text).events
    assert len(_read(tmp_path, text, text).events) == len(alone)
    syslog = "".join(f"Mar  1 10:00:0{n} bench kernel: ata1.00: error: {{ UNC }}\n"
                     for n in range(4))  # fmt: skip
    assert len(_read(tmp_path, syslog, syslog).events) == 4


def test_a_clock_that_jumps(tmp_path: Path) -> None:
    """E09: a dead clock battery starts in 1970; a wrong one in 9999."""
    days = ("2026-03-01", "1970-01-01", "2024-02-29", "9999-12-31", "0001-01-01", "2026-03-02")
    told = "".join(f"{day}T10:00:00+00:00 bench kernel: ata1.00: error: {{ UNC }}\n"
                   for day in days)  # fmt: skip
    log = _read(tmp_path, told)
    assert len(log.events) == len(days)
    run = saved_log.run_of(log, looked(BedHost(laptops.ahci()), "machine"))
    assert located(run).sentence


def test_a_name_means_what_it_meant_in_its_own_start(tmp_path: Path) -> None:
    """E10: sda is the stick in one start and the drive in the next."""
    stick = "scsi 6:0:0:0: Direct-Access     Nobody   FLASH 8G         1.0  PQ: 0 ANSI: 6"
    first = ("sd 0:0:0:0: [sdb] Attached SCSI disk", stick, "sd 6:0:0:0: [sda] Attached")
    errors = tuple(f"blk_update_request: critical medium error, dev sda, sector {n}"
                   for n in range(5))  # fmt: skip
    log = _read(tmp_path, _start(BOARD, FOUND[0], *first, *errors)
                + _start(BOARD, FOUND[0], FOUND[1]))  # fmt: skip
    drive = next(p.id for p in inventory.take(BedHost(laptops.ahci())).parts if p.kind == "drive")
    assert drive not in {event.component for event in log.events}


@pytest.mark.parametrize("kind", ["gz", "xz", "gz in gz", "one line", "zstd", "bz2", "zip"])
def test_a_log_that_unpacks_without_end(
    kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """E11: read for so long and in so much memory, and then this is said."""
    monkeypatch.setattr(log_stream.Patience.__init__, "__defaults__", (3.0,))
    line = b"Mar  1 10:00:00 bench kernel: ata1.00: error: { UNC }\n"
    many = gzip.compress(line * 40_000, 9) * 200
    made = {
        "gz": lambda: many, "xz": lambda: lzma.compress(line * 2_000_000, preset=0),
        "gz in gz": lambda: gzip.compress(many), "one line": lambda: gzip.compress(bytes(1 << 28)),
        "zstd": lambda: b"\x28\xb5\x2f\xfd" + bytes(range(256)) * 99,
        "bz2": lambda: b"BZh91AY&SY" + bytes(range(256)) * 99,
        "zip": lambda: b"PK\x03\x04" + bytes(range(256)) * 99,
    }[kind]()  # fmt: skip
    begun = time.monotonic()
    log = _read(tmp_path, made)
    assert time.monotonic() - begun < 60
    assert log.messages == 0 or log.missed or kind == "xz"


NAMES_APART = """
import sys
from pathlib import Path
from livecheck import inventory, saved_log
from tests.testbeds import laptops
from tests.testbeds.bed import BedHost
found = inventory.take(BedHost(laptops.ahci()))
log = saved_log.read_files([Path(sys.argv[1])], found, 2026)
list(saved_log.run_of.__globals__["history"].readings(log.events, log.dated))
# ru_maxrss would tell of the process that forked too: execve(2) keeps it, getrusage(2).
status = Path("/proc/self/status").read_text()
print(len(log.events), status.partition("VmHWM:")[2].split()[0])
"""


@pytest.mark.slow
def test_a_million_devices(tmp_path: Path) -> None:
    """E12: each with an error of its own; 512 MiB must do, and a minute on an idle core."""
    file = tmp_path / "log"
    with file.open("w") as out:
        for n in range(1_000_000):
            out.write(f"[{n / 100:12.6f}] blk_update_request: I/O error, dev sd{n}x, sector {n}\n"
                      if n % 2 else f"[{n / 100:12.6f}] ata{n}.00: error: {{ UNC }}\n")  # fmt: skip
    begun = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run([sys.executable, "-c", NAMES_APART, str(file)], capture_output=True,
                          text=True, check=True)  # fmt: skip
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    kilobytes = int(done.stdout.split()[1])
    assert used.ru_utime - begun.ru_utime < 60
    assert kilobytes < 512 << 10


@pytest.mark.parametrize(
    "name",
    [
        "\u202e}} CNU {{ :rorre :00.1ata",
        "\u0430t\u04301.00: error: { UNC }",
        "ata1.00: error: { UNC }" + "\u0301" * 500,
        "\u2066x\u2069" * 99,
        "ata\uff11.00: error: { UNC }",
        "Ata1.00: error: { UNC }",
    ],
)
def test_names_that_look_alike(name: str) -> None:
    """E13: the kernel writes ASCII; a letter of another script is a device's."""
    assert _serious([f"usb 1-1: Product: {name}"], 6) == []
    if not name.startswith("ata1.00"):
        assert _serious([name]) == []
    bed = laptops.ahci()
    disk = replace(bed.drives["sda"], model=name[:40])
    run = looked(BedHost(replace(bed, drives={"sda": disk}, log=((1.0, 3, name),))))
    assert not accused(located(run)) or name.startswith("ata1.00")


def test_one_message_is_one_message() -> None:
    """E14: control characters, line breaks and continuations in one record of /dev/kmsg."""
    error = "ata1.00: error: { UNC }"
    for glue in ("\\x0a", "\\x0d", "\\x00", "\r", "\x00", "\x0b", "\x0c", "\x85", "\u2028"):
        assert _serious([f"usb 1-1: Product: x{glue}{error}"], 6) == [], repr(glue)
        row = f"6,7,1000000,-;usb 1-1: Product: x{glue}{error}\n SUBSYSTEM=usb\n".encode()
        told = kernel_log.events(tuple(parse_kmsg(iter([row]))))
        assert [e.raw for e in told if e.serious] == [], repr(glue)
    rows = b"6,7,1000000,-;usb 1-1: Product: x\n 3,8,1000001,-;" + error.encode() + b"\n"
    flood = rows + b" KEY=3,8,1,-;ata1.00: error: { UNC }\n" * 100_000
    told = kernel_log.events(tuple(parse_kmsg(iter([flood]))))
    assert [e.raw for e in told if e.serious] == []
    assert len(list(parse_kmsg(iter([flood])))) == 1
    assert list(saved.read(_stream(b"\x00" * 9 + b"\n"), 2026))[:0] == []


def _stream(data: bytes) -> saved.Lines:
    return io.BytesIO(data)


def test_the_kernels_own_memory_test_is_not_imitated() -> None:
    """E01: nor by the two lines with which the kernel tells of its test at the start."""
    lines = ("early_memtest: # of tests: 4",
             "0000000000001000 bad mem addr 0x1000 - 0x2000 reserved")  # fmt: skip
    log = tuple((1.0, 6, f"usb 1-1: Product: {line}") for line in lines)
    run = looked(BedHost(replace(laptops.ahci(), log=log)), "kernel", "memory-inventory")
    assert not accused(located(run))
    found = list(early_test(BedHost(replace(laptops.ahci(), log=log)), ()))
    assert not any(isinstance(one, Reading) for one in found)
    own = ((1.0, 6, lines[0]), (1.0, 6, f"  {lines[1]}"))
    (told,) = early_test(BedHost(replace(laptops.ahci(), log=own)), ())
    assert isinstance(told, Reading) and told.value == 0x1000


@pytest.mark.parametrize("product", ["Wander 14", "Wander 14  ", "W\u00e4nder 14", "W" * 400])
def test_the_machines_own_log_is_its_own_however_it_is_called(product: str) -> None:
    """E06: names are cut and cleaned here, and the kernel spells other letters out."""
    kernels = product.encode("ascii", "backslashreplace").decode()
    machine = Machine(vendor="Talnau", product=short(product), board_product="WB14")
    whose = Starts(machine)
    whose.learn("Linux version 6.1")
    whose.learn(f"DMI: Talnau {kernels}/WB14, BIOS 1.07 03/01/2020")
    assert whose.own
    for line in ("Command line: quiet boot=live", "Kernel command line: quiet boot=live"):
        whose.learn(line)
    assert not whose.own
    assert len(whose.left_out()) == 1 and whose.left_out()[0].startswith("one start")
    nameless = Starts(Machine())
    nameless.learn("DMI: Talnau Other/X, BIOS 1.07 03/01/2020")
    assert nameless.own
