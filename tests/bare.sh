#!/usr/bin/env bash
# Runs this checkout's commands as a stranger would: in a Debian made for it with nothing
# but what mmdebstrap's "minbase" holds, and in an empty environment.
#
#     sudo bash tests/bare.sh bookworm image-build/local.sh tests/run.sh
#     sudo bash tests/bare.sh trixie --user tests/run.sh
#     sudo bash tests/bare.sh trixie --offline image-build/local.sh
#
# Each command is run with bash, in the checkout's copy in that system; quote one that has
# arguments. --user runs those after it as an ordinary user, --offline those after it without
# a network. Without a command the system is only made. Needs root. ROOTS names the folder of
# the systems (/var/tmp/bare), where the next call finds them again. Ends with the status of
# the first command that did not end with 0.
set -euo pipefail
# shellcheck source=image-build/install.sh
. "$(dirname "$0")/../image-build/install.sh"

SUITE=${1:-} ROOTS=${ROOTS:-/var/tmp/bare}
ROOT=$ROOTS/$SUITE
USER_ID=1234

main() {
    [ "$#" -ge 1 ] || give_up "Usage: sudo bash tests/bare.sh SUITE [--user] [--offline] [COMMAND...]"
    [ "$(id -u)" -eq 0 ] || give_up "Making a Debian to test in needs root."
    [ -e "$ROOT/made" ] || make_root
    put_checkout
    local who=0 network='' word
    for word in "${@:2}"; do
        case $word in
        --user) who=$USER_ID ;;
        --offline) network=--net ;;
        *) in_root "$who" "$network" "$word" ;;
        esac
    done
}

make_root() {
    command -v mmdebstrap >/dev/null || need_packages build-image
    mkdir -p "$ROOTS"
    rm -rf --one-file-system "$ROOT"
    say "Making a bare Debian $SUITE in $ROOT"
    unshare --mount --pid --fork true || give_up "No mounts of one's own are allowed here."
    bash "$CHECKOUT/image-build/apt-sources" "$SUITE" main >"$ROOTS/sources"
    quietly mmdebstrap --mode=root --variant=minbase "$SUITE" "$ROOT" "$ROOTS/sources" ||
        give_up "mmdebstrap could not make it. What it said stands above."
    # What this machine needs to reach a mirror and the Python index is no part of Debian.
    cp --dereference /etc/resolv.conf "$ROOT/etc/resolv.conf"
    [ ! -e /etc/pip.conf ] || cp /etc/pip.conf "$ROOT/etc/pip.conf"
    if [ -s "$BUNDLE" ]; then
        mkdir -p "$ROOT/etc/ssl/certs"
        cp "$BUNDLE" "$ROOT$BUNDLE"
    fi
    chroot "$ROOT" useradd --create-home --uid "$USER_ID" stranger
    touch "$ROOT/made"
}

# A clone has what is committed; a copy of this folder has what is being worked on, too.
put_checkout() {
    local home=$ROOT/home/stranger/livecheck
    mkdir -p "$home"
    # Files that are no longer ours go; what was made there stays, as after a `git pull`.
    [ ! -e "$ROOT/ours" ] || (cd "$home" && xargs -0 rm -f <"$ROOT/ours")
    git -C "$CHECKOUT" -c safe.directory="$CHECKOUT" ls-files -z >"$ROOT/ours"
    tar -C "$CHECKOUT" --null --files-from="$ROOT/ours" -c | tar -C "$home" -x
}

# in_root USER NETWORK COMMAND: in a mount and process space that ends with it.
in_root() {
    local status=0 began=$SECONDS name reach=()
    # No more of this machine's environment than it takes to reach a mirror and the index.
    for name in http_proxy https_proxy no_proxy PIP_INDEX_URL; do
        [ -z "${!name:-}" ] || reach+=("$name=${!name}")
    done
    say "== $SUITE, ${1/#0/root}${2:+, no network}: bash $3"
    [ "$1" = 0 ] || chown -R "$1:$1" "$ROOT/home/stranger"
    # shellcheck disable=SC2016 # the inner shell's own
    unshare --mount --pid --fork --kill-child ${2:+"$2"} bash -euc '
        mount --make-rprivate /
        mount -t proc proc "$1/proc"
        mount --rbind /sys "$1/sys"
        mount --rbind /dev "$1/dev"
        cd "$1"
        exec chroot --userspec="$2:$2" "$1" /usr/bin/env -i HOME=/home/stranger \
            PATH=/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin "${@:4}" \
            bash -c "cd ~/livecheck && exec bash $3"' - "$ROOT" "$1" "$3" "${reach[@]}" || status=$?
    say "== status $status after $((SECONDS - began)) s"
    return "$status"
}

main "$@"
