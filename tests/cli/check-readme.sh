#!/bin/sh
# check-readme.sh SPATE ROOT - the README shows what is really printed: of the demo's broken rule, of
# what is in doubt, and of a second try
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

# Of the comparison it shows some lines, and "..." for the others.
(cd "$2" && "$spate" compare scenarios/retries.yaml --set nodes.runner.count=80 --replications 5) \
    > "$folder/printed"
sed -n '/^traffic position/,/^```/p' "$2"/README.md | grep -v -e '^```' -e '^  \.\.\.$' -e '^$' > "$folder/shown"
test -s "$folder/shown"
grep -Fxf "$folder/shown" "$folder/printed" | diff "$folder/shown" -
