# The root shell completes livecheck's commands and options; login shells read this.
# shellcheck shell=sh disable=SC1091
[ -z "${BASH_VERSION:-}" ] || . /usr/local/share/bash-completion/completions/livecheck.bash
