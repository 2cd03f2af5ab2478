#!/usr/bin/env bash
# Runs livecheck on this machine, installing first what it needs, and ends with
# the path of the report. Arguments are handed to `livecheck run`:
#
#     bash image-build/local.sh
#     bash image-build/local.sh --complaint slow --ticket 1207
#     bash image-build/local.sh --probes heat,memory
#
# Without --probes only what looks and loads nothing: this may be somebody's working computer.
#
# Exit status: 0 done, whatever was found; 2 wrong usage; 3 could not do it.
set -euo pipefail
# shellcheck source=image-build/install.sh
. "$(dirname "$0")/install.sh"

need_packages run build
need_venv run

case " $* " in
*" --help "* | *" -h "*) exec "$VENV/bin/livecheck" run --help ;;
esac

cd "$CHECKOUT"
result=$(mktemp)
trap 'rm -f "$result"' EXIT
"$VENV/bin/livecheck" run --complaint intake --probes passive --json "$@" >"$result" </dev/null
case_folder=$("$VENV/bin/python" -c \
    'import json, sys; print(json.load(sys.stdin)["case_folder"])' <"$result")
"$VENV/bin/livecheck" locate "$case_folder"
printf '\nReport:\n'
"$VENV/bin/livecheck" report "$case_folder"
