#!/bin/sh
# The shell scripts, as shellcheck sees them.
#
#     check-scripts.sh SOURCE-FOLDER
set -u
cd "$1" || exit 1
command -v shellcheck >/dev/null 2>&1 || exit 77
scripts=$(grep -lsE '^#!/bin/(sh|bash)' tools/* tests/*/*.sh .ci/*)
# shellcheck disable=SC2086 # no name of a script has a space
exec shellcheck -x $scripts tools/packages.sh
