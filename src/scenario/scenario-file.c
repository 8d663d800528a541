/* scenario-file.c - from a text to scenarios: settings, variants */
#include "scenario/read-bytes.h"
#include "scenario/read-sections.h"
#include "scenario/settings.h"
#include "scenario/yaml-flow.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <unistd.h>

struct SpateScenarioFile {
    char *name, *text, *sha256;
    SpateYaml *root;
    SpateSettings settings; /* of the command line */
    /* What is tried in the file's place; NULL: nothing. */
    char *pasted_text, *pasted_variant;
    SpateYaml *pasted;
    SpateTables *tables;
    SpateScenario *base; /* kept where it tells what measured levels mean; else NULL */
    GPtrArray *variants; /* names; ends with NULL */
};

void
spate_scenario_file_free(SpateScenarioFile *file)
{
    if (file == NULL)
        return;
    spate_settings_clear(&file->settings);
    g_free(file->pasted_text);
    g_free(file->pasted_variant);
    spate_yaml_free(file->pasted);
    spate_yaml_free(file->root);
    spate_tables_free(file->tables);
    spate_scenario_free(file->base);
    g_clear_pointer(&file->variants, g_ptr_array_unref);
    g_free(file->name);
    g_free(file->text);
    g_free(file->sha256);
    g_free(file);
}

/* The texts are the file, the settings of the command line, those of a point (empty without), what
 * is pasted (likewise), and the tables, whatever is found of these. */
static SpateFaults *
new_faults(const SpateScenarioFile *file, const SpateSettings *more)
{
    SpateFaults *faults = spate_faults_new();
    spate_faults_add_text(faults, file->name, file->text);
    spate_settings_add_texts(&file->settings, faults);
    if (more != NULL)
        spate_settings_add_texts(more, faults);
    else
        spate_faults_add_text(faults, "", "");
    spate_faults_add_text(faults, "what is pasted",
                          file->pasted_text != NULL ? file->pasted_text : "");
    spate_tables_add_texts(file->tables, faults);
    return faults;
}

SpateFaults *
spate_scenario_file_new_faults(const SpateScenarioFile *file)
{
    return new_faults(file, NULL);
}

bool
spate_path_is_free(const char *path)
{
    static const char *const fixed[] = {"spate", "variants", "size", "sweep", "doubt", NULL};
    const char *start = path[0] == '"' ? path + 1 : path;
    g_autofree char *top = g_strndup(start, strcspn(start, ".\""));
    return top[0] != '\0' && !g_strv_contains(fixed, top);
}

static void
note_no_name(const SpateYaml *map, const char *owner, const char *name, SpatePlace place,
             SpateFaults *faults)
{
    g_autoptr(GPtrArray) names = g_ptr_array_new_null_terminated(16, NULL, TRUE);
    for (guint i = 0; i < map->pairs->len; i++)
        g_ptr_array_add(names, g_array_index(map->pairs, SpateYamlPair, i).key);
    const char *near = names->len > 10000 || names->len == 0
                           ? NULL
                           : spate_nearest_word(name, (const char *const *)names->pdata);
    g_autofree char *hint = near != NULL ? g_strdup_printf("did you mean '%s'?", near) : NULL;
    spate_faults_note(faults, place, hint, "'%s' has no '%s'", owner, name);
}

/* Whether the names on the way to a key are there: a path may name a new key, but what it means by
 * "nodes.sail.count" is no new node.  False with a fault. */
static bool
has_names(const SpateYaml *root, const char *path, SpatePlace place, SpateFaults *faults)
{
    g_auto(GStrv) parts = g_strsplit(path, ".", 5);
    guint n = g_strv_length(parts);
    guint n_names =
        strcmp(parts[0], "bridges") == 0                                                        ? 2
        : g_strv_contains((const char *const[]){"bearers", "nodes", "traffic", NULL}, parts[0]) ? 1
                                                                                                : 0;
    const SpateYaml *map = spate_yaml_get(root, parts[0]);
    for (guint i = 1; i <= n_names && i + 1 < n && strchr(path, '"') == NULL; i++) {
        if (map == NULL || map->kind != SPATE_YAML_MAP)
            return true;
        const SpateYaml *named = spate_yaml_get(map, parts[i]);
        if (named == NULL) {
            note_no_name(map, parts[i - 1], parts[i], place, faults);
            return false;
        }
        map = named;
    }
    return true;
}

static void
apply(SpateYaml *root, const char *path, SpatePlace place, const SpateYaml *value,
      SpateFaults *faults)
{
    if (!has_names(root, path, place, faults))
        return;
    spate_yaml_set(root, path, place, spate_yaml_copy(value), faults);
}

/* Each path is looked for from the top. */
#define MAX_SET 1000

static void
apply_set(SpateYaml *root, const SpateYaml *set, SpateFaults *faults)
{
    for (guint i = 0; i < set->pairs->len; i++) {
        const SpateYamlPair *pair = &g_array_index(set->pairs, SpateYamlPair, i);
        if (spate_path_is_free(pair->key))
            apply(root, pair->key, pair->key_place, pair->value, faults);
        else
            spate_faults_note(faults, pair->key_place, "as in nodes.soil.count",
                              "a variant cannot set '%s'", pair->key);
    }
}

static void
apply_variant(SpateYaml *root, const SpateYamlPair *variant, SpateFaults *faults)
{
    const SpateYaml *set = spate_yaml_get(variant->value, "set");
    if (set == NULL || set->kind != SPATE_YAML_MAP)
        return;
    if (set->pairs->len > MAX_SET)
        spate_faults_note(faults, variant->key_place, "at most 1000",
                          "variant '%s' sets too many values", variant->key);
    else
        apply_set(root, set, faults);
}

/* A change to the base: a variant, settings, or one value of a sweep. */
typedef struct {
    const SpateYamlPair *variant; /* NULL: none */
    bool has_settings;            /* those of the command line come after the variant */
    const SpateSettings *more;    /* those of a point come last; NULL: none */
    const char *path;             /* NULL: none */
    SpatePlace place;
    const SpateYaml *value;
} Change;

/* Free with g_free(). */
static char *
context_of(const SpateYamlPair *variant)
{
    return g_strdup_printf("in variant '%s'", variant->key);
}

static void
apply_settings(SpateYaml *root, const SpateSettings *settings, SpateFaults *faults)
{
    for (size_t i = 0; i < settings->n; i++) {
        const SpateGivenSetting *setting = &settings->all[i];
        if (setting->value != NULL)
            apply(root, setting->path, setting->place, setting->value, faults);
    }
}

/* What is pasted comes last in the variant that it belongs to.  What belongs to the base is the
 * base of all others too, before their own values. */
static SpateYaml *
changed_tree(const SpateScenarioFile *file, const Change *change, SpateFaults *faults)
{
    SpateYaml *root = spate_yaml_copy(file->root);
    const char *variant = change->variant != NULL ? change->variant->key : NULL;
    bool is_own = g_strcmp0(variant, file->pasted_variant) == 0;
    if (file->pasted != NULL && file->pasted_variant == NULL && !is_own)
        apply_set(root, file->pasted, faults);
    if (change->variant != NULL)
        apply_variant(root, change->variant, faults);
    if (change->has_settings)
        apply_settings(root, &file->settings, faults);
    if (file->pasted != NULL && is_own)
        apply_set(root, file->pasted, faults);
    if (change->more != NULL)
        apply_settings(root, change->more, faults);
    if (change->path != NULL)
        apply(root, change->path, change->place, change->value, faults);
    return root;
}

static SpateScenario *
build(const SpateScenarioFile *file, const Change *change, SpateFaults *faults, uint64_t *work)
{
    g_autoptr(SpateYaml) root = changed_tree(file, change, faults);
    const SpateReadBeside beside = {.tables = file->tables, .base = file->base};
    SpateScenario *scenario = spate_read_scenario(root, &beside, faults, work);
    if (scenario != NULL) {
        scenario->name = g_strdup(file->name);
        scenario->sha256 = g_strdup(file->sha256);
    }
    return scenario;
}

/* ---- checking a file whole ------------------------------------------------------------------- */

/* What checking variants may take: some seconds. */
#define MAX_WORK UINT64_C(60000000)

/* Settings are left out: what they do to a variant is checked once that is used. */
typedef struct {
    SpateScenarioFile *file;
    SpateFaults *faults;
    uint64_t n_values; /* of the tree */
    uint64_t work;
} Check;

static uint64_t
count_values(const SpateYaml *node)
{
    uint64_t n = 1;
    switch (node->kind) {
    case SPATE_YAML_SCALAR:
        return n;
    case SPATE_YAML_LIST:
        for (guint i = 0; i < node->items->len; i++)
            n += count_values(g_ptr_array_index(node->items, i));
        return n;
    case SPATE_YAML_MAP:
        for (guint i = 0; i < node->pairs->len; i++)
            n += count_values(g_array_index(node->pairs, SpateYamlPair, i).value);
        return n;
    }
    g_assert_not_reached();
}

/* False when the work is used up. */
static bool
check_change(Check *check, const Change *change, const char *context)
{
    if (check->work > MAX_WORK)
        return false;
    spate_faults_set_context(check->faults, context);
    check->work += check->n_values;
    spate_scenario_free(build(check->file, change, check->faults, &check->work));
    spate_faults_set_context(check->faults, NULL);
    return true;
}

static void
check_variants(Check *check)
{
    const SpateYaml *variants = spate_yaml_get(check->file->root, "variants");
    bool is_map = variants != NULL && variants->kind == SPATE_YAML_MAP;
    if (!is_map || variants->pairs->len > SPATE_MAX_VARIANTS)
        return;
    for (guint i = 0; i < variants->pairs->len; i++) {
        const SpateYamlPair *pair = &g_array_index(variants->pairs, SpateYamlPair, i);
        const SpateYaml *set = spate_yaml_get(pair->value, "set");
        if (set != NULL && set->kind == SPATE_YAML_MAP)
            check->work += MIN(set->pairs->len, MAX_SET) * check->n_values / 64;
        const Change change = {.variant = pair};
        g_autofree char *context = context_of(pair);
        if (check_change(check, &change, context))
            continue;
        spate_faults_note(check->faults, pair->key_place, "fewer variants, or a smaller scenario",
                          "these are too many variants of a scenario of this size");
        return;
    }
}

/* Values that are not come to here are checked when they are run. */
static bool
check_value(Check *check, const SpateYamlPair *vary, const SpateYaml *value)
{
    if (value == NULL || vary->value->kind != SPATE_YAML_SCALAR ||
        !spate_path_is_free(vary->value->text))
        return true;
    const Change change = {.path = vary->value->text, .place = vary->value->place, .value = value};
    g_autofree char *context = g_strdup_printf("with %s varied", vary->value->text);
    return check_change(check, &change, context);
}

static void
check_varied(Check *check, const SpateYaml *sweep)
{
    const SpateYamlPair *vary = spate_find_pair(sweep, "vary");
    const SpateYaml *values = vary == NULL ? NULL : spate_yaml_get(sweep, "values");
    if (vary == NULL)
        return;
    check_value(check, vary, spate_yaml_get(sweep, "from"));
    check_value(check, vary, spate_yaml_get(sweep, "to"));
    if (values == NULL || values->kind != SPATE_YAML_LIST)
        return;
    for (guint i = 0; i < values->items->len; i++)
        if (!check_value(check, vary, g_ptr_array_index(values->items, i)))
            return;
}

/* What changes it is measured by the base. */
static void
check_base(Check *check)
{
    const Change none = {0};
    size_t before = spate_faults_noted(check->faults);
    check->work += check->n_values;
    SpateScenario *base = build(check->file, &none, check->faults, &check->work);
    if (base != NULL && base->has_measured_levels && spate_faults_noted(check->faults) == before)
        check->file->base = base;
    else
        spate_scenario_free(base);
}

static void
check_whole(SpateScenarioFile *file, SpateFaults *faults)
{
    Check check = {.file = file, .faults = faults, .n_values = count_values(file->root)};
    check_base(&check);
    check_variants(&check);
    const SpateYaml *size = spate_yaml_get(file->root, "size");
    const SpateYaml *sweep = spate_yaml_get(file->root, "sweep");
    if (size != NULL)
        check_varied(&check, size);
    for (guint i = 0; sweep != NULL && sweep->kind == SPATE_YAML_LIST && i < sweep->items->len; i++)
        check_varied(&check, g_ptr_array_index(sweep->items, i));
}

/* ---- reading --------------------------------------------------------------------------------- */

static void
list_variants(SpateScenarioFile *file)
{
    const SpateYaml *variants = spate_yaml_get(file->root, "variants");
    file->variants = g_ptr_array_new_with_free_func(g_free);
    for (guint i = 0; variants != NULL && i < variants->pairs->len; i++)
        g_ptr_array_add(file->variants,
                        g_strdup(g_array_index(variants->pairs, SpateYamlPair, i).key));
    g_ptr_array_add(file->variants, NULL);
}

/* Tables are looked for in the folder; NULL: the current one. */
static SpateScenarioFile *
parse_in(const char *folder, const char *name, const char *text, size_t length,
         const SpateSetting *settings, size_t n_settings, GError **error)
{
    g_autoptr(SpateScenarioFile) file = g_new0(SpateScenarioFile, 1);
    file->name = g_strdup(name);
    file->text = g_strndup(text, length);
    file->sha256 = g_compute_checksum_for_data(G_CHECKSUM_SHA256, (const guchar *)text, length);
    spate_settings_init(&file->settings, settings, n_settings, "--set", false);
    file->tables = spate_tables_new(folder, (int)n_settings + 3);
    g_autoptr(SpateFaults) faults = spate_scenario_file_new_faults(file);
    file->root = spate_yaml_parse(text, length, 0, faults);
    spate_settings_read(&file->settings, 1, faults);
    if (file->root != NULL)
        check_whole(file, faults);
    if (spate_faults_raise(faults, error))
        return NULL;
    list_variants(file);
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
    int input = is_input ? STDIN_FILENO : open(path, O_RDONLY | O_CLOEXEC);
    g_autoptr(GByteArray) text = g_byte_array_new();
    bool is_read = input >= 0 && spate_read_bytes(input, SPATE_YAML_MAX_BYTES, text);
    int why = errno;
    if (input >= 0 && !is_input)
        close(input);
    if (!is_read) {
        g_set_error(error, SPATE_SCENARIO_ERROR, SPATE_SCENARIO_ERROR_UNREADABLE,
                    "%s: cannot be read: %s", name, g_strerror(why));
        return NULL;
    }
    g_byte_array_append(text, (const guint8 *)"", 1);
    bool is_here = is_input || strchr(path, G_DIR_SEPARATOR) == NULL;
    g_autofree char *folder = is_here ? NULL : g_path_get_dirname(path);
    return parse_in(folder, name, (const char *)text->data, text->len - 1, settings, n_settings,
                    error);
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
    const SpateYamlPair *variant = spate_find_pair(spate_yaml_get(file->root, "variants"), name);
    if (variant != NULL)
        return variant;
    const char *near = spate_nearest_word(name, spate_scenario_file_variants(file));
    g_set_error(error, SPATE_SCENARIO_ERROR, SPATE_SCENARIO_ERROR_BAD,
                "%s: there is no variant '%s'%s%s%s", file->name, name,
                near != NULL ? "\ndid you mean '" : "", near != NULL ? near : "",
                near != NULL ? "'?" : "");
    return NULL;
}

SpateScenario *
spate_scenario_new_with(const SpateScenarioFile *file, const char *variant, const char *name,
                        const SpateSetting *settings, size_t n_settings, GError **error)
{
    GError *missing = NULL;
    Change change = {.variant = find_variant(file, variant, &missing), .has_settings = true};
    if (missing != NULL) {
        g_propagate_error(error, missing);
        return NULL;
    }
    uint64_t work = 0;
    g_auto(SpateSettings) more = {0};
    spate_settings_init(&more, settings, n_settings, name, true);
    change.more = &more;
    g_autoptr(SpateFaults) faults = new_faults(file, &more);
    spate_settings_read(&more, (int)file->settings.n + 1, faults);
    if (change.variant != NULL) {
        g_autofree char *context = context_of(change.variant);
        spate_faults_set_context(faults, context);
    }
    g_autoptr(SpateScenario) scenario = build(file, &change, faults, &work);
    if (spate_faults_raise(faults, error))
        return NULL;
    scenario->later = g_steal_pointer(&faults);
    return g_steal_pointer(&scenario);
}

SpateScenario *
spate_scenario_new(const SpateScenarioFile *file, const char *variant, GError **error)
{
    return spate_scenario_new_with(file, variant, "", NULL, 0, error);
}

/* ---- trying changes -------------------------------------------------------------------------- */

bool
spate_scenario_file_paste(SpateScenarioFile *file, const char *variant, const char *text,
                          GError **error)
{
    g_clear_pointer(&file->pasted_text, g_free);
    g_clear_pointer(&file->pasted_variant, g_free);
    g_clear_pointer(&file->pasted, spate_yaml_free);
    if (text == NULL)
        return true;
    file->pasted_text = g_strdup(text);
    file->pasted_variant = g_strcmp0(variant, "base") == 0 ? NULL : g_strdup(variant);
    g_autoptr(SpateFaults) faults = spate_scenario_file_new_faults(file);
    file->pasted = spate_yaml_parse(text, strlen(text), (int)file->settings.n + 2, faults);
    if (file->pasted != NULL && file->pasted->kind != SPATE_YAML_MAP)
        spate_faults_note(faults, file->pasted->place, "as in nodes.soil.count: 80",
                          "this is no map of paths");
    if (!spate_faults_raise(faults, error))
        return true;
    g_clear_pointer(&file->pasted, spate_yaml_free);
    return false;
}

char **
spate_scenario_file_items(const SpateScenarioFile *file, const char *variant, const char *const *at)
{
    const Change change = {.has_settings = true, .variant = find_variant(file, variant, NULL)};
    g_autoptr(SpateFaults) faults = spate_scenario_file_new_faults(file);
    g_autoptr(SpateYaml) root = changed_tree(file, &change, faults);
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
