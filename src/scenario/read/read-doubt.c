/* read-doubt.c - `doubt:`: uncertain numbers and their bounds
 *
 * Whether the paths lead somewhere, and whether both bounds fit there, shows when they are set
 * (scenario/file/scenario-check.c).
 */
#include "scenario/read/read-fields.h"
#include "scenario/read/read-sections.h"

#include <string.h>

static const char HINT[] = "the lowest and the highest value, as in [2.8, 3.6] or [4 dB, 8 dB]";

/* False with a fault. */
static bool
read_bounds(SpateReader *reader, const SpateYamlPair *pair, SpateDoubt *doubt)
{
    SpateCounted low, high;
    const SpateYaml *value = pair->value;
    if (value->kind != SPATE_YAML_LIST || value->items->len != 2) {
        spate_faults_note(reader->faults, value->place, HINT, "'%s' needs two bounds", pair->key);
        return false;
    }
    const SpateYaml *first = g_ptr_array_index(value->items, 0);
    const SpateYaml *last = g_ptr_array_index(value->items, 1);
    bool has_low = spate_read_counted(reader, first, pair->key, &low);
    if (!spate_read_counted(reader, last, pair->key, &high) || !has_low)
        return false;
    const char *wrong = strcmp(low.unit, high.unit) != 0 ? "the units differ"
                        : !(high.number > low.number)    ? "the upper bound must be above the lower"
                                                         : NULL;
    if (wrong != NULL) {
        spate_faults_note(reader->faults, last->place, HINT, "%s", wrong);
        return false;
    }
    doubt->low = low.number;
    doubt->high = high.number;
    doubt->unit = g_strdup(high.unit);
    return true;
}

/* What a run is, and what is asked of it, has to be said. */
static bool
can_be_in_doubt(const char *path)
{
    static const char *const KNOWN[] = {"run", "seed", "expect", "title", "summary", NULL};
    g_autofree char *top = g_strndup(path, strcspn(path, "."));
    return spate_path_is_free(path) && !g_strv_contains(KNOWN, top);
}

static void
read_doubt(SpateReader *reader, const SpateYamlPair *pair, GArray *doubts)
{
    SpateDoubt doubt = {.place = pair->key_place};
    if (!can_be_in_doubt(pair->key)) {
        spate_faults_note(reader->faults, pair->key_place,
                          "as in bearers.valley.propagation.exponent",
                          "'%s' cannot be an uncertain input", pair->key);
        return;
    }
    if (!read_bounds(reader, pair, &doubt))
        return;
    g_array_append_val(doubts, doubt);
    g_array_index(doubts, SpateDoubt, doubts->len - 1).path = g_strdup(pair->key);
}

void
spate_read_doubts(SpateReader *reader, const SpateYamlPair *pair)
{
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_MAP, pair->key))
        return;
    const GArray *pairs = pair->value->pairs;
    if (pairs->len > SPATE_MOST_DOUBTS) {
        spate_faults_note(reader->faults, pair->value->place,
                          "at most " G_STRINGIFY(SPATE_MOST_DOUBTS),
                          "there are too many uncertain inputs");
        return;
    }
    g_autoptr(GArray) doubts = g_array_new(FALSE, FALSE, sizeof(SpateDoubt));
    for (guint i = 0; i < pairs->len; i++)
        read_doubt(reader, &g_array_index(pairs, SpateYamlPair, i), doubts);
    gsize n_doubts = 0;
    reader->scenario->doubts = g_array_steal(doubts, &n_doubts);
    reader->scenario->n_doubts = (uint32_t)n_doubts;
}
