#!/bin/sh
# check-demo.sh SPATE FOLDER ROOT - tools/demo prints the comparison and writes its page, in TAP
#
# FOLDER is that of this script.  The tool works in a tree of its own, with a small scenario in place
# of the demo's; spate stands there built, and packages, meson and ninja are not asked for.
spate=$(realpath "$1")
tiny=$(realpath "$2")/tiny.yaml
work=$(mktemp -d) || exit 99
trap 'rm -rf "$work"' EXIT
tree="$work/a clone"
mkdir -p "$tree/build-demo/src/cli" "$tree/tools" "$tree/scenarios" "$work/bin"
cp "$3/tools/demo" "$3/tools/packages.sh" "$tree/tools/"
cp "$tiny" "$tree/scenarios/tarn-hollow.yaml"
touch "$tree/build-demo/build.ninja"
cat >"$tree/build-demo/src/cli/spate" <<END
#!/bin/sh
echo run >>"$work/runs"
exec "$spate" "\$@"
END
for tool in meson ninja; do
    printf '#!/bin/sh\n' >"$work/bin/$tool"
done
printf '#!/bin/sh\necho install ok installed\n' >"$work/bin/dpkg-query"
chmod +x "$work"/bin/* "$tree/build-demo/src/cli/spate"
PATH="$work/bin:$PATH"
export PATH
page=$tree/build-demo/tarn-hollow.html

count=0
failed=0

# good NAME COMMAND... : the command succeeds
good() {
    name=$1
    shift
    count=$((count + 1))
    if "$@" >"$work/why" 2>&1; then
        echo "ok $count - $name"
    else
        echo "not ok $count - $name"
        failed=$((failed + 1))
        cat "$work/why" "$work/err" | sed 's/^/# /'
    fi
}

fails() { ! "$@"; }

# demo ARGUMENT... : runs it elsewhere; its output in $work/out and $work/err
demo() {
    rm -f "$work/runs"
    (cd "$work" && "$tree/tools/demo" --quiet "$@" >"$work/out" 2>"$work/err")
}

good "it ends well" demo
good "it prints the comparison" grep -q '^traffic talk' "$work/out"
good "it writes the page" grep -q '</html>' "$page"
good "it says how to open it" grep -qxF \
    "The page of this comparison opens in any browser: file://$page" "$work/err"
good "it runs the comparison once" test "$(cat "$work/runs")" = run

good "other arguments work" demo --format json --replications 2
good "... as they do with spate compare" grep -q '"replications": 2' "$work/out"
good "a page by another name" demo --report "$work/mine.html"
good "... is written" test -s "$work/mine.html"
good "... and no other" test ! -e "$page"
good "help" demo --help
good "... is no page" fails grep file:// "$work/err"
good "what fails" fails demo --variant nobody
good "... has no page" test ! -e "$page"

echo "1..$count"
[ "$failed" -eq 0 ]
