#!/bin/sh
# check-readme.sh SPATE ROOT - the README shows what is really printed: of the demo's broken rule, and
# of what is in doubt
set -eu
spate=$(realpath "$1")
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
sed 's/{class: reading}, do: hold-back/{class: [reading, alarm]}, do: hold-back/' \
    "$2"/scenarios/tarn-hollow.yaml > "$folder/broken.yaml"
"$spate" check - < "$folder/broken.yaml" > "$folder/all" || [ $? -eq 1 ]
sed -n '/^not ok 4/,$p' "$folder/all" > "$folder/printed"
sed -n '/^not ok 4/,/^# 3 passed/p' "$2"/README.md > "$folder/shown"
test -s "$folder/shown"
diff "$folder/shown" "$folder/printed"

(cd "$2" && "$spate" check scenarios/far-farm.yaml) > "$folder/all" || [ $? -eq 1 ]
sed -n '/^not ok 2/,$p' "$folder/all" > "$folder/printed"
sed -n '/^not ok 2 - scenarios.far-farm/,/^# 1 passed/p' "$2"/README.md > "$folder/shown"
test -s "$folder/shown"
diff "$folder/shown" "$folder/printed"
