#!/usr/bin/env bash
# Runs the tests, installing first what they need. --boot adds the tests that boot the
# stick's image in a virtual laptop, --fast leaves out what takes long, --touched runs what
# a change since the branch left main can touch, --coverage prints which lines and branches
# were reached. Other arguments are handed to pytest:
#
#     bash tests/run.sh
#     bash tests/run.sh --fast
#     bash tests/run.sh --touched
#     bash tests/run.sh tests/diagnosis -k swap
set -euo pipefail
# shellcheck source=image-build/install.sh
. "$(dirname "$0")/../image-build/install.sh"

lists=(run build test)
case " $* " in
*" --boot "*) lists+=(boot) ;;
esac
need_packages "${lists[@]}"
need_venv test

cd "$CHECKOUT"
# Hundreds of processes are started: what each imports is compiled once, outside the checkout.
unset PYTHONDONTWRITEBYTECODE
export PYTHONPYCACHEPREFIX="$VENV/compiled"
# A process for each core. One file's tests share what they set up, so a file stays with one.
all=(--numprocesses auto --dist loadfile)
words=()
for word in "$@"; do
    case "$word" in
    --fast) words+=(-m "not slow and not boot") ;;
    --coverage) words+=(--cov=livecheck --cov-branch --cov-report=term:skip-covered) ;;
    --touched)
        found=$("$VENV/bin/python" -m tests.touched)
        mapfile -t -O "${#words[@]}" words <<<"$found"
        ;;
    *)
        words+=("$word")
        # A few tests are done before other processes have started.
        [ ! -e "${word%%::*}" ] || all=()
        ;;
    esac
done
exec "$VENV/bin/python" -m pytest "${all[@]}" "${words[@]}" </dev/null
