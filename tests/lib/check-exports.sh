#!/bin/sh
# The shared library shows what its header marks SPATE_PUBLIC, no more and no less.
set -eu
library=$1
header=$2

shown=$(nm -D --defined-only "$library" | awk '{print $3}' | LC_ALL=C sort)
# A declaration may go over several lines; its name is the word before the first parenthesis.
marked=$(sed -n '/^SPATE_PUBLIC /s/^[^(]*[ *]\(spate_[a-z0-9_]*\)(.*/\1/p' "$header" |
    LC_ALL=C sort)

if [ "$shown" != "$marked" ]; then
    echo "shown by $library:"
    echo "$shown"
    echo "marked in $header:"
    echo "$marked"
    exit 1
fi
