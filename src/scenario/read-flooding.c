/* read-flooding.c - `flooding:`, at the top and of a node */
#include "scenario/read-fields.h"
#include "scenario/read-sections.h"

#include <math.h>

static const SpateWord POLICIES[] = {{"classic", SPATE_FLOOD_CLASSIC},
                                     {"counter", SPATE_FLOOD_COUNTER},
                                     {"probability", SPATE_FLOOD_PROBABILITY},
                                     {"none", SPATE_FLOOD_NONE},
                                     {NULL}};

static const SpateField JITTER_FIELDS[] = {
    {.key = "at-most",
     .read = spate_read_number,
     .at = offsetof(SpateFlooding, jitter_airtimes),
     .dimension = SPATE_DIM_AIRTIMES,
     .least = 0,
     .most = 10000},
    {.key = "weakest-first", .read = spate_read_flag, .at = offsetof(SpateFlooding, weakest_first)},
};
static const SpateTable JITTER = SPATE_TABLE("jitter", JITTER_FIELDS, NULL);

static const SpateField DUPLICATES_FIELDS[] = {
    {.key = "entries",
     .read = spate_read_whole,
     .at = offsetof(SpateFlooding, duplicates_entries),
     .dimension = SPATE_DIM_COUNT,
     .least = 1,
     .most = 1e9,
     .word = "unbounded",
     .word_value = 0},
    {.key = "for",
     .read = spate_read_time,
     .at = offsetof(SpateFlooding, duplicates_for_ns),
     .dimension = SPATE_DIM_TIME,
     .least = 1e6,
     .most = 1e18,
     .word = "unbounded",
     .word_value = 0},
};
static const SpateTable DUPLICATES = SPATE_TABLE("duplicates", DUPLICATES_FIELDS, NULL);

/* An empty list says that there are none, and holds. */
static void
read_no_rules(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair, void *into)
{
    if (spate_is_kind(reader, pair->value, SPATE_YAML_LIST, pair->key) &&
        pair->value->items->len > 0)
        spate_faults_note(reader->faults, pair->key_place, NULL,
                          "'rules' of flooding are not supported yet");
}

/* What only one policy needs may stand beside another: a variant then changes the policy alone. */
static const SpateField FLOODING_FIELDS[] = {
    {.key = "policy",
     .read = spate_read_word,
     .at = offsetof(SpateFlooding, policy),
     .words = POLICIES},
    {.key = "copies",
     .read = spate_read_whole,
     .at = offsetof(SpateFlooding, copies),
     .dimension = SPATE_DIM_COUNT,
     .least = 1,
     .most = 1000},
    {.key = "p",
     .read = spate_read_number,
     .at = offsetof(SpateFlooding, p),
     .dimension = SPATE_DIM_SHARE,
     .least = 0,
     .most = 1},
    {.key = "hop-limit",
     .read = spate_read_whole,
     .at = offsetof(SpateFlooding, hop_limit),
     .dimension = SPATE_DIM_COUNT,
     .least = 1,
     .most = 65535},
    {.key = "jitter", .read = spate_read_inner, .at = 0, .table = &JITTER},
    {.key = "route-record",
     .read = spate_read_whole,
     .at = offsetof(SpateFlooding, route_record_bytes),
     .dimension = SPATE_DIM_SIZE,
     .least = 0,
     .most = 255},
    {.key = "duplicates", .read = spate_read_inner, .at = 0, .table = &DUPLICATES},
    {.key = "rules", .read = read_no_rules},
};
static const SpateTable FLOODING = SPATE_TABLE("flooding", FLOODING_FIELDS, NULL);

/* What is not given stays as it is: the defaults, or what the top says for a node. */
void
spate_read_flooding(SpateReader *reader, const SpateYamlPair *pair, SpateFlooding *flooding)
{
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_MAP, pair->key))
        return;
    size_t before = spate_faults_noted(reader->faults);
    spate_read_map(reader, &FLOODING, 0, pair->key_place, pair->value, flooding);
    if (spate_faults_since(reader, before))
        return;
    if (flooding->policy == SPATE_FLOOD_COUNTER && flooding->copies == 0)
        spate_faults_note(reader->faults, pair->key_place, "copies: 3, say",
                          "policy 'counter' needs 'copies'");
    if (flooding->policy == SPATE_FLOOD_PROBABILITY && isnan(flooding->p))
        spate_faults_note(reader->faults, pair->key_place, "p: 60 %, say",
                          "policy 'probability' needs 'p'");
}
