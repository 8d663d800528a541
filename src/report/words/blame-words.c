/* blame-words.c - who is to blame for what is lost, in words */
#include "report/words/blame-words.h"

#include <glib.h>

const char *
spate_blame_word(SpateBlame blame)
{
    switch (blame) {
    case SPATE_BLAME_OWN_RADIO:
        return "own-radio";
    case SPATE_BLAME_NEIGHBOUR:
        return "neighbour";
    case SPATE_BLAME_MESH:
        return "mesh";
    case SPATE_BLAME_AMBIENT:
        return "ambient";
    }
    g_assert_not_reached();
}
