#!/bin/sh
# merge.sh - joins the stores of all shards of a sweep
#
#     tools/cluster/merge.sh 40 shards valley.sqlite
#
# The arguments: the number of shards, the folder of their stores, the joined store.  Nothing is
# joined while a shard is missing.  SPATE names the program, if it is not the spate of PATH.
#
#SBATCH --job-name=spate-merge
set -eu
shards=$1
folder=$2
output=$3
set --
for shard in $(seq "$shards"); do
    store=$folder/$shard-of-$shards.sqlite
    if [ ! -f "$store" ]; then
        echo "shard $shard of $shards is missing: $store" >&2
        exit 1
    fi
    set -- "$@" "$store"
done
exec "${SPATE:-spate}" merge "$@" --output "$output"
