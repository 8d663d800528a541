#!/bin/sh
# What clang-tidy finds in src/; .clang-tidy tells what it looks for.
#
#     check-tidy.sh SOURCE-FOLDER BUILD-FOLDER
#
# The analyzer follows fewer paths than it would by itself (225,000 steps a function): all of them take
# four minutes of one core, these one. tools/test runs it once; it is no test of every build.
set -u
cd "$1" || exit 1
command -v clang-tidy >/dev/null 2>&1 || exit 77
clang-tidy --version | grep -q 'version 14\.' || exit 77
found=$(find src -name '*.c' | sort | xargs -P "$(nproc)" -n 4 clang-tidy --quiet -p "$2" \
    --extra-arg=-Xclang --extra-arg=-analyzer-config --extra-arg=-Xclang --extra-arg=max-nodes=40000 \
    2>/dev/null)
status=$?
[ -n "$found" ] && printf '%s\n' "$found"
exit $status
