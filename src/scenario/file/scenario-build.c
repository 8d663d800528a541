/* scenario-build.c - one scenario from a file: what is changed, what is drawn */
#include "scenario/file/scenario-file.h"

#include <string.h>

SpateFaults *
spate_file_new_faults(const SpateScenarioFile *file, const SpateSettings *more, const char *rules)
{
    SpateFaults *faults = spate_faults_new();
    spate_faults_add_text(faults, file->name, file->text);
    spate_settings_add_texts(&file->settings, faults);
    if (more != NULL)
        spate_settings_add_texts(more, faults);
    else
        spate_faults_add_text(faults, "", "");
    spate_faults_add_text(faults, "the rules tried", rules != NULL ? rules : "");
    spate_tables_add_texts(file->tables, faults);
    return faults;
}

SpateFaults *
spate_scenario_file_new_faults(const SpateScenarioFile *file)
{
    return spate_file_new_faults(file, NULL, NULL);
}

char *
spate_file_context(const SpateYamlPair *variant)
{
    return g_strdup_printf("in variant '%s'", variant->key);
}

/* Rules come last in the variant that they belong to.  Those of the base are in the base of all
 * others too, before their own values. */
SpateYaml *
spate_file_changed_tree(const SpateScenarioFile *file, const SpateFileChange *change,
                        SpateFaults *faults)
{
    /* What a sweep or a doubt tries, or a point sets, changes nothing of the sweep: its tree needs
     * no list of all values, or each would cost as much as all of them. */
    bool is_point = change->path != NULL || (change->more != NULL && change->more->n > 0);
    SpateYaml *root = spate_yaml_copy(is_point ? file->bare : file->root);
    const char *variant = change->variant != NULL ? change->variant->key : NULL;
    bool is_own = g_strcmp0(variant, change->rules_of) == 0;
    if (change->rules != NULL && change->rules_of == NULL && !is_own)
        spate_change_by_set(root, change->rules, faults);
    if (change->variant != NULL)
        spate_change_by_variant(root, change->variant, faults);
    if (change->has_settings)
        spate_change_by_settings(root, &file->settings, faults);
    if (change->rules != NULL && is_own)
        spate_change_by_set(root, change->rules, faults);
    if (change->more != NULL)
        spate_change_by_settings(root, change->more, faults);
    if (change->path != NULL)
        spate_change(root, change->path, change->place, change->value, faults);
    return root;
}

/* ---- uncertain inputs ------------------------------------------------------------------------ */

static bool
set_covers(const SpateYaml *set, const char *path)
{
    for (guint i = 0; set != NULL && set->kind == SPATE_YAML_MAP && i < set->pairs->len; i++)
        if (spate_change_covers(g_array_index(set->pairs, SpateYamlPair, i).key, path))
            return true;
    return false;
}

static bool
settings_cover(const SpateSettings *settings, const char *path)
{
    for (size_t i = 0; i < settings->n; i++)
        if (spate_change_covers(settings->all[i].path, path))
            return true;
    return false;
}

/* Whoever says what it is has no doubt about it. */
static bool
is_fixed(const SpateScenarioFile *file, const SpateFileChange *change, const char *path)
{
    return (change->variant != NULL &&
            set_covers(spate_yaml_get(change->variant->value, "set"), path)) ||
           (change->has_settings && settings_cover(&file->settings, path)) ||
           set_covers(change->rules, path) ||
           (change->more != NULL && settings_cover(change->more, path)) ||
           (change->path != NULL && spate_change_covers(change->path, path));
}

static SpateScenario *
read_tree(const SpateScenarioFile *file, const SpateYaml *root, bool builds_sites,
          SpateFaults *faults, uint64_t *work)
{
    const SpateReadBeside beside = {
        .tables = file->tables, .base = file->base, .builds_sites = builds_sites};
    SpateScenario *scenario = spate_read_scenario(root, &beside, faults, work);
    if (scenario != NULL) {
        scenario->name = g_strdup(file->name);
        scenario->sha256 = g_strdup(file->sha256);
    }
    return scenario;
}

/* ---- what links depend on -------------------------------------------------------------------- */

static void
add_text(GChecksum *sum, const char *text)
{
    g_checksum_update(sum, (const guchar *)text, (gssize)strlen(text) + 1);
}

static void
add_tree(GChecksum *sum, const SpateYaml *node)
{
    switch (node->kind) {
    case SPATE_YAML_SCALAR:
        add_text(sum, node->quoted ? "'" : node->is_cell ? "|" : ".");
        add_text(sum, node->text);
        break;
    case SPATE_YAML_LIST:
        for (guint i = 0; i < node->items->len; i++)
            add_tree(sum, g_ptr_array_index(node->items, i));
        add_text(sum, "]");
        break;
    case SPATE_YAML_MAP:
        for (guint i = 0; i < node->pairs->len; i++) {
            const SpateYamlPair *pair = &g_array_index(node->pairs, SpateYamlPair, i);
            add_text(sum, pair->key);
            add_tree(sum, pair->value);
        }
        add_text(sum, "}");
        break;
    }
}

/* All but the sections that say what is sent and how it is sent on.  Two scenarios may differ in
 * what is added and have the same links; never the other way round.  Tables are in it by their
 * names, which stand for other tables in another folder: so no two files have the same sum. */
static char *
sum_of_links(const SpateScenarioFile *file, const SpateYaml *root, bool builds_sites)
{
    static const char *const NOT_OF_LINKS[] = {
        "title",    "summary", "flooding", "priority", "bridges", "traffic", "outages",
        "variants", "expect",  "size",     "sweep",    "doubt",   NULL};
    g_autoptr(GChecksum) sum = g_checksum_new(G_CHECKSUM_SHA256);
    g_autofree char *serial = g_strdup_printf("%d", file->serial);
    add_text(sum, serial);
    add_text(sum, builds_sites ? "built" : "");
    for (guint i = 0; i < root->pairs->len; i++) {
        const SpateYamlPair *pair = &g_array_index(root->pairs, SpateYamlPair, i);
        if (g_strv_contains(NOT_OF_LINKS, pair->key))
            continue;
        add_text(sum, pair->key);
        add_tree(sum, pair->value);
    }
    return g_strdup(g_checksum_get_string(sum));
}

SpateScenario *
spate_file_build(const SpateScenarioFile *file, const SpateFileChange *change, SpateFaults *faults,
                 uint64_t *work)
{
    g_autoptr(SpateYaml) root = spate_file_changed_tree(file, change, faults);
    *work += spate_yaml_extent(root).n_nodes;
    SpateScenario *scenario = read_tree(file, root, change->builds_sites, faults, work);
    if (scenario == NULL)
        return NULL;
    scenario->links_sha256 = sum_of_links(file, root, change->builds_sites);
    scenario->variant = g_strdup(change->variant != NULL ? change->variant->key : "base");
    for (uint32_t i = 0; i < scenario->n_doubts; i++) {
        scenario->doubts[i].is_whole = file->is_whole[i];
        scenario->doubts[i].is_fixed = is_fixed(file, change, scenario->doubts[i].path);
    }
    /* Keeps the tree if there is something to draw. */
    if (spate_scenario_is_in_doubt(scenario)) {
        scenario->in_doubt = g_steal_pointer(&root);
        scenario->file = (SpateScenarioFile *)(uintptr_t)file;
        g_atomic_int_inc(&scenario->file->n_references);
    }
    return scenario;
}

/* ---- drawing anew ---------------------------------------------------------------------------- */

bool
spate_scenario_is_in_doubt(const SpateScenario *scenario)
{
    for (uint32_t i = 0; i < scenario->n_doubts; i++)
        if (!scenario->doubts[i].is_fixed)
            return true;
    return false;
}

void
spate_file_settle(SpateScenario *scenario)
{
    for (uint32_t i = 0; i < scenario->n_doubts; i++)
        scenario->doubts[i].is_fixed = true;
    g_clear_pointer(&scenario->in_doubt, spate_yaml_free);
    g_clear_pointer(&scenario->file, spate_scenario_file_free);
}

static SpateScenario *
read_drawn(const SpateScenario *scenario, const SpateSetting *draws, size_t n, const char *name,
           GError **error)
{
    uint64_t work = 0;
    g_auto(SpateSettings) settings = {0};
    g_autoptr(SpateFaults) faults = spate_faults_new_like(scenario->later);
    spate_settings_init(&settings, draws, n, name, true);
    int origin = spate_settings_add_texts(&settings, faults);
    spate_settings_read(&settings, origin, faults);
    g_autoptr(SpateYaml) root = spate_yaml_copy(scenario->in_doubt);
    spate_change_by_settings(root, &settings, faults);
    g_autoptr(SpateScenario) drawn = read_tree(scenario->file, root, false, faults, &work);
    if (spate_faults_raise(faults, error))
        return NULL;
    drawn->later = g_steal_pointer(&faults);
    return g_steal_pointer(&drawn);
}

SpateScenario *
spate_scenario_redraw(const SpateScenario *scenario, uint32_t replication, GError **error)
{
    g_assert(scenario->in_doubt != NULL);
    SpateSetting draws[SPATE_MOST_DOUBTS];
    char *texts[SPATE_MOST_DOUBTS];
    size_t n = 0;
    for (uint32_t i = 0; i < scenario->n_doubts; i++) {
        const SpateDoubt *doubt = &scenario->doubts[i];
        if (doubt->is_fixed)
            continue;
        double value = spate_doubt_value(doubt, scenario->seed, replication);
        texts[n] = spate_doubt_text(doubt, value);
        draws[n] = (SpateSetting){doubt->path, texts[n]};
        n++;
    }
    g_autofree char *name = g_strdup_printf("what replication %u draws", replication + 1);
    SpateScenario *drawn = read_drawn(scenario, draws, n, name, error);
    for (size_t i = 0; i < n; i++)
        g_free(texts[i]);
    if (drawn == NULL)
        return NULL;
    drawn->seed = scenario->seed;
    spate_file_settle(drawn);
    spate_file_mute(drawn, &scenario->mute);
    return drawn;
}
