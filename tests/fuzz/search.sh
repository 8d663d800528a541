#!/bin/sh
# Lets libFuzzer search with a target.
#
#     search.sh PROGRAM NEW-FOLDER ARGUMENT...
#
# NEW-FOLDER takes what is worth keeping for the next search; findings are left beside it.  A search
# with a seed begins afresh, to be the same each time.
set -eu
words=$(dirname "$0")/words.dict
program=$1
new=$2
shift 2
case " $* " in
*" -seed="*) rm -rf "$new" ;;
esac
mkdir -p "$new"
# What one input may take.  All are small, and answered within some milliseconds.
exec "$program" -timeout=5 -rss_limit_mb=1024 -malloc_limit_mb=512 -max_len=8192 \
    -print_final_stats=1 -dict="$words" -artifact_prefix="$new-" "$new" "$@"
