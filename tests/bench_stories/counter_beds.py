"""Machines of the counter stories: what each of them shows the kernel, in files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from tests.inventory import smbios_builder as smbios
from tests.testbeds import config, devices, laptops, stories
from tests.testbeds.bed import Bed, Content, Node
from tests.testbeds.screens import with_panel
from tests.testbeds.smartctl import Drive

from tests.bench_stories import fresh_beds, walked_beds  # isort: skip
from tests.bench_stories.odd_beds import _changed, _heat, _said  # isort: skip

OLD = Drive("OSTREVAR S3 240GB", "OSV240B09K", "V2.10", 240 * laptops.GB, raw={5: 8, 199: 214},
            phy={0x001: 0, 0x00B: 0}, hours=30_411)  # fmt: skip
"""Damaged transfers and replaced sectors of years ago."""
SYSTEM = Drive("OSTREVAR S3 240GB", "OSV240C44M", "V2.10", 240 * laptops.GB)
SECOND = Drive("OSTREVAR S5 960GB", "OSV960D71Q", "V3.00", 960 * laptops.GB,
               raw={5: 412, 187: 96, 197: 38, 198: 38}, hours=19_004)  # fmt: skip
READ_ONLY = Drive("Ostrevar N4 512GB", "OSN512K0042", "3.1.7", 512 * laptops.GB, nvme=True,
                  critical_warning=0x08, used_percent=112, hours=26_120)  # fmt: skip
"""Bit 3 of the critical warning: the media is in read only mode (NVMe base specification)."""


def _battery(bed: Bed, files: Mapping[str, Content]) -> Bed:
    return _changed(bed, "power_supply", files, "BAT0")


def _with_nvme(*drive: Node, slot_filled: bool = True, lanes: int = 4) -> Bed:
    bed = laptops.nvme()
    own = tuple(n for n in bed.nodes if laptops.DRIVE_PORT not in n.path)
    link = (8.0, lanes) if drive else None
    port = devices.root_port(laptops.DRIVE_PORT, 2, 9, slot_filled, link)
    return replace(bed, nodes=(*own, port, *drive), drives={})


def _drive(bed: Bed, drive: Drive) -> Bed:
    return replace(bed, drives={"nvme0n1": drive, "nvme0": drive})


def _temperatures(bed: Bed, *own: Node) -> Bed:
    nodes = tuple(n for n in bed.nodes if n.subsystem not in ("hwmon", "thermal"))
    return replace(bed, nodes=(*nodes, *own))


# --- Power


def battery_of_nine_cycles() -> Bed:
    """A new battery: nine cycles, and it holds two fifths of what it was made for."""
    return _battery(laptops.ahci(), {"cycle_count": "9", "energy_full": "20900000",
                                     "energy_now": "20900000"})  # fmt: skip


def second_bay_empty() -> Bed:
    """Two battery bays; the second tells of no battery."""
    bed = laptops.ahci()
    second = devices.battery(21.0, 24.0, 140, "0733")
    files = {**second.files, "present": "0", "status": "Unknown", "capacity": "0",
             "energy_now": "0"}  # fmt: skip
    node = replace(second, path=second.path.replace("BAT0", "BAT1"), files=files)
    return replace(bed, nodes=(*bed.nodes, node))


def second_bay_filled() -> Bed:
    """The second battery was fetched from home."""
    bed = laptops.ahci()
    second = devices.battery(21.0, 24.0, 140, "0733")
    node = replace(second, path=second.path.replace("BAT0", "BAT1"))
    return replace(bed, nodes=(*bed.nodes, node))


def cold() -> Bed:
    """The battery came in from the frost (words of health: sysfs-class-power)."""
    return _battery(laptops.ahci(), {"status": "Not charging", "health": "Cold", "temp": "-40",
                                     "capacity": "41", "energy_now": "17600000"})  # fmt: skip


def warmed_up() -> Bed:
    """Two hours later it charges."""
    return _battery(laptops.ahci(), {"status": "Charging", "health": "Good", "temp": "210",
                                     "capacity": "46", "energy_now": "19800000",
                                     "power_now": "27000000"})  # fmt: skip


# --- Heat


def _two_fans(bed: Bed, celsius: float, rpm: int, second: int) -> Bed:
    nodes = devices.heat(celsius, rpm)
    more = {"fan2_input": str(second), "fan2_label": "GPU"}
    return _temperatures(bed, *(
        replace(n, files={**n.files, **more}) if "talnau-fan" in n.path else n for n in nodes
    ))  # fmt: skip


def second_fan_stands() -> Bed:
    """97 degrees; one fan turns as fast as it can, the other stands."""
    return _two_fans(_heat(97.0, 5100), 97.0, 5100, 0)


def both_turn() -> Bed:
    """The second fan was full of hair and turns again."""
    return _two_fans(laptops.ahci(), 61.0, 3100, 2900)


def loose_sensor() -> Bed:
    """A cool machine; one input of its sensor chip is connected to nothing and tells 127.

    127 is the largest number a signed byte holds: what such an input shows. From memory.
    """
    bed = fresh_beds.hands()
    chip = Node("hwmon", "/sys/devices/platform/talnau-io.656/hwmon/hwmon3",
                {"name": "talnau_io", "temp1_input": "41000", "temp1_label": "Board",
                 "temp2_input": "127000", "temp2_label": "AUXTIN1"})  # fmt: skip
    return replace(bed, nodes=(*bed.nodes, chip))


# --- Memory


def pair_bad_in_b() -> Bed:
    """Two modules; errors at place B."""
    return walked_beds._memory("51AA0001", "51AA0002", "DIMM B")


def second_in_a() -> Bed:
    """The module of place B alone in place A: no errors."""
    return walked_beds._memory("51AA0002", "")


def first_in_b() -> Bed:
    """The module of place A alone in place B: errors."""
    return walked_beds._memory("", "51AA0001", "DIMM B")


def two_makes() -> Bed:
    """Two modules of two makes, and one crash after another."""
    return _said(walked_beds._memory("51AA0001", "88YY0007"), walked_beds.CRASHES)


def one_make() -> Bed:
    """The first alone."""
    return walked_beds._memory("51AA0001", "")


def other_make() -> Bed:
    """The second alone, in the same place."""
    return walked_beds._memory("88YY0007", "")


def all_soldered() -> Bed:
    """A thin machine: memory, drive and battery are part of it; errors are counted."""
    bed = laptops.nvme()
    places = ("Onboard A", "Onboard B")
    table = b"".join((
        smbios.firmware(), smbios.system(smbios.UUID[:-2] + b"\x20\x07", "TW14-2007"),
        smbios.board("BTW14-2007"), smbios.chassis(), smbios.processor(), smbios.array(),
        *(smbios.memory(0x11 + n, place, form=0x0B, serial="") for n, place in enumerate(places)),
        smbios.array_range(0, (16 << 20) - 1), smbios.end(),
    ))  # fmt: skip
    firmware, edac = "/sys/firmware/dmi/tables", "/sys/devices/system/edac/mc/mc0"
    extra = {**bed.extra, f"{firmware}/DMI": table,
             f"{firmware}/smbios_entry_point": smbios.entry_point_64(table),
             f"{edac}/ce_count": "21", f"{edac}/ue_count": "0"}  # fmt: skip
    for number, place in enumerate(places):
        extra |= {f"{edac}/dimm{number}/dimm_label": f"BANK 0 {place}",
                  f"{edac}/dimm{number}/dimm_ce_count": str(21 * (place == places[1])),
                  f"{edac}/dimm{number}/dimm_ue_count": "0"}  # fmt: skip
    lines = [
        (80.0 + 20 * n, 4, f"EDAC MC0: 1 CE memory read error on {places[1]} (channel:1 slot:0 "
                           f"page:0x{0x4C100 + n:x} offset:0x40 grain:64 syndrome:0x0)")
        for n in range(21)
    ]  # fmt: skip
    return _said(replace(bed, extra=extra), lines)


# --- Drives


def old_counts() -> Bed:
    """A drive that was badly plugged in once, years ago."""
    bed = laptops.ahci()
    own = tuple(n for n in bed.nodes if "/0000:00:17.0/ata1" not in n.path)
    return replace(bed, nodes=(*own, *devices.sata_port(1, OLD, "sda")), drives={"sda": OLD})


def one_lane() -> Bed:
    """An NVMe drive that was made for four lanes and runs on one."""
    first, *rest = devices.nvme(laptops.DRIVE_PORT, laptops.NVME)
    space = config.express("1b36:0010", 0x010802, now=(8.0, 1), most=(8.0, 4))
    narrow = replace(first, files={**first.files, "config": space})
    return _drive(_with_nvme(narrow, *rest, lanes=1), laptops.NVME)


def _two_drives(second: bool) -> Bed:
    bed = laptops.ahci()
    own = tuple(n for n in bed.nodes if not any(
        f"/0000:00:17.0/ata{port}" in n.path for port in (1, 2)))  # fmt: skip
    other = devices.sata_port(2, SECOND, "sdb") if second else devices.sata_port(2)
    numbered = (replace(n, properties={**n.properties, "MINOR": "16"}) if n.name == "sdb" else n
                for n in other)  # fmt: skip
    drives = {"sda": SYSTEM, "sdb": SECOND} if second else {"sda": SYSTEM}
    nodes = (*own, *devices.sata_port(1, SYSTEM, "sda"), *numbered)
    up = {1: "6.0 Gbps", 2: "6.0 Gbps"} if second else {1: "6.0 Gbps"}
    log = laptops.link_log(up, [3] if second else [2, 3])
    return replace(bed, nodes=nodes, drives=drives, log=log)


def backup_drive_bad() -> Bed:
    """The system's drive is sound; the second one cannot read some of its sectors."""
    lines = [(50.0 + n, 3, f"critical medium error, dev sdb, sector {81920 + 8 * n} op 0x0:(READ) "
                           "flags 0x80700 phys_seg 1 prio class 2") for n in range(3)]  # fmt: skip
    return _said(_two_drives(second=True), lines)


def backup_drive_out() -> Bed:
    """The second one was taken out."""
    return _two_drives(second=False)


def read_only() -> Bed:
    """The drive has used up its life and takes no write any more."""
    nodes = devices.nvme(laptops.DRIVE_PORT, READ_ONLY)
    lines = [(60.0 + 4 * n, 3, f"I/O error, dev nvme0n1, sector {409600 + n} op 0x1:(WRITE) flags "
                               "0x800 phys_seg 1 prio class 2") for n in range(4)]  # fmt: skip
    return _said(_drive(_with_nvme(*nodes), READ_ONLY), lines)


def bought_drive() -> Bed:
    """A drive that was bought for it."""
    drive = fresh_beds.NEW_NVME
    return _drive(_with_nvme(*devices.nvme(laptops.DRIVE_PORT, drive)), drive)


def reads_no_disc() -> Bed:
    """The disc drive spins and finds nothing to read (messages: drivers/scsi/sr.c, sd_print)."""
    lines = []
    for n, sector in enumerate((0, 64, 128, 64)):
        at = 31.0 + 7 * n
        lines += [
            (at, 6, "sr 1:0:0:0: [sr0] tag#7 FAILED Result: hostbyte=DID_OK driverbyte=DRIVER_OK "
                    "cmd_age=4s"),
            (at + 0.01, 6, "sr 1:0:0:0: [sr0] tag#7 Sense Key : Medium Error [current] "),
            (at + 0.02, 6, "sr 1:0:0:0: [sr0] tag#7 Add. Sense: No seek complete"),
            (at + 0.03, 3, f"critical medium error, dev sr0, sector {sector} op 0x0:(READ) flags "
                           "0x80700 phys_seg 1 prio class 2"),
            (at + 0.04, 3, f"Buffer I/O error on dev sr0, logical block {sector // 4}, async page "
                           "read"),
        ]  # fmt: skip
    return _said(laptops.ahci(), lines)


def no_drive() -> Bed:
    """The drive's slot senses no card."""
    return _with_nvme(slot_filled=False)


def shops_drive() -> Bed:
    """The shop's own drive in the slot."""
    return _drive(_with_nvme(*devices.nvme(laptops.DRIVE_PORT, stories.NVME_GOOD)),
                  stories.NVME_GOOD)  # fmt: skip


# --- Screen, hands, radios


def new_panel() -> Bed:
    """Another panel, with a number of its own."""
    return fresh_beds._with_hands(with_panel(serial=0x5678))


def with_lid() -> Bed:
    """A machine with everything that hands try, and a lid that tells its state."""
    bed = walked_beds.screen()
    return replace(bed, extra={**bed.extra, "/proc/acpi/button/lid/LID0/state": "state:  open\n"})


def no_wireless() -> Bed:
    """Neither the wireless card nor its slot answers, and no Bluetooth."""
    bed = laptops.nvme()
    gone = (laptops.WLAN_PORT, "/1-7")
    return replace(bed, nodes=tuple(n for n in bed.nodes if not any(g in n.path for g in gone)),
                   radios={})  # fmt: skip


def wireless_back() -> Bed:
    """Its switch in the firmware's setup stands as it was made."""
    return laptops.nvme()


# --- Several things at once


def fell() -> Bed:
    """99 degrees with a fan that stands, and the wireless slot senses a card that is silent."""
    hot = _heat(99.0, 0)
    bed = stories.contact_1()
    lines = tuple(line for line in hot.log if "temperature" in line[2])
    return _said(_temperatures(bed, *devices.heat(99.0, 0)), lines)


def fan_mended() -> Bed:
    """A new fan; the card is still silent."""
    return _temperatures(stories.contact_1(), *devices.heat(55.0, 2900))


def card_mended() -> Bed:
    """The card was seated anew as well."""
    return _temperatures(stories.contact_2(), *devices.heat(55.0, 2900))


def _new_drive() -> Bed:
    drive = Drive("Ostrevar N5 500GB", "OSN500NEW11", "1.0.2", 500 * laptops.GB, nvme=True,
                  hours=2)  # fmt: skip
    return stories.with_drive(drive, ())


def plug_forgotten() -> Bed:
    """A new drive; the battery's plug was not put back on the board."""
    return _battery(_new_drive(), {"present": "0", "status": "Unknown"})


def plug_on() -> Bed:
    """A new drive, and the battery answers."""
    return _new_drive()


def tuned() -> Bed:
    """Corrected parity errors inside one core, one after another.

    Format: __print_mce(), arch/x86/kernel/cpu/mce/core.c; code 0005h is an internal parity
    error (Intel SDM volume 3B, simple error codes).
    """
    lines = [
        (100.0 + 31 * n, 0, "mce: [Hardware Error]: CPU 2: Machine Check: 0 Bank 0: "
                            "9000004000010005")
        for n in range(9)
    ]  # fmt: skip
    return _said(fresh_beds.hands(), lines)


def noisy() -> Bed:
    """A sound machine whose firmware has the kernel complain at every start.

    Formats: drivers/acpi/acpica/utxface.c and psparse.c; drivers/pci/pcie/aer.c.
    """
    lines = [
        (0.3, 3, "ACPI BIOS Error (bug): Could not resolve symbol [\\_SB.PCI0.LPCB.ECDV], "
                 "AE_NOT_FOUND (20240827/psargs-332)"),
        (0.31, 3, "ACPI Error: Aborting method \\_GPE._L6F due to previous error (AE_NOT_FOUND) "
                  "(20240827/psparse-529)"),
        (0.4, 4, "pnp 00:04: disabling [mem 0xfed10000-0xfed17fff] because it overlaps "
                 "0000:00:00.0 BAR 3"),
        (1.9, 4, "platform regulatory.0: Direct firmware load for regulatory.db failed with "
                 "error -2"),
    ]  # fmt: skip
    for n in range(5):
        lines += [
            (20.0 + 40 * n, 4, "pcieport 0000:00:1c.0: AER: Corrected error message received from "
                               "0000:01:00.0"),
            (20.1 + 40 * n, 4, "ath10k_pci 0000:01:00.0: PCIe Bus Error: severity=Corrected, "
                               "type=Physical Layer, (Receiver ID)"),
            (20.2 + 40 * n, 4, "ath10k_pci 0000:01:00.0:   device [168c:0042] error status/mask="
                               "00000001/0000e000"),
            (20.3 + 40 * n, 4, "ath10k_pci 0000:01:00.0:    [ 0] RxErr                  (First)"),
        ]  # fmt: skip
    return _said(fresh_beds.hands(), lines)
