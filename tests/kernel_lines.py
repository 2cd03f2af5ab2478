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
    ("usb 1-4: not running at top speed; connect to a high speed hub", "link", "1-4", False),
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
    ("ath9k 0000:02:00.0: PCIe Bus Error: severity=Corrected, type=Physical Layer, (Receiver ID)", "link", "0000:02:00.0", False),
    ("ath9k 0000:02:00.0: PCIe Bus Error: severity=Correctable, type=Data Link Layer, (Transmitter ID)", "link", "0000:02:00.0", False),
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
    ("mce: [Hardware Error]: Machine check events logged", "machine check", None, False),
    ("EDAC MC0: 1 CE memory read error on CPU_SrcID#0_Ha#0_Chan#0_DIMM#0", "machine check", "CPU_SrcID#0_Ha#0_Chan#0_DIMM#0", True),
    ("EDAC MC0: 1 UE memory scrubbing error on mc#0", "machine check", "mc#0", True),
    ("mce: CPU0: Core temperature is above threshold, cpu clock is throttled (total events = 1)", "thermal", None, True),
    ("CPU0: Package temperature above threshold, cpu clock throttled (total events = 1)", "thermal", None, True),
    ("mce: CPU0: Core temperature/speed normal", "thermal", None, False),
    ("thermal thermal_zone0: acpitz: critical temperature reached (105 C), shutting down", "thermal", "thermal_zone0", True),
    ("i915 0000:00:02.0: [drm] GPU HANG: ecode 9:1:85dffffb, in chrome [1234]", "graphics", "0000:00:02.0", True),
    ("amdgpu 0000:04:00.0: amdgpu: ring gfx timeout, signaled seq=1, emitted seq=3", "graphics", "0000:04:00.0", True),
    ("i915 0000:00:02.0: [drm] *ERROR* CPU pipe A FIFO underrun", "graphics", "0000:00:02.0", False),
    ("NVRM: Xid (PCI:0000:01:00): 79, pid=1, GPU has fallen off the bus.", "host bus", "0000:01:00", True),
    ("[Firmware Bug]: TSC ADJUST differs within socket(s), fixing all errors", "firmware", None, False),
    ("DMAR: [Firmware Bug]: No firmware reserved region can cover this RMRR", "firmware", None, False),
    ("ACPI BIOS Error (bug): Could not resolve symbol [\\_SB.PCI0], AE_NOT_FOUND", "firmware", None, False),
    ("ACPI Warning: Incorrect checksum in table [SSDT] - 0x4B, should be 0x4A", "firmware", None, True),
    ("iwlwifi 0000:02:00.0: Microcode SW error detected. Restarting 0x0.", "protocol", "0000:02:00.0", True),
    ("iwlwifi 0000:02:00.0: Timeout waiting for hardware access (CSR_GP_CNTRL 0xffffffff)", "host bus", "0000:02:00.0", True),
    ("Bluetooth: hci0: command 0x1001 tx timeout", "timeout", "hci0", True),
]

# drivers/ata/libata-eh.c: SError bits that damage no data; include/linux/ata.h
LINK_STATES: list[Case] = [
    ("ata1: exception Emask 0x10 SAct 0x0 SErr 0x10000 action 0xe frozen", "link", "ata1", False),
    ("pcieport 0000:00:1c.0: Data Link Layer Link Active not set in 100 msec", "link", "0000:00:1c.0", False),
    ("psmouse serio1: issuing reconnect request", "link", "serio1", False),
    ("ata1.00: exception Emask 0x10 SAct 0x1 SErr 0x50000 action 0xe frozen t4", "link", "ata1.00", False),
    ("ata6: exception Emask 0x10 SAct 0x0 SErr 0x4040000 action 0xe frozen", "link", "ata6", True),
    ("ata1.00: exception Emask 0x0 SAct 0xe00000 SErr 0x50000 action 0x6 frozen", "timeout", "ata1.00", True),
    ("ata1.00: status: { Busy }", "timeout", "ata1.00", False),
    ("ata1.00: Drive reports diagnostics failure. This may indicate a drive", "medium", "ata1.00", True),
    ("ata1.00: FLUSH failed Emask 0x4", "timeout", "ata1.00", True),
    ("ata1.00: failed to enable AA (error_mask=0x1)", "protocol", "ata1.00", False),
    ("ata1.00: unexpected _GTF length (8)", "other", "ata1.00", False),
    ("ahci 0000:00:17.0: AHCI controller unavailable!", "host bus", "0000:00:17.0", True),
    ("ahci 0000:00:17.0: Controller reset failed (0xffffffff)", "host bus", "0000:00:17.0", True),
]

# include/scsi/scsi_status.h, drivers/scsi/sense_codes.h, sr.c, sd.c; block/blk-core.c
MORE_SCSI: list[Case] = [
    ("sd 11:0:0:0: [sdf] tag#4 UNKNOWN(0x2003) Result: hostbyte=0x00 driverbyte=0x06", "other", "sdf", False),
    ("sd 11:0:0:0: [sdf] tag#4 UNKNOWN(0x2003) Result: hostbyte=0x01 driverbyte=0x00", "link", "sdf", True),
    ("sd 1:0:0:0: [sdb] tag#0 Add. Sense: Internal target failure", "medium", "sdb", True),
    ("sd 1:0:0:0: [sdb] tag#0 Add. Sense: Id CRC or ECC error", "medium", "sdb", True),
    ("sd 1:0:0:0: [sdb] tag#0 Add. Sense: Logical unit communication CRC error (Ultra-DMA/32)", "link", "sdb", True),
    ("sd 1:0:0:0: [sdb] tag#0 Add. Sense: Invalid field in cdb", "other", "sdb", False),
    ("sd 1:0:0:0: [sdb] Medium access timeout failure. Offlining disk!", "timeout", "sdb", True),
    ("sr 1:0:0:0: [sr0] tag#20 Sense Key : Medium Error [current]", "medium", "sr0", False),
    ("sr 1:0:0:0: [sr0] tag#20 Add. Sense: Unrecovered read error", "medium", "sr0", False),
    ("sr 1:0:0:0: [sr0] tag#20 Add. Sense: Logical unit communication CRC error (Ultra-DMA/32)", "link", "sr0", True),
    ("scsi host6: uas_eh_device_reset_handler start", "timeout", "host6", False),
    ("scsi host6: uas_eh_device_reset_handler FAILED err -19", "timeout", "host6", True),
    ("device offline error, dev sdb, sector 8 op 0x1:(WRITE) flags 0x0 phys_seg 1 prio class 2", "timeout", "sdb", True),
    ("critical medium error, dev sr0, sector 64 op 0x0:(READ) flags 0x0 phys_seg 1 prio class 2", "medium", "sr0", False),
    ("EXT4-fs error (device sda2): ext4_lookup:1855: inode #2: comm ls: deleted inode", "other", "sda2", False),
    ("Read-error on swap-device (254:1:78162624)", "other", None, False),
]

# include/linux/nvme.h (status codes), drivers/nvme/host/core.c, pci.c
MORE_NVME: list[Case] = [
    ("nvme0n1: I/O Cmd(0x2) @ LBA 0, 8 blocks, I/O Error (sct 0x2 / sc 0x86) DNR", "protocol", "nvme0n1", False),
    ("nvme0n1: Read(0x2) @ LBA 8, 8 blocks, End-to-end Guard Check Error (sct 0x2 / sc 0x82)", "link", "nvme0n1", True),
    ("nvme0n1: Write(0x1) @ LBA 8, 8 blocks, Write Fault (sct 0x2 / sc 0x80)", "medium", "nvme0n1", True),
    ("nvme0n1: Read(0x2) @ LBA 8, 8 blocks, Data Transfer Error (sct 0x0 / sc 0x4)", "host bus", "nvme0n1", True),
    ("nvme0n1: Read(0x2) @ LBA 8, 8 blocks, Internal Error (sct 0x0 / sc 0x6)", "protocol", "nvme0n1", True),
    ("nvme0: Identify(0x6), Invalid Field in Command (sct 0x0 / sc 0x2)", "protocol", "nvme0", False),
    ("nvme nvme0: failed to set APST feature (-19)", "other", "nvme0", False),
    ("nvme nvme0: Does your device have a faulty power saving mode enabled?", "other", "nvme0", False),
    ("nvme: probe of 0000:01:00.0 failed with error -5", "protocol", "0000:01:00.0", True),
    ("nvme 0000:04:00.0: Refused to change power state, currently in D3", "host bus", "0000:04:00.0", True),
]

# drivers/mmc/core/sd.c, mmc.c, core.c, drivers/mmc/host/cqhci-core.c, sdhci.c
MORE_MMC: list[Case] = [
    ("mmc0: running CQE recovery", "timeout", "mmc0", True),
    ("mmc0: cqhci: timeout for tag 12, qcnt 4", "timeout", "mmc0", True),
    ("mmc0: problem reading SD Status register", "link", "mmc0", False),
    ("mmc0: switch to hs400 failed, err:-84", "link", "mmc0", False),
    ("mmc0: Card is consuming too much power!", "power", "mmc0", True),
    ("mmcblk0: mmc0:59b4 EC1S5 3.67 GiB", "other", "mmcblk0", False),
    ("mmc0: Unknown controller version (3). You may experience problems.", "other", "mmc0", False),
]

# drivers/usb/core/hub.c, driver.c, drivers/usb/host/xhci.c, xhci-ring.c, xhci-hub.c
MORE_USB: list[Case] = [
    ("usb 1-4: Device not responding to setup address.", "timeout", "1-4", True),
    ("usb usb9-port1: couldn't allocate usb_device", "other", "usb9-port1", False),
    ("usb 1-6: Failed to suspend device, error -32", "protocol", "1-6", False),
    ("usb 4-1.2: Parent hub missing LPM exit latency info.  Power management will be impacted.", "other", "4-1.2", False),
    ("usb 1-4: rejected 1 configuration due to insufficient available bus power", "power", "1-4", False),
    ("xhci_hcd 0000:06:00.0: WARNING: Host System Error", "host bus", "0000:06:00.0", True),
    ("xhci_hcd 0000:06:00.0: Error while assigning device slot ID: Command Aborted", "timeout", "0000:06:00.0", True),
    ("xhci_hcd 0000:00:14.0: xHC error in resume, USBSTS 0x401, Reinit", "host bus", "0000:00:14.0", False),
    ("xhci_hcd 0000:00:14.0: USB core suspending port 1-6 not in U0/U1/U2", "other", "0000:00:14.0", False),
    ("uvcvideo 1-5:1.1: Non-zero status (-71) in video completion handler.", "link", "1-5", True),
]

# drivers/pci/pcie/aer.c before and since Linux 4.20 and 5.3
OLD_PCIE: list[Case] = [
    ("pcieport 0000:00:1c.5: PCIe Bus Error: severity=Corrected, type=Physical Layer, id=00e5(Receiver ID)", "link", "0000:00:1c.5", False),
    ("pcieport 0000:00:1c.5:    [ 0] Receiver Error", "link", "0000:00:1c.5", False),
    ("pcieport 0000:00:1c.5: AER: Corrected error received: id=00e5", "link", "0000:00:1c.5", False),
    ("pcieport 0000:00:1c.5: can't find device of ID00e5", "other", "0000:00:1c.5", False),
    ("pcieport 0000:00:1c.0: pciehp: Slot(0): Power fault", "power", "0000:00:1c.0", True),
]

# drivers/net/wireless: iwlwifi/pcie, ath10k/core.c, mt76, rtw88; drivers/base/dd.c; net/bluetooth
RADIO: list[Case] = [
    ("iwlwifi 0000:01:00.0: HW error, resetting before reading", "host bus", "0000:01:00.0", True),
    ("iwlwifi 0000:01:00.0: RF_KILL bit toggled to disable radio.", "other", "0000:01:00.0", False),
    ("iwlwifi 0000:01:00.0: Failed to load firmware chunk!", "timeout", "0000:01:00.0", True),
    ("iwlwifi 0000:01:00.0: Could not load the [0] uCode section", "timeout", "0000:01:00.0", True),
    ("iwlwifi 0000:01:00.0: no suitable firmware found!", "firmware", "0000:01:00.0", False),
    ("iwlwifi 0000:01:00.0: Unhandled alg: 0x707", "other", "0000:01:00.0", False),
    ("iwlwifi 0000:01:00.0: WRT: Invalid buffer destination", "other", "0000:01:00.0", False),
    ("Timeout waiting for hardware access (CSR_GP_CNTRL 0x08040008)", "host bus", None, True),
    ("ath10k_pci 0000:03:00.0: Direct firmware load for ath10k/pre-cal-pci-0000:03:00.0.bin failed with error -2", "other", "0000:03:00.0", False),
    ("ath10k_pci 0000:03:00.0: Direct firmware load for ath10k/QCA6174/hw3.0/firmware-6.bin failed with error -2", "firmware", "0000:03:00.0", False),
    ("ath10k_pci 0000:02:00.0: failed to receive service ready completion, polling..", "other", "0000:02:00.0", False),
    ("ath10k_pci 0000:02:00.0: wmi service ready event not received", "protocol", "0000:02:00.0", True),
    ("ath10k_pci 0000:02:00.0: Could not init core: -110", "timeout", "0000:02:00.0", True),
    ("ath: phy0: Unable to initialize hardware; initialization status: -5", "protocol", "phy0", True),
    ("pci 0000:02:00.0: BAR 0: error updating (high 0x000000 != 0xffffffff)", "host bus", "0000:02:00.0", True),
    ("pci 0000:02:00.0: BAR 0: error updating (0xf7c00004 != 0x00000000)", "other", "0000:02:00.0", False),
    ("[drm:i915_firmware_load_error_print [i915]] *ERROR* failed to load firmware i915/skl_dmc_ver1.bin (0)", "firmware", "i915", False),
    ("ath10k_pci 0000:03:00.0: could not execute otp for board id check: -110", "timeout", "0000:03:00.0", True),
    ("mt7921e 0000:03:00.0: Failed to get patch semaphore", "protocol", "0000:03:00.0", True),
    ("mt7921e: probe of 0000:03:00.0 failed with error -5", "protocol", "0000:03:00.0", True),
    ("ACPI: EC: Timeout from EC hardware or EC device driver", "timeout", None, True),
    ("Oops: 0002 [#1] PREEMPT SMP NOPTI", "other", None, True),
    ("ath10k_pci 0000:03:00.0: unable to read from the device", "host bus", "0000:03:00.0", True),
    ("ath10k_pci 0000:03:00.0: failed to get board id from otp: -110", "timeout", "0000:03:00.0", True),
    ("ath10k_pci 0000:03:00.0: could not probe fw (-110)", "protocol", "0000:03:00.0", True),
    ("mt7921e 0000:04:00.0: driver own failed", "timeout", "0000:04:00.0", True),
    ("mt7921e: probe of 0000:04:00.0 failed with error -110", "timeout", "0000:04:00.0", True),
    ("rtw_8822ce 0000:03:00.0: mac power on failed", "host bus", "0000:03:00.0", True),
    ("bluetooth hci0: Direct firmware load for qca/rampatch.bin failed with error -2", "firmware", "hci0", False),
    ("Bluetooth: hci0: Malformed MSFT vendor event: 0x02", "other", "hci0", False),
    ("Bluetooth: hci0: hardware error 0x0c", "protocol", "hci0", True),
]

# arch/x86/kernel/traps.c, mm/fault.c, kernel/watchdog.c, rcu/tree_stall.h, irq/spurious.c
CRASHES: list[Case] = [
    ("BUG: unable to handle page fault for address: ffffb0f2c0d2d000", "other", None, True),
    ("BUG: kernel NULL pointer dereference, address: 0000000000000010", "other", None, True),
    ("BUG: Bad page map in process gnome-shell  pte:ffff pmd:1", "other", None, True),
    ("general protection fault, probably for non-canonical address 0xdead000000000100: 0000 [#1] PREEMPT SMP", "other", None, True),
    ("Oops: 0000 [#1] PREEMPT SMP NOPTI", "other", None, True),
    ("invalid opcode: 0000 [#1] SMP", "other", None, True),
    ("kernel BUG at mm/slub.c:305!", "other", None, True),
    ("watchdog: BUG: soft lockup - CPU#3 stuck for 22s! [kworker/3:1:123]", "other", None, True),
    ("rcu: INFO: rcu_preempt detected stalls on CPUs/tasks:", "other", None, True),
    ("Kernel panic - not syncing: Fatal exception in interrupt", "other", None, True),
    ("list_del corruption. prev->next should be ffff, but was fffe", "other", None, True),
    ("------------[ cut here ]------------", "other", None, False),
    ('irq 16: nobody cared (try booting with the "irqpoll" option)', "other", None, False),
    ("firefox[1234]: segfault at 0 ip 00007f sp 00007f error 4 in libxul.so[7f]", "other", None, False),
]

# drivers/acpi/ec.c, acpica/evregion.c, drivers/iommu/intel/dmar.c, drivers/power/supply
BOARD: list[Case] = [
    ("ACPI Error: AE_TIME, Returned by Handler for [EmbeddedControl] (20201113/evregion-294)", "timeout", None, True),
    ("ACPI Error: Timeout from EC hardware or EC device driver (20201113/evregion-304)", "timeout", None, True),
    ("ACPI: _PSW execution failed", "other", None, False),
    ("ACPI: \\_SB_.PCI0.GPP0: _STA evaluation failed", "firmware", None, False),
    ("DMAR: [DMA Write] Request device [00:02.0] fault addr 7200000000 [fault reason 05] PTE Write access is not set", "host bus", "00:02.0", False),
    ("AMD-Vi: Completion-Wait loop timed out", "host bus", None, True),
    ("power_supply BAT0: driver failed to report `status' property: -110", "timeout", "BAT0", True),
    ("i2c_hid_acpi i2c-MSFT0001:01: can't add hid device: -110", "timeout", "i2c-MSFT0001:01", True),
    ("i2c_hid i2c-ELAN1200:00: failed to reset device.", "protocol", "i2c-ELAN1200:00", True),
    ("i2c_designware i2c_designware.1: controller timed out", "timeout", "i2c_designware.1", True),
    ("psmouse serio1: bad data from KBC - bad parity", "link", "serio1", True),
    ("i8042: Can't read CTR while initializing i8042", "host bus", "i8042", False),
    ("tpm tpm0: Operation Timed out", "timeout", "tpm0", True),
    ("tpm tpm0: TPM in field failure mode, requires firmware upgrade", "firmware", "tpm0", True),
    ("tpm tpm0: A TPM error (6) occurred attempting to read a pcr value", "other", "tpm0", False),
    ("ucsi_acpi USBC000:00: PPM init failed (-110)", "timeout", "USBC000:00", False),
    ("snd_hda_intel 0000:00:1f.3: CORB reset timeout#1, CORBRP = 65535", "host bus", "0000:00:1f.3", True),
    ("snd_hda_intel 0000:00:1f.3: azx_get_response timeout, switching to polling mode: last cmd=0x0", "timeout", "0000:00:1f.3", False),
    ("NETDEV WATCHDOG: eth0 (r8169): transmit queue 0 timed out", "timeout", "eth0", True),
    ("PM: Device 0000:02:00.0 failed to resume async: error -19", "host bus", "0000:02:00.0", True),
    ("nvme 0000:02:00.0: PM: failed to resume async: error -19", "host bus", "0000:02:00.0", True),
]

# drivers/gpu/drm
SCREENS: list[Case] = [
    ("NVRM: Xid (PCI:0000:01:00): 31, Ch 00000003, engmask 00000101, intr 10000000", "graphics", "0000:01:00", True),
    ("NVRM: Xid (PCI:0000:01:00): 43, pid=1, Ch 8", "graphics", "0000:01:00", False),
    ("[drm:amdgpu_job_timedout [amdgpu]] *ERROR* ring gfx timeout, signaled seq=1, emitted seq=3", "graphics", "amdgpu", True),
    ("nouveau 0000:01:00.0: fifo: SCHED_ERROR 0a [CTXSW_TIMEOUT]", "graphics", "0000:01:00.0", True),
    ("xe 0000:00:02.0: [drm] GT0: Timedout job: seqno=4294967169, lrc_seqno=4294967169, guc_id=2", "graphics", "0000:00:02.0", True),
    ("i915 0000:00:02.0: [drm] *ERROR* [CRTC:131:pipe B] flip_done timed out", "graphics", "0000:00:02.0", False),
    ("i915 0000:00:02.0: [drm] *ERROR* AUX A/DDI A/PHY A: did not complete or timeout within 10ms (status 0xad4003ff)", "link", "0000:00:02.0", False),
    ("i915 0000:00:02.0: [drm] *ERROR* failed to retrieve link info, disabling eDP", "link", "0000:00:02.0", True),
]

# drivers/acpi/apei/ghes.c, drivers/firmware/efi/cper.c, arch/x86/kernel/cpu/mce/core.c, drivers/edac
RECORDS: list[Case] = [
    ("{1}[Hardware Error]: event severity: fatal", "machine check", None, False),
    ("{1}[Hardware Error]: event severity: corrected", "machine check", None, False),
    ("{1}[Hardware Error]:   section_type: memory error", "machine check", None, True),
    ("BERT: Error records from previous boot:", "machine check", None, False),
    ("EDAC sbridge MC1: CPU 1: Machine Check Event: 0 Bank 11: 8c00004f000800c2", "machine check", None, True),
    ("EDAC sbridge MC1: HANDLING MCE MEMORY ERROR", "other", None, False),
    ("[Hardware Error]: CPU:1 (17:1:1) MC17_STATUS[Over|CE|MiscV|AddrV|-|SyndV|CECC|-|-|-]: 0xdc2040000000011b", "machine check", None, True),
    ("NMI: PCI system error (SERR) for reason b1 on CPU 0.", "host bus", None, True),
    ("Uhhuh. NMI received for unknown reason 2d on CPU 1.", "other", None, False),
]

# Wordings of older kernels (2.6.32 to 4.9), as public threads show them; same files
OLD: list[Case] = [
    ("hub 2-0:1.0: unable to enumerate USB device on port 4", "link", "usb2-port4", True),
    ("hub 1-1:1.0: Cannot enable port 3.  Maybe the USB cable is bad?", "link", "1-1-port3", True),
    ("hub 1-0:1.0: port 2 disabled by hub (EMI?), re-enabling...", "link", "usb1-port2", True),
    ("hub 1-0:1.0: over-current change on port 3", "power", "usb1-port3", True),
    ("usb 1-4: reset high speed USB device using ehci_hcd and address 2", "link", "1-4", False),
    ("usb 1-4: USB disconnect, address 5", "link", "1-4", False),
    ("nvme 0000:04:00.0: Failed status: ffffffff, reset controller", "host bus", "0000:04:00.0", True),
    ("nvme nvme0: Cancelling I/O 12 QID 3", "other", "nvme0", False),
    ("CPU0: Temperature above threshold, cpu clock throttled (total events = 1)", "thermal", None, True),
    ("CPU2: Running in modulated clock mode", "thermal", None, True),
    ("ACPI: Critical temperature reached (105 C), shutting down.", "thermal", None, True),
    ("NVRM: Xid (0000:01:00): 13, 0003 00000000", "graphics", "0000:01:00", True),
    ("[drm:i915_hangcheck_elapsed] *ERROR* Hangcheck timer elapsed... GPU hung", "graphics", None, True),
    ("[drm] stuck on render ring", "graphics", None, True),
    ("nouveau E[   PFIFO][0000:01:00.0] SCHED_ERROR [ CTXSW_TIMEOUT ]", "graphics", "0000:01:00.0", True),
    ("radeon 0000:01:00.0: GPU lockup CP stall for more than 10000msec", "graphics", "0000:01:00.0", True),
    ("[drm:intel_dp_complete_link_train] *ERROR* failed to train DP, aborting", "link", None, True),
    ("Bluetooth: hci0 command 0x1005 tx timeout", "timeout", "hci0", True),
    ("sd 6:0:0:0: [sdb] Unhandled error code", "other", "sdb", False),
    ("sd 6:0:0:0: Device offlined - not ready after error recovery", "timeout", "6:0:0:0", True),
    ("lost page write due to I/O error on sda1", "other", "sda1", False),
    ("end_request: I/O error, dev sda, sector 1234", "other", "sda", True),
    ("ata4.00: exception Emask 0x52 SAct 0x0 SErr 0x58d0801 action 0xe frozen", "link", "ata4.00", True),
    ("PM: Device 1-4 failed to resume: error -19", "host bus", "1-4", True),
]

# drivers/gpu/drm/amd/amdgpu (amdgpu_mes.c, mes_v1*.c, gfx_v1*.c, amdgpu_job.c, amdgpu_psp.c),
# amd/pm/swsmu, i915/gt, i915/display/intel_dp.c, nouveau/nvkm/subdev/gsp/r535.c; Linux 4.4 i915_gem.c
CHIPS: list[Case] = [
    ("amdgpu 0000:03:00.0: amdgpu: Ring gfx_0.0.0 reset failed", "graphics", "0000:03:00.0", True),
    ("amdgpu 0000:03:00.0: amdgpu: MES(1) failed to respond to msg=REMOVE_QUEUE", "graphics", "0000:03:00.0", True),
    ("amdgpu 0000:03:00.0: amdgpu: failed to unmap legacy queue", "graphics", "0000:03:00.0", True),
    ("[drm:gfx_v11_0_bad_op_irq [amdgpu]] *ERROR* Illegal opcode in command stream", "graphics", "amdgpu", True),
    ("[drm:amdgpu_device_init.cold [amdgpu]] *ERROR* hw_init of IP block <psp> failed -22", "graphics", "amdgpu", True),
    ("amdgpu 0000:03:00.0: amdgpu: VRAM is lost due to GPU reset!", "graphics", "0000:03:00.0", False),
    ("amdgpu 0000:03:00.0: amdgpu: Failed to export SMU metrics table!", "graphics", "0000:03:00.0", False),
    ("amdgpu 0000:03:00.0: amdgpu:  Process x pid 1 thread y pid 2", "other", "0000:03:00.0", False),
    ("amdgpu 0000:03:00.0: amdgpu: RAS: optional ras ta ucode is not available", "other", "0000:03:00.0", False),
    ("i915 0000:00:02.0: [drm] *ERROR* GT0: Failed to initialize GPU, declaring it wedged!", "graphics", "0000:00:02.0", True),
    ("i915 0000:00:02.0: [drm] *ERROR* GT0: Enabling uc failed (-5)", "graphics", "0000:00:02.0", True),
    ("i915 0000:00:02.0: [drm] *ERROR* dpcd read failed", "link", "0000:00:02.0", False),
    ("[drm:i915_set_reset_status [i915]] *ERROR* gpu hanging too fast, banning!", "graphics", "i915", True),
    ("drm/i915: Resetting chip after gpu hang", "graphics", "i915", True),
    ("nouveau 0000:01:00.0: gsp: rc engn:00000001 chid:24 type:31 scope:1 part:233", "graphics", "0000:01:00.0", True),
]

# drivers/net/ethernet (realtek/r8169_main.c, intel/e1000e/netdev.c), net/sched/sch_generic.c,
# drivers/usb/storage/uas.c, core/hub.c, host/xhci.h (xhci_decode_usbsts), typec/ucsi/ucsi.c,
# drivers/scsi/mpt3sas, drivers/mmc/core/block.c, net/wireless/ath/ath10k/core.c,
# net/wireless/intel/iwlwifi/pcie/tx.c, fs/btrfs/volumes.c (btrfs_dev_stat_inc_and_print),
# kernel/panic.c, mm/oom_kill.c, drivers/base/dd.c and core.c (dev_err_probe)
WIDER: list[Case] = [
    ("r8169 0000:03:00.0 enp3s0: NETDEV WATCHDOG: CPU: 1: transmit queue 0 timed out 5010 ms", "timeout", "0000:03:00.0", True),
    ("r8169 0000:03:00.0 enp3s0: rtl_rxtx_empty_cond == 0 (loop: 42, delay: 100).", "protocol", "0000:03:00.0", False),
    ("r8169 0000:01:00.0 eth0: PCI error (cmd = 0xffff, status = 0xffff)", "host bus", "0000:01:00.0", True),
    ("e1000e 0000:00:1f.6 eno1: Detected Hardware Unit Hang:", "timeout", "0000:00:1f.6", True),
    ("usb 2-2: reset SuperSpeed Plus Gen 2x1 USB device number 2 using xhci_hcd", "link", "2-2", False),
    ("xhci_hcd 0000:00:14.0: USBSTS: HCHalted HSE", "host bus", "0000:00:14.0", True),
    ("xhci_hcd 0000:00:14.0: USBSTS: HCHalted EINT PCD", "host bus", "0000:00:14.0", False),
    ("sd 0:0:0:0: [sda] tag#15 data cmplt err -75 uas-tag 1 inflight: CMD", "protocol", "sda", False),
    ("sd 0:0:0:0: attempting task abort!scmd(0x00000000eedda1c9), outstanding for 30192 ms & timeout 30000 ms", "timeout", "0:0:0:0", True),
    ("mmcblk0: unknown error -5 sending read/write command, card status 0x900", "protocol", "mmcblk0", True),
    ("ath10k_pci 0000:01:00.0: wmi unified ready event not received", "protocol", "0000:01:00.0", True),
    ("iwlwifi 0000:01:00.0: Queue 0 is inactive on fifo 2 and stuck for 2500 ms. SW [87, 88] HW [162, 162]", "timeout", "0000:01:00.0", True),
    ("rtw_8822ce 0000:01:00.0: probe with driver rtw_8822ce failed with error -2", "firmware", "0000:01:00.0", False),
    ("ath12k_pci 0000:01:00.0: probe with driver ath12k_pci failed with error -22", "protocol", "0000:01:00.0", False),
    ("hp_accel: probe of HPQ6007:00 failed with error -22", "protocol", "HPQ6007:00", False),
    ("sof-audio-pci-intel-cnl 0000:00:1f.3: ASoC: failed to instantiate card -517", "protocol", "0000:00:1f.3", False),
    ("ucsi_acpi USBC000:00: error -ETIMEDOUT: PPM init failed", "timeout", "USBC000:00", False),
    ("BTRFS error (device sda2): bdev /dev/sda2 errs: wr 0, rd 1, flush 0, corrupt 0, gen 0", "other", "sda2", True),
    ("BTRFS error (device dm-0): bdev /dev/dm-0 errs: wr 0, rd 0, flush 0, corrupt 5, gen 0", "other", "dm-0", False),
    ("XFS (sda1): metadata I/O error in \"xfs_trans_read_buf_map\" at daddr 0x1 len 1 error 5", "other", "sda1", True),
    ("Kernel panic - not syncing: Fatal machine check", "machine check", None, True),
    ("Kernel panic - not syncing: VFS: Unable to mount root fs on unknown-block(0,0)", "other", None, False),
    ("Out of memory: Killed process 1234 (x) total-vm:1kB, anon-rss:1kB", "other", None, False),
]

# drivers/usb/core/hub.c, message.c, host/xhci.c (to 4.7 and since), typec/ucsi/ucsi_ccg.c, drivers/i2c/busses/
# i2c-nvidia-gpu.c, net/mac80211/mlme.c, drivers/bus/mhi/host/pm.c, net/wireless/realtek/rtw89/fw.c,
# sound/soc/sof (debug.c, xtensa/core.c, intel/hda.c), sound/hda/hdac_regmap.c, drivers/base/power/main.c,
# drivers/char/tpm/tpm-interface.c, drivers/ata/libata-core.c, drivers/gpu/drm/amd/display, i915/gt/uc/intel_guc_ct.c;
# ESHUTDOWN, EINVAL: Documentation/driver-api/usb/error-codes.rst
THIRD: list[Case] = [
    ("usb 1-3: device not accepting address 3, error -108", "host bus", "1-3", False),
    ("usb 1-2: string descriptor 0 read error: -22", "protocol", "1-2", False),
    ("usb 1-2: Failed to set U1 timeout to 0xff,error code -71", "link", "1-2", False),
    ("usb usb1: root hub lost power or was reset", "other", "usb1", False),
    ("xhci_hcd 0000:00:14.0: Stopped the command ring failed, maybe the host is dead", "host bus", "0000:00:14.0", True),
    ("xhci_hcd 0000:00:14.0: Abort command ring failed", "host bus", "0000:00:14.0", True),
    ("nvidia-gpu 0000:01:00.3: i2c timeout error e0000000", "timeout", "0000:01:00.3", False),
    ("ucsi_ccg 0-0008: i2c_transfer failed -110", "timeout", "0-0008", False),
    ("wlan0: authentication with 02:00:00:00:00:01 timed out", "timeout", "wlan0", False),
    ("wlp3s0: Connection to AP 02:00:00:00:00:01 lost", "timeout", "wlp3s0", False),
    ("mhi mhi0: Device failed to enter MHI Ready", "host bus", "mhi0", True),
    ("rtw89_8852be 0000:03:00.0: FW does not process h2c registers", "protocol", "0000:03:00.0", True),
    ("Bluetooth: hci0: Unable to disable scanning: -110", "timeout", "hci0", True),
    ("sof-audio-pci 0000:00:1f.3: error : DSP panic!", "protocol", "0000:00:1f.3", True),
    ("sof-audio-pci 0000:00:1f.3: error: DSP Firmware Oops", "protocol", "0000:00:1f.3", True),
    ("snd_hda_codec_hdmi hdaudioC0D2: Unable to sync register 0x2f8100. -5", "protocol", "hdaudioC0D2", False),
    ("rt5682 i2c-10EC5682:00: Device with ID register 0x0 is not rt5682", "protocol", "i2c-10EC5682:00", True),
    ("nvidia 0000:01:00.0: PM: pci_pm_suspend(): nv_pmops_suspend [nvidia] returns -5", "protocol", "0000:01:00.0", False),
    ("brcmfmac 0000:73:00.0: PM: pci_pm_suspend(): brcmf_pcie_pm_enter_D3 [brcmfmac] returns -5", "protocol", "0000:73:00.0", False),
    ("tpm tpm0: Error (38) sending savestate before suspend", "other", "tpm0", False),
    ("tpm_tis MSFT0101:00: probe of MSFT0101:00 failed with error -1", "protocol", "MSFT0101:00", False),
    ("ata1.00: detaching (SCSI 0:0:0:0)", "link", "ata1.00", False),
    ("ata1.00: model number mismatch 'A' != 'B'", "protocol", "ata1.00", True),
    ("amdgpu 0000:03:00.0: amdgpu: PSP firmware loading failed", "graphics", "0000:03:00.0", True),
    ("[drm:dc_dmub_srv_wait_idle [amdgpu]] *ERROR* Error waiting for DMUB idle: status=3", "graphics", "amdgpu", False),
    ("nvidia-modeset: ERROR: GPU:0: Idling display engine timed out", "graphics", "nvidia", False),
    ("mmc0: timeout waiting for hardware interrupt", "timeout", "mmc0", True),
]

# Threads read after the third set of real cases, in no set: what was unread there.
FOURTH: list[Case] = [
    ("i915 0000:30:00.0: [drm] *ERROR* GT0 [GUC COMMUNICATION] CT: No response for request 0x5503 (fence 168)", "graphics", "0000:30:00.0", False),
    ("[drm:wait_for_ct_request_update [i915]] *ERROR* CT: fence 168 err -62", "graphics", "i915", False),
    ("i915 0000:00:02.7: [drm] *ERROR* GT0: GUC: mmio request 0xf025005: failure a/0", "graphics", "0000:00:02.7", False),
    ("hda-intel: azx_get_response timeout, switching to polling mode: last cmd=0x000f0000", "timeout", None, False),
    ("hda-intel: Codec #0 probe error; disabling it...", "protocol", None, False),
    ("hda-intel: no codecs initialized", "host bus", None, True),
    ("sof-audio-pci 0000:00:1f.3: error: hdac prepare failed: ffffff92", "protocol", "0000:00:1f.3", False),
    ("sof-audio-pci 0000:00:1f.3: error: failed to reset DSP", "protocol", "0000:00:1f.3", False),
    ("sof-audio-pci 0000:00:1f.3: error: ipc timed out for 0x80010000 size 120", "timeout", "0000:00:1f.3", False),
    ("mt7921e 0000:0f:00.0: Failed to release patch semaphore", "protocol", "0000:0f:00.0", True),
    ("mt7915e 0000:02:00.0: Retry message 000025ed (seq 12)", "timeout", "0000:02:00.0", False),
    ("uvcvideo: Non-zero status (-71) in video completion handler.", "link", None, True),
    ("Memory failure: 0xe16677: already hardware poisoned", "machine check", None, True),
]

# Names and strings of devices stand behind the kernel's own words and say nothing.
STRINGS: list[Case] = [
    ("usb 1-1: Product: over-current condition", "other", "1-1", False),
    ("usb 1-1: Manufacturer: reset high-speed USB device number 3", "other", "1-1", False),
    ("ata1.00: ATA-9: exception Emask 0x10 SAct 0x0 SErr 0x400100, 1.0, max UDMA/133", "other", "ata1.00", False),
    ("scsi 6:0:0:0: Direct-Access     Medium   Result: hostbyte=DID_NO_CONNECT 1 PQ: 0 ANSI: 6", "other", "6:0:0:0", False),
    ("mmcblk0: mmc0:0001 error -110 14.7 GiB", "other", "mmcblk0", False),
]

# fmt: on

ALL = [
    *ATA, *LINK_STATES, *SCSI, *MORE_SCSI, *NVME, *MORE_NVME, *MMC, *MORE_MMC, *USB, *MORE_USB,
    *PCIE, *OLD_PCIE, *MACHINE, *RADIO, *CRASHES, *BOARD, *SCREENS, *RECORDS, *OLD,
    *CHIPS, *WIDER, *THIRD, *FOURTH, *STRINGS,
]  # fmt: skip
