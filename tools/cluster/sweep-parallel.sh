#!/bin/sh
# sweep-parallel.sh - a sweep in shards under GNU parallel, on one machine or several
#
#     tools/cluster/sweep-parallel.sh 40 valley.yaml shards [OPTION...]
#
# The arguments: in how many shards the sweep is cut, the scenario, the folder of the stores,
# options of spate sweep.  Started again, it goes on where it stopped.  Then
#
#     tools/cluster/merge.sh 40 shards valley.sqlite
#
# Options of parallel go into its variable PARALLEL; for several machines that share a folder:
#
#     PARALLEL="--sshloginfile machines --workdir $PWD" tools/cluster/sweep-parallel.sh ...
#
# SPATE names the program, if it is not the spate of PATH.
set -eu
shards=$1
scenario=$2
folder=$3
shift 3
mkdir -p "$folder"
seq "$shards" | parallel --quote "${SPATE:-spate}" sweep "$scenario" --shard "{}/$shards" \
    --store "$folder/{}-of-$shards.sqlite" --jobs 1 --quiet "$@"
