/* scenario-file.c - from a text to scenarios: settings, variants */
#include "scenario/file/scenario-file.h"
#include "scenario/read/read-bytes.h"
#include "scenario/text/yaml-flow.h"

#include <errno.h>
#include <string.h>

void
spate_scenario_file_free(SpateScenarioFile *file)
{
    if (file == NULL || !g_atomic_int_dec_and_test(&file->n_references))
        return;
    spate_settings_clear(&file->settings);
    spate_yaml_free(file->root);
    spate_yaml_free(file->bare);
    spate_tables_free(file->tables);
    spate_scenario_free(file->base);
    g_clear_pointer(&file->variants, g_ptr_array_unref);
    g_free(file->name);
    g_free(file->text);
    g_free(file->sha256);
    g_free(file);
}

/* ---- reading --------------------------------------------------------------------------------- */

static gint n_files; /* atomic: read so far */

/* Tables are looked for in the folder; NULL: the current one. */
static SpateScenarioFile *
parse_in(const char *folder, const char *name, const char *text, size_t length,
         const SpateSetting *settings, size_t n_settings, GError **error)
{
    g_autoptr(SpateScenarioFile) file = g_new0(SpateScenarioFile, 1);
    file->n_references = 1;
    file->serial = g_atomic_int_add(&n_files, 1);
    file->name = g_strdup(name);
    file->text = g_strndup(text, length);
    file->sha256 = g_compute_checksum_for_data(G_CHECKSUM_SHA256, (const guchar *)text, length);
    spate_settings_init(&file->settings, settings, n_settings, "--set", false);
    file->tables = spate_tables_new(folder, (int)n_settings + 3);
    g_autoptr(SpateFaults) faults = spate_scenario_file_new_faults(file);
    file->root = spate_yaml_parse(text, length, 0, faults);
    spate_settings_read(&file->settings, 1, faults);
    if (file->root != NULL) {
        file->bare = spate_yaml_copy_without(file->root, "sweep");
        spate_file_check(file, faults);
    }
    if (spate_faults_raise(faults, error))
        return NULL;
    const SpateYaml *variants = spate_yaml_get(file->root, "variants");
    file->variants = g_ptr_array_new_with_free_func(g_free);
    for (guint i = 0; variants != NULL && i < variants->pairs->len; i++)
        g_ptr_array_add(file->variants,
                        g_strdup(g_array_index(variants->pairs, SpateYamlPair, i).key));
    g_ptr_array_add(file->variants, NULL);
    g_autofree char *text_sha256 = file->sha256;
    file->sha256 = spate_tables_sha256(file->tables, text_sha256);
    return g_steal_pointer(&file);
}

SpateScenarioFile *
spate_scenario_file_parse(const char *name, const char *text, size_t length,
                          const SpateSetting *settings, size_t n_settings, GError **error)
{
    return parse_in(NULL, name, text, length, settings, n_settings, error);
}

SpateScenarioFile *
spate_scenario_file_read(const char *path, const SpateSetting *settings, size_t n_settings,
                         GError **error)
{
    bool is_input = strcmp(path, "-") == 0;
    const char *name = is_input ? "standard input" : path;
    g_autoptr(GByteArray) text = spate_read_file(path, SPATE_YAML_MAX_BYTES);
    if (text == NULL) {
        g_set_error(error, SPATE_SCENARIO_ERROR, SPATE_SCENARIO_ERROR_UNREADABLE,
                    "%s: cannot be read: %s", name, g_strerror(errno));
        return NULL;
    }
    bool is_here = is_input || strchr(path, G_DIR_SEPARATOR) == NULL;
    g_autofree char *folder = is_here ? NULL : g_path_get_dirname(path);
    return parse_in(folder, name, (const char *)text->data, text->len, settings, n_settings, error);
}

const char *const *
spate_scenario_file_variants(const SpateScenarioFile *file)
{
    return (const char *const *)file->variants->pdata;
}

const char *
spate_scenario_file_text(const SpateScenarioFile *file)
{
    return file->text;
}

char *
spate_scenario_file_sha256(const SpateScenarioFile *file)
{
    g_autofree char *sum = g_compute_checksum_for_string(G_CHECKSUM_SHA256, file->text, -1);
    return spate_tables_sha256(file->tables, sum);
}

/* NULL for the base, and with an error. */
static const SpateYamlPair *
find_variant(const SpateScenarioFile *file, const char *name, GError **error)
{
    if (name == NULL || strcmp(name, "base") == 0)
        return NULL;
    const SpateYamlPair *variant = spate_yaml_pair(spate_yaml_get(file->root, "variants"), name);
    if (variant != NULL)
        return variant;
    const char *near = spate_nearest_word(name, spate_scenario_file_variants(file));
    g_set_error(error, SPATE_SCENARIO_ERROR, SPATE_SCENARIO_ERROR_BAD,
                "%s: there is no variant '%s'%s%s%s", file->name, name,
                near != NULL ? "\ndid you mean '" : "", near != NULL ? near : "",
                near != NULL ? "'?" : "");
    return NULL;
}

/* NULL with a fault. */
static SpateYaml *
parse_rules(const SpateScenarioFile *file, const char *text, SpateFaults *faults)
{
    g_autoptr(SpateYaml) rules =
        spate_yaml_parse(text, strlen(text), (int)file->settings.n + 2, faults);
    if (rules == NULL || rules->kind == SPATE_YAML_MAP)
        return g_steal_pointer(&rules);
    spate_faults_note(faults, rules->place, "as in nodes.soil.count: 80",
                      "this must be a map with paths as keys");
    return NULL;
}

SpateScenario *
spate_scenario_try(const SpateScenarioFile *file, const SpateTrial *trial, GError **error)
{
    GError *missing = NULL;
    SpateFileChange change = {.variant = find_variant(file, trial->variant, &missing),
                              .has_settings = true};
    if (missing != NULL) {
        g_propagate_error(error, missing);
        return NULL;
    }
    uint64_t work = 0;
    g_auto(SpateSettings) more = {0};
    spate_settings_init(&more, trial->settings, trial->n_settings,
                        trial->name != NULL ? trial->name : "what is tried", true);
    change.more = &more;
    g_autoptr(SpateFaults) faults = spate_file_new_faults(file, &more, trial->rules);
    spate_settings_read(&more, (int)file->settings.n + 1, faults);
    g_autoptr(SpateYaml) rules =
        trial->rules != NULL ? parse_rules(file, trial->rules, faults) : NULL;
    change.rules = rules;
    change.rules_of = g_strcmp0(trial->rules_of, "base") == 0 ? NULL : trial->rules_of;
    if (change.variant != NULL) {
        g_autofree char *context = spate_file_context(change.variant);
        spate_faults_set_context(faults, context);
    }
    g_autoptr(SpateScenario) scenario = spate_file_build(file, &change, faults, &work);
    if (spate_faults_raise(faults, error))
        return NULL;
    scenario->later = g_steal_pointer(&faults);
    spate_file_mute(scenario, &trial->mute);
    return g_steal_pointer(&scenario);
}

SpateScenario *
spate_scenario_new(const SpateScenarioFile *file, const char *variant, GError **error)
{
    const SpateTrial as_written = {.variant = variant};
    return spate_scenario_try(file, &as_written, error);
}

char **
spate_scenario_file_items(const SpateScenarioFile *file, const char *variant, const char *const *at)
{
    const SpateFileChange change = {.has_settings = true,
                                    .variant = find_variant(file, variant, NULL)};
    g_autoptr(SpateFaults) faults = spate_scenario_file_new_faults(file);
    g_autoptr(SpateYaml) root = spate_file_changed_tree(file, &change, faults);
    const SpateYaml *list = root;
    for (size_t i = 0; list != NULL && at[i] != NULL; i++)
        list = spate_yaml_get(list, at[i]);
    GPtrArray *items = g_ptr_array_new();
    for (guint i = 0; list != NULL && list->kind == SPATE_YAML_LIST && i < list->items->len; i++) {
        GString *text = g_string_new(NULL);
        spate_yaml_append_flow(text, g_ptr_array_index(list->items, i));
        g_ptr_array_add(items, g_string_free(text, FALSE));
    }
    g_ptr_array_add(items, NULL);
    return (char **)g_ptr_array_free(items, FALSE);
}
