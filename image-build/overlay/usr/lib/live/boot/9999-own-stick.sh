#!/bin/sh
# Sourced after live-boot's own files: replaces its search for a medium. That search
# mounts every file system it finds, customers' drives too, when the stick is slow to
# answer. This one waits for the stick's own partition and looks at nothing else. All
# sticks are called the same: with two in the machine nobody can tell which was meant, and
# the other may be somebody's with another system on it. So neither is taken.

# Paths in sysfs of all partitions called as ours, as udev read them; opens no drive.
own_sticks ()
{
    for part in /sys/class/block/*
    do
        if [ -e "$part/partition" ] && udevadm info --query=property --path="$part" |
            grep -qix "ID_PART_ENTRY_UUID=$SYSTEM_GUID"
        then
            echo "$part"
        fi
    done
}

only_one ()
{
    while [ "$(own_sticks | wc -l)" -gt 1 ]
    do
        [ -n "${said:-}" ] || echo "Two livecheck sticks or cards: pull the other one out." >&2
        said=yes
        sleep 1
    done
}

# find_livefs TRY: where the stick's system partition is mounted; live-boot tries each three
# seconds. What is said goes to the screen.
find_livefs ()
{
    # shellcheck source=image-build/partitions
    . /usr/lib/livecheck/partitions
    own=/dev/disk/by-partuuid/$(echo "$SYSTEM_GUID" | tr '[:upper:]' '[:lower:]')
    case $1 in
    1) echo "Waiting for the stick to answer." >&2 ;;
    5) echo "The stick still does not answer: pull it, and plug it into another port." >&2 ;;
    esac
    [ -n "$LIVE_MEDIA" ] || only_one
    tries=0
    while [ "$tries" -lt 20 ]
    do
        if [ -b "${LIVE_MEDIA:-$own}" ] && check_dev null "${LIVE_MEDIA:-$own}" skip_uuid_check
        then
            echo "The stick is there: starting the system on it." >&2
            return 0
        fi
        sleep 0.1
        tries=$((tries + 1))
    done
    return 1
}
