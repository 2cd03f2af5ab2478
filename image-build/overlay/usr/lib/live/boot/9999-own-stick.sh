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

# In the language that was chosen in the boot menu. Arguments: English, German, Spanish.
in_words ()
{
    case " $(cat /proc/cmdline) " in
    *" livecheck.language=de "*) echo "$2" ;;
    *" livecheck.language=es "*) echo "$3" ;;
    *) echo "$1" ;;
    esac >&2
}

only_one ()
{
    while [ "$(own_sticks | wc -l)" -gt 1 ]
    do
        [ -n "${said:-}" ] || in_words "Two livecheck sticks or cards: pull the other one out." \
            "Zwei livecheck-Sticks oder -Karten: den anderen herausziehen." \
            "Dos memorias o tarjetas livecheck: quitar la otra."
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
    1) in_words "Waiting for the stick to answer." "Warten, bis der Stick antwortet." \
        "Esperando a que conteste la memoria USB." ;;
    5) in_words "The stick still does not answer: pull it, and plug it into another port." \
        "Der Stick antwortet noch nicht: ziehen und an einer anderen Buchse anstecken." \
        "La memoria USB sigue sin contestar: quitarla y conectarla en otro puerto." ;;
    esac
    [ -n "$LIVE_MEDIA" ] || only_one
    tries=0
    while [ "$tries" -lt 20 ]
    do
        if [ -b "${LIVE_MEDIA:-$own}" ] && check_dev null "${LIVE_MEDIA:-$own}" skip_uuid_check
        then
            in_words "The stick is there: starting the system on it." \
                "Der Stick ist da: Das System darauf startet." \
                "La memoria USB contesta: arranca su sistema."
            return 0
        fi
        sleep 0.1
        tries=$((tries + 1))
    done
    return 1
}
