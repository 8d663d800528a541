#!/bin/sh
# Calls that would let the clock, the locale or an unseeded generator reach the model, and paths or
# hosts of a machine in what is published.
#
#     check-words.sh SOURCE-FOLDER
set -u
cd "$1" || exit 1
failed=0

# refuse WHAT PATTERN FILE...
refuse() {
    what=$1
    pattern=$2
    shift 2
    if grep -nE "$pattern" "$@" 2>/dev/null; then
        echo "^ $what"
        failed=1
    fi
}

model=$(find src -name '*.[ch]' ! -path 'src/cli/*')
# shellcheck disable=SC2086
refuse "the clock, or an unseeded generator" \
    '\<(time|clock|clock_gettime|gettimeofday|g_get_(real|monotonic)_time|rand|random|srand|g_random_[a-z_]*) *\(' $model
# shellcheck disable=SC2086
refuse "depends on the locale" '\<(setlocale|strtod|strtof|atof|scanf|sscanf) *\(' $model
# shellcheck disable=SC2086
refuse "unbounded" '\<(strcpy|strcat|sprintf|vsprintf|gets) *\(' $model src/cli/*.c
# shellcheck disable=SC2086
refuse "GLib's own, or its errors, are for this" \
    '\<(malloc|calloc|realloc|strdup|strndup|asprintf|abort|system|popen|alloca|strtok|atoi|atol|strto(l|ll|ul|ull)|tmpnam|mktemp) *\(|<(assert|ctype)\.h>' \
    $model src/cli/*.c
# shellcheck disable=SC2046,SC2086
refuse "depends on the locale; the terminal alone is asked for its characters" '<locale\.h>' \
    $model $(find src/cli -name '*.[ch]' ! -name terminal.c)
# shellcheck disable=SC2086
refuse "returns early instead" '^[^/*]*\<goto\> ' $model src/cli/*.c
# shellcheck disable=SC2086
refuse "the model prints, ends and asks for nothing" \
    '\<(printf|puts|g_print|g_printerr|g_warning|g_message|g_critical|exit|_exit|getenv|g_getenv) *\(' $model
# One set of figures for all examples; scenarios/tarn-hollow.yaml gives the reasons.
examples=$(find scenarios tests/browser tests/cli src/cli docs -name '*.yaml' -o -name '*.md' -o -name '*.scd')
# shellcheck disable=SC2086
refuse "the examples' figures: 869.5 MHz, a preamble of 8 or 12 symbols, 6 hops, 2 bytes of route record" \
    '869[.]?525|preamble: 16 symbols|hop-limit: 7\>|route-record: 1 byte' $examples
exit $failed
