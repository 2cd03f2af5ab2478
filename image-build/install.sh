# shellcheck shell=bash
# Installs what livecheck needs on Debian 12 or later. Sourced, not run: by local.sh
# beside it and by tests/run.sh. Both then find livecheck in $VENV.
#
# Nothing is fetched unless something is missing, so a second run is quick and
# needs no network.

CHECKOUT=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd -P)
VENV=$CHECKOUT/.venv
WHEELS=$CHECKOUT/image-build/wheels

say() {
    printf '%s\n' "$*" >&2
}

give_up() {
    say "$*"
    exit 3
}

# Runs a command quietly; shows what it printed only when it failed.
quietly() {
    local log status=0
    log=$(mktemp)
    "$@" >"$log" 2>&1 </dev/null || status=$?
    [ "$status" -eq 0 ] || cat "$log" >&2
    rm -f "$log"
    return "$status"
}

# need_packages LIST...: installs what is missing of the lists in packages/.
need_packages() {
    local list package missing=()
    command -v dpkg-query >/dev/null ||
        give_up "This is no Debian. Livecheck's scripts know Debian 12 and later only."
    for list in "$@"; do
        while read -r package; do
            is_installed "$package" || missing+=("$package")
        done < <(sed -e 's/#.*//' -e '/^[[:space:]]*$/d' "$CHECKOUT/image-build/packages/$list")
    done
    [ "${#missing[@]}" -gt 0 ] || return 0
    [ "$(id -u)" -eq 0 ] || give_up "Debian packages are missing. Install them, then try again:
  sudo apt-get install --no-install-recommends ${missing[*]}"
    say "Installing Debian packages: ${missing[*]}"
    # A mirror out of reach is a warning to apt: the packages may be known from before.
    apt_get update || give_up "apt-get update failed. What it said stands above. Is the network up?"
    keeping_certificates apt_get install "${missing[@]}" ||
        give_up "apt-get could not install: ${missing[*]}
What apt-get said stands above. Is the network up?"
}

BUNDLE=/etc/ssl/certs/ca-certificates.crt

# Runs a command that may install the package ca-certificates, which writes its own
# bundle over one laid by hand, as in a container behind a company's proxy. What the
# machine trusted before, it still trusts afterwards.
keeping_certificates() {
    local before folder=/usr/local/share/ca-certificates
    if is_installed ca-certificates || [ ! -s "$BUNDLE" ]; then
        "$@"
        return
    fi
    before=$(mktemp)
    cp "$BUNDLE" "$before"
    "$@" || return
    [ ! -d "$folder" ] || awk -v folder="$folder" '
        /BEGIN CERTIFICATE/ { block = "" }
        { block = block $0 "\n" }
        /END CERTIFICATE/ && FILENAME == ARGV[1] { shipped[block] = 1 }
        /END CERTIFICATE/ && FILENAME == ARGV[2] && !(block in shipped) {
            shipped[block] = 1
            file = sprintf("%s/kept-%d.crt", folder, ++kept)
            printf "%s", block >file
            close(file)
        }' "$BUNDLE" "$before"
    rm -f "$before"
    quietly update-ca-certificates
}

is_installed() {
    # The architecture-less query prints a line for each architecture.
    dpkg-query --show --showformat='${db:Status-Status}\n' "$1" 2>/dev/null | grep -qx installed
}

apt_get() {
    DEBIAN_FRONTEND=noninteractive quietly apt-get --yes --quiet --no-install-recommends \
        -o DPkg::Lock::Timeout=300 -o Dpkg::Options::=--force-confold "$@"
}

# need_venv run|test: $VENV with livecheck in it, made again when what it is made of changed.
# Two scripts started together wait for each other.
need_venv() {
    {
        flock 9
        make_venv "$1" 9>&-
    } 9<"$CHECKOUT/pyproject.toml"
}

make_venv() {
    local python stamp pip=("$VENV/bin/python" -m pip install --quiet --disable-pip-version-check)
    python=$(find_python) || give_up "No Python 3.11 or later here (with its venv module).
Debian 12 and later bring one: apt-get install python3 python3-venv"
    stamp=$(fingerprint "$python")
    has_venv "$stamp" "$1" && return 0
    venv_is_ours
    say "Installing livecheck and its Python packages into .venv"
    rm -f "$VENV/made-of" 2>/dev/null || true
    if ! is_of_python "$python"; then
        quietly "$python" -m venv --clear "$VENV" || give_up "Could not make $VENV.
Is the checkout writable for you, and its file system not full?"
    fi
    quietly "${pip[@]}" --require-hashes --requirement "$WHEELS/build" --requirement "$WHEELS/$1" ||
        give_up "pip could not install the Python packages into .venv.
What it said stands above. Is the network up?"
    # Built with what was just checked, and nothing besides.
    quietly "${pip[@]}" --no-index --no-deps --no-build-isolation --editable "$CHECKOUT" ||
        give_up "pip could not install livecheck into .venv. What it said stands above."
    [ "$1" = run ] || link_introspection "$python"
    printf '%s\n%s\n%s\n' "$stamp" "$1" "$("$python" -VV)" >"$VENV/made-of"
}

# The system's own Python first: the Debian packages for the tests belong to it.
find_python() {
    local candidate
    for candidate in /usr/bin/python3 python3 python3.13 python3.12 python3.11; do
        if "$candidate" -c 'import ensurepip, sys, venv; sys.exit(sys.version_info < (3, 11))' \
            2>/dev/null; then
            command -v "$candidate"
            return
        fi
    done
    return 1
}

# What another user installed can be run, and not be changed.
venv_is_ours() {
    local other
    other=$(find "$CHECKOUT" -name .git -prune -o -type d ! -writable -print -quit)
    [ -z "$other" ] || give_up "$VENV must be made anew, and $other is not yours to change.
Make the checkout yours, then try again:
  sudo chown -R $(id -un): $CHECKOUT"
}

# One line that changes with anything .venv is made of.
fingerprint() {
    {
        printf '%s\n' "$CHECKOUT" "$1"
        "$1" -VV
        cd "$CHECKOUT" || exit
        cat pyproject.toml image-build/wheels/* livecheck/native/*.c livecheck/native/*.h
    } | sha256sum | cut -d ' ' -f 1
}

has_venv() {
    local made=()
    [ -r "$VENV/made-of" ] || return 1
    mapfile -t made <"$VENV/made-of"
    # A .venv for the tests is good for running too.
    [ "${made[0]}" = "$1" ] && { [ "${made[1]}" = "$2" ] || [ "${made[1]}" = test ]; } &&
        "$VENV/bin/python" -c 'import livecheck.native._march' 2>/dev/null
}

is_of_python() {
    [ -x "$VENV/bin/python" ] && [ "$("$VENV/bin/python" -VV)" = "$("$1" -VV)" ]
}

# umockdev is spoken to by GObject introspection, whose Python side comes with
# Debian only. The link brings in that one package and no other of the system's.
link_introspection() {
    local packages
    [ "$1" = /usr/bin/python3 ] || return 0
    packages=$("$VENV/bin/python" -c 'import sysconfig; print(sysconfig.get_path("purelib"))')
    ln -sfn /usr/lib/python3/dist-packages/gi "$packages/gi"
}
