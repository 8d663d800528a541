#!/bin/sh
# The height model of Tarn Hollow is the one that its formulas draw.
#
#     check-ground.sh SOURCE-FOLDER
"$1/tools/draw-ground" | cmp - "$1/scenarios/tarn-hollow-heights.asc"
