/* read-propagation.c - `propagation:` of the bearers */
#include "scenario/read/read-fields.h"
#include "scenario/read/read-names.h"
#include "scenario/read/read-sections.h"

#include <math.h>

static const SpateWord MODELS[] = {{"free-space", SPATE_PATH_FREE_SPACE},
                                   {"log-distance", SPATE_PATH_LOG_DISTANCE},
                                   {"two-ray", SPATE_PATH_TWO_RAY},
                                   {"hata", SPATE_PATH_HATA},
                                   {"street-level", SPATE_PATH_STREET_LEVEL},
                                   {"terrain", SPATE_PATH_TERRAIN},
                                   {NULL}};
static const SpateWord AREAS[] = {{"urban-medium", SPATE_HATA_URBAN_MEDIUM},
                                  {"urban-large", SPATE_HATA_URBAN_LARGE},
                                  {"suburban", SPATE_HATA_SUBURBAN},
                                  {"open", SPATE_HATA_OPEN},
                                  {NULL}};
static const SpateWord ENVIRONMENTS[] = {
    {"urban", SPATE_STREET_URBAN}, {"suburban", SPATE_STREET_SUBURBAN}, {NULL}};
static const SpateWord REDRAWS[] = {{"each-replication", true}, {"once", false}, {NULL}};

/* 40 dB: beyond any town (common practice, no source); it bounds what shadowing can add up to. */
static const SpateField SHADOWING_FIELDS[] = {
    {SPATE_NUMBER("sigma", SpateShadowing, sigma_db, RATIO_DB, 0, 40), .required = true},
    {SPATE_NUMBER("shared", SpateShadowing, shared, SHARE, 0, 1)},
    {SPATE_EITHER("redraw", SpateShadowing, redraw, REDRAWS)},
    {SPATE_NUMBER("decorrelation", SpateShadowing, decorrelation_m, LENGTH, 0.1, 100e3)},
};
static const SpateTable SHADOWING = SPATE_TABLE("shadowing", SHADOWING_FIELDS, NULL);

static void
read_shadowing(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair, void *into)
{
    SpateShadowing *shadowing = spate_member(field, into);
    switch (pair->value->kind) {
    case SPATE_YAML_SCALAR:
        spate_quantity_read(pair->value, SPATE_DIM_RATIO_DB, (SpateRange){0, 40},
                            &shadowing->sigma_db, reader->faults);
        return;
    case SPATE_YAML_LIST:
    case SPATE_YAML_MAP:
        spate_read_map(reader, &SHADOWING, 0, pair->key_place, pair->value, shadowing);
        return;
    }
}

static const SpateField INTERCEPT_FIELDS[] = {
    {SPATE_NUMBER("at", SpatePathModel, intercept_at_m, LENGTH, 0.1, 100e3), .required = true},
    {SPATE_NUMBER("loss", SpatePathModel, intercept_loss_db, RATIO_DB, 0, 300), .required = true},
};
static const SpateTable INTERCEPT = SPATE_TABLE("intercept", INTERCEPT_FIELDS, NULL);

typedef struct {
    SpatePathModel model;
    SpateShadowing shadowing;
    int kind;
    const SpateYamlPair *between, *groups;
} Draft;

#define MODEL_FIELDS                                                                               \
    {SPATE_WORD("model", Draft, kind, MODELS), .required = true},                                  \
        {SPATE_NUMBER("exponent", Draft, model.exponent, NUMBER, 1, 10), .required = true,         \
         .only = 1u << SPATE_PATH_LOG_DISTANCE},                                                   \
        {SPATE_INNER("intercept", Draft, model, &INTERCEPT),                                       \
         .only = 1u << SPATE_PATH_LOG_DISTANCE},                                                   \
        {SPATE_WORD("area", Draft, model.area, AREAS), .only = 1u << SPATE_PATH_HATA},             \
        {SPATE_WORD("environment", Draft, model.environment, ENVIRONMENTS), .required = true,      \
         .only = 1u << SPATE_PATH_STREET_LEVEL},                                                   \
        {SPATE_NUMBER("location-share", Draft, model.location_share, SHARE, 0.01, 0.99),           \
         .only = 1u << SPATE_PATH_STREET_LEVEL},                                                   \
        {SPATE_NUMBER("extra-loss", Draft, model.extra_loss_db, RATIO_DB, -100, 300)},             \
    {                                                                                              \
        SPATE_KEY("shadowing", read_shadowing, Draft, shadowing)                                   \
    }

static const SpateField PROPAGATION_FIELDS[] = {
    MODEL_FIELDS,
    {SPATE_PAIR("between", Draft, between)},
};
static const SpateTable PROPAGATION = SPATE_TABLE("propagation", PROPAGATION_FIELDS, MODELS);

static const SpateField BETWEEN_FIELDS[] = {
    {SPATE_PAIR("groups", Draft, groups), .required = true},
    MODEL_FIELDS,
};
static const SpateTable BETWEEN = SPATE_TABLE("an entry of 'between'", BETWEEN_FIELDS, MODELS);

static const Draft DEFAULTS = {
    .model = {.kind = SPATE_PATH_FREE_SPACE,
              .intercept_at_m = 1,
              .intercept_loss_db = NAN,
              .area = SPATE_HATA_SUBURBAN,
              .location_share = 0.5},
    .shadowing = {.shared = 0.5, .redraw = true, .decorrelation_m = 50},
    .kind = SPATE_PATH_FREE_SPACE,
};

static bool
read_model(SpateReader *reader, const SpateTable *table, SpatePlace owner, const SpateYaml *map,
           Draft *draft)
{
    *draft = DEFAULTS;
    unsigned sort = spate_sort_of(map, "model", MODELS, -1);
    if (!spate_read_map(reader, table, sort, owner, map, draft))
        return false;
    draft->model.kind = (SpatePathModelKind)draft->kind;
    draft->model.terrain = reader->scenario->terrain;
    if (draft->kind == SPATE_PATH_TERRAIN && !reader->has_terrain)
        spate_faults_note(reader->faults, spate_yaml_pair(map, "model")->value->place,
                          "terrain: {elevation: FILE}, at the top of the file",
                          "the model 'terrain' needs a height model");
    return true;
}

static void
read_between_groups(SpateReader *reader, const SpateYamlPair *pair, SpateBetween *between)
{
    const SpateYaml *list = pair->value;
    if (!spate_is_kind(reader, list, SPATE_YAML_LIST, pair->key))
        return;
    if (list->items->len != 2) {
        spate_faults_note(reader->faults, list->place, "write it as groups: [A, B]",
                          "'groups' must name two groups, not %u", list->items->len);
        return;
    }
    between->members_a = spate_read_member_set(reader, g_ptr_array_index(list->items, 0), pair->key,
                                               SPATE_MEMBERS_NAMED);
    between->members_b = spate_read_member_set(reader, g_ptr_array_index(list->items, 1), pair->key,
                                               SPATE_MEMBERS_NAMED);
}

static void
read_between(SpateReader *reader, const SpateYamlPair *pair, SpatePropagation *propagation)
{
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_LIST, pair->key))
        return;
    GPtrArray *items = pair->value->items;
    propagation->between = g_new0(SpateBetween, items->len + 1);
    for (guint i = 0; i < items->len; i++) {
        const SpateYaml *item = g_ptr_array_index(items, i);
        Draft draft;
        if (!read_model(reader, &BETWEEN, item->place, item, &draft))
            continue;
        SpateBetween *between = &propagation->between[propagation->n_between++];
        between->model = draft.model;
        between->shadowing = draft.shadowing;
        if (draft.groups != NULL)
            read_between_groups(reader, draft.groups, between);
    }
}

void
spate_read_propagations(SpateReader *reader, const SpateYamlPair *pair)
{
    SpateScenario *scenario = reader->scenario;
    for (uint32_t i = 0; i < scenario->n_bearers; i++) {
        SpateScenarioBearer *bearer = &scenario->bearers[i];
        SpatePropagation *propagation = &bearer->propagation;
        Draft draft = DEFAULTS;
        const SpateYamlPair *entry = spate_yaml_pair(pair->value, bearer->name);
        const SpateYamlPair *given = spate_yaml_pair(entry->value, "propagation");
        bearer->propagation_is_given = given != NULL;
        if (given != NULL) {
            bearer->propagation_place = given->key_place;
            if (spate_is_kind(reader, given->value, SPATE_YAML_MAP, given->key))
                read_model(reader, &PROPAGATION, given->key_place, given->value, &draft);
        }
        propagation->model = draft.model;
        propagation->shadowing = draft.shadowing;
        if (draft.between != NULL)
            read_between(reader, draft.between, propagation);
    }
}
