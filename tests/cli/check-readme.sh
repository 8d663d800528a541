#!/bin/sh
# check-readme.sh SPATE ROOT - the README shows what is really printed: of the demo's broken rule, of
# what is in doubt, of a second try, and of learned routes
set -eu
spate=$(realpath "$1")
root=$(realpath "$2")
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
sed 's/{class: reading}, do: hold-back/{class: [reading, alarm]}, do: hold-back/' \
    "$root"/scenarios/tarn-hollow.yaml > "$folder/broken.yaml"
"$spate" check - < "$folder/broken.yaml" > "$folder/all" || [ $? -eq 1 ]
sed -n '/^not ok 4/,$p' "$folder/all" > "$folder/printed"
sed -n '/^not ok 4/,/^# 3 passed/p' "$root"/README.md > "$folder/shown"
test -s "$folder/shown"
diff "$folder/shown" "$folder/printed"

(cd "$root" && "$spate" check scenarios/far-farm.yaml) > "$folder/all" || [ $? -eq 1 ]
sed -n '/^not ok 2/,$p' "$folder/all" > "$folder/printed"
sed -n '/^not ok 2 - scenarios.far-farm/,/^# 1 passed/p' "$root"/README.md > "$folder/shown"
test -s "$folder/shown"
diff "$folder/shown" "$folder/printed"

# Of comparisons it shows some lines, and "..." for the others.  What is printed again (by traffic and by
# bearer) counts once.
shows_lines_of() {
    sed -n "/^$1/,/^\`\`\`/p" "$root"/README.md | grep -v -e '^```' -e '^  \.\.\.$' -e '^$' > "$folder/shown"
    test -s "$folder/shown"
    grep -Fxf "$folder/shown" "$folder/printed" | awk '!seen[$0]++' | diff "$folder/shown" -
}
(cd "$root" && "$spate" compare scenarios/retries.yaml --set nodes.runner.count=80 --replications 5) \
    > "$folder/printed"
shows_lines_of 'traffic position'
(cd "$root" && "$spate" compare scenarios/learned-routes.yaml) > "$folder/printed"
shows_lines_of 'traffic weather'
