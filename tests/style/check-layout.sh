#!/bin/sh
# clang-format owns the layout; version 14 is Debian 12's.
#
#     check-layout.sh SOURCE-FOLDER
set -u
cd "$1" || exit 1
command -v clang-format >/dev/null 2>&1 || exit 77
clang-format --version | grep -q 'version 14\.' || exit 77
find src include tests -name '*.[ch]' -print0 | xargs -0 clang-format --dry-run --Werror
