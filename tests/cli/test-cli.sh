#!/bin/sh
# test-cli.sh SPATE READ-JSON FOLDER - the commands as their users meet them, in TAP
#
# FOLDER is that of this script.
spate=$(realpath "$1")
json=$(realpath "$2")
here=$(realpath "$3")
tiny=$here/tiny.yaml
work=$(mktemp -d) || exit 99
trap 'rm -rf "$work"' EXIT
cd "$work" || exit 99
unset NO_COLOR
LC_ALL=C
export LC_ALL

count=0
failed=0

# is NAME GOT EXPECTED
is() {
    count=$((count + 1))
    if [ "$2" = "$3" ]; then
        echo "ok $count - $1"
    else
        echo "not ok $count - $1"
        printf 'got: %s\nexpected: %s\n' "$2" "$3" | sed 's/^/# /'
        failed=$((failed + 1))
    fi
}

# holds NAME TEXT PART: the part occurs in the text
holds() {
    case $2 in
    *"$3"*) is "$1" yes yes ;;
    *) is "$1" "$2" "...$3..." ;;
    esac
}

# ends NAME STATUS ARGUMENT... : spate ends with the status; its output in ./out and ./err
ends() {
    name=$1
    wanted=$2
    shift 2
    "$spate" "$@" >out 2>err </dev/null
    is "$name" "$? $(head -c 300 err | grep -i sanitizer)" "$wanted "
}

# --- airtime

# airtime NAME EXPECTED OPTION... : microseconds and payload symbols
airtime() {
    name=$1
    expected=$2
    shift 2
    got=$("$spate" airtime --format json "$@" | tee out | "$json" '$.airtime_us')
    got="$got $("$json" '$.symbols' <out)"
    is "airtime: $name" "$got" "$expected"
}

# LoRa: published results by Semtech AN1200.13 and the SX1276 data sheet, 4.1.1.7 (a spreadsheet of
# the application note, a calculator page, a library's documented example)
airtime "SF9, 13 bytes" "[164864] [28]" --spreading-factor 9 --payload 13
airtime "SF7, 37 bytes" "[82176] [68]" --spreading-factor 7 --payload 37
airtime "SF12, 37 bytes" "[1974272] [48]" --spreading-factor 12 --payload 37
airtime "SF7, 10 bytes" "[41216] [28]" --spreading-factor 7 --payload "10 bytes"
airtime "SF11, 10 bytes" "[577536] [23]" --spreading-factor 11 --payload 10
airtime "SF9, 12 bytes" "[144384] [23]" --spreading-factor 9 --payload 12
# By the same formula by hand: SF12, 4/8, 13 bytes, LDRO: 8 + ceil(100 / 40) 8 = 32 symbols, with
# 8 + 4.25 of preamble 44.25 symbols of 32.768 ms
airtime "SF12, 4/8, 13 bytes" "[1449984] [32]" --spreading-factor 12 --coding-rate 4/8 \
    --payload 13 --kind lora --bandwidth "125 kHz" --preamble "8 symbols" --header explicit \
    --crc on --low-data-rate-optimise auto --overhead 0 --frequency "869.5 MHz"
# dsss by hand: 192 us (IEEE 802.11 clause 15, long format) + 8 (32 + 43) bit / 250 kbit/s
airtime "dsss, 32 bytes in an action frame" "[2592] [75]" --kind dsss --rate "250 kbit/s" \
    --payload 32 --overhead 43

# -174 + 10 log10(125e3) + 6 - 12.5 (required SNR at SF9: SX1276 data sheet, table 13)
"$spate" airtime --spreading-factor 9 --format json >out
is "sensitivity at SF9" "$("$json" --number '$.sensitivity_dbm' <out)" "-129.530900"
is "symbol at SF9" "$("$json" '$.symbol_us' <out)" "[4096]"
# 1 % of an hour: 36 s / 0.164864 s = 218.4
"$spate" airtime --spreading-factor 9 --payload 13 --duty-cycle "1 %" --format json >out
is "frames per hour are whole" "$("$json" '$.frames_per_hour' <out)" "[218]"
holds "a table for people" "$("$spate" airtime --payload 13 --spreading-factor 9)" "164.864 ms"
is "csv: keys and values" "$("$spate" airtime --format csv | tr -cd ',\n' | sort -u | wc -l)" 1

ends "airtime: a unit is missing" 2 airtime --bandwidth 125
holds "... and named" "$(cat err)" "kHz"
ends "airtime: no such bandwidth" 2 airtime --bandwidth "130 kHz"
ends "airtime: no such spreading factor" 2 airtime --spreading-factor 13
ends "airtime: too much payload" 2 airtime --payload 256
ends "airtime: a setting of the other kind" 2 airtime --kind dsss --crc on
holds "... and named" "$(cat err)" "--crc needs --kind lora"
ends "airtime: no scenario" 2 airtime "$tiny"

# --- links

# Free space (ITU-R P.525) at 869.5 MHz: 20 log10(4 pi 1000 m f / c) = 91.23317 dB.
# west to middle: 14 - 0.5 + 2.15 - 91.23317 + 5 - 1 = -71.58317 dBm;
# sensitivity at SF7: -174 + 50.9691 + 6 - 7.5 = -124.5309 dBm
"$spate" links "$tiny" --format json >out
link='$.links[5]'
is "links: a row for each direction" "$("$json" '$.links[*].bearer' <out | tr -cd '"' | wc -c)" 12
is "links: from" "$("$json" "$link.from" <out)" '["west"]'
is "links: to" "$("$json" "$link.to" <out)" '["middle"]'
is "links: distance" "$("$json" --number "$link.distance_m" <out)" 1000.000000
is "links: loss" "$("$json" --number "$link.loss_db" <out | cut -c 1-7)" 91.2331
is "links: received" "$("$json" --number "$link.received_dbm" <out | cut -c 1-8)" -71.5831
is "links: margin" "$("$json" --number "$link.margin_db" <out | cut -c 1-7)" 52.9477
is "links: csv" "$("$spate" links "$tiny" --format csv | head -n 1)" \
    "from,to,bearer,distance_m,loss_db,received_dbm,margin_db"
is "links: table" "$("$spate" links "$tiny" | grep '^valley *west *middle')" \
    "valley  west    middle      1000.0      91.2         -71.6       52.9"
is "links: set" "$("$spate" links "$tiny" --set "bearers.valley.propagation.extra-loss=10 dB" \
    --format json | "$json" --number "$link.loss_db" | cut -c 1-8)" 101.2331
# Margins: 52.9 and 52.3 dB to the middle, 48.9 dB to the west, 47.3 dB to the east, less from end to end.
rows() { "$spate" links "$tiny" --format csv "$@" 2>&1 | sed 1d | cut -d , -f 1,2 | tr '\n' ' '; }
is "links: of one node, both ways" "$(rows --node east)" \
    "east,middle east,west middle,east west,east "
is "links: of two nodes" "$(rows --node east --node west | wc -w)" 6
is "links: of a group" "$(rows --set "groups={ends: [east, west]}" --node ends | wc -w)" 6
is "links: above a margin" "$(rows --above 48)" "east,middle middle,west west,middle "
is "links: above a margin with its unit" "$(rows --above "48 dB" --node west)" \
    "middle,west west,middle "
ends "links: a node that is not there" 2 links "$tiny" --node midle
holds "... and the nearest one" "$(cat err)" \
    "--node: there is no node or group 'midle'; did you mean 'middle'?"
ends "links: a margin in another unit" 2 links "$tiny" --above "10 dBm"
holds "... is named" "$(cat err)" "--above: "
many="count: 5000, place: {line: {from: {x: 1 km, y: 0 m}, to: {x: 2 km, y: 0 m}}}"
ends "links: too many pairs" 2 links "$tiny" \
    --set "nodes.middle={$many, radios: {valley: {power: 10 dBm}}}"
holds "... and what helps" "$(cat err)" "at most 20000000 are written: choose some with --node"

table=$("$spate" links "$tiny")
holds "links: the table says what is left out" "$table" "without shadowing and fading"
holds "links: all are heard" "$table" "nodes that nobody hears: none"
holds "links: all hear" "$table" "nodes that hear nobody: none"
# Free space at 900 km is 59 dB more than at 1 km.
lonely() {
    "$spate" links "$tiny" "$@" \
        --set "nodes.far={at: {x: 900 km, y: 0 m}, radios: {valley: {power: 14 dBm}}}" \
        --set "nodes.faint={at: {x: 3 km, y: 0 m}, radios: {valley: {power: -60 dBm}}}"
}
holds "links: nodes that nobody hears" "$(lonely)" "
nodes that nobody hears: faint, far
nodes that hear nobody: far"
lonely --format json >out
is "links: ... as JSON" "$("$json" '$.heard_by_nobody' <out)" '[["faint","far"]]'
is "links: ... and that hear nobody" "$("$json" '$.hears_nobody' <out)" '[["far"]]'
is "links: ... of the nodes asked for only" \
    "$(lonely --node far --node east --above 200 --format json | tr -d '\n ')" \
    '{"links":[],"heard_by_nobody":["far"],"hears_nobody":["far"]}'

ends "links: GeoJSON of what is nowhere on the earth" 2 links "$tiny" --format geojson
ends "links: the ground between two nodes" 0 links "$tiny" --profile west east
holds "... is drawn" "$(cat out)" "first Fresnel zone"
ends "links: ... as JSON" 0 links --profile west east "$tiny" --format json
holds "... in points" "$(cat out)" '{"profile": {"from": "west", "to": "east", "distance_m": '
ends "links: ... as a picture" 0 links "$tiny" --profile west east --plot profile=profile.svg
holds "... of its own" "$(cat profile.svg)" "<svg "
ends "links: a profile of one node" 2 links "$tiny" --profile west
holds "... needs two" "$(cat err)" "--profile takes two nodes"
ends "links: a profile to nobody" 2 links "$tiny" --profile west eest
holds "... the nearest" "$(cat err)" "did you mean 'east'?"

# --- new

"$spate" new >new.yaml
is "new: a scenario without faults or warnings" "$("$spate" lint new.yaml 2>&1) $?" " 0"
ends "new: it runs" 0 run new.yaml --replications 1 --set "run.duration=30 min"
is "new: into a file" "$("$spate" new --output n2.yaml && cmp new.yaml n2.yaml && echo same)" same

# --- run

# Nodes on hills, elsewhere in each replication; a build without GDAL refuses both alike.
awk 'BEGIN {
    print "ncols 40\nnrows 30\nxllcorner 0\nyllcorner 0\ncellsize 50"
    for (r = 0; r < 30; r++) for (c = 0; c < 40; c++) print 100 + 40 * sin(c / 3) * cos(r / 4)
}' >hills.asc
cat >hills.yaml <<'END'
spate: 1
run: {duration: 10 min, replications: 4}
terrain: {elevation: hills.asc}
bearers:
  valley: {kind: dsss, frequency: 2437 MHz, propagation: {model: terrain, shadowing: 6 dB}}
nodes:
  leaf:
    count: 12
    place: {rectangle: {from: {x: 100 m, y: 100 m}, to: {x: 1900 m, y: 1400 m}}}
    radios: {valley: {power: 20 dBm}}
    relay: valley
traffic: {talk: {from: leaf, to: everyone, payload: 20 bytes, every: 1 min}}
END
"$spate" run hills.yaml --format json --jobs 1 >one.json 2>&1
"$spate" run hills.yaml --format json --jobs 2 >two.json 2>&1
is "run: the same bytes for any number of jobs over hills" "$(cmp one.json two.json && echo same)" same

"$spate" run "$tiny" --format json --jobs 1 >one.json
"$spate" run "$tiny" --format json --jobs 2 >two.json
is "run: the same bytes for any number of jobs" "$(cmp one.json two.json && echo same)" same
is "run: the format's name" "$("$json" '$.format' <one.json)" '["spate-result/1"]'
is "run: the command" "$("$json" '$.command' <one.json)" '["run"]'
is "run: the seed of the file" "$("$json" '$.seed' <one.json)" '[3]'
is "run: its replications" "$("$json" '$.replications' <one.json)" '[4]'
is "run: its duration and warm-up" \
    "$("$json" '$.duration_s' <one.json) $("$json" '$.warm_up_s' <one.json)" "[1200] [60]"
is "run: the text's digest" "$("$json" '$.scenario.sha256' <one.json)" \
    "[\"$(sha256sum <"$tiny" | cut -d ' ' -f 1)\"]"
is "run: the base alone" "$("$json" '$.variants[*].name' <one.json)" '["base"]'
is "run: no differences" "$("$json" '$.differences' <one.json)" '[[]]'
is "run: ends with a newline" "$(tail -c 1 one.json | od -An -c | tr -d ' ')" '\n'
is "run: standard input" "$("$spate" run - --format json <"$tiny" | cmp - one.json && echo same)" same
is "run: no path in the result" "$(grep -c "$here" one.json)" 0

"$spate" run "$tiny" --format json --seed 4 --replications 2 >other.json
is "run: another seed" "$("$json" '$.seed' <other.json)" '[4]'
is "run: other replications" "$("$json" '$.replications' <other.json)" '[2]'
"$spate" run "$tiny" --format json --set seed=4 --replications 2 >set.json
is "run: a seed by --set is the same seed" "$(cmp set.json other.json && echo same)" same
is "run: another seed has other values" "$("$json" '$.variants[0].measures[0].values' <one.json |
    cut -c 1-8)$(cmp -s one.json other.json || echo differs)" \
    "$("$json" '$.variants[0].measures[0].values' <one.json | cut -c 1-8)differs"
"$spate" run "$tiny" --variant brisk --variant base --variant brisk --format json >variants.json
is "run: each variant that is named, once" "$("$json" '$.variants[*].name' <variants.json)" \
    '["brisk","base"]'
is "run: csv is as wide everywhere" \
    "$("$spate" run "$tiny" --format csv | tr -cd ',\n' | sort -u | wc -l)" 1
holds "run: a table that names the traffic" "$("$spate" run "$tiny")" "
traffic talk "

# --- compare

"$spate" compare "$tiny" --format json --jobs 1 >one.json
"$spate" compare "$tiny" --format json --jobs 2 >two.json
is "compare: the same bytes for any number of jobs" "$(cmp one.json two.json && echo same)" same
is "compare: base and every variant" "$("$json" '$.variants[*].name' <one.json)" \
    '["base","still","brisk"]'
is "compare: differences to the base" \
    "$("$json" '$.differences[*].versus' <one.json | tr ',' '\n' | tr -d '[]' | sort -u)" '"base"'
is "compare: one variant" "$("$spate" compare "$tiny" --variant brisk --format json |
    "$json" '$.variants[*].name')" '["base","brisk"]'
# The relay in the middle doubles what the two others send, and does nothing else.
is "compare: on the same random numbers" "$("$spate" compare "$tiny" --variant still --format csv |
    grep '^difference,still,base,messages,talk,')" "difference,still,base,messages,talk,,,,,1,0,0,0,4"

sed 's/mean-interval: 20 s/mean-interval: 5 s/; s/seed: 3/seed: 99/' "$tiny" >busy.yaml
"$spate" compare "$tiny" busy.yaml --format json >files.json
is "compare: two files by their names" "$("$json" '$.variants[*].name' <files.json)" \
    '["tiny","busy"]'
is "compare: the seed of the first counts" "$("$json" '$.seed' <files.json)" '[3]'
sed 's/seed: 3/seed: 99/' "$tiny" >seed.yaml
is "compare: for both" "$("$spate" compare "$tiny" seed.yaml --format csv |
    grep '^difference' | cut -d , -f 11 | sort -u)" 0
is "compare: unless another is given" "$("$spate" compare busy.yaml "$tiny" --seed 3 --format csv |
    grep '^measure,tiny' | cut -d , -f 3-)" \
    "$("$spate" run "$tiny" --format csv | grep '^measure' | cut -d , -f 3-)"
mkdir -p far
cp busy.yaml far/tiny.yaml
is "compare: two files of one name" "$("$spate" compare "$tiny" far/tiny.yaml --format json |
    "$json" '$.variants[*].name')" '["tiny","tiny-2"]'
ends "compare: a file without variants" 2 compare "$tiny" --set "variants={}"
ends "compare: three files" 2 compare "$tiny" "$tiny" "$tiny"
ends "compare: a variant of two files" 2 compare "$tiny" busy.yaml --variant brisk

# --- lint

sed 's/hop-limit/hop-limt/; s/relay: \[valley\]/rely: [valley]/' "$tiny" >bad.yaml
ends "lint: a fault" 2 lint "$tiny" bad.yaml
holds "lint: at its place" "$(cat out)" "bad.yaml:"
holds "lint: with the nearest key" "$(cat out)" "'relay'"
is "lint: once" "$(grep -c "unknown key 'rely'" out)" 1
is "lint: on standard output alone" "$(cat err)" ""
ends "lint: warnings are no faults" 0 lint "$tiny" --set "bearers.valley.duty-cycle=50 %"
holds "lint: a warning" "$(cat out)" "warning: "
ends "lint: a file that is not there" 3 lint nowhere.yaml
# Some ten thousand million transmissions are hours on any machine.
ends "lint: a study of hours" 0 lint "$tiny" --set "run.duration=3000 day" --set "run.replications=1000"
holds "lint: says what it will take" "$(cat out)" "will take about"
holds "lint: and on what that rests" "$(cat out)" "frames an hour"
cat >bursts.yaml <<'END'
spate: 1
title: Bursts and no traffic
seed: 1
run: {duration: 1 day, replications: 4000}
bearers:
  yard: {kind: dsss, frequency: 2437 MHz, propagation: {model: log-distance, exponent: 3}}
nodes:
  gate: {at: {x: 0 m, y: 0 m}, radios: {yard: {power: 18 dBm}}}
  shed: {at: {x: 10 m, y: 0 m}, radios: {yard: {power: 18 dBm}}}
ambient:
  - {bearer: yard, at: {x: 5 m, y: 0 m}, power: 15 dBm, busy: 50 %, burst: 10 us}
END
ends "lint: bursts that take hours" 0 lint bursts.yaml
holds "lint: names what takes them" "$(cat out)" "ambient bursts each will take about"
ends "lint: short runs that take hours" 0 lint bursts.yaml --set "run.duration=20 s" \
    --set "run.cool-down=1 s" --set "run.replications=1000000"
holds "lint: a short run in seconds" "$(cat out)" "1000000 runs of 20 s will take about"
ends "lint: nothing to lint" 2 lint

# --- bad usage

ends "no command" 2
ends "a command that is none" 2 rnu
holds "... the nearest" "$(cat err)" "did you mean 'run'?"
ends "a table holds no details" 2 run "$tiny" --detail
holds "... and says so" "$(cat err)" "--detail needs --format json"
ends "details in JSON" 0 run "$tiny" --detail --format json
holds "... are a member" "$(cat out)" '"detail": {"format": "spate-detail/1"'
ends "an option that is none" 2 run "$tiny" --replicatons 3
holds "... the nearest" "$(cat err)" "did you mean '--replications'?"
ends "an option without its value" 2 run "$tiny" --seed
ends "no replications" 2 run "$tiny" --replications 0
ends "half a replication" 2 run "$tiny" --replications 1.5
ends "no jobs" 2 run "$tiny" --jobs 0
holds "... the range" "$(cat err)" "from 1 to 1024"
ends "a negative seed" 2 run "$tiny" --seed -1
ends "the largest seed" 0 links "$tiny" --seed 9007199254740992
ends "a seed that a scenario cannot have either" 2 links "$tiny" --seed 9007199254740993
holds "... the range" "$(cat err)" "from 0 to 9007199254740992"
ends "a format that is none" 2 run "$tiny" --format yaml
ends "a setting without a value" 2 run "$tiny" --set nodes.west
ends "a setting of the wrong unit" 2 run "$tiny" --set "run.duration=3 km"
ends "a setting that leads nowhere" 2 run "$tiny" --set "nodes.nobody.relay=[]"
ends "a setting that a variant does not take, without it" 0 links "$tiny" \
    --set "nodes.middle.relay.1=valley"
ends "... with it" 2 links "$tiny" --variant still --set "nodes.middle.relay.1=valley"
holds "... the variant" "$(cat err)" "(in variant 'still')"
ends "... seen by lint" 2 lint "$tiny" --set "nodes.middle.relay.1=valley"
holds "... with its name" "$(cat out)" "with the variant still:"
ends "a setting that the base does not take, by lint" 2 lint "$tiny" --set "run.duration=3 km"
is "... told once" "$(grep -c 'is not a unit' out)" 1
ends "... among all" 2 compare "$tiny" --set "nodes.middle.relay.1=valley"
ends "... among others" 0 compare "$tiny" --variant brisk --replications 1 --quiet \
    --set "nodes.middle.relay.1=valley" --set "run.duration=3 min"
ends "a variant that is none" 2 run "$tiny" --variant brsk
holds "... the nearest" "$(cat err)" "did you mean 'brisk'?"
ends "no scenario" 2 run
ends "two scenarios" 2 run "$tiny" "$tiny"
ends "a scenario that is not there" 3 run nowhere.yaml
ends "a folder" 3 run far
ends "a bad scenario" 2 run bad.yaml
holds "... with its place" "$(cat err)" "bad.yaml:"
is "... and nothing on standard output" "$(cat out)" ""
ends "a bad scenario with an output file" 2 run bad.yaml --output bad.json
is "... leaves none" "$(ls bad.json* 2>/dev/null)" ""

# --- help and version

version=$("$spate" --version)
holds "version" "$version" "spate "
is "version of a command" "$("$spate" run --version)" "$version"
for command in "" $("$spate" help | sed -n "s/^  \([a-z]*\)  .*/\1/p") completion; do
    # shellcheck disable=SC2086 # no command at all
    "$spate" $command --help >out
    is "spate $command --help: status" "$?" 0
    is "... fits 80 columns" "$(awk 'length > 80' out)" ""
    holds "... has an example" "$(cat out)" "Example: spate"
    holds "... tells the exit status" "$(cat out)" "Exit status: 0"
done

is "help is --help" "$("$spate" help)" "$("$spate" --help)"
is "help of a command is its --help" "$("$spate" help size)" "$("$spate" size --help)"
"$spate" help measures >out
is "help measures: fits 80 columns" "$(awk 'length > 80' out)" ""
is "... has the measures of the documents, in their order" \
    "$(sed -n 's/^  \([a-z][a-z0-9-]*\)  .*/\1/p' out)" \
    "$(tr -d '\140' <"$here/../../docs/result-format.md" |
        sed -n '/^| messages | 1 /,/^$/s/^| \([^|]*\) |.*/\1/p' | sed 's/, /\n/g')"
ends "help of an unknown command" 2 help sise
holds "... says the nearest" "$(cat err)" "did you mean 'size'?"
ends "help of nothing like a command" 2 help measurse
holds "... measures too" "$(cat err)" "did you mean 'measures'?"
ends "an unknown command" 2 coverge
is "... says the nearest" "$(cat err)" "spate: unknown command 'coverge'; did you mean 'coverage'?"
ends "an option that a command lacks" 2 lint "$tiny" --format json
holds "... is said" "$(cat err)" "unknown option '--format'"
ends "a word that an option lacks" 2 airtime --header implicid
is "... is said, with all that there are" "$(cat err)" \
    "spate: --header: 'implicid' is not one of explicit, implicit"

# --- output

"$spate" run "$tiny" --format json >one.json
ends "an output file" 0 run "$tiny" --format json --output o.json
is "... whole" "$(cmp o.json one.json && echo same)" same
is "... and nothing on standard output" "$(cat out)" ""
(umask 027 && "$spate" run "$tiny" --output mode.txt)
is "... its mode by the umask" "$(stat -c %a mode.txt)" 640
ends "- is standard output" 0 run "$tiny" --format json --output -
is "... whole" "$(cmp out one.json && echo same)" same
"$spate" run "$tiny" --format json --output /dev/stdout >out
is "so is /dev/stdout" "$(cmp out one.json && echo same)$(test -L /dev/stdout && echo kept)" samekept
echo old >target.txt
ln -s target.txt link.txt
ends "through a link" 0 run "$tiny" --format json --output link.txt
is "... its target is replaced" "$(cmp target.txt one.json && test -L link.txt && echo kept)" kept

# ---- what size varies

sed '/^size:/d' "$here/hills.yaml" >no-size.yaml
few="--quiet --replications 2 --format csv"
# shellcheck disable=SC2086
{
    ends "size: no section" 2 size no-size.yaml $few
    holds "... what may stand in for it" "$(cat err)" "--vary nodes.soil.count --from 5 --to 80"
    ends "size --vary without ends" 2 size no-size.yaml $few --vary nodes.repeater.count --to 4
    holds "... names them" "$(cat err)" "--vary needs --from and --to"
    ends "size --vary --from --to" 1 size no-size.yaml $few --vary nodes.repeater.count --from 2 --to 4
    cp out ranged.csv
    is "... tries each value of the range" "$(grep -c '^[234],' ranged.csv)" 3
    ends "size --set size.*" 1 size no-size.yaml $few --set size.vary=nodes.repeater.count \
        --set size.from=2 --set size.to=4
    is "... is the same" "$(cmp out ranged.csv && echo same)" same
    ends "size --from --to beside the section" 1 size "$here/hills.yaml" $few --from 2 --to 4
    is "... changes its ends" "$(cmp out ranged.csv && echo same)" same
    ends "size --vary beside the section" 1 size "$here/hills.yaml" $few --set size.step=20 \
        --vary nodes.repeater.count --from 2 --to 4
    is "... replaces all of it" "$(cmp out ranged.csv && echo same)" same
    ends "size --vary of no path" 2 size no-size.yaml $few --vary nodes.repeatr.count --from 2 --to 4
    holds "... the nearest" "$(cat err)" "did you mean 'repeater'?"
    ends "a sweep of what size varies" 2 sweep "$here/hills.yaml" --quiet --vary size.from=1,2
    holds "... is none" "$(cat err)" "'size.from' cannot be"
}

ends "a folder that is not there" 3 run "$tiny" --output nowhere/o.json
ends "a folder as the file" 3 run "$tiny" --output far
"$spate" run "$tiny" >/dev/full 2>err
is "a full disk behind standard output" "$?" 3
holds "... and why" "$(cat err)" "No space left on device"
ends "a full device" 3 run "$tiny" --output /dev/full

# Eight blocks of 512 bytes; the result is larger.
echo old >limited.json
cp limited.json limited.before
(ulimit -f 8 && "$spate" run "$tiny" --format json --output limited.json 2>/dev/null)
is "a limit of size" "$?" 3
is "... leaves the old file and nothing else" \
    "$(cmp limited.json limited.before && ls limited*)" "limited.before
limited.json"

if [ "$(id -u)" -eq 0 ] && mkdir disk && mount -t tmpfs -o size=4k none disk 2>/dev/null; then
    ends "a full disk" 3 run "$tiny" --format json --output disk/o.json
    holds "... and why" "$(cat err)" "No space left on device"
    is "... leaves nothing" "$(ls -A disk)" ""
    umount disk
else
    count=$((count + 1))
    echo "ok $count - a full disk # SKIP no tmpfs can be mounted"
fi

# More than a pipe holds, and a reader that has gone.
{
    "$spate" run "$tiny" --replications 300 --format json 2>err
    echo "$?" >status
} | true
is "a closed pipe" "$(cat status)" 3
holds "... and why" "$(cat err)" "Broken pipe"

cp "$tiny" self.yaml
"$spate" run self.yaml --output ./self.yaml >out 2>err
is "--output over the scenario itself" "$?" 2
holds "--output over the scenario itself: says so" "$(cat err)" "would overwrite the scenario self.yaml"
is "--output over the scenario itself: left as it was" "$(cmp self.yaml "$tiny" && echo same)" same

# What could not be read is not also missed.
"$spate" lint "$tiny" --set "nodes={crowd: {count: 900000000000}}" >out 2>&1
is "an absurd count is one fault, not two" "$(grep -c 'there are no nodes' out)" 0
"$spate" lint "$tiny" --set "nodes={}" --set "traffic={}" >out 2>&1
is "no nodes are a fault" "$(grep -c 'there are no nodes' out)" 1

# --- interruption

# interrupt SIGNAL SECONDS ARGUMENT... : after so long; the status is in $status
interrupt() {
    signal=$1
    seconds=$2
    shift 2
    "$spate" "$@" >out 2>err &
    pid=$!
    sleep "$seconds"
    kill "-$signal" "$pid"
    wait "$pid"
    status=$?
}

# interrupt_at_work SIGNAL: when something is finished.  Nothing shows from outside when
# that is: where it was too early, the next signal comes later.
interrupt_at_work() {
    for wait_s in 1 4 16 64; do
        interrupt "$1" "$wait_s" run "$tiny" --replications 1000000 --format json
        grep -q "before anything was finished" err || return
    done
}

for signal in INT TERM; do
    interrupt_at_work "$signal"
    is "$signal: status" "$status" 130
    holds "$signal: says so" "$(cat err)" " of 1000000 replications finished and kept"
    is "$signal: what was finished is kept" "$("$json" '$.interrupted' <out)" "[true]"
    kept=$("$json" '$.replications' <out | tr -d '[]')
    is "$signal: every value of it" \
        "$("$json" '$.variants[0].measures[0].values' <out | tr ',' '\n' | grep -c '[0-9]')" "$kept"
    holds "$signal: as many as it says" "$(cat err)" "interrupted: $kept of"
done
crowd="{circle: {centre: {x: 0 m, y: 0 m}, radius: 300 m}}"
interrupt INT 1 run "$tiny" --replications 1 --output gone.txt \
    --set "nodes.middle={count: 9000, place: $crowd, radios: {valley: {power: 14 dBm}}}"
is "while the world is built: status" "$status" 130
"$spate" run "$tiny" >out 2>err \
    --set "nodes.middle={count: 14500, place: $crowd, radios: {valley: {power: 14 dBm}}}"
is "more links than fit into memory: status" "$?" 2
holds "more links than fit into memory: says so" "$(cat err)" "at most 200 million are held"

interrupt INT 1 run "$tiny" --replications 1 --set "run.duration=2000 day" \
    --set "traffic.talk.mean-interval=1 s" --output none.txt
is "nothing finished: status" "$status" 130
holds "nothing finished: says so" "$(cat err)" "interrupted before"
is "nothing finished: no file" "$(ls none.txt* 2>/dev/null)" ""

# --- a terminal

if script -qec true /dev/null >/dev/null 2>&1 </dev/null; then
    escape=$(printf '\033')
    # terminal COMMAND... : as on a terminal, all that it shows in ./out
    terminal() {
        script -qec "$*" /dev/null >out 2>/dev/null </dev/null
    }
    terminal "$spate" run "$tiny"
    holds "a terminal: bold headings" "$(cat out)" "${escape}[1mtraffic talk"
    terminal NO_COLOR=1 "$spate" run "$tiny"
    is "NO_COLOR" "$(grep -c "$escape" out)" 0
    terminal "$spate" run "$tiny" --set "'run.duration=20 day'" --replications 12 --jobs 1 \
        --output long.txt
    holds "progress with the time left" "$(cat out)" " of 12 runs"
    is "progress is erased" "$(tail -c 4 out | od -An -c | tr -d ' ')" '\r033[K'
    terminal "$spate" run "$tiny" --set "'run.duration=20 day'" --replications 12 --jobs 1 \
        --output long.txt --quiet
    is "quiet" "$(cat out)" ""
else
    count=$((count + 1))
    echo "ok $count - a terminal # SKIP no script(1), or no pseudo-terminal to be had"
fi
"$spate" run "$tiny" --replications 12 --jobs 1 --set "run.duration=20 day" --output long.txt \
    >out 2>err
is "no progress without a terminal" "$(cat out err)" ""

echo "1..$count"
[ "$failed" -eq 0 ]
