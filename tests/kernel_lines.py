# ruff: noqa: E501 (the kernel's lines are as long as they are)
"""Kernel messages and what each means, for the tests of the kernel log.

Wordings: Linux 6.1 and 6.12 sources (the files stand beside each group), the sample in
Documentation/PCI/pcieaer-howto.rst, and one published log (SErr 0xd0000 = bits 16, 18, 19).
The layers follow Documentation/driver-api/libata.rst and the comments in those sources.
"""

from __future__ import annotations

Case = tuple[str, str, str | None, bool]
"""Line, layer, device, serious."""

# fmt: off

# drivers/ata/libata-eh.c, libata-core.c, libahci.c
ATA: list[Case] = [
    ("ata3.00: exception Emask 0x10 SAct 0x0 SErr 0x400100 action 0x6 frozen", "link", "ata3.00", True),
    ("ata1.00: exception Emask 0x0 SAct 0x7 SErr 0x0 action 0x0", "other", "ata1.00", False),
    ("ata1: exception Emask 0x10 SAct 0x0 SErr 0xd0000 action 0xe frozen", "link", "ata1", True),
    ("ata1: SError: { PHYRdyChg CommWake 10B8B }", "link", "ata1", True),
    ("ata1: SError: { PHYRdyChg CommWake }", "link", "ata1", False),
    ("ata1: SError: { DevExch }", "link", "ata1", False),
    ("ata1: SError: { UnrecovData BadCRC Handshk }", "link", "ata1", True),
    ("ata1: SError: { HostInt }", "host bus", "ata1", True),
    ("ata4.00: error: { UNC }", "medium", "ata4.00", True),
    ("ata4.00: error: { ICRC ABRT }", "link", "ata4.00", True),
    ("ata4.00: error: { ABRT }", "protocol", "ata4.00", False),
    ("ata4.00: error: { IDNF }", "protocol", "ata4.00", False),
    ("ata4.00: status: { DRDY ERR }", "other", "ata4.00", False),
    ("ata4.00: status: { DRDY DF ERR }", "medium", "ata4.00", True),
    ("ata2.00: failed command: READ FPDMA QUEUED", "other", "ata2.00", False),
    ("ata2.00: irq_stat 0x08000000, interface fatal error", "link", "ata2.00", True),
    ("ata2.00: irq_stat 0x20000000, host bus error", "host bus", "ata2.00", True),
    ("ata2: limiting SATA link speed to 1.5 Gbps", "link", "ata2", True),
    ("ata2.00: limiting speed to UDMA/33:PIO4", "link", "ata2.00", True),
    ("ata2.00: NCQ disabled due to excessive errors", "timeout", "ata2.00", True),
    ("ata2: hard resetting link", "link", "ata2", False),
    ("ata2: COMRESET failed (errno=-16)", "link", "ata2", True),
    ("ata2: reset failed, giving up", "link", "ata2", True),
    ("ata2: SATA link up 6.0 Gbps (SStatus 133 SControl 300)", "link", "ata2", False),
    ("ata5: SATA link down (SStatus 0 SControl 300)", "link", "ata5", False),
    ("ata5: SATA link down (SStatus 1 SControl 300)", "link", "ata5", True),
    ("ata1.00: qc timeout (cmd 0xec)", "timeout", "ata1.00", True),
    ("ata1.00: qc timeout after 5000 msecs (cmd 0xec)", "timeout", "ata1.00", True),
    ("ata1.00: failed to IDENTIFY (I/O error, err_mask=0x4)", "timeout", "ata1.00", True),
    ("ata1.00: failed to IDENTIFY (I/O error, err_mask=0x11)", "link", "ata1.00", True),
    ("ata1: lost interrupt (Status 0x50)", "host bus", "ata1", True),
    ("ata1.00: disabled", "protocol", "ata1.00", True),
    ("ata1.00: disable device", "protocol", "ata1.00", True),
]

# block/blk-core.c, drivers/scsi/scsi_logging.c, constants.c
SCSI: list[Case] = [
    ("sd 2:0:0:0: [sda] tag#0 FAILED Result: hostbyte=DID_BAD_TARGET driverbyte=DRIVER_OK cmd_age=0s", "link", "sda", True),
    ("sd 2:0:0:0: [sda] tag#3 FAILED Result: hostbyte=DID_OK driverbyte=DRIVER_OK cmd_age=3s", "other", "sda", False),
    ("sd 2:0:0:0: [sda] tag#3 FAILED Result: hostbyte=DID_TIME_OUT driverbyte=DRIVER_OK cmd_age=30s", "timeout", "sda", True),
    ("sd 2:0:0:0: [sda] tag#3 Sense Key : Medium Error [current] ", "medium", "sda", True),
    ("sd 2:0:0:0: [sda] tag#3 Sense Key : Hardware Error [current] [descriptor]", "medium", "sda", True),
    ("sd 2:0:0:0: [sda] tag#3 Sense Key : Illegal Request [current]", "other", "sda", False),
    ("sd 2:0:0:0: [sda] tag#3 Add. Sense: Unrecovered read error - auto reallocate failed", "medium", "sda", True),
    ("sd 2:0:0:0: [sda] tag#3 Add. Sense: Scsi parity error", "link", "sda", True),
    ("sd 2:0:0:0: [sda] tag#3 CDB: Read(10) 28 00 00 00 12 34 00 00 08 00", "other", "sda", False),
    ("sd 2:0:0:0: rejecting I/O to offline device", "timeout", "2:0:0:0", True),
    ("sd 6:0:0:0: [sdb] tag#3 uas_eh_abort_handler 0 uas-tag 1 inflight: CMD OUT", "timeout", "sdb", True),
    ("critical medium error, dev sda, sector 4660 op 0x0:(READ) flags 0x80700 phys_seg 1 prio class 2", "medium", "sda", True),
    ("blk_update_request: critical medium error, dev sda, sector 4660", "medium", "sda", True),
    ("I/O error, dev sdb, sector 0 op 0x0:(READ) flags 0x0 phys_seg 1 prio class 0", "other", "sdb", True),
    ("timeout error, dev sdb, sector 0 op 0x0:(READ) flags 0x0 phys_seg 1 prio class 0", "timeout", "sdb", True),
    ("I/O error, dev sr0, sector 0 op 0x0:(READ) flags 0x80700 phys_seg 1 prio class 2", "other", "sr0", False),
    ("Buffer I/O error on dev sdb1, logical block 0, async page read", "other", "sdb1", False),
]

# drivers/nvme/host/pci.c, core.c: both kernels' wordings
NVME: list[Case] = [
    ("nvme nvme0: I/O 12 QID 3 timeout, completion polled", "host bus", "nvme0", True),
    ("nvme nvme0: I/O 12 QID 3 timeout, reset controller", "timeout", "nvme0", True),
    ("nvme nvme0: I/O 12 (Read) QID 3 timeout, aborting", "timeout", "nvme0", True),
    ("nvme nvme0: I/O tag 12 (500c) opcode 0x2 (Read) QID 3 timeout, completion polled", "host bus", "nvme0", True),
    ("nvme nvme0: I/O tag 12 (500c) [opcode 0x2 (Read)] QID 3 timeout, aborting req_op:READ(0) size:4096", "timeout", "nvme0", True),
    ("nvme nvme0: controller is down; will reset: CSTS=0xffffffff, PCI_STATUS=0x10", "host bus", "nvme0", True),
    ("nvme nvme0: controller is down; will reset: CSTS=0x3, PCI_STATUS=0x10", "protocol", "nvme0", True),
    ("nvme nvme0: controller is down; will reset: CSTS=0x1, PCI_STATUS=0x10", "timeout", "nvme0", True),
    ("nvme nvme0: Device not ready; aborting initialisation, CSTS=0x0", "timeout", "nvme0", True),
    ("nvme0n1: Read(0x2) @ LBA 123456, 8 blocks, Unrecovered Read Error (sct 0x2 / sc 0x81) DNR", "medium", "nvme0n1", True),
    ("nvme0n1: Read(0x2) @ LBA 123456, 8 blocks, Host Pathing Error (sct 0x3 / sc 0x70)", "link", "nvme0n1", True),
    ("nvme0n1: Write(0x1) @ LBA 0, 8 blocks, Invalid Field in Command (sct 0x0 / sc 0x2)", "protocol", "nvme0n1", False),
    ("nvme nvme0: Removing after probe failure status: -19", "protocol", "nvme0", True),
    ("nvme nvme0: missing or invalid SUBNQN field.", "other", "nvme0", False),
]

# drivers/mmc/core, drivers/mmc/host/sdhci.c
MMC: list[Case] = [
    ("mmc0: error -84 whilst initialising SD card", "link", "mmc0", True),
    ("mmc0: error -110 whilst initialising MMC card", "timeout", "mmc0", True),
    ("mmc0: Timeout waiting for hardware interrupt.", "timeout", "mmc0", True),
    ("mmc0: Reset 0x1 never completed.", "host bus", "mmc0", True),
    ("mmc0: tuning execution failed: -5", "link", "mmc0", True),
]

# drivers/usb/core/hub.c, message.c, drivers/usb/host/xhci*.c
USB: list[Case] = [
    ("usb 1-4: device descriptor read/64, error -71", "link", "1-4", True),
    ("usb 1-4: device descriptor read/64, error -110", "timeout", "1-4", True),
    ("usb 1-4.2: device not accepting address 5, error -71", "link", "1-4.2", True),
    ("usb usb1-port4: unable to enumerate USB device", "link", "usb1-port4", True),
    ("usb 1-4-port2: unable to enumerate USB device", "link", "1-4-port2", True),
    ("usb usb1-port4: over-current condition", "power", "usb1-port4", True),
    ("usb 1-4: over-current change #3", "power", "1-4", True),
    ("hub 1-0:1.0: over-current condition", "power", "1-0", True),
    ("usb usb1-port4: disabled by hub (EMI?), re-enabling...", "link", "usb1-port4", True),
    ("usb usb1-port2: connect-debounce failed", "link", "usb1-port2", True),
    ("usb 1-4: reset high-speed USB device number 3 using xhci_hcd", "link", "1-4", False),
    ("usb 1-4: USB disconnect, device number 3", "link", "1-4", False),
    ("usb 1-4: can't set config #1, error -32", "protocol", "1-4", False),
    ("xhci_hcd 0000:00:14.0: xHCI host controller not responding, assume dead", "host bus", "0000:00:14.0", True),
    ("xhci_hcd 0000:00:14.0: HC died; cleaning up", "host bus", "0000:00:14.0", True),
]

# drivers/pci/pcie/aer.c, Documentation/PCI/pcieaer-howto.rst (its sample report)
PCIE: list[Case] = [
    ("pcieport 0000:00:1c.0: AER: Corrected error received: 0000:02:00.0", "link", "0000:02:00.0", False),
    ("pcieport 0000:00:1c.0: AER: Correctable error message received from 0000:02:00.0", "link", "0000:02:00.0", False),
    ("pcieport 0000:00:1c.0: AER: Multiple Uncorrected (Non-Fatal) error received: 0000:02:00.0", "link", "0000:02:00.0", True),
    ("pcieport 0000:00:1c.0: AER: Uncorrectable (Fatal) error message received from 0000:02:00.0", "link", "0000:02:00.0", True),
    ("0000:50:00.0: PCIe Bus Error: severity=Uncorrected (Fatal), type=Transaction Layer, (Requester ID)", "protocol", "0000:50:00.0", True),
    ("pcieport 0000:00:03.0: PCIe Bus Error: severity=Uncorrectable (Fatal), type=Transaction Layer, (Requester ID)", "protocol", "0000:00:03.0", True),
    ("ath9k 0000:02:00.0: PCIe Bus Error: severity=Corrected, type=Physical Layer, (Receiver ID)", "link", "0000:02:00.0", True),
    ("ath9k 0000:02:00.0: PCIe Bus Error: severity=Correctable, type=Data Link Layer, (Transmitter ID)", "link", "0000:02:00.0", True),
    ("ath9k 0000:02:00.0: PCIe Bus Error: severity=Corrected, type=Transaction Layer, (Receiver ID)", "protocol", "0000:02:00.0", False),
    ("0000:50:00.0:   device [8086:0329] error status/mask=00100000/00000000", "link", "0000:50:00.0", False),
    ("0000:50:00.0:    [20] Unsupported Request    (First)", "protocol", "0000:50:00.0", False),
    ("ath9k 0000:02:00.0:    [ 0] RxErr                  (First)", "link", "0000:02:00.0", False),
    ("ath9k 0000:02:00.0:    [12] Timeout               ", "link", "0000:02:00.0", False),
    ("pcieport 0000:00:1c.0: DPC: containment event, status:0x1f01 source:0x0000", "link", "0000:00:1c.0", True),
    ("pcieport 0000:00:1c.0: pciehp: Slot(1): Link Down", "link", "0000:00:1c.0", True),
    ("pcieport 0000:00:1c.0: pciehp: Slot(1): Card present", "link", "0000:00:1c.0", False),
    ("pci 0000:01:00.0: 15.752 Gb/s available PCIe bandwidth, limited by 8.0 GT/s PCIe x2 link at 0000:00:1d.0 (capable of 31.504 Gb/s with 8.0 GT/s PCIe x4 link)", "link", "0000:01:00.0", False),
    ("nvme 0000:01:00.0: Unable to change power state from D3cold to D0, device inaccessible", "host bus", "0000:01:00.0", True),
]

# arch/x86/kernel/cpu/mce, drivers/edac, drivers/thermal, drivers/gpu/drm, include/linux/printk.h
MACHINE: list[Case] = [
    ("mce: [Hardware Error]: CPU 1: Machine Check: 0 Bank 5: bea0000000000108", "machine check", None, True),
    ("mce: [Hardware Error]: Machine check events logged", "machine check", None, True),
    ("EDAC MC0: 1 CE memory read error on CPU_SrcID#0_Ha#0_Chan#0_DIMM#0", "machine check", "MC0", True),
    ("EDAC MC0: 1 UE memory scrubbing error on mc#0", "machine check", "MC0", True),
    ("mce: CPU0: Core temperature is above threshold, cpu clock is throttled (total events = 1)", "thermal", None, True),
    ("CPU0: Package temperature above threshold, cpu clock throttled (total events = 1)", "thermal", None, True),
    ("mce: CPU0: Core temperature/speed normal", "thermal", None, False),
    ("thermal thermal_zone0: acpitz: critical temperature reached (105 C), shutting down", "thermal", "thermal_zone0", True),
    ("i915 0000:00:02.0: [drm] GPU HANG: ecode 9:1:85dffffb, in chrome [1234]", "graphics", "0000:00:02.0", True),
    ("amdgpu 0000:04:00.0: amdgpu: ring gfx timeout, signaled seq=1, emitted seq=3", "graphics", "0000:04:00.0", True),
    ("i915 0000:00:02.0: [drm] *ERROR* CPU pipe A FIFO underrun", "graphics", "0000:00:02.0", False),
    ("NVRM: Xid (PCI:0000:01:00): 79, pid=1, GPU has fallen off the bus.", "host bus", None, True),
    ("[Firmware Bug]: TSC ADJUST differs within socket(s), fixing all errors", "firmware", None, False),
    ("DMAR: [Firmware Bug]: No firmware reserved region can cover this RMRR", "firmware", None, False),
    ("ACPI BIOS Error (bug): Could not resolve symbol [\\_SB.PCI0], AE_NOT_FOUND", "firmware", None, False),
    ("ACPI Warning: Incorrect checksum in table [SSDT] - 0x4B, should be 0x4A", "firmware", None, True),
    ("iwlwifi 0000:02:00.0: Microcode SW error detected. Restarting 0x0.", "protocol", "0000:02:00.0", True),
    ("iwlwifi 0000:02:00.0: Timeout waiting for hardware access (CSR_GP_CNTRL 0xffffffff)", "host bus", "0000:02:00.0", True),
    ("Bluetooth: hci0: command 0x1001 tx timeout", "timeout", "hci0", True),
]

# fmt: on

ALL = [*ATA, *SCSI, *NVME, *MMC, *USB, *PCIE, *MACHINE]
