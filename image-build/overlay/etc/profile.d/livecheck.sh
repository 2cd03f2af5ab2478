# The root shell completes livecheck's commands and options, and reads their man pages;
# login shells read this.
# shellcheck shell=sh disable=SC1091
alias man=mman
[ -z "${BASH_VERSION:-}" ] || . /usr/local/share/bash-completion/completions/livecheck.bash
