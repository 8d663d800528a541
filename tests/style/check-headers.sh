#!/bin/sh
# Each header compiles alone.
#
#     check-headers.sh SOURCE-FOLDER COMPILER FLAG...
set -u
cd "$1" || exit 1
shift
failed=0
# shellcheck disable=SC2044 # names without blanks
for header in $(find src include tests -name '*.h'); do
    printf '#include "%s"\n' "${header#*/}" |
        "$@" -std=gnu17 -D_GNU_SOURCE -Wall -Wextra -Werror -Isrc -Iinclude -Itests -fsyntax-only -x c - || {
        echo "$header does not compile alone"
        failed=1
    }
    grep -q '^#pragma once$' "$header" || {
        echo "$header has no #pragma once"
        failed=1
    }
done
exit $failed
