# ruff: noqa: E501 (the kernel's lines are as long as they are)
"""Messages of drivers of Linux 6.12 that neither of the other two lists has anything of.

Filled in and judged as those of ``kernel_lines_source`` were, before the program was shown them.
"""

from __future__ import annotations

from typing import Final

from tests.kernel_lines_source import Sourced

# fmt: off

# drivers/net/wireless/{marvell/mwifiex,realtek/{rtlwifi,rtl8xxxu},ralink/rt2x00,ath/ath9k}
_RADIOS: Final[list[Sourced]] = [
    (3, "protocol/timeout", "0000:02:00.0", "fault", "mwifiex_pcie 0000:02:00.0: FW failed to be active in time"),
    (3, "timeout", "0000:02:00.0", "fault", "mwifiex_pcie 0000:02:00.0: mwifiex_cmd_timeout_func: Timeout cmd id = 0xa9, act = 0x0"),
    (3, "", "*", "quiet", "mwifiex_pcie 0000:02:00.0: adapter structure is not valid"),
    (3, "protocol/other/host bus", "0000:02:00.0", "either", "mwifiex_pcie 0000:02:00.0: reinit failed: -1"),
    (3, "", "*", "quiet", "mwifiex_pcie 0000:02:00.0: Failed to request irq_wakeup 0 (-22)"),
    (3, "", "*", "quiet", "mwifiex_pcie 0000:02:00.0: fail to init wakeup for mwifiex"),
    (3, "firmware", "rtlwifi", "either", "rtlwifi: Selected firmware is not available"),
    (3, "", "*", "quiet", "rtl_pci: switch case 0x3 not processed"),
    (3, "protocol/other/firmware/host bus", "*", "either", "rtlwifi: RTL8XXX did not boot from eeprom, check it !!"),
    (3, "", "*", "quiet", "rtlwifi: AP off, try to reconnect now"),
    (4, "timeout", "1-3", "either", "rtl8xxxu 1-3:1.0: rtl8xxxu_init_device: timeout waiting for MAC init"),
    (4, "protocol/timeout/host bus", "1-3", "either", "rtl8xxxu 1-3:1.0: Firmware failed to start"),
    (3, "link/host bus/protocol", "phy0", "either", "ieee80211 phy0: rt2x00usb_vendor_request: Error - Vendor Request 0x07 failed for offset 0x1700 with error -71"),
    (3, "timeout/host bus", "phy0", "fault", "ieee80211 phy0: rt2800_wait_wpdma_ready: Error - WPDMA TX/RX busy [0x00000020]"),
    (4, "", "*", "quiet", "ieee80211 phy0: rt2x00lib_request_eeprom_file: Warning - Using default EEPROM values"),
    (3, "host bus", "phy0", "fault", "ath: phy0: Chip reset failed"),
    (3, "host bus/timeout", "phy0", "fault", "ath: phy0: Failed to wakeup in 500us"),
    (3, "", "*", "quiet", "ath: phy0: eeprom contains invalid mac address: 00:00:00:00:00:00"),
    (3, "protocol/other", "1-4", "either", "usb 1-4: ath9k_htc: USB reboot failed"),
    (4, "timeout", "phy0", "either", "ath: phy0: RX failed to go idle in 10 ms RXSM=0x0"),
]

# drivers/net/ethernet/{atheros,aquantia,broadcom}; drivers/net/usb; drivers/net/wwan
_WIRED: Final[list[Sourced]] = [
    (3, "protocol/host bus", "0000:03:00.0", "either", "alx 0000:03:00.0: MAC Reset failed, error = -5"),
    (3, "protocol/host bus", "0000:03:00.0", "either", "alx 0000:03:00.0: failed to identify PHY"),
    (4, "", "*", "quiet", "alx 0000:03:00.0: Invalid permanent address programmed, using random one"),
    (3, "host bus/protocol", "0000:03:00.0", "either", "alx 0000:03:00.0: Failed to re-enable PCI device after reset"),
    (3, "timeout/protocol/host bus", "0000:02:00.0", "either", "atl1c 0000:02:00.0: MAC state machine can't be idle since disabled for 10ms second"),
    (4, "protocol/host bus", "0000:02:00.0", "either", "atl1c 0000:02:00.0: reset mac failed"),
    (3, "", "*", "quiet", "atl1c 0000:02:00.0: No usable DMA configuration,aborting"),
    (3, "", "*", "quiet", "atl1c 0000:02:00.0: register netdevice failed"),
    (4, "link/protocol/other", "0000:02:00.0", "either", "atl1c 0000:02:00.0: wrong packet! rrs word3 is 8000"),
    (3, "protocol/host bus", "0000:04:00.0", "either", "tg3 0000:04:00.0: Problem fetching invariants of chip, aborting"),
    (3, "host bus/protocol/timeout", "0000:04:00.0", "either", "tg3 0000:04:00.0 enp4s0: transmit timed out, resetting"),
    (3, "timeout", "0000:04:00.0", "fault", "atlantic 0000:04:00.0 enp4s0: NETDEV WATCHDOG: CPU: 3: transmit queue 0 timed out 5120 ms"),
    (3, "protocol/link/other", "2-1", "either", "ax88179_178a 2-1:1.0 eth1: Failed to read reg index 0x0002: -71"),
    (4, "", "*", "quiet", "cdc_ncm 2-1:2.0: bind() failure"),
    (3, "timeout/protocol/host bus/other", "*", "either", "mtk_t7xx 0000:05:00.0: read poll timeout -110"),
    (3, "protocol/other", "*", "either", "iosm 0000:05:00.0: invalid ABH signature"),
]

# drivers/gpu/drm/{radeon,scheduler}, amd/amdkfd, amd/display/dc
_PICTURES: Final[list[Sourced]] = [
    (4, "graphics", "0000:01:00.0", "fault", "radeon 0000:01:00.0: GPU lockup (current fence id 0x00000000000012ab last fence id 0x00000000000012ae on ring 0)"),
    (4, "graphics", "0000:01:00.0", "fault", "radeon 0000:01:00.0: ring 0 stalled for more than 10240msec"),
    (4, "graphics/timeout", "0000:01:00.0", "either", "radeon 0000:01:00.0: Wait for MC idle timedout !"),
    (3, "graphics", "*", "either", "[drm:r600_ring_test [radeon]] *ERROR* radeon: ring 0 test failed (scratch(0x8504)=0xCAFEDEAD)"),
    (3, "graphics", "*", "either", "[drm:radeon_device_init [radeon]] *ERROR* ib ring test failed (-35)."),
    (4, "", "*", "quiet", "radeon 0000:01:00.0: limiting GTT"),
    (4, "", "*", "quiet", "radeon 0000:01:00.0: gart size (8) too small"),
    (3, "", "*", "quiet", "radeon 0000:01:00.0: Card not posted and no BIOS - ignoring"),
    (3, "graphics/link/timeout", "0000:01:00.0", "either", "radeon 0000:01:00.0: error waiting for ring[0] to become idle (-35)"),
    (3, "firmware/graphics", "*", "either", "smc: error loading firmware \"radeon/TURKS_smc.bin\""),
    (3, "graphics", "0000:04:00.0", "either", "amdgpu 0000:04:00.0: amdgpu: Failed to evict process queues"),
    (3, "graphics", "0000:04:00.0", "either", "amdgpu 0000:04:00.0: amdgpu: HIQ MQD's queue_doorbell_id0 is not 0, Queue preemption time out"),
    (3, "graphics", "0000:04:00.0", "fault", "amdgpu 0000:04:00.0: [drm] *ERROR* ring gfx_0.0.0 timeout, signaled seq=1234, emitted seq=1236"),
    (3, "link/graphics", "0000:04:00.0", "either", "amdgpu 0000:04:00.0: [drm] enabling link 1 failed: 15"),
]

# drivers/usb/storage/realtek_cr.c; drivers/mmc/host/rtsx_usb_sdmmc.c, misc/cardreader/rtsx_usb.c; memstick; firewire; ata/pata_*, sata_*
_STORES: Final[list[Sourced]] = [
    (3, "", "*", "quiet", "rtsx_usb_sdmmc rtsx_usb_sdmmc.1.auto: Failed to register LED device: -16"),
    (3, "timeout", "rtsx_usb_ms.2.auto", "either", "rtsx_usb_ms rtsx_usb_ms.2.auto: timeout waiting for card"),
    (3, "link/protocol", "1-4", "either", "rtsx_usb 1-4:1.0: transfer failed: -71"),
    (4, "host bus/other/protocol", "0000:02:00.0", "either", "firewire_ohci 0000:02:00.0: register access failure"),
    (3, "host bus/protocol", "*", "either", "sata_sil24 0000:03:00.0: failed to enable 64-bit DMA"),
    (3, "link", "ata7", "fault", "ata7: COMRESET failed (errno=-32)"),
    (4, "link/protocol", "ata7", "either", "ata7: timeout while waiting for PHY event"),
    (4, "", "*", "quiet", "pata_acpi 0000:00:1f.1: can't derive routing for PCI INT A"),
    (3, "", "*", "quiet", "sata_via 0000:00:0f.0: invalid PCI BAR 5 (sz 0x100, val 0x0)"),
]

# sound/usb; sound/soc/codecs; sound/soc/amd/{ps,yc,vangogh}; sound/soc/intel/avs
_SOUNDS: Final[list[Sourced]] = [
    (3, "", "*", "quiet", "usb 1-6: 1:1: cannot get freq at ep 0x82"),
    (4, "", "*", "quiet", "usb 1-6: uac_clock_source_is_valid(): cannot get clock validity for id 10"),
    (3, "timeout/other/protocol", "1-6", "either", "usb 1-6: 2:1: usb_set_interface failed (-110)"),
    (4, "", "*", "quiet", "usb 1-6: 1:2 : unsupported format bits 0x100000000"),
    (3, "link/protocol/other", "1-6", "either", "usb 1-6: cannot submit urb (err = -71)"),
    (3, "protocol", "0000:03:00.5", "either", "snd_pci_ps 0000:03:00.5: ACP init failed"),
    (3, "", "*", "quiet", "acp_yc_pdm_dma acp_yc_pdm_dma.0: Fail to register acp pdm dai"),
    (3, "link", "i2c-ESSX8336:00", "either", "es8316 i2c-ESSX8336:00: ASoC: error at soc_component_read_no_lock on i2c-ESSX8336:00: -121"),
    (3, "protocol/link/timeout", "sdw:0:1:025d:0714:01", "either", "rt715-sdca sdw:0:1:025d:0714:01: rt715_sdca_index_read: Failed to read 0x6100, ret=-61"),
    (3, "protocol/firmware", "0000:00:1f.3", "either", "snd_soc_avs 0000:00:1f.3: ROM init failed: -110"),
    (4, "timeout", "0000:00:1f.3", "either", "snd_hda_intel 0000:00:1f.3: azx_get_response timeout, switching to single_cmd mode: last cmd=0x201f0500"),
]

# drivers/input/mouse/elan_i2c_*.c, cyapa.c, bcm5974.c; input/touchscreen; hid/{hid-magicmouse,hid-lenovo,hid-asus,hid-playstation,usbhid}
_INPUTS: Final[list[Sourced]] = [
    (3, "link", "0-0015", "fault", "elan_i2c 0-0015: failed to get product ID: -121"),
    (3, "timeout", "i2c-ELAN0501:00", "fault", "elan_i2c i2c-ELAN0501:00: device reset failed: -110"),
    (3, "protocol", "i2c-ELAN0501:00", "either", "elan_i2c i2c-ELAN0501:00: wrong report length (0 vs 34 expected)"),
    (3, "protocol", "i2c-ELAN0501:00", "either", "elan_i2c i2c-ELAN0501:00: wrong iap password: 0x0"),
    (4, "link/protocol", "0-0067", "either", "cyapa 0-0067: runtime resume failed: -121"),
    (3, "", "*", "quiet", "elants_i2c i2c-ELAN900C:00: unable to register input device: -12"),
    (4, "", "*", "quiet", "atmel_mxt_ts i2c-ATML1000:00: Unexpected invalid message"),
    (3, "link", "i2c-MSSL1680:00", "fault", "silead_ts i2c-MSSL1680:00: Chip ID read error -121"),
    (3, "firmware", "i2c-MSSL1680:00", "either", "silead_ts i2c-MSSL1680:00: Direct firmware load for silead/mssl1680.fw failed with error -2"),
    (3, "protocol/other/timeout", "0003:0B05:1866.0003", "either", "asus 0003:0B05:1866.0003: Asus failed to set keyboard backlight: -110"),
    (4, "timeout/other", "0003:17EF:6009.0002", "either", "hid-generic 0003:17EF:6009.0002: timeout initializing reports"),
    (4, "", "*", "quiet", "playstation 0005:054C:09CC.0005: Failed to retrieve DualShock4 calibration info: -22"),
    (4, "", "*", "quiet", "usbhid 1-2:1.1: couldn't find an input interrupt endpoint"),
]

# drivers/platform/x86/{ideapad-laptop,hp/hp-wmi,intel/hid,intel/vbtn,dell,samsung-laptop,msi-ec,huawei-wmi}; platform/surface; platform/chrome
_PLATFORM: Final[list[Sourced]] = [
    (3, "", "*", "quiet", "ideapad_acpi VPC2004:00: Could not register backlight device: -19"),
    (4, "", "*", "quiet", "ideapad_acpi VPC2004:00: Could not set up DYTC interface: -19"),
    (4, "", "*", "quiet", "hp_wmi: query 0x4c returned error 0x3"),
    (4, "", "*", "quiet", "hp_wmi: Failed to read current platform profile (-22)"),
    (4, "", "*", "quiet", "intel-hid INTC1070:00: failed to get button capability"),
    (4, "", "*", "quiet", "intel-vbtn INT33D6:00: Warning: received 0xcc button event on a device without buttons, please report this."),
    (4, "", "*", "quiet", "samsung_laptop: SABI command 0x0043 failed with completion flag 0xaa and interface data 0xff"),
    (4, "", "*", "quiet", "msi_ec: Firmware version is not supported: '158LEMS1.103'"),
    (3, "", "*", "quiet", "dell_smm_hwmon: unable to get SMM Dell signature"),
    (3, "", "*", "quiet", "dell_smbios: Unable to run on non-Dell system"),
    (4, "timeout/protocol/other", "*", "either", "surface_serial_hub MSHW0084:00: rtl: handling event for timed out packets"),
    (3, "link/protocol/other/timeout", "spi0.0", "either", "cros-ec-spi spi0.0: spi transfer failed: -121"),
    (3, "timeout", "*", "fault", "cros_ec_lpcs GOOG0004:00: EC failed to respond in time"),
]

# drivers/hwmon; drivers/pinctrl; drivers/mfd/intel-lpss; drivers/spi; drivers/dma/idma64.c; drivers/acpi/{sbs,pci_link,button,x86/s2idle}.c; drivers/rtc/rtc-cmos.c; drivers/firmware/efi
_BOARD: Final[list[Sourced]] = [
    (4, "", "*", "quiet", "coretemp coretemp.0: Unable to read TjMax from CPU 3"),
    (4, "", "*", "quiet", "coretemp coretemp.0: Using relative temperature scale!"),
    (4, "", "*", "quiet", "nct6775 nct6775.656: fan2 low limit 100 below minimum 164, set to minimum"),
    (4, "", "*", "quiet", "dell_smm_hwmon: SMM call took 61234 usecs!"),
    (3, "", "*", "quiet", "spd5118 0-0050: regmap init failed"),
    (3, "", "*", "quiet", "amd_gpio AMDI0030:00: Invalid type value"),
    (3, "", "*", "quiet", "amd_gpio AMDI0030:00: failed to enable wake-up interrupt"),
    (4, "", "*", "quiet", "tigerlake-pinctrl INT34C5:00: pin 12 cannot be used as IRQ"),
    (4, "", "*", "quiet", "intel-lpss 0000:00:15.0: Failed to add idma64, fallback to PIO"),
    (3, "", "*", "quiet", "ACPI: \\_SB_.LNKA: Link isn't initialized"),
    (3, "", "*", "quiet", "ACPI: \\_SB_.PEPD: Failed to transitioned to state screen off entry"),
    (4, "", "*", "quiet", "efi: memattr: Entry address region misaligned"),
    (4, "", "*", "quiet", "rtc_cmos 00:01: Alarms can be up to one month in the future"),
    (3, "machine check", "*", "fault", "{1}[Hardware Error]:   section_type: memory error"),
]

# drivers/media/usb/uvc; drivers/media/pci/intel; drivers/usb/class; drivers/accel; drivers/crypto/ccp; drivers/bus/mhi
_DEVICES: Final[list[Sourced]] = [
    (4, "", "*", "quiet", "usb 1-8: UVC non compliance: GET_DEF(PROBE) not supported. Enabling workaround."),
    (3, "timeout", "1-8", "either", "usb 1-8: Failed to set UVC probe control : -110 (exp. 26)."),
    (3, "timeout", "1-8", "either", "uvcvideo 1-8:1.0: Failed to query (GET_INFO) UVC control 2 on unit 1: -110 (exp. 1)."),
    (4, "", "*", "quiet", "uvcvideo 1-8:1.1: Non-zero status (-71) in video completion handler."),
    (3, "", "*", "quiet", "ipu3-cio2 0000:00:14.3: failed to enable MSI (-28)"),
    (3, "", "*", "quiet", "ccp 0000:04:00.2: tee: ring destroy command timed out, disabling TEE support"),
    (3, "", "*", "quiet", "ccp 0000:04:00.2: sev initialization failed"),
    (3, "", "*", "quiet", "intel_vpu 0000:00:0b.0: [drm] *ERROR* ivpu_hw_power_up(): Failed to power up: -110"),
    (4, "host bus/protocol/other", "mhi0", "either", "mhi mhi0: Resuming from non M3 state (RESET)"),
    (3, "link/host bus/protocol/other", "mhi0", "either", "mhi mhi0: Device failed to exit MHI Reset state"),
    (3, "link/other/protocol", "*", "either", "cdc_wdm 1-4:1.12: Error resume submitting int urb - -71"),
]

# fs/{f2fs,isofs,overlayfs,ntfs3}; drivers/block/nbd.c; drivers/md/{dm-crypt,dm-thin,dm-verity-target}.c
_FILES: Final[list[Sourced]] = [
    (3, "", "*", "quiet", "ISOFS: Unable to identify CD-ROM format."),
    (3, "other", "*", "either", "ISOFS: unable to read i-node block"),
    (4, "", "*", "quiet", "overlayfs: failed to verify upper root origin"),
    (3, "other", "*", "either", "F2FS-fs (nvme0n1p2): Cannot read the last valid checkpoint"),
    (3, "other", "*", "either", "ntfs3(sda4): Failed to initialize $Secure::$SII (-22)."),
    (3, "other/medium", "*", "either", "device-mapper: verity: 8:2: data block 1234 is corrupted"),
    (3, "other", "*", "either", "device-mapper: thin: 253:4: switching pool to read-only mode"),
]

# Drawn by lot (a seeded generator) from all format strings of errors and warnings of the drivers
# that the first two lists are of; those that only another machine could print were passed over.
FOURTH: Final[list[Sourced]] = [
    (4, "", "*", "quiet", "ata1.00: ATA Zoned Information Log not supported"),
    (5, "", "*", "quiet", "ata1: FORCE: link flag 0x8 forced -> 0x8"),
    (3, "", "*", "quiet", "nvme nvme0: IDs don't match for shared namespace 1"),
    (3, "host bus/protocol", "nvme0", "fault", "nvme nvme0: Reading VS failed (-19)"),
    (4, "protocol/other", "nvme0", "either", "nvme nvme0: Identify Descriptors failed (nsid=1, status=0x2002)"),
    (4, "protocol/link/other", "mmc0", "either", "mmc0: switch to bus width for hs400es failed, err:-84"),
    (4, "link/timeout", "mmc0", "either", "mmc0: ddr50 tuning failed"),
    (3, "timeout", "mmc0", "fault", "mmc0: data error -110"),
    (3, "timeout", "mmc0", "either", "mmc0: error -110 doing runtime resume"),
    (3, "", "*", "quiet", "mmc0: card has unknown MMCA version 15"),
    (3, "timeout/protocol/other", "host2", "either", "scsi host2: scsi_eh_2: unable to autoresume"),
    (5, "", "*", "quiet", "usb 1-3: config 1 interface 0 altsetting 0 bulk endpoint 0x2 has invalid maxpacket 64"),
    (3, "", "*", "quiet", "usb 1-3: More than one union descriptor, skipping ..."),
    (3, "", "*", "quiet", "usb 1-3: invalid descriptor buffer length"),
    (4, "", "*", "quiet", "xhci_hcd 0000:00:14.0: EP not empty, refuse reset"),
    (4, "", "*", "quiet", "xhci_hcd 0000:00:14.0: No xhci virt device for slot_id 3"),
    (4, "host bus/protocol", "0000:00:14.0", "either", "xhci_hcd 0000:00:14.0: ERROR unknown event type 37"),
    (3, "link/timeout/protocol", "0-0028", "either", "stusb160x 0-0028: Failed to get port caps: -121"),
    (4, "", "*", "quiet", "typec port0: port has the mode disabled"),
    (4, "", "*", "quiet", "thunderbolt 0000:00:0d.2: invalid topology 1.3, ignoring"),
    (4, "timeout", "0000:00:0d.2", "either", "thunderbolt 0000:00:0d.2: 1: timeout reading config space 1 from 0x5"),
    (3, "firmware/protocol/other", "0000:00:0d.2", "either", "thunderbolt 0000:00:0d.2: ICM firmware not authenticated"),
    (4, "", "*", "quiet", "thunderbolt 0000:00:0d.2: only one tunnel is supported by the firmware"),
    (4, "", "*", "quiet", "pci 0000:01:00.0: program_hpx_type0: Type 0 Revision 2 record not supported"),
    (3, "timeout/link/host bus/protocol/other", "0000:00:1d.0", "either", "pcieport 0000:00:1d.0: VC0 negotiation stuck pending"),
    (3, "firmware/host bus/protocol/other", "0000:01:00.0", "either", "nvme 0000:01:00.0: BAR 0 [mem 0xa0000000-0xa0003fff 64bit]: not claimed; can't enable device"),
    (3, "timeout", "0000:00:14.3", "fault", "iwlwifi 0000:00:14.3: Queue 2 is stuck 5 9"),
    (3, "timeout", "0000:00:14.3", "fault", "iwlwifi 0000:00:14.3: Failed to run init config command: -110"),
    (3, "host bus", "0000:00:14.3", "fault", "iwlwifi 0000:00:14.3: iwl_mvm_check_rt_status failed, device is gone during suspend"),
    (3, "host bus", "0000:00:14.3", "fault", "iwlwifi 0000:00:14.3: Device gone - attempting removal"),
    (4, "", "*", "quiet", "iwlwifi 0000:00:14.3: WRT: Overriding region id 5"),
    (3, "", "*", "quiet", "iwlwifi 0000:03:00.0: 0x00000000 | l2p_addr_match"),
    (4, "", "*", "quiet", "ath11k_pci 0000:02:00.0: failed to dma map ce rx buf"),
    (4, "", "*", "quiet", "ath11k_pci 0000:02:00.0: failed to fetch gtk offload status ev"),
    (3, "protocol", "0000:02:00.0", "either", "ath12k_pci 0000:02:00.0: HW CC Tx cmem init failed -22"),
    (4, "protocol/timeout", "0000:02:00.0", "either", "ath11k_pci 0000:02:00.0: failed to set wow wakeups on vdev 0: -110"),
    (4, "", "*", "quiet", "ath11k_pci 0000:02:00.0: invalid memory segment length: 0"),
    (4, "", "*", "quiet", "ath11k_pci 0000:02:00.0: received scan completed event in an invalid scan state: idle (0)"),
    (3, "protocol/timeout/host bus", "0000:02:00.0", "either", "rtw89_8852be 0000:02:00.0: [ERR]H2C path ready"),
    (3, "protocol", "0000:02:00.0", "either", "rtw_8822ce 0000:02:00.0: failed to write IQ vector to hardware"),
    (4, "", "*", "quiet", "rtw89_8922ae 0000:02:00.0: invalid mss_dev_type 7"),
    (3, "timeout", "0000:02:00.0", "either", "rtw89_8852be 0000:02:00.0: failed to resume for wow -110"),
    (4, "protocol/other", "0000:02:00.0", "either", "rtw89_8922ae 0000:02:00.0: [SER] AON L2 Debug register not empty before Boot."),
    (3, "protocol", "0000:02:00.0", "fault", "rtw_8822ce 0000:02:00.0: failed to start hci"),
    (4, "", "*", "quiet", "mt7601u 1-3:1.0: Warning: EEPROM RSSI is invalid 7f"),
    (3, "protocol", "0000:02:00.0", "fault", "mt7921e 0000:02:00.0: Failed to send patch"),
    (4, "", "*", "quiet", "mt7601u 1-3:1.0: Warning: unsupported EEPROM version 0d"),
    (3, "firmware", "1-3", "either", "mt76x0u 1-3:1.0: Invalid firmware image"),
    (3, "protocol/other", "phy0", "either", "ieee80211 phy0: brcmf_dump_obss: dump_obss error (-52)"),
    (3, "", "*", "quiet", "ieee80211 phy0: brcmf_cfg80211_get_key: Invalid algo (0x7)"),
    (3, "timeout", "hci0", "fault", "Bluetooth: hci0: sending frame failed (-110)"),
    (3, "", "*", "quiet", "Bluetooth: hci0: Coredump failed (-95)"),
    (3, "", "*", "quiet", "Bluetooth: hci0: Command not allowed when scan/LE connect"),
    (3, "", "*", "quiet", "Bluetooth: hci0: Not enough BIS handles for BIG 0x01"),
    (3, "link/protocol/other", "hci0", "either", "Bluetooth: hci0: regmap: Register (0x404) read error, bad addr"),
    (4, "", "*", "quiet", "e1000e 0000:00:1f.6 enp0s31f6: DPG_EXIT_DONE took 1200 msec. This is a firmware bug"),
    (3, "", "*", "quiet", "e1000e 0000:00:1f.6 enp0s31f6: forcing MDI/MDI-X state is not supported when link speed and/or duplex are forced"),
    (3, "", "*", "quiet", "i915 0000:00:02.0: [drm] *ERROR* Failed to map gsc message page!"),
    (3, "graphics/link", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* PHY A Write 0c00 failed after 3 retries."),
    (4, "", "*", "quiet", "i915 0000:00:02.0: [drm] failed to add rps defaults (-EIO)"),
    (3, "graphics", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* Suspend complete failed: -5"),
    (4, "", "*", "quiet", "xe 0000:00:02.0: [drm] PL1 disable is not supported!"),
    (3, "", "*", "quiet", "xe 0000:00:02.0: [drm] *ERROR* GT1: Failed to add GSC_PROXY component (-EEXIST)"),
    (3, "", "*", "quiet", "amdgpu 0000:04:00.0: amdgpu: Backlight registration failed"),
    (3, "graphics/other", "amdgpu", "either", "[drm:amdgpu_dm_connector_init [amdgpu]] *ERROR* connector_init failed"),
    (3, "", "*", "quiet", "amdgpu: [powerplay] VBIOS did not find boot engine clock value in dependency table. Using Graphics DPM level 0 !"),
    (3, "graphics", "amdgpu", "either", "[drm:jpeg_v3_0_disable_static_power_gating [amdgpu]] *ERROR* amdgpu: JPEG disable power gating failed"),
    (4, "", "*", "quiet", "amdgpu 0000:04:00.0: amdgpu: VM size (2048) too large, max is 256 GB"),
    (3, "", "*", "quiet", "nouveau 0000:01:00.0: clk: ndiv > max_n - setting to max_n..."),
    (3, "graphics", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* hw_done timed out"),
    (3, "link/protocol", "i2c-CSC3551:00-cs35l41-hda.0", "either", "cs35l41-hda i2c-CSC3551:00-cs35l41-hda.0: Get Revision ID failed: -121"),
    (4, "", "*", "quiet", "snd_hda_intel 0000:00:1f.3: snd_intel_dsp_find_config: NHLT table not found, skipped HID ESSX8336"),
    (4, "", "*", "quiet", "cs35l41-hda spi0-CSC3551:00-cs35l41-hda.0: Cannot update SPI CS, Number of Amps (4) != 2"),
    (3, "", "*", "quiet", "cs35l41-hda i2c-CSC3551:00-cs35l41-hda.0: Cannot Load/Unload firmware during Playback. Retrying..."),
    (3, "firmware/protocol/other", "0000:00:1f.3", "either", "sof-audio-pci-intel-tgl 0000:00:1f.3: failed to parse sof_ext_man header type 3 size 0x20"),
    (3, "protocol", "0000:00:1f.3", "either", "sof-audio-pci-intel-tgl 0000:00:1f.3: error: hdac prepare failed: -22"),
    (3, "", "*", "quiet", "sof-audio-pci-intel-tgl 0000:00:1f.3: Host dtrace release failed -22"),
    (3, "timeout", "tpm0", "fault", "tpm tpm0: tpm_try_transmit: send(): error -62"),
]

# fmt: on

THIRD: Final = [
    *_RADIOS, *_WIRED, *_PICTURES, *_STORES, *_SOUNDS, *_INPUTS, *_PLATFORM, *_BOARD, *_DEVICES,
    *_FILES,
]  # fmt: skip
