"""Kernel logs in which names change their owner, lines are cut and words are a user's.

Sources: Linux fs/exec.c, fs/btrfs/volumes.c, kernel/cgroup/pids.c, init/main.c, lib/ratelimit.c and
kernel/printk/printk.c (what their lines hold: from memory); CONFIG_PRINTK_CALLER; RFC 3629.
"""

from __future__ import annotations

import resource
import time
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Final

import msgspec
import pytest

from livecheck import inventory, kernel_log, saved_log
from livecheck.host import KernelMessage
from livecheck.records import Complaint, Run
from livecheck.saved_log import LogRead
from tests.hostile.outsider.support import accused, located, run_of, with_nodes
from tests.hostile.outsider.test_evidence import ERRORS
from tests.testbeds import devices, laptops
from tests.testbeds.bed import Bed, BedHost

LABELS: Final = (
    "process '{}' started with executable stack",
    "process '{}' launched '/bin/sh' with NULL argv: empty string added",
    "BTRFS: device label {} devid 1 transid 12 /dev/sda2 scanned by mount (812)",
    "XFS (sda2): Mounting V5 Filesystem {}",
    "cgroup: fork rejected by pids controller in /user.slice/{}",
    'Unknown kernel command line parameters "{}", will be passed to user space.',
    "Out of memory: Killed process 812 ({}) total-vm:1kB, anon-rss:1kB, file-rss:0kB",
    "{}: loading out-of-tree module taints kernel.",
    "{}: module verification failed: signature and/or required key missing - tainting kernel",
    "EXT4-fs (dm-0): mounted filesystem {} r/w with ordered data mode. Quota mode: none.",
    "Adding 8388604k swap on /dev/mapper/{}.  Priority:-2 extents:1 across:8388604k SS",
    "warning: `{}' uses wireless extensions which will stop working for Wi-Fi 7 hardware",
    "{}[812]: segfault at 0 ip 000055d0 sp 00007ffc error 4 in x[55d0+1000] likely on CPU 1",
    "traps: {}[812] trap invalid opcode ip:55d0 sp:7ffc error:0 in x[55d0+1000]",
    "systemd-journald[311]: Received client request to flush {}",
    "device-mapper: ioctl: {} device already exists",
    "9p: {}: mount option not known",
    "loop0: detected capacity change from 0 to 2048 ({})",
    'audit: type=1400 audit(1.1:2): comm="{}" path="/x"',
)


@pytest.mark.parametrize("label", LABELS)
def test_words_of_a_user_in_a_line_of_the_kernels(label: str) -> None:
    """E01: whatever a program, a label or a module is called."""
    # A program's name has fifteen letters (include/linux/sched.h, TASK_COMM_LEN).
    short = "[812]" in label
    for error in ERRORS:
        for word in (error[:15],) if short else (error, f"x {error}", error[:15]):
            found = kernel_log.events([KernelMessage(1.0, 4, label.format(word))])
            assert [one.raw for one in found if one.serious] == [], word


FROZEN: Final = (
    "{}.00: exception Emask 0x0 SAct 0x0 SErr 0x0 action 0x0",
    "{}.00: irq_stat 0x40000001",
    "{}.00: failed command: READ DMA EXT",
    "{}.00: cmd 25/00:08:00:08:00/00:00:00:00:00/e0 tag 3 dma 4096 in\n"
    "         res 51/{}:08:00:08:00/00:00:00:00:00/e0 Emask 0x9 (media error)",
    "{}.00: status: {{ DRDY ERR }}",
)


def _told(bed: Bed, *lines: str, complaint: Complaint = Complaint.UNSTABLE) -> Run:
    log = tuple((50.0 + n / 100, 3, words) for n, words in enumerate(lines))
    run = run_of(replace(bed, log=(*bed.log, *log)))
    return msgspec.structs.replace(run, complaint=complaint)


@pytest.mark.parametrize("caller", ["", "[T123] ", "[C0] "])
def test_two_ports_that_speak_by_turns(caller: str) -> None:
    """E02: UNC is told of port 1, a link reset of port 3, line by line between each other."""
    ours = [words.format("ata1", "40") for words in FROZEN] + ["ata1.00: error: { UNC }"]
    theirs = ["ata3: exception Emask 0x10 SAct 0x0 SErr 0x4050000 action 0xe frozen",
              "ata3: irq_stat 0x00400040, connection status changed",
              "ata3: SError: { PHYRdyChg CommWake DevExch }", "ata3: hard resetting link",
              "ata3: SATA link down (SStatus 0 SControl 300)", "ata3: EH complete"]  # fmt: skip
    mixed = [f"{caller}{line}" for pair in zip(ours, theirs, strict=True) for line in pair]
    found = kernel_log.events([KernelMessage(50.0 + n / 100, 3, line)
                               for n, line in enumerate(mixed)])  # fmt: skip
    medium = {one.device for one in found if one.layer == "medium" and one.serious}
    assert medium <= {"ata1.00", "ata1"}
    assert caller or medium
    links = {one.device for one in found if one.layer == "link" and one.serious}
    assert not any(one and one.startswith("ata1") for one in links)


FAILS: Final = "I/O error, dev {}, sector {} op 0x0:(READ) flags 0x80700 phys_seg 1 prio class 2"


def test_a_name_that_goes_to_another_disk() -> None:
    """E03: sdb was a stick that failed and was pulled; sdb is the second disk now."""
    second = replace(laptops.DISK, model="Grauwerk Q1", serial="GQ1SECOND")
    bed = laptops.ahci()
    own = tuple(n for n in bed.nodes if "ata3" not in n.path)
    bed = replace(bed, nodes=(*own, *devices.sata_port(3, second, "sdb")),
                  drives={**bed.drives, "sdb": second})  # fmt: skip
    stick = ["usb 1-1: new high-speed USB device number 6 using xhci_hcd",
             "usb-storage 1-1:1.0: USB Mass Storage device detected",
             "scsi host6: usb-storage 1-1:1.0",
             "scsi 6:0:0:0: Direct-Access     Krumm    Stick 8          1.00 PQ: 0 ANSI: 6",
             "sd 6:0:0:0: [sdb] 15633408 512-byte logical blocks: (8.00 GB/7.45 GiB)",
             "sd 6:0:0:0: [sdb] Attached SCSI removable disk"]  # fmt: skip
    errors = [line for n in range(12) for line in (
        "sd 6:0:0:0: [sdb] tag#0 Sense Key : Medium Error [current] ",
        "sd 6:0:0:0: [sdb] tag#0 Add. Sense: Unrecovered read error",
        f"critical medium error, dev sdb, sector {8 * n} op 0x0:(READ) flags 0x80700",
        f"Buffer I/O error on dev sdb1, logical block {n}, async page read")]  # fmt: skip
    gone = [
        "usb 1-1: USB disconnect, device number 6",
        "sd 6:0:0:0: [sdb] Synchronizing SCSI cache",
    ]
    now = ["ata3: SATA link up 6.0 Gbps (SStatus 133 SControl 300)",
           "ata3.00: ATA-9: Grauwerk Q1, V2.10, max UDMA/133",
           "scsi 2:0:0:0: Direct-Access     ATA      Grauwerk Q1      V2.1 PQ: 0 ANSI: 5",
           "sd 2:0:0:0: [sdb] Attached SCSI disk"]  # fmt: skip
    run = _told(bed, *stick, *errors, *gone, *now)
    disk = next(p for p in run.inventory.parts if p.serial == "GQ1SECOND")
    found = accused(located(run))
    assert disk.id not in found
    assert disk.place not in found
    against = [r for r in run.readings if r.at == disk.id and r.outcome.value == "failed"]
    assert against == []


def test_a_socket_that_got_another_device() -> None:
    """E04: what failed there is gone, and the one that is there was quiet."""
    bed = laptops.nvme()
    camera = devices.usb("1-1", "0c45:1111", (0x0E, 1, 0), "Desk camera", "DC1")
    bed = with_nodes(bed, *camera)
    lines = ["usb 1-1: new high-speed USB device number 6 using xhci_hcd",
             "usb 1-1: New USB device found, idVendor=1111, idProduct=2222, bcdDevice= 1.00",
             "usb 1-1: Product: Old stick", "usb 1-1: SerialNumber: OLD1"]  # fmt: skip
    for _ in range(9):
        lines += [
            "usb 1-1: reset high-speed USB device number 6 using xhci_hcd",
            "usb 1-1: device descriptor read/64, error -71",
        ]
    lines += ["usb 1-1: USB disconnect, device number 6",
              "usb 1-1: new high-speed USB device number 7 using xhci_hcd",
              "usb 1-1: New USB device found, idVendor=0c45, idProduct=1111, bcdDevice= 1.00",
              "usb 1-1: Product: Desk camera", "usb 1-1: SerialNumber: DC1"]  # fmt: skip
    run = _told(bed, *lines, complaint=Complaint.PART_MISSING)
    (there,) = (p for p in run.inventory.parts if p.place == "usb:1-1")
    assert there.id not in accused(located(run))


@pytest.mark.xfail(reason="a module's label cut at its end is taken for one", strict=True)
def test_lines_that_are_cut() -> None:
    """E05: the ring overwrote its oldest line in the middle, or a crash cut the last."""
    for error in ERRORS:
        whole = {one.device for one in kernel_log.events([KernelMessage(1.0, 3, error)])}
        for at in range(1, len(error)):
            for cut in (error[at:], error[:at]):
                for one in kernel_log.events([KernelMessage(1.0, 3, cut)]):
                    if one.serious and one.device not in whole:
                        assert one.device is None or one.device in cut, cut
        words = set(error.replace(",", " ").replace(":", " ").split())
        for at in range(1, len(error)):
            for one in kernel_log.events([KernelMessage(1.0, 3, error[:at])]):
                if one.serious and one.device and not one.device.startswith("usb"):
                    assert one.device in words or one.device in whole, error[:at]


LOST: Final = (
    "blk_update_request: 33 callbacks suppressed",
    "buffer_io_error: 246 callbacks suppressed",
    "ata1.00: 12 callbacks suppressed",
    "** 112 printk messages dropped **",
    "systemd-journald[311]: Missed 42 kernel messages",
    "printk: systemd: 25 output lines suppressed due to ratelimiting",
    "net_ratelimit: 7 callbacks suppressed",
    "mce_notify_irq: 4 callbacks suppressed",
    "pcieport 0000:00:1c.0: AER: 3 callbacks suppressed",
)


@pytest.mark.parametrize("note", LOST)
def test_notes_that_lines_are_missing(note: str) -> None:
    """E06: no error of anybody's by themselves."""
    found = kernel_log.events([KernelMessage(1.0, 4, note)])
    assert [one.raw for one in found if one.serious] == []


def _read(tmp_path: Path, content: bytes) -> LogRead:
    file = tmp_path / "log"
    file.write_bytes(content)
    found = inventory.take(BedHost(laptops.ahci()))
    return saved_log.read_files([file], found, 2026)


@pytest.mark.slow
@pytest.mark.parametrize("error", ["ata1.00: error: { UNC }", "random: crng init done"])
def test_a_million_equal_lines(error: str, tmp_path: Path) -> None:
    """E07: read to the end, and in bounded memory."""
    content = f"[   12.345678] {error}\n".encode() * 1_000_000
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    begun = time.process_time()
    log = _read(tmp_path, content)
    took = time.process_time() - begun
    assert log.messages > 0
    assert len({one.says for one in log.events}) <= 1
    assert (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) // 1024 < 300
    assert took < 60


BAD: Final = (b"\xe2\x82", b"\xf0\x9f\x94", b"\xc0\xaf", b"\xff", b"\xed\xa0\x80", b"\xe2\x80\xae")


@pytest.mark.parametrize("block", [4 << 10, 8 << 10, 64 << 10, 1 << 20])
@pytest.mark.parametrize("bad", BAD)
def test_utf_8_at_the_edge_of_a_block(bad: bytes, block: int, tmp_path: Path) -> None:
    """E08: bytes of no sign before, at and behind the edge; two true errors beside them."""
    true = b"[   60.000000] ata1.00: error: { UNC }\n"
    for off in range(-3, 4):
        filler = b"[   12.345678] usb 1-1: Product: "
        fill = block + off - len(true) - len(filler) - len(bad)
        line = filler + b"x" * 200 + b"\n"
        many = line * (fill // len(line))
        rest = fill - len(many)
        content = true + many + filler + b"y" * rest + bad + bad + b"\n"
        content += true.replace(b"60.0", b"61.0")
        log = _read(tmp_path, content)
        counted = Counter(one.seconds for one in log.events)
        assert set(counted.values()) == {1}
        assert len(counted) == 2, (off, counted)
