# ruff: noqa: E501 (the kernel's lines are as long as they are)
"""Messages of Linux 6.12 modules drawn by lot, of drivers that the other lists hardly have.

The strings are the modules' own (Debian's kernel), filled in as the kernel would; priorities are
those of the call in the source (from memory). Judged as those of ``kernel_lines_source``, and
written down before the program was shown any of them.
"""

from __future__ import annotations

from typing import Final

from tests.kernel_lines_source import Sourced

# fmt: off

# drivers/platform/chrome, drivers/usb/typec (tipd, tcpm, ucsi), drivers/power/supply
_POWER: Final[list[Sourced]] = [
    (4, "", "*", "quiet", "cros_ec_lpcs: Looking for GOOG0004 failed"),
    (3, "", "*", "quiet", "cros_ec_lpcs: can't register device: -12"),
    (3, "protocol/other", "*", "either", "cros-ec-typec GOOG0014:00: Failed to register partner on port: 1"),
    (3, "protocol/other", "*", "either", "cros-ec-typec GOOG0014:00: Invalid PDO count from EC, port: 0"),
    (3, "link/protocol", "*", "either", "cros-ec-spi spi-PRP0001:01: bad packet checksum, expected 4f, got 00"),
    (3, "timeout", "*", "either", "cros-ec-i2c i2c-GOOG0008:00: failed to get response: -110"),
    (3, "protocol/link", "*", "either", "cros-ec-i2c i2c-GOOG0008:00: response of 0 bytes too short; not a full header"),
    (4, "timeout/protocol/other", "*", "either", "cros_ec_lpcs GOOG0004:00: Error -110 sending resume event to ec"),
    (3, "timeout", "*", "either", "cros_ec_lpcs GOOG0004:00: Cannot identify the EC: error -110"),
    (3, "protocol/other", "*", "either", "cros-usbpd-charger cros-usbpd-charger.3.auto: Unable to query discovery info (err:0x-5)"),
    (4, "", "*", "quiet", "cros-ec-sensorhub cros-ec-sensorhub.2.auto: Sensor 2: lost: 12 out of 64"),
    (3, "protocol/other", "*", "either", "tps6598x i2c-INT3515:00: failed to clear dead battery -22"),
    (3, "link/protocol", "*", "either", "tps6598x i2c-INT3515:00: failed to read power status: -121"),
    (4, "", "*", "quiet", "ucsi_acpi USBC000:00: firmware doesn't support alternate mode overriding"),
    (3, "", "*", "quiet", "ucsi_acpi USBC000:00: missing memory resource"),
    (3, "", "*", "quiet", "typec_fusb302 i2c-INT33FE:00: I2C/SMBus block functionality not supported!"),
    (4, "protocol/other", "*", "either", "typec_displayport port0-partner.0: plug failed to enter mode"),
    (3, "protocol/other/link", "*", "either", "sbs-battery 3-000b: Failed to disable charger broadcasting: -121"),
    (3, "link/protocol/timeout/other", "*", "either", "bq27xxx-battery 2-0055: error reading design capacity"),
    (3, "timeout/protocol/other", "*", "either", "surface_battery 01:02:01:01:00: failed to update battery state: -110"),
    (3, "", "*", "quiet", "ACPI: AC: Error reading AC Adapter state: AE_NOT_FOUND"),
    (4, "", "*", "quiet", "ACPI: button: The lid device is not compliant to SW_LID."),
    (3, "", "*", "quiet", "acpi-fan PNP0C0B:00: Invalid _FIF element"),
    (3, "", "*", "quiet", "acpi LNXVIDEO:00: Invalid _DDC data for length 128"),
]

# drivers/hid, drivers/input
_HANDS: Final[list[Sourced]] = [
    (3, "", "*", "quiet", "i2c_hid_acpi i2c-ELAN0672:00: Error _DSM call to get HID descriptor address failed"),
    (3, "", "*", "quiet", "intel_ish_ipc 0000:00:13.0: IPC hdr - bad length: 72; dropped"),
    (3, "", "*", "quiet", "intel_ish_ipc 0000:00:13.0: reset: unexpected enumeration response hbm"),
    (3, "", "*", "quiet", "pcie_mp2_amd 0000:03:00.7: Failed to discover, sensors not enabled is 0"),
    (4, "", "*", "quiet", "pcie_mp2_amd 0000:03:00.7: amd_sfh_irq_init failed"),
    (3, "", "*", "quiet", "hid-sensor-hub 001F:8087:0AC2.0003: cannot allocate Sensor data"),
    (3, "", "*", "quiet", "logitech-djreceiver 0003:046D:C52B.0003: logi_dj_recv_query_paired_devices: hid_allocate_dev failed"),
    (3, "protocol/other", "*", "either", "logitech-hidpp-device 0003:046D:4069.0006: Couldn't get wheel multiplier (error -110)"),
    (3, "protocol/other/timeout", "*", "either", "magicmouse 0005:05AC:0265.0004: unable to request touch data (-110)"),
    (3, "protocol/other/timeout", "*", "either", "lenovo 0003:17EF:6047.0002: Fn-lock setting failed: -110"),
    (3, "", "*", "quiet", "hid-rmi 0018:06CB:7A13.0001: device does not have rmi write output report"),
    (3, "protocol/link", "*", "either", "hid-rmi 0018:06CB:7A13.0001: failed to write hid report (-5)"),
    (3, "protocol/other/link", "*", "either", "elan 0018:04F3:3134.0001: Failed to set mute led brightness: -5"),
    (4, "timeout", "*", "either", "applespi spi-APP000D:00: Command 17 timed out"),
    (4, "", "*", "quiet", "applespi spi-APP000D:00: Error getting backlight level from EFI vars: 0x800000000000000e"),
    (3, "protocol/link/other", "*", "either", "bcm5974 1-3:1.2: could not read from device"),
    (3, "protocol/other", "*", "either", "bcm5974 1-3:1.2: mode switch after reset failed"),
    (3, "link/protocol", "0-0015", "either", "elan_i2c 0-0015: failed to get X dimension: -121"),
    (3, "link/protocol", "0-0015", "either", "elan_i2c 0-0015: failed to check calibration result: -121"),
    (3, "protocol/firmware/link", "i2c-ELAN2097:00", "either", "elants_i2c i2c-ELAN2097:00: IAP Get Ack Error [00:00]"),
    (3, "link/protocol/power/other", "i2c-GDIX1001:00", "either", "Goodix-TS i2c-GDIX1001:00: Error could not hold ss51 & dsp"),
    (3, "protocol/other/power", "*", "either", "Goodix-TS i2c-GDIX1001:00: Failed to enable AVDD28 regulator: -110"),
    (3, "protocol/other", "*", "either", "silead_ts i2c-MSSL1680:00: Resume error, status: 0x00"),
    (4, "protocol/other/link", "*", "either", "wacom 0003:056A:00DE.0002: wacom_set_report: ran out of retries (last error = -32)"),
    (3, "protocol/other", "*", "either", "asus 0003:0B05:19B6.0001: Asus handshake 5d returned invalid response: 00 00 00 00"),
]

# sound/pci/hda, sound/soc/{codecs,sof,amd,intel/avs}, drivers/soundwire, sound/usb
_EARS: Final[list[Sourced]] = [
    (2, "thermal", "*", "either", "cs35l41-hda i2c-CSC3551:00-cs35l41-hda.0: Over temperature error"),
    (3, "protocol/link/timeout/other", "*", "either", "cs35l41 spi-CSC3551:00: Failed to restore register cache: -121"),
    (6, "", "*", "quiet", "cs35l56-hda i2c-CSC3556:00-cs35l56-hda.0: Reset GPIO busy, assume shared reset"),
    (3, "", "*", "quiet", "tas2781-hda i2c-TXNW2781:00: Calibration data read failed -2"),
    (3, "timeout", "*", "either", "rt1320-sdw sdw:0:1:025d:1320:01: rt1320_dev_resume: Initialization not complete, timed out"),
    (3, "timeout", "*", "either", "rt722-sdca sdw:0:0:025d:0722:01: rt722_sdca_preset, calibration time-out!"),
    (3, "link/protocol", "*", "either", "rt722-sdca sdw:0:0:025d:0722:01: rt722_sdca_index_write: Failed to set private value: 6100020 <= 3019 ret=-121"),
    (3, "", "*", "quiet", "rt722-sdca sdw:0:0:025d:0722:01: rt722_sdca_pcm_hw_params: Unable to configure port"),
    (3, "protocol/link/timeout/other", "*", "either", "cs42l43-codec cs42l43-codec: Failed to resume for jack config: -110"),
    (3, "link/protocol", "*", "either", "max98373 i2c-MX98373:00: Reset failed. (ret:-121)"),
    (3, "link/protocol", "*", "either", "max98390 i2c-MX98390:00: ret=-121, Failed to read: 0x24FF"),
    (3, "link/protocol", "*", "either", "nau8825 i2c-10508825:00: Failed to read device id from the NAU8825: -121"),
    (3, "link/protocol", "*", "either", "da7219 i2c-DLGS7219:00: Failed to read chip revision: -121"),
    (3, "protocol/other", "*", "either", "rt5682 i2c-10EC5682:00: Unexpected button code 0x0003"),
    (3, "", "*", "quiet", "es8316 i2c-ESSX8316:00: unable to get mclk"),
    (4, "", "*", "quiet", "sof_sdw sof_sdw: quirk SOC_SDW_FOUR_SPK enabled but no longer supported"),
    (3, "firmware", "*", "either", "sof-audio-pci-intel-tgl 0000:00:1f.3: error: sof firmware file is missing, you might need to"),
    (3, "protocol", "*", "either", "sof-audio-pci-intel-tgl 0000:00:1f.3: failure in hda_dsp_dais_suspend"),
    (3, "protocol/firmware", "*", "either", "snd_sof_amd_rembrandt 0000:03:00.5: PSP error status 8"),
    (3, "protocol/host bus/timeout", "*", "either", "snd_sof_amd_rembrandt 0000:03:00.5: ACP Reset failed"),
    (3, "protocol/host bus/timeout", "*", "either", "snd_pci_ps 0000:63:00.5: ACP de-init failed"),
    (3, "protocol/timeout", "*", "either", "snd_soc_avs 0000:00:1f.3: enumerate PROBE endpoints failed: -110"),
    (3, "firmware/other", "*", "either", "snd_soc_avs 0000:00:1f.3: load topology \"hda-8086281c-tplg.bin\" failed: -2"),
    (3, "protocol/timeout", "*", "either", "soundwire_intel soundwire_intel.link.0: intel_resume_runtime: power_up failed after bus reset: -110"),
    (3, "protocol/timeout", "*", "either", "soundwire_intel soundwire_intel.link.1: clock stop exit failed -110"),
    (3, "timeout/protocol/other", "*", "either", "soundwire sdw-master-0-1: intel_resume: no peripherals attached"),
    (3, "protocol/other/link", "1-2", "either", "usb 1-2: cannot set ctl value: req = 0x1, wValue = 0x201, wIndex = 0xa00, type = 4, data = 0x0/0x0"),
    (3, "", "*", "quiet", "snd_hda_intel 0000:00:1f.3: Cannot load firmware, continue without patching"),
    (4, "", "*", "quiet", "snd_hda_intel 0000:00:1f.3: Invalid position buffer, using LPIB read method instead."),
]

# drivers/misc/mei, drivers/media/pci/intel, drivers/media/i2c, drivers/accel, drivers/net/wwan, drivers/net/usb
_EYES: Final[list[Sourced]] = [
    (3, "", "*", "quiet", "intel_vpu 0000:00:0b.0: [drm] *ERROR* ivpu_wait_for_pll_lock(): Timed out waiting for PLL lock"),
    (3, "", "*", "quiet", "intel_vpu 0000:00:0b.0: [drm] *ERROR* ivpu_boot(): Failed to create shavenn buffer"),
    (3, "", "*", "quiet", "ivsc_csi intel_vsc-92335fcf-3203-4472-af93-7b4453ac29da: can't obtain sink endpoint"),
    (3, "", "*", "quiet", "vsc-tp spi-INTC1094:00: dispatch write request failed: -110"),
    (3, "", "*", "quiet", "mei_me 0000:00:16.0: failed to read firmware status: -5"),
    (3, "", "*", "quiet", "mei_me 0000:00:16.0: MEI start failed."),
    (3, "", "*", "quiet", "intel-ipu6 0000:00:05.0: CSE authenticate timeout"),
    (3, "", "*", "quiet", "intel_ipu6_isys.isys intel_ipu6.isys.40: DWC ifc request read timeout"),
    (3, "", "*", "quiet", "ov13b10 i2c-OVTIDB10:00: ov13b10_start_streaming failed to set plls"),
    (3, "", "*", "quiet", "ov2740 i2c-INT3474:00: failed to check HW configuration"),
    (3, "", "*", "quiet", "hi556 i2c-INT3537:00: failed to power on sensor"),
    (3, "protocol/other", "1-5", "either", "uvcvideo 1-5:1.1: no class-specific streaming interface descriptors found"),
    (3, "protocol/link/other", "1-5", "either", "uvcvideo 1-5:1.1: Failed to resubmit video URB (-19)."),
    (3, "", "*", "quiet", "iosm 0000:72:00.0: channel id[3] write failed"),
    (3, "", "*", "quiet", "mtk_t7xx 0000:56:00.0: Failed to stop TX, status: 0x1"),
    (3, "firmware/protocol/host bus", "*", "either", "mhi mhi0: Image transfer failed"),
    (3, "timeout/protocol/host bus", "*", "either", "mhi mhi0: 14: Failed to receive start channel command completion"),
    (3, "", "*", "quiet", "mhi-pci-generic 0000:08:00.0: Error allocating MSI vectors -28"),
    (3, "", "*", "quiet", "qmi_wwan 1-6:1.8: subdriver registration failed"),
    (3, "protocol/other", "*", "either", "cdc_ncm 2-1:2.0: failed to get mac address"),
    (3, "", "*", "quiet", "cdc_mbim 1-6:1.12: NCM or ECM functional descriptors missing"),
]

# drivers/net/ethernet, drivers/net/usb
_WIRES: Final[list[Sourced]] = [
    (3, "", "*", "quiet", "igc 0000:56:00.0 enp86s0: Tx timestamp timeout"),
    (3, "", "*", "quiet", "e1000e 0000:00:1f.6 eno1: Error forcing flow control settings"),
    (3, "", "*", "quiet", "alx 0000:03:00.0: error allocating internal structures"),
    (4, "link/host bus/other", "0000:03:00.0", "either", "alx 0000:03:00.0: pci error slot reset"),
    (3, "", "*", "quiet", "atlantic 0000:04:00.0: ptp_clock_register failed"),
    (4, "host bus/protocol/link", "2-1", "either", "aqc111 2-1:1.0 enx0050b6a1b2c3: Failed to write(0x1) reg index 0x0026: -19"),
    (3, "protocol/other/link", "1-2", "either", "asix 1-2:1.0 eth0: Error reading Medium Status register: ffffffed"),
    (3, "", "*", "quiet", "r8152 2-1:1.0: Expected endpoints are not found"),
    (6, "", "*", "quiet", "r8152 2-1:1.0: No efuse for RTL8153-AD MAC pass through"),
    (3, "", "*", "quiet", "tg3 0000:01:00.0: Cannot register net device, aborting"),
    (3, "host bus/protocol/other", "0000:01:00.0", "either", "tg3 0000:01:00.0: No PHY devices"),
    (3, "", "*", "quiet", "atl1c 0000:02:00.0: Unable to allocate interrupt Error: -22"),
]

# drivers/mmc, drivers/misc/cardreader, drivers/usb, drivers/nvme, drivers/ata, drivers/pci, drivers/spi, drivers/char/tpm
_STORES: Final[list[Sourced]] = [
    (4, "power/other/host bus/protocol", "mmc0", "either", "mmc0: Failed to enable vqmmc regulator: -110"),
    (3, "", "*", "quiet", "mmc0: sdhci: Disabling ADMA as it is marked broken"),
    (4, "link/timeout/host bus", "mmc0", "either", "mmc0: DLL can't lock in 5ms after force L0 during tuning."),
    (3, "timeout", "0000:02:00.0", "either", "rtsx_pci 0000:02:00.0: Timeout (rtsx_pci_send_cmd 345)"),
    (3, "link/timeout/protocol", "*", "either", "rtsx_pci_sdmmc rtsx_pci_sdmmc.0: rtsx_pci_read_ppbuf fail (err = -110)"),
    (3, "timeout", "*", "either", "rtsx_usb_sdmmc rtsx_usb_sdmmc.2.auto: rtsx_usb_send_cmd failed (err = -110)"),
    (3, "protocol/other", "mmc0", "either", "mmc0: unexpected status 0x80 after switch"),
    (3, "host bus/timeout/protocol", "mmc0", "either", "mmc0: cqhci: Failed to clear tasks"),
    (4, "", "*", "quiet", "usb 1-2: USB controller 0000:00:1a.0 does not support streams, which are required by the UAS driver."),
    (3, "", "*", "quiet", "usb-storage 1-2:1.0: Unable to add the scsi host"),
    (4, "", "*", "quiet", "nvme nvme0: APST enabled but no non-operational states are available"),
    (4, "", "*", "quiet", "nvme nvme0: Failed to configure AEN (cfg 300)"),
    (4, "host bus/protocol/timeout", "nvme0", "fault", "nvme nvme0: IO queues not created"),
    (4, "", "*", "quiet", "ata2.00: Initialize CDL resources failed"),
    (4, "", "*", "quiet", "ata1.00: unexpected _GTF length (4)"),
    (4, "link", "ata3.00", "fault", "ata3.00: failed to recover link after 3 tries, disabling"),
    (6, "", "*", "quiet", "ahci 0000:00:17.0: controller can't do PMP, turning off CAP_PMP"),
    (3, "host bus/protocol/other", "*", "either", "vmd 0000:00:0e.0: can't reset device: -25"),
    (4, "", "*", "quiet", "intel-lpss 0000:00:15.0: Failed to create debugfs entries"),
    (3, "", "*", "quiet", "i801_smbus 0000:00:1f.4: Failed to request SMBus region 0xefa0-0xefbf"),
    (3, "", "*", "quiet", "i801_smbus 0000:00:1f.4: Failed terminating the transaction"),
    (3, "", "*", "quiet", "piix4_smbus 0000:00:14.0: Error setting up SB800 adapters. Unregistering!"),
    (3, "", "*", "quiet", "spi-nor spi0.0: unable to clear SRWD bit, WP# asserted?"),
    (3, "timeout", "*", "either", "tpm_tis_spi spi0.0: Timeout during flow control"),
    (6, "", "*", "quiet", "tpm_tis_spi spi0.0: IRQ not confirmed - will use delays"),
    (4, "", "*", "quiet", "thunderbolt 0-1: retimer NVM format of vendor 0x8087 unknown"),
    (4, "", "*", "quiet", "xhci_hcd 0000:00:14.0: Command ring has no reserved TRBs available"),
    (3, "protocol/link/other", "*", "either", "hub 4-1:1.0: set hub depth failed"),
    (4, "", "*", "quiet", "dwc3 a600000.usb: dwc3_gadget_ep_queue: can't queue to disabled endpoint"),
]

# drivers/net/wireless, drivers/bluetooth, net/mac80211
_AIR: Final[list[Sourced]] = [
    (3, "timeout/host bus", "0000:01:00.0", "fault", "ath11k_pci 0000:01:00.0: failed to start mhi: -110"),
    (4, "", "*", "quiet", "ath11k_pci 0000:01:00.0: failed to set wmm params: -16"),
    (4, "", "*", "quiet", "ath11k_pci 0000:01:00.0: could not request fw stats (-108)"),
    (3, "", "*", "quiet", "ath12k_pci 0000:01:00.0: failed to setup interface combinations: -12"),
    (4, "protocol/other/timeout", "0000:01:00.0", "either", "ath12k_pci 0000:01:00.0: failed to synchronize setup for vdev 0 start: -110"),
    (3, "host bus/protocol/timeout", "0000:02:00.0", "either", "ath10k_pci 0000:02:00.0: Failed to get pcie state addr: -16"),
    (3, "firmware", "0000:02:00.0", "either", "ath10k_pci 0000:02:00.0: firmware has invalid segment length, 65536 > 1204"),
    (4, "", "*", "quiet", "ath10k_pci 0000:02:00.0: failed to down vdev 0: -108"),
    (3, "host bus/protocol/timeout", "*", "either", "ath: phy0: Unable to reset hardware; reset status -5 (freq 2462 MHz)"),
    (3, "host bus/timeout/protocol", "0000:01:00.0", "either", "rtw89_8852be 0000:01:00.0: [ERR] PCIE SER clear polling fail"),
    (4, "", "*", "quiet", "rtw89_8852be 0000:01:00.0: No busy txwd pages available"),
    (4, "", "*", "quiet", "rtw89_8852be 0000:01:00.0: Update probe request failed"),
    (3, "protocol/other", "0000:02:00.0", "either", "rtw88_8822ce 0000:02:00.0: invalid hw configuration from efuse"),
    (3, "host bus/protocol/timeout", "0000:02:00.0", "either", "rtw88_8822ce 0000:02:00.0: failed to read DBI register, addr=0x0719"),
    (3, "", "*", "quiet", "rtw88_8822ce 0000:02:00.0: failed to request pci io region"),
    (3, "protocol/host bus/timeout", "1-4", "either", "usb 1-4: rtl8xxxu: Failed to initialize MAC (reg: 0000, val ff)"),
    (3, "", "*", "quiet", "rtlwifi: rtl: Unable to register rtl_rc, use default RC !!"),
    (3, "protocol/host bus/timeout", "0000:01:00.0", "fault", "mt7921e 0000:01:00.0: hardware init failed"),
    (4, "", "*", "quiet", "mt7925e 0000:01:00.0: Invalid MAC address, using random address 02:11:22:33:44:55"),
    (3, "", "*", "quiet", "mt7925e 0000:01:00.0: register debugfs failed"),
    (3, "protocol/firmware", "0000:01:00.0", "fault", "mt7921e 0000:01:00.0: Failed to start WM firmware"),
    (3, "protocol/link", "*", "either", "brcmfmac: brcmf_sdio_hdparse: seq 12: bad data offset"),
    (3, "", "*", "quiet", "iwlwifi 0000:00:14.3: pcim_iomap_regions_request_all failed"),
    (3, "", "*", "quiet", "iwlwifi 0000:00:14.3: WRT: Failed to apply DRAM buffer for allocation id 1, ret=-1"),
    (3, "", "*", "quiet", "iwlwifi 0000:00:14.3: failed to add new_ctx during channel switch"),
    (3, "protocol", "0000:00:14.3", "fault", "iwlwifi 0000:00:14.3: Firmware error during reconfiguration - reprobe!"),
    (3, "host bus/protocol/other", "0000:02:00.0", "either", "mwifiex_pcie 0000:02:00.0: Failed reading len from boot code"),
    (3, "timeout", "hci0", "either", "Bluetooth: hci0: No alive interrupt received for intel_reset1"),
    (3, "protocol/other", "hci0", "either", "Bluetooth: hci0: Invalid packet_len 0 (max 2048)"),
    (3, "timeout/protocol", "hci0", "either", "Bluetooth: hci0: Failed to send wmt rst (-110)"),
    (3, "protocol/timeout/other", "hci0", "either", "Bluetooth: hci0: QCA preshutdown_cmd failed (-110)"),
    (6, "", "*", "quiet", "Bluetooth: hci0: RTL: assuming no firmware upload needed"),
    (4, "", "*", "quiet", "Bluetooth: hci0: Telemetry exception format not supported"),
    (3, "timeout", "hci0", "either", "Bluetooth: hci0: BCM: Reading local version info failed (-110)"),
    (3, "host bus/protocol/other", "*", "either", "Hardware became unavailable upon resume. This could be a software issue prior to suspend or a hardware issue."),
]

# drivers/gpu/drm, drivers/platform/x86, drivers/thermal, drivers/powercap, drivers/edac, drivers/hwmon
_REST: Final[list[Sourced]] = [
    (3, "graphics/timeout/other", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* D_COMP RCOMP still in progress"),
    (3, "firmware/graphics", "0000:00:02.0", "either", "xe 0000:00:02.0: [drm] *ERROR* DMC FW too big (131072 bytes)"),
    (6, "", "*", "quiet", "[drm] Probable bad vram size: 0x00000000"),
    (3, "", "*", "quiet", "amdgpu 0000:04:00.0: DC: failed to create dwbc!"),
    (3, "graphics", "0000:01:00.0", "either", "nouveau 0000:01:00.0: gr: preinit failed, -19"),
    (3, "", "*", "quiet", "nouveau 0000:01:00.0: pci: failed to adjust lnkctl speed"),
    (3, "link/other/graphics", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* Failed to change PDT for port 00000000a1b2c3d4: -22"),
    (3, "", "*", "quiet", "[TTM] Failed to find memory space for buffer 0x00000000f0e1d2c3 eviction"),
    (3, "", "*", "quiet", "[drm] *ERROR* drm_sched_entity_push_job: entity has no rq!"),
    (3, "", "*", "quiet", "intel_rapl_common: Failed to read power unit REG 0x606 on package-0:package-0, exit."),
    (3, "", "*", "quiet", "intel_rapl_msr: failed to read msr 0x639 on cpu 2"),
    (3, "", "*", "quiet", "int3400 thermal INTC1041:00: _TRT table parsing error"),
    (4, "", "*", "quiet", "Invalid PPSS data"),
    (3, "", "*", "quiet", "proc_thermal_pci 0000:00:04.0: failed to add RFIM interface"),
    (4, "", "*", "quiet", "intel_pmc_core INT33A1:00: CPU did not enter SLP_S0!!! (S0ix cnt=0)"),
    (4, "", "*", "quiet", "intel_pmc_core INT33A1:00: ssram init failed, -22, using legacy init"),
    (3, "", "*", "quiet", "amd_pmc AMDI0009:00: Failed to init STB region, status -5"),
    (3, "", "*", "quiet", "amd-pmf AMDI0105:00: failed to talk to SMU"),
    (3, "", "*", "quiet", "thinkpad_acpi: failed to retrieve HKEY event"),
    (4, "", "*", "quiet", "ideapad_acpi VPC2004:00: DYTC interface is not available"),
    (4, "", "*", "quiet", "asus_wmi: Failed to set fan boost mode: 255"),
    (4, "", "*", "quiet", "dell_laptop: Unable to setup rfkill"),
    (3, "", "*", "quiet", "dell_smbios: Failed to initialize SMM backend: -19"),
    (4, "", "*", "quiet", "hp_wmi: unable to parse 0x1b query output"),
    (4, "protocol/link/other", "*", "either", "surface_serial_hub serial0-0: rx: parser: invalid start of frame, skipping"),
    (3, "", "*", "quiet", "EDAC igen6: Failed to read upper TOM"),
    (3, "", "*", "quiet", "EDAC amd64: Error: Error probing instance: 0"),
    (4, "", "*", "quiet", "EDAC amd64: Warning: DRAM Base[IntlvEn] junk value: 0x7, BIOS bug?"),
    (6, "", "*", "quiet", "EDAC ie31200: No ECC support"),
    (3, "", "*", "quiet", "coretemp coretemp.0: Adding Core 4 failed"),
    (4, "", "*", "quiet", "coretemp coretemp.0: Unable to access MSR 0xEE, for Tjmax, left at default"),
    (3, "medium/link/protocol/other", "*", "either", "drivetemp 0:0:0:0: checksum error reading SMART values"),
]

# fmt: on

FIFTH: Final = [*_POWER, *_HANDS, *_EARS, *_EYES, *_WIRES, *_STORES, *_AIR, *_REST]
