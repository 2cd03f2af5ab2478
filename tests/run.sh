#!/usr/bin/env bash
# Runs the tests, installing first what they need. Arguments are handed to pytest;
# --boot adds the tests that boot the stick's image in a virtual laptop:
#
#     bash tests/run.sh
#     bash tests/run.sh --boot
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
exec "$VENV/bin/python" -m pytest "$@" </dev/null
