# ruff: noqa: E501 (the kernel's lines are as long as they are)
"""Complaints of Linux drivers, filled in as the kernel prints them, and what a reader makes of each.

Wordings recalled from memory of the drivers' sources named beside each group, not compared with
them line by line. Layer and device were written down before the program was shown the lines.
"""

from __future__ import annotations

from typing import Final

Told = tuple[str, str, str | None]
"""Line, layer, device; a layer of "" speaks of no fault."""

# fmt: off

# drivers/ata/libata-eh.c, libata-core.c, libata-scsi.c, libahci.c, ahci.c
DRIVES: Final[list[Told]] = [
    ("ata1: softreset failed (1st FIS failed)", "link", "ata1"),
    ("ata1: softreset failed (device not ready)", "timeout", "ata1"),
    ("ata2: link is slow to respond, please be patient (ready=0)", "", "ata2"),
    ("ata2: device not ready (errno=-16), forcing hardreset", "timeout", "ata2"),
    ("ata2.00: revalidation failed (errno=-5)", "protocol", "ata2.00"),
    ("ata2.00: model number mismatch 'ABC' != 'ABD'", "protocol", "ata2.00"),
    ("ata2.00: failed to set xfermode (err_mask=0x4)", "timeout", "ata2.00"),
    ("ata2.00: failed to enable AA (error_mask=0x1)", "", "ata2.00"),
    ("ata2.00: Read log 0x10 page 0x00 failed, Emask 0x40", "protocol", "ata2.00"),
    ("ata2: failed to read log page 10h (errno=-5)", "protocol", "ata2"),
    ("ata2.00: supports DRM functions and may not be fully accessible", "", "ata2.00"),
    ("ata2.00: HPA detected: current 976771055, native 976773168", "", "ata2.00"),
    ("ata2: EH complete", "", "ata2"),
    ("ata2: failed to stop engine (-5)", "host bus", "ata2"),
    ("ata2: hardreset failed, retrying in 5 secs", "link", "ata2"),
    ("ahci 0000:00:17.0: version mismatch, 1.3 != 1.2", "", "0000:00:17.0"),
]

# drivers/nvme/host/core.c, pci.c
NVMES: Final[list[Told]] = [
    ("nvme nvme0: Device not ready; aborting initialisation, CSTS=0x0", "timeout", "nvme0"),
    ("nvme nvme0: Device not ready; aborting reset, CSTS=0x1", "timeout", "nvme0"),
    ("nvme nvme0: Device shutdown incomplete; abort shutdown", "timeout", "nvme0"),
    ("nvme nvme0: controller is down; will reset: CSTS=0x3, PCI_STATUS=0x10", "protocol", "nvme0"),
    ("nvme nvme0: Removing after probe failure status: -19", "protocol", "nvme0"),
    ("nvme nvme0: Identify Controller failed (-4)", "protocol", "nvme0"),
    ("nvme nvme0: invalid id 65535 completed on queue 3", "protocol", "nvme0"),
    ("nvme nvme0: Abort status: 0x0", "", "nvme0"),
    ("nvme nvme0: missing or invalid SUBNQN field.", "", "nvme0"),
    ("nvme nvme0: 8/0/0 default/read/poll queues", "", "nvme0"),
    ("nvme nvme0: Shutdown timeout set to 10 seconds", "", "nvme0"),
    ("nvme nvme0: allocated 64 MiB host memory buffer.", "", "nvme0"),
    ("nvme nvme0: Could not set queue count (-4)", "protocol", "nvme0"),
    ("nvme nvme0: I/O 12 QID 2 timeout, disable controller", "timeout", "nvme0"),
    ("nvme nvme0: I/O tag 12 (100c) QID 2 timeout, completion polled", "timeout", "nvme0"),
]

# drivers/scsi/sd.c, scsi_error.c, scsi_lib.c; drivers/usb/storage/uas.c
DISKS: Final[list[Told]] = [
    ("sd 0:0:0:0: Device offlined - not ready after error recovery", "timeout", "0:0:0:0"),
    ("sd 0:0:0:0: rejecting I/O to offline device", "timeout", "0:0:0:0"),
    ("sd 0:0:0:0: [sda] Read Capacity(10) failed: Result: hostbyte=DID_OK driverbyte=DRIVER_OK", "protocol", "sda"),
    ("sd 0:0:0:0: [sda] Asking for cache data failed", "", "sda"),
    ("sd 0:0:0:0: [sda] Assuming drive cache: write through", "", "sda"),
    ("sd 0:0:0:0: [sda] Synchronize Cache(10) failed: Result: hostbyte=DID_BAD_TARGET driverbyte=DRIVER_OK", "link", "sda"),
    ("sd 0:0:0:0: [sda] Spinning up disk...", "", "sda"),
    ("sd 0:0:0:0: [sda] Sector size 0 reported, assuming 512.", "protocol", "sda"),
]

# drivers/usb/core/hub.c, config.c, message.c; usb/host/xhci.c, xhci-ring.c; typec/ucsi/ucsi.c
USBS: Final[list[Told]] = [
    ("usb usb1-port3: cannot reset (err = -71)", "link", "usb1-port3"),
    ("usb usb1-port3: cannot disable (err = -110)", "timeout", "usb1-port3"),
    ("usb usb2-port3: Cannot enable. Maybe the USB cable is bad?", "link", "usb2-port3"),
    ("usb usb1-port3: attempt power cycle", "link", "usb1-port3"),
    ("usb 1-3: device descriptor read/all, error -71", "link", "1-3"),
    ("usb 1-3: unable to read config index 0 descriptor/start: -71", "link", "1-3"),
    ("usb 1-3: unable to read config index 0 descriptor/all", "protocol", "1-3"),
    ("usb 1-3: config 1 has an invalid interface number: 2 but max is 1", "", "1-3"),
    ("usb 1-3: string descriptor 0 read error: -71", "link", "1-3"),
    ("usb 1-3: device firmware changed", "protocol", "1-3"),
    ("usb 1-3: can't read configurations, error -71", "link", "1-3"),
    ("hub 1-3:1.0: config failed, can't read hub descriptor (err -71)", "link", "1-3"),
    ("hub 1-3:1.0: hub_ext_port_status failed (err = -71)", "link", "1-3"),
    ("usb 2-3: Disable of device-initiated U1 failed.", "", "2-3"),
    ("xhci_hcd 0000:00:14.0: Abort failed to stop command ring: -110", "host bus", "0000:00:14.0"),
    ("xhci_hcd 0000:00:14.0: Timeout while waiting for setup device command", "timeout", "0000:00:14.0"),
    ("xhci_hcd 0000:00:14.0: Host halt failed, -110", "host bus", "0000:00:14.0"),
    ("xhci_hcd 0000:00:14.0: Not enough bandwidth for new device state.", "", "0000:00:14.0"),
    ("ucsi_acpi USBC000:00: PPM init failed (-110)", "timeout", "USBC000:00"),
    ("ucsi_acpi USBC000:00: failed to reset PPM!", "timeout", "USBC000:00"),
]

# drivers/mmc/core/*.c, host/sdhci.c, rtsx_pci_sdmmc.c; drivers/pci/probe.c, pcie/*.c, hotplug/pciehp_hpc.c
CARDS: Final[list[Told]] = [
    ("mmc0: error -110 whilst initialising SD card", "timeout", "mmc0"),
    ("mmc0: error -84 whilst initialising MMC card", "link", "mmc0"),
    ("mmc0: Timeout waiting for hardware interrupt.", "timeout", "mmc0"),
    ("mmc0: Reset 0x1 never completed.", "host bus", "mmc0"),
    ("mmc0: Internal clock never stabilised.", "host bus", "mmc0"),
    ("mmc0: tried to HW reset card, got error -110", "timeout", "mmc0"),
    ("mmc0: cannot verify signal voltage switch", "", "mmc0"),
    ("pcieport 0000:00:1d.0: pciehp: Timeout on hotplug command 0x1038 (issued 1000 msec ago)", "", "0000:00:1d.0"),
    ("pcieport 0000:00:1d.0: pciehp: Slot(3): Cannot train link: status 0x0001", "link", "0000:00:1d.0"),
    ("pcieport 0000:00:1d.0: broken device, retraining non-functional downstream link at 2.5GT/s", "link", "0000:00:1d.0"),
    ("nvme 0000:01:00.0: not ready 65535ms after FLR; giving up", "host bus", "0000:01:00.0"),
    ("pci 0000:01:00.0: unknown header type 7f, ignoring device", "host bus", "0000:01:00.0"),
    ("pcieport 0000:00:1d.0: AER: device recovery failed", "link", "0000:00:1d.0"),
    ("pcieport 0000:00:1d.0: AER: device recovery successful", "", "0000:00:1d.0"),
    ("nvme 0000:01:00.0: Unable to change power state from D3cold to D0, device inaccessible", "host bus", "0000:01:00.0"),
]

# drivers/net/wireless/{intel/iwlwifi,ath/ath10k,ath/ath11k,mediatek/mt76,realtek/rtw88,rtw89}; drivers/bluetooth
RADIOS: Final[list[Told]] = [
    ("iwlwifi 0000:02:00.0: Queue 4 is inactive on fifo 2 and stuck for 10000 ms. SW [12, 13] HW [12, 13] FH TRB=0x05a5a5a5", "timeout", "0000:02:00.0"),
    ("iwlwifi 0000:02:00.0: Error sending STATISTICS_CMD: time out after 2000ms.", "timeout", "0000:02:00.0"),
    ("iwlwifi 0000:02:00.0: Failed to start RT ucode: -110", "timeout", "0000:02:00.0"),
    ("iwlwifi 0000:02:00.0: SecBoot CPU1 Status: 0x3, CPU2 Status: 0x2490", "", "0000:02:00.0"),
    ("ath10k_pci 0000:02:00.0: failed to wake target for read32 at 0x0003a028: -110", "host bus", "0000:02:00.0"),
    ("ath10k_pci 0000:02:00.0: firmware crashed! (guid n/a)", "protocol", "0000:02:00.0"),
    ("ath11k_pci 0000:02:00.0: failed to power up mhi: -110", "timeout", "0000:02:00.0"),
    ("ath11k_pci 0000:02:00.0: link down error during global reset", "host bus", "0000:02:00.0"),
    ("mt7921e 0000:02:00.0: driver own failed", "timeout", "0000:02:00.0"),
    ("mt7921e 0000:02:00.0: Message 00020007 (seq 3) timeout", "timeout", "0000:02:00.0"),
    ("mt7921e 0000:02:00.0: chip reset failed", "protocol", "0000:02:00.0"),
    ("rtw_8822ce 0000:02:00.0: mac power on failed", "protocol", "0000:02:00.0"),
    ("rtw_8822ce 0000:02:00.0: failed to poll offset=0x5 mask=0x3 value=0x0", "timeout", "0000:02:00.0"),
    ("rtw89_8852be 0000:02:00.0: failed to wait firmware completion", "timeout", "0000:02:00.0"),
    ("Bluetooth: hci0: Reading Intel version command failed (-110)", "timeout", "hci0"),
    ("Bluetooth: hci0: Failed to load Intel firmware file intel/ibt-17-16-1.sfi (-2)", "firmware", "hci0"),
    ("Bluetooth: hci0: hardware error 0x0c", "protocol", "hci0"),
    ("Bluetooth: hci0: unexpected event for opcode 0xfc2f", "", "hci0"),
]

# drivers/gpu/drm: i915, amd/amdgpu, nouveau
PICTURES: Final[list[Told]] = [
    ("i915 0000:00:02.0: [drm] *ERROR* Link Training Unsuccessful", "link", "0000:00:02.0"),
    ("i915 0000:00:02.0: [drm] *ERROR* rcs0 reset request timed out: {request: 00000001, RESET_CTL: 00000001}", "graphics", "0000:00:02.0"),
    ("amdgpu 0000:04:00.0: amdgpu: GPU reset begin!", "graphics", "0000:04:00.0"),
    ("amdgpu 0000:04:00.0: amdgpu: SMU: I'm not done with your previous command: SMN_C2PMSG_66:0x0000001E SMN_C2PMSG_82:0x00000000", "graphics", "0000:04:00.0"),
    ("amdgpu 0000:04:00.0: amdgpu: [gfxhub] page fault (src_id:0 ring:24 vmid:3 pasid:32770)", "graphics", "0000:04:00.0"),
    ("nouveau 0000:01:00.0: fifo: SCHED_ERROR 0a [CTXSW_TIMEOUT]", "graphics", "0000:01:00.0"),
    ("nouveau 0000:01:00.0: bus: MMIO read of 00000000 FAULT at 022554 [ PRIVRING ]", "", "0000:01:00.0"),
]

# drivers/acpi/{ec,battery,thermal}.c; hid/i2c-hid; i2c/busses/i2c-designware; input; sound/hda; arch/x86; mm; fs
BOARD: Final[list[Told]] = [
    ("i2c_hid_acpi i2c-ELAN0001:00: failed to reset device: -121", "protocol", "i2c-ELAN0001:00"),
    ("i2c_hid_acpi i2c-ELAN0001:00: i2c_hid_get_input: incomplete report (14/65535)", "protocol", "i2c-ELAN0001:00"),
    ("i2c_designware i2c_designware.0: controller timed out", "timeout", "i2c_designware.0"),
    ("i2c_designware i2c_designware.0: lost arbitration", "link", "i2c_designware.0"),
    ("psmouse serio1: synaptics: Unable to query device: -5", "protocol", "serio1"),
    ("i8042: No controller found", "protocol", None),
    ("atkbd serio0: Unknown key pressed (translated set 2, code 0xab on isa0060/serio0).", "", "serio0"),
    ("snd_hda_intel 0000:00:1f.3: azx_get_response timeout, switching to polling mode: last cmd=0x20bf8100", "timeout", "0000:00:1f.3"),
    ("snd_hda_intel 0000:00:1f.3: no codecs initialized", "protocol", "0000:00:1f.3"),
    ("Memory failure: 0x12345: recovery action for dirty LRU page: Recovered", "machine check", None),
    ("clocksource: timekeeping watchdog on CPU2: Marking clocksource 'tsc' as unstable because the skew is too large:", "other", None),
    ("BTRFS error (device sda2): parent transid verify failed on logical 30408704 mirror 1 wanted 10 found 8", "other", "sda2"),
    ("XFS (sda2): Metadata corruption detected at xfs_agf_verify+0x5c/0x1a0", "other", "sda2"),
    ("ACPI: battery: Slot [BAT0] (battery absent)", "", "BAT0"),
]

DRIVERS: Final[list[Told]] = [*DRIVES, *NVMES, *DISKS, *USBS, *CARDS, *RADIOS, *PICTURES, *BOARD]
