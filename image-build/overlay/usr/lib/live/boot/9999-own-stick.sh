#!/bin/sh
# Sourced after live-boot's own files: replaces its search for a medium. That search
# mounts every file system it finds, customers' drives too, when the stick is slow to
# answer. This one waits for the stick's own partition and looks at nothing else.

find_livefs ()
{
    # shellcheck source=image-build/partitions
    . /usr/lib/livecheck/partitions
    own=/dev/disk/by-partuuid/$(echo "$SYSTEM_GUID" | tr '[:upper:]' '[:lower:]')
    tries=0
    while [ "$tries" -lt 20 ]
    do
        if [ -b "${LIVE_MEDIA:-$own}" ] && check_dev null "${LIVE_MEDIA:-$own}" skip_uuid_check
        then
            return 0
        fi
        sleep 0.1
        tries=$((tries + 1))
    done
    return 1
}
