#!/bin/sh
# check-rules.sh SPATE SCENARIOS - the suite of rules, and the demo, hold what they say; in TAP
exec "$1" check --strict "$2"/rules/*.yaml "$2"/tarn-hollow.yaml
