#!/bin/sh
# A lower room of src/ never includes a header of a higher one.
#
#     check-rooms.sh SOURCE-FOLDER
set -u
cd "$1/src" || exit 1

# The public header stands between report/ and lib/; what happens in a run (spate/event.h) is told in the
# same words to all rooms.
order="core document radio propagation channel rules mesh bridge traffic measure scenario study
    report spate lib cli"
failed=0
allowed=
for room in $order; do
    allowed="$allowed $room"
    [ -d "$room" ] || continue
    for file in "$room"/*.c "$room"/*.h; do
        [ -f "$file" ] || continue
        # shellcheck disable=SC2013 # names of headers are words
        for header in $(sed -n 's/^#include "\([^"]*\)".*/\1/p' "$file"); do
            from=${header%%/*}
            case "$header" in
            spate/event.h) continue ;;
            */*) ;;
            *) continue ;; # made by the build, beside its source
            esac
            case " $allowed " in
            *" $from "*) ;;
            *)
                echo "$file includes $header, of a higher room"
                failed=1
                ;;
            esac
        done
    done
done
exit $failed
