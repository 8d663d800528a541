#!/bin/sh
# What cppcheck finds in src/, but for what cppcheck-suppressions.txt explains.
#
#     check-cppcheck.sh SOURCE-FOLDER
set -u
cd "$1" || exit 1
command -v cppcheck >/dev/null 2>&1 || exit 77
exec cppcheck --quiet --error-exitcode=1 --std=c11 --inline-suppr --library=gnu,gtk \
    --enable=warning,style,performance,portability \
    --suppressions-list=tests/style/cppcheck-suppressions.txt \
    -D_GNU_SOURCE -D'G_DEFINE_QUARK(a,b)=' -D'G_GNUC_PRINTF(a,b)=' -Isrc -Iinclude src
