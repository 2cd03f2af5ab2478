# shellcheck shell=bash
# Sourced by build: puts the pieces in $WORK together to the image of a whole stick.
# Everything is written into plain files.
#
#   partition 3   core of GRUB, for BIOS
#   partition 2   LIVECHECK, the EFI system partition: loaders, kernel, squashfs
#   partition 1   SHOPDRIVE, the data partition; last on the stick so that it can grow,
#                 first in the table because some systems show the first one only

MIB=1048576
DATA_MIB=64

make_disk() {
    local image=$1 system_mib grub_start=1 system_start=2 data_start
    make_system_partition "$WORK/system.fat"
    make_data_partition "$WORK/data.fat"
    system_mib=$(($(stat --format=%s "$WORK/system.fat") / MIB))
    data_start=$((system_start + system_mib))
    rm -f "$image"
    truncate --size=$(((data_start + DATA_MIB + 1) * MIB)) "$image"
    quietly sgdisk --set-alignment=2048 --disk-guid="$DISK_GUID" \
        --new=1:"${data_start}M":+"${DATA_MIB}M" --typecode=1:0700 --change-name=1:"$DATA_LABEL" \
        --new=2:"${system_start}M":+"${system_mib}M" --typecode=2:ef00 \
        --change-name=2:"$SYSTEM_LABEL" \
        --new=3:"${grub_start}M":+1M --typecode=3:ef02 --change-name=3:GRUB \
        --partition-guid=1:"$DATA_GUID" --partition-guid=2:"$SYSTEM_GUID" \
        --partition-guid=3:"$GRUB_GUID" "$image" || give_up "sgdisk could not lay out $image."
    put "$WORK/system.fat" "$image" "$system_start"
    put "$WORK/data.fat" "$image" "$data_start"
    put_grub "$image" "$grub_start"
}

# put FILE IMAGE MIB: writes the file at that place, leaving holes where it has zeros.
put() {
    dd if="$1" of="$2" bs=$MIB seek="$3" conv=notrunc,sparse status=none
}

make_system_partition() {
    local tree=$WORK/system bytes
    mkdir -p "$tree/EFI/BOOT" "$tree/EFI/debian" "$tree/live"
    cp "$WORK/loaders/usr/lib/shim/shimx64.efi.signed" "$tree/EFI/BOOT/BOOTX64.EFI"
    cp "$WORK/loaders/usr/lib/grub/x86_64-efi-signed/grubx64.efi.signed" \
        "$tree/EFI/BOOT/grubx64.efi"
    told grub.cfg >"$tree/EFI/debian/grub.cfg"
    # Read on other systems too: with their line ends.
    told licences.txt | sed 's/$/\r/' >"$tree/licences.txt"
    cp "$WORK/sbom.cdx.json" "$tree"
    cp "$WORK/vmlinuz" "$WORK/initrd.img" "$WORK/filesystem.squashfs" "$tree/live"
    bytes=$(du --summarize --bytes "$tree" | cut -f 1)
    # Below 272 MiB FAT32 would need smaller clusters than GRUB and firmware read fast.
    local mib=$((bytes / MIB + 8))
    make_fat "$1" $((mib > 272 ? mib : 272)) "$SYSTEM_LABEL" 4c435359 "$tree"
}

# told FILE: one of boot/ with what the build knows in its places.
told() {
    local text contact=${CONTACT:-"(Nobody was named when this image was built. Who hands it on
    writes a name and an address here, or hands on the source with it.)"}
    text=$(cat "$CHECKOUT/image-build/boot/$1")
    text=${text//@RELEASE@/"$(cat "$WORK/release")"}
    printf '%s\n' "${text//@CONTACT@/"$contact"}"
}

make_data_partition() {
    local tree=$WORK/data
    mkdir -p "$tree"
    # Read on other systems too: with their line ends.
    sed 's/$/\r/' "$CHECKOUT/image-build/boot/readme.txt" >"$tree/readme.txt"
    sed 's/$/\r/' "$CHECKOUT/image-build/boot/livecheck.conf" >"$tree/livecheck.conf"
    make_fat "$1" "$DATA_MIB" "$DATA_LABEL" 4c434454 "$tree"
}

# make_fat FILE MIB LABEL ID FOLDER: a FAT32 file system with what is in the folder, in
# the order of its names.
make_fat() {
    local file=$1 folder=$5 path
    rm -f "$file"
    truncate --size="$2M" "$file"
    quietly mkfs.fat -F 32 --invariant -n "$3" -i "$4" "$file"
    while read -r path; do
        touch --date="@$SOURCE_DATE_EPOCH" "$folder/$path"
        if [ -d "$folder/$path" ]; then
            mmd -i "$file" "::/$path"
        else
            mcopy -m -i "$file" "$folder/$path" "::/$path"
        fi
    done < <(cd "$folder" && find . -mindepth 1 -printf '%P\n' | sort)
}

# put_grub IMAGE MIB: what grub-bios-setup does to a drive, done to a file. The first
# sector's code learns where the core begins, and the core where its rest lies (GRUB
# 2.12, include/grub/i386/pc/boot.h and offsets.h: 0x5c, 0x66, and the last list entry
# of the core's first sector, 0x1f4).
put_grub() {
    local image=$1 start=$(($2 * 2048)) core=$WORK/loaders/core.img boot=$WORK/loaders/boot.img
    local sectors=$((($(stat --format=%s "$core") + 511) / 512))
    [ "$sectors" -le 2048 ] || give_up "GRUB's core does not fit its partition."
    put "$core" "$image" "$2"
    poke "$image" $((start * 512 + 0x1f4)) "$(little_endian $((start + 1)) 8)"
    poke "$image" $((start * 512 + 0x1fc)) "$(little_endian $((sectors - 1)) 2)"
    # The code, not the partition table behind it.
    dd if="$boot" of="$image" bs=440 count=1 conv=notrunc status=none
    poke "$image" $((0x5c)) "$(little_endian "$start" 8)"
    # Take the drive number the BIOS hands over, whatever it is.
    poke "$image" $((0x66)) '\x90\x90'
}

# poke FILE OFFSET ESCAPES
poke() {
    # shellcheck disable=SC2059
    printf "$3" | dd of="$1" bs=1 seek="$2" conv=notrunc status=none
}

little_endian() {
    local number=$1 count
    for ((count = 0; count < $2; count++)); do
        printf '\\x%02x' $((number & 255))
        number=$((number >> 8))
    done
}
