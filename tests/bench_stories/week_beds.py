"""Machines of the bench week (``week.py``): what each of them shows the kernel, in files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from tests.testbeds import devices, laptops, stories
from tests.testbeds.bed import Bed, Content
from tests.testbeds.screens import with_panel
from tests.testbeds.smartctl import Drive

from tests.bench_stories import counter_beds, fresh_beds, walked_beds  # isort: skip
from tests.bench_stories.fresh_beds import _with_hands  # isort: skip
from tests.bench_stories.odd_beds import _changed, _heat, _said  # isort: skip
from tests.bench_stories.walked_beds import _memory  # isort: skip

FELL = Drive("OSTREVAR S3 480GB", "OSV480E91WT", "V2.10", 480 * laptops.GB, raw={199: 88},
             phy={0x001: 6, 0x00B: 31})  # fmt: skip
HELD = replace(FELL, phy={0x001: 0, 0x00B: 0})
SPARE = Drive("OSTREVAR S3 120GB", "OSV120BENCH5", "V2.08", 120 * laptops.GB, hours=322)
BOUGHT = Drive("Ostrevar N5 500GB", "OSN500NEW21", "1.0.2", 500 * laptops.GB, nvme=True, hours=4)


def _battery(bed: Bed, files: Mapping[str, Content]) -> Bed:
    return _changed(bed, "power_supply", files, "BAT0")


def _cool(bed: Bed, celsius: float, rpm: int) -> Bed:
    own = tuple(n for n in bed.nodes if n.subsystem not in ("hwmon", "thermal"))
    return replace(bed, nodes=(*own, *devices.heat(celsius, rpm)))


# --- Spill: the memory place


def sticky() -> Bed:
    """Errors at place B."""
    return _memory("61BB0001", "61BB0002", "DIMM B")


def sticky_spare() -> Bed:
    """The shop's module in place B: the same errors."""
    return _memory("61BB0001", "BENCHM01", "DIMM B")


def washed_spare() -> Bed:
    """Place B was cleaned; the shop's module is still in it."""
    return _memory("61BB0001", "BENCHM01")


def washed() -> Bed:
    """Place B was cleaned, and the customer's module is back."""
    return _memory("61BB0001", "61BB0002")


# --- Fall: the drive's lead, the battery's plug


def _bay(drive: Drive, log: stories.Log) -> Bed:
    bed = stories.two_bays(drive, 1, log)
    own = tuple(n for n in bed.nodes if "BAT0" not in n.path)
    return replace(bed, nodes=(*own, devices.battery(46.1, 50.0, 133, "0524")))


def lead_broken() -> Bed:
    """The customer's drive in bay 1: its transfers are damaged."""
    return _bay(FELL, stories._link_errors(1))


def lead_and_spare() -> Bed:
    """The shop's drive on another lead: nothing is damaged."""
    return _bay(SPARE, ())


def lead_new() -> Bed:
    """The customer's drive on the other lead: its old count stays."""
    return _bay(HELD, ())


def no_battery() -> Bed:
    """The bay tells of no battery; the machine runs by its adapter alone."""
    return _battery(fresh_beds.hands(), {"present": "0", "status": "Unknown"})


def battery_there() -> Bed:
    """The battery answers, and charges."""
    return _battery(fresh_beds.hands(), {"status": "Charging", "capacity": "71",
                                         "energy_now": "34500000",
                                         "power_now": "24000000"})  # fmt: skip


# --- Comes and goes: the wireless card, the memory


def card_stays() -> Bed:
    """All is well as long as it is cool."""
    return fresh_beds.hands()


def card_leaves() -> Bed:
    """After forty minutes the card is gone from its slot (messages: pciehp_ctrl.c)."""
    bed = fresh_beds.hands()
    gone = (laptops.WLAN_PORT, "/1-7")
    own = tuple(n for n in bed.nodes if not any(g in n.path for g in gone))
    port = devices.root_port(laptops.WLAN_PORT, 1, 4, True, None)
    lines = [
        (2401.0, 3, "ath10k_pci 0000:01:00.0: failed to wake target for read32 at 0x00036044: "
                    "-110"),
        (2401.4, 6, "pcieport 0000:00:1c.0: pciehp: Slot(4): Link Down"),
        (2401.5, 6, "pcieport 0000:00:1c.0: pciehp: Slot(4): Card not present"),
    ]  # fmt: skip
    return _said(replace(bed, nodes=(*own, port), radios={}), lines)


def card_of_the_shop() -> Bed:
    """The shop's wireless card in the same slot."""
    return _changed(fresh_beds.hands(), "ieee80211", {"macaddress": "02:5e:a1:00:77:03"})


def pair_quiet() -> Bed:
    """No error as long as somebody looks."""
    return _memory("71CC0001", "71CC0002")


def pair_speaks() -> Bed:
    """Errors at place A."""
    return _memory("71CC0001", "71CC0002", "DIMM A")


def bad_spare_in_a() -> Bed:
    """The shop's own module is bad, and sits in place A."""
    return _memory("BENCHM02", "71CC0002", "DIMM A")


def bad_spare_in_b() -> Bed:
    """The same module in place B; the customer's second one in place A."""
    return _memory("71CC0002", "BENCHM02", "DIMM B")


def good_spare_in_a() -> Bed:
    """Another module of the shop's in place A."""
    return _memory("BENCHM03", "71CC0002")


# --- Soldered, by USB-C


def without_battery() -> Bed:
    """It starts, with the battery's plug off the board."""
    return _battery(laptops.nvme(), {"present": "0", "status": "Unknown"})


def battery_bought() -> Bed:
    """A battery that was bought for it."""
    new = {"serial_number": "1177", "cycle_count": "2", "energy_full": "50100000"}
    return _battery(laptops.nvme(), {**new, "energy_now": "50100000"})


def thin_shorted() -> Bed:
    """A thin machine; one of its sockets is switched off for too much current."""
    bed = counter_beds.all_soldered()
    edac = "/sys/devices/system/edac/mc/mc0"
    zero = {name: "0" for name in bed.extra if name.startswith(edac) and name.endswith("count")}
    bed = _with_hands(replace(bed, extra={**bed.extra, **zero}, log=laptops.nvme().log))
    key = "1-0:1.0/usb1-port1/over_current_count"
    nodes = tuple(
        replace(n, files={**n.files, key: "5"}) if n.path.endswith("/usb1") else n
        for n in bed.nodes
    )
    lines = [(31.0 + 14 * n, 3, f"usb usb1-port1: over-current change #{n + 1}") for n in range(5)]
    return _said(replace(bed, nodes=nodes), lines)


# --- Screen


def panel_of_the_shop() -> Bed:
    """Another panel."""
    return _with_hands(with_panel(serial=0x2277))


# --- Several things


def hot_keys() -> Bed:
    """98 degrees with the fan at its most; keyboard and touchpad are there."""
    return _with_hands(_heat(98.0, 5400))


def fan_stands() -> Bed:
    """98 degrees, and the fan stands."""
    return _heat(98.0, 0)


def fan_turns() -> Bed:
    """The fan turns; the battery is the one that came in."""
    return _cool(laptops.ahci(), 57.0, 2800)


def fan_turns_new_battery() -> Bed:
    """The fan turns, and another battery is in."""
    return _battery(fan_turns(), {"serial_number": "0988", "cycle_count": "1"})


def _worn(bed: Bed) -> Bed:
    return _battery(bed, {"energy_full": "19900000", "energy_now": "19900000",
                          "cycle_count": "1062"})  # fmt: skip


def card_silent() -> Bed:
    """The slot senses a card that is silent; the battery is worn to two fifths."""
    return _worn(stories.contact_1())


def card_answers() -> Bed:
    """The card answers; the battery is as before."""
    return _worn(stories.contact_2())


def card_and_battery() -> Bed:
    """The card answers, and the shop's battery is in."""
    return _battery(stories.contact_2(), {"serial_number": "BENCH9", "cycle_count": "21"})


# --- Comes back


def bought() -> Bed:
    """The laptop of the lost sectors with the drive that was bought for it."""
    return stories.with_drive(BOUGHT, ())


def bought_drops() -> Bed:
    """Three weeks later: that drive is gone from its bus now and then."""
    lines = []
    for n in range(3):
        at = 80.0 + 55 * n
        lines += [
            (at, 4, "nvme nvme0: controller is down; will reset: CSTS=0xffffffff, PCI_STATUS=0x10"),
            (at + 0.4, 3, f"I/O error, dev nvme0n1, sector {819200 + n} op 0x1:(WRITE) flags 0x800 "
                          "phys_seg 1 prio class 2"),
            (at + 1.1, 6, "nvme nvme0: 8/0/0 default/read/poll queues"),
        ]  # fmt: skip
    return stories.with_drive(BOUGHT, tuple(lines))


def dust() -> Bed:
    """98 degrees; the fan turns as fast as it can."""
    return _heat(98.0, 5350)


def dust_away() -> Bed:
    """Cleaned: it is cool."""
    return _cool(laptops.ahci(), 62.0, 3000)


def hot_again() -> Bed:
    """A month later, hot as before."""
    return _heat(97.0, 5300)


def pasted() -> Bed:
    """With fresh paste."""
    return walked_beds.new_paste()
