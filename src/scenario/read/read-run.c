/* read-run.c - the top of a scenario file, `run:` and `variants:` */
#include "core/time.h"
#include "scenario/read/read-fields.h"
#include "scenario/read/read-names.h"
#include "scenario/read/read-sections.h"
#include "scenario/text/quantity.h"

#include <math.h>
#include <string.h>

#define FORMAT "1"

/* ---- run ------------------------------------------------------------------------------------- */

/* "As many as the verdicts need." */
#define MOST_REPLICATIONS 1e6
static const SpateField REPLICATIONS_FIELDS[] = {
    {SPATE_WHOLE("at-least", SpateScenario, replications, COUNT, 2, MOST_REPLICATIONS),
     .required = true},
    {SPATE_WHOLE("at-most", SpateScenario, replications_at_most, COUNT, 2, MOST_REPLICATIONS),
     .required = true},
};
static const SpateTable REPLICATIONS = SPATE_TABLE("replications", REPLICATIONS_FIELDS, NULL);

static void
read_replications(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair,
                  void *into)
{
    SpateScenario *scenario = into;
    size_t before = spate_faults_noted(reader->faults);
    if (pair->value->kind != SPATE_YAML_MAP) {
        spate_read_whole(reader, field, pair, into);
        scenario->replications_at_most = scenario->replications;
        return;
    }
    spate_read_map(reader, &REPLICATIONS, 0, pair->key_place, pair->value, into);
    if (!spate_faults_since(reader, before) &&
        scenario->replications_at_most < scenario->replications)
        spate_faults_note(reader->faults, spate_yaml_pair(pair->value, "at-most")->value->place,
                          "not less than 'at-least'", "no value lies between these bounds");
}

static const SpateField RUN_FIELDS[] = {
    {SPATE_TIME("duration", SpateScenario, duration_ns, 1e6, 3660.0 * 24 * 3600e9),
     .required = true},
    {SPATE_TIME("warm-up", SpateScenario, warm_up_ns, 0, 3660.0 * 24 * 3600e9)},
    {SPATE_TIME("cool-down", SpateScenario, cool_down_ns, 0, 3660.0 * 24 * 3600e9)},
    {SPATE_NUMBER("move-step", SpateScenario, move_step_m, LENGTH, 0.1, 100e3)},
    {SPATE_KEY("replications", read_replications, SpateScenario, replications),
     SPATE_WITHIN(COUNT, 1, MOST_REPLICATIONS)},
};
static const SpateTable RUN = SPATE_TABLE("run", RUN_FIELDS, NULL);

static void
read_run(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair, void *into)
{
    SpateScenario *scenario = into;
    size_t before = spate_faults_noted(reader->faults);
    scenario->run_place = pair->key_place;
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_MAP, pair->key))
        return;
    spate_read_map(reader, &RUN, 0, pair->key_place, pair->value, scenario);
    if (spate_faults_since(reader, before) ||
        scenario->warm_up_ns + scenario->cool_down_ns < scenario->duration_ns)
        return;
    g_autofree char *warm_up = spate_quantity_text((double)scenario->warm_up_ns, SPATE_DIM_TIME);
    g_autofree char *cool_down =
        spate_quantity_text((double)scenario->cool_down_ns, SPATE_DIM_TIME);
    g_autofree char *hint = g_strdup_printf(
        "longer than 'warm-up' (%s) and 'cool-down' (%s) together", warm_up, cool_down);
    spate_faults_note(reader->faults, spate_yaml_pair(pair->value, "duration")->value->place, hint,
                      "'duration' leaves no time in which messages count");
}

/* ---- variants -------------------------------------------------------------------------------- */

static const SpateField VARIANT_FIELDS[] = {
    {SPATE_TEXT("summary", SpateScenarioVariant, summary)},
    {.key = "set", .read = spate_read_elsewhere, .required = true},
};
static const SpateTable VARIANT = SPATE_TABLE("a variant", VARIANT_FIELDS, NULL);

void
spate_read_variants(SpateReader *reader, const SpateYamlPair *pair)
{
    SpateScenario *scenario = reader->scenario;
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_MAP, pair->key))
        return;
    guint n = pair->value->pairs->len;
    if (n > SPATE_MAX_VARIANTS) {
        spate_faults_note(reader->faults, pair->key_place, "at most 100; 'sweep' runs a grid",
                          "there are %u variants", n);
        return;
    }
    scenario->variants = g_new0(SpateScenarioVariant, n + 1u);
    scenario->n_variants = n;
    for (guint i = 0; i < n; i++) {
        const SpateYamlPair *entry = &g_array_index(pair->value->pairs, SpateYamlPair, i);
        SpateScenarioVariant *variant = &scenario->variants[i];
        variant->name = g_strdup(entry->key);
        variant->place = entry->key_place;
        if (spate_is_name(reader, entry->key, entry->key_place) && strcmp(entry->key, "base") == 0)
            spate_faults_note(reader->faults, entry->key_place, "choose another name",
                              "'base' is the scenario without a variant");
        spate_read_map(reader, &VARIANT, 0, entry->key_place, entry->value, variant);
        const SpateYamlPair *set = spate_yaml_pair(entry->value, "set");
        if (set != NULL)
            spate_is_kind(reader, set->value, SPATE_YAML_MAP, set->key);
    }
}

/* ---- the top --------------------------------------------------------------------------------- */

static void
read_seed(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair, void *into)
{
    int64_t seed;
    if (spate_is_kind(reader, pair->value, SPATE_YAML_SCALAR, pair->key) &&
        spate_quantity_read_int(pair->value, SPATE_DIM_COUNT, 0, SPATE_LARGEST_SEED, &seed,
                                reader->faults))
        reader->scenario->seed = (uint64_t)seed;
}

/* What refers to names is read elsewhere, once they are known. */
static const SpateField TOP_FIELDS[] = {
    {.key = "spate", .read = spate_read_elsewhere},
    {SPATE_TEXT("title", SpateScenario, title)},
    {SPATE_TEXT("summary", SpateScenario, summary)},
    {.key = "seed", .read = read_seed},
    {.key = "run", .read = read_run, .required = true},
    {.key = "bearers", .read = spate_read_elsewhere, .required = true},
    {.key = "flooding", .read = spate_read_elsewhere},
    {.key = "priority", .read = spate_read_elsewhere},
    {.key = "nodes", .read = spate_read_elsewhere, .required = true},
    {.key = "groups", .read = spate_read_elsewhere},
    {.key = "links", .read = spate_read_elsewhere},
    {.key = "bridges", .read = spate_read_elsewhere},
    {.key = "traffic", .read = spate_read_elsewhere},
    {.key = "ambient", .read = spate_read_elsewhere},
    {.key = "outages", .read = spate_read_elsewhere},
    {.key = "terrain", .read = spate_read_elsewhere},
    {.key = "variants", .read = spate_read_elsewhere},
    {.key = "expect", .read = spate_read_elsewhere},
    {.key = "size", .read = spate_read_elsewhere},
    {.key = "sweep", .read = spate_read_elsewhere},
    {.key = "doubt", .read = spate_read_elsewhere},
};
static const SpateTable TOP = SPATE_TABLE("a scenario", TOP_FIELDS, NULL);

bool
spate_scenario_has_path(const char *path)
{
    g_autofree char *key = g_strndup(path, strcspn(path, "."));
    for (size_t i = 0; i < G_N_ELEMENTS(TOP_FIELDS); i++)
        if (strcmp(TOP_FIELDS[i].key, key) == 0)
            return true;
    return false;
}

/* A file of another format is not read further: its faults would be none of ours. */
static bool
is_our_format(const SpateYaml *root, SpateFaults *faults)
{
    const SpateYamlPair *format = spate_yaml_pair(root, "spate");
    if (root->kind != SPATE_YAML_MAP) {
        spate_faults_note(faults, root->place, "begin it with 'spate: 1'",
                          "a scenario is a map of keys");
        return false;
    }
    /* What spate writes as JSON says so in its key `format`, and is YAML too. */
    const SpateYamlPair *written = spate_yaml_pair(root, "format");
    if (format == NULL && written != NULL && written->value->kind == SPATE_YAML_SCALAR &&
        g_str_has_prefix(written->value->text, "spate-")) {
        spate_faults_note(faults, root->place,
                          "report shows a result, check --against compares with one",
                          "this is a result, not a scenario");
        return false;
    }
    if (format == NULL)
        spate_faults_note(faults, root->place, "this program reads format 1",
                          "'spate: 1' is missing");
    if (format == NULL || spate_is_word(format->value, FORMAT))
        return true;
    spate_faults_note(faults, format->value->place, "spate: 1", "this program reads format 1");
    return false;
}

static void
read_if_given(SpateReader *reader, const SpateYaml *root, const char *key,
              void (*read)(SpateReader *, const SpateYamlPair *))
{
    const SpateYamlPair *pair = spate_yaml_pair(root, key);
    if (pair != NULL)
        read(reader, pair);
}

static void
read_top_flooding(SpateReader *reader, const SpateYamlPair *pair)
{
    spate_read_flooding(reader, pair, &reader->flooding);
}

static bool
has_entries(const SpateYaml *root, const char *key)
{
    const SpateYaml *map = spate_yaml_get(root, key);
    return map != NULL && map->kind == SPATE_YAML_MAP && map->pairs->len > 0;
}

static bool
is_no_map(const SpateYaml *root, const char *key)
{
    const SpateYaml *value = spate_yaml_get(root, key);
    return value != NULL && value->kind != SPATE_YAML_MAP;
}

/* A class is what an entry of `traffic:` says. */
static bool
hides_classes(const SpateYaml *traffic)
{
    for (guint i = 0; traffic != NULL && traffic->pairs != NULL && i < traffic->pairs->len; i++) {
        const SpateYaml *entry = g_array_index(traffic->pairs, SpateYamlPair, i).value;
        const SpateYaml *name = spate_yaml_get(entry, "class");
        if (entry->kind != SPATE_YAML_MAP || (name != NULL && name->kind != SPATE_YAML_SCALAR))
            return true;
    }
    return false;
}

/* Sections that cannot be read are the fault, not what refers to them. */
static void
mark_partial_names(SpateReader *reader, const SpateYaml *root)
{
    reader->bearers.is_partial = !has_entries(root, "bearers");
    reader->nodes.is_partial = !has_entries(root, "nodes");
    reader->groups.is_partial = reader->nodes.is_partial || is_no_map(root, "groups");
    reader->traffics.is_partial = is_no_map(root, "traffic");
    reader->classes.is_partial =
        reader->traffics.is_partial || hides_classes(spate_yaml_get(root, "traffic"));
    reader->bridges.is_partial = is_no_map(root, "bridges");
}

/* Names first, then what refers to them. */
static void
read_sections(SpateReader *reader, const SpateYaml *root)
{
    const SpateYamlPair *nodes = spate_yaml_pair(root, "nodes");
    bool has_nodes = nodes != NULL && nodes->value->kind == SPATE_YAML_MAP;
    mark_partial_names(reader, root);
    read_if_given(reader, root, "bearers", spate_read_bearers);
    read_if_given(reader, root, "flooding", read_top_flooding);
    read_if_given(reader, root, "nodes", spate_read_nodes);
    spate_read_groups(reader, has_nodes ? nodes->value : NULL, spate_yaml_pair(root, "groups"));
    read_if_given(reader, root, "terrain", spate_read_terrain);
    read_if_given(reader, root, "bearers", spate_read_propagations);
    read_if_given(reader, root, "links", spate_read_links);
    spate_read_traffics(reader, spate_yaml_pair(root, "traffic"),
                        spate_yaml_pair(root, "priority"));
    spate_read_relay_rules(reader, has_nodes ? nodes->value : NULL,
                           spate_yaml_pair(root, "flooding"));
    read_if_given(reader, root, "bridges", spate_read_bridges);
    read_if_given(reader, root, "ambient", spate_read_ambient);
    read_if_given(reader, root, "outages", spate_read_outages);
    read_if_given(reader, root, "variants", spate_read_variants);
    read_if_given(reader, root, "expect", spate_read_expect);
    read_if_given(reader, root, "size", spate_read_size);
    read_if_given(reader, root, "sweep", spate_read_sweep);
    read_if_given(reader, root, "doubt", spate_read_doubts);
    spate_check_bounds(reader, root);
}

SpateScenario *
spate_read_scenario(const SpateYaml *root, const SpateReadBeside *beside, SpateFaults *faults,
                    uint64_t *work)
{
    if (!is_our_format(root, faults))
        return NULL;
    SpateScenario *scenario = g_new0(SpateScenario, 1);
    scenario->seed = 1;
    scenario->cool_down_ns = 60 * SPATE_NS_PER_S;
    scenario->move_step_m = 10;
    scenario->replications = scenario->replications_at_most = 1;
    scenario->placements = g_ptr_array_new_with_free_func((GDestroyNotify)spate_placement_free);
    scenario->ways = g_ptr_array_new_with_free_func(g_free);
    scenario->empty_tables = g_array_new(FALSE, FALSE, sizeof(SpatePlace));
    scenario->relay_rules = g_ptr_array_new_with_free_func((GDestroyNotify)g_array_unref);

    g_autoptr(GPtrArray) unread = g_ptr_array_new();
    SpateReader reader = {
        .faults = faults,
        .scenario = scenario,
        .tables = beside->tables,
        .base = beside->base,
        .builds_sites = beside->builds_sites,
        .flooding = {.policy = SPATE_FLOOD_CLASSIC, .p = NAN, .hop_limit = 8, .jitter_airtimes = 6},
        .unread = unread};

    SpateNames *const names[] = {&reader.bearers, &reader.nodes,    &reader.groups,
                                 &reader.classes, &reader.traffics, &reader.bridges};
    static const char *const whats[] = {"bearer", "node",    "node or group",
                                        "class",  "traffic", "bridge"};
    for (size_t i = 0; i < G_N_ELEMENTS(names); i++)
        spate_names_init(names[i], whats[i]);
    spate_read_map(&reader, &TOP, 0, root->place, root, scenario);
    read_sections(&reader, root);
    for (size_t i = 0; i < G_N_ELEMENTS(names); i++)
        spate_names_clear(names[i]);
    *work += reader.spent + 8 * (uint64_t)scenario->n_nodes + 32 * reader.n_rows;
    return scenario;
}
