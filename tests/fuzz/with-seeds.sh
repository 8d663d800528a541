#!/bin/sh
# Runs a command with the folders that hold inputs of a target behind its arguments.
#
#     with-seeds.sh TARGET COMMAND ARGUMENT...
set -eu
tests=$(cd "$(dirname "$0")/.." && pwd)
target=$1
shift
# What stands elsewhere is not stored twice.
case $target in
scenario) set -- "$@" "$tests/../scenarios" "$tests/scenario/good" "$tests/scenario/bad" ;;
tables) set -- "$@" "$tests/scenario/bad-tables" ;;
esac
for folder in "$tests/fuzz/corpus/$target" "$tests/fuzz/findings/$target"; do
    [ ! -d "$folder" ] || set -- "$@" "$folder"
done
exec "$@"
