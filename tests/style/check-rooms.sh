#!/bin/sh
# A lower room of src/ never includes a header of a higher one; nor does a lower folder of a room one
# of a higher folder.
#
#     check-rooms.sh SOURCE-FOLDER
set -u
cd "$1/src" || exit 1

# Lowest first.  The public header is between report/ and lib/.  A room with folders is named by each
# of them, and by itself for the files that are in none.  All rooms say what happens in a run in the
# same words, those of spate/event.h.
order="core document radio ground propagation channel rules mesh bridge traffic measure
    scenario/text scenario scenario/read scenario/file scenario/world scenario/lint
    study/run study/watch study study/explain study/judge study/advise study/coverage study/detail study/sweep study/fit
    report/words report report/result report/table report/log report/plot report/check
    report/advise report/sweep report/fit report/coverage report/profile report/privacy report/page
    spate lib cli"
failed=0
# shellcheck disable=SC2086,SC2116 # words, on one line
known=$(echo $order)
allowed=
for folder in $order; do
    allowed="$allowed $folder"
    for file in "$folder"/*.c "$folder"/*.h; do
        [ -f "$file" ] || continue
        # shellcheck disable=SC2013 # names of headers are words
        for header in $(sed -n 's/^#include "\([^"]*\)".*/\1/p' "$file"); do
            case "$header" in
            spate/event.h) continue ;;
            */*) ;;
            *) continue ;; # made by the build, beside its source
            esac
            case " $allowed " in
            *" ${header%/*} "*) ;;
            *)
                echo "$file includes $header, of a higher room"
                failed=1
                ;;
            esac
        done
    done
done

# A folder that the order forgets would not be checked.
for folder in $(find . -name '*.c' -o -name '*.h' | sed 's|^\./||; s|/[^/]*$||' | sort -u); do
    case " $known " in
    *" $folder "*) ;;
    *)
        echo "src/$folder is in no place of the order"
        failed=1
        ;;
    esac
done
exit $failed
