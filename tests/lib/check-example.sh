#!/bin/sh
# The example of docs/ says of a scenario what `spate check` says, and ends with the same status.
#
#     check-example.sh PROGRAM SCENARIO
set -eu
program=$1
scenario=$2

status=0
said=$("$program" "$scenario") || status=$?
passed=$(printf '%s\n' "$said" | grep -c '^pass ') || true
failed=$(printf '%s\n' "$said" | grep -c '^fail ') || true
undecided=$(printf '%s\n' "$said" | grep -c '^undecided ') || true
# Counted by hand in verdicts.yaml: what `down` should reach fails, 100 % is never sure.
if [ "$passed/$undecided/$failed/$status" != "6/1/3/1" ]; then
    printf '%s\n' "$said"
    echo "passed $passed, undecided $undecided, failed $failed, status $status"
    exit 1
fi
status=0
"$program" /nonexistent.yaml 2>/dev/null || status=$?
[ "$status" -eq 2 ]
