/* scenario-check.c - a scenario file is checked whole before anything is run */
#include "scenario/file/scenario-file.h"

#include <string.h>

/* What checking variants may take: some seconds.  A search for bad input is slower by far, and
 * takes what lasts that long for a fault. */
#ifdef FUZZING_BUILD_MODE_UNSAFE_FOR_PRODUCTION
#define MAX_WORK UINT64_C(2000000)
#else
#define MAX_WORK UINT64_C(60000000)
#endif

/* Settings are left out where the file is right without them: what they do to a variant is checked
 * once that is used.  A fault of the file is none if they mend it. */
typedef struct {
    SpateScenarioFile *file;
    SpateFaults *faults;
    uint64_t n_values; /* of the tree */
    uint64_t work;
} Check;

static SpateScenario *
build(Check *check, const SpateFileChange *change, SpateFaults *faults)
{
    if (check->file->settings.n == 0)
        return spate_file_build(check->file, change, faults, &check->work);
    g_autoptr(SpateFaults) without = spate_faults_new_like(faults);
    SpateScenario *scenario = spate_file_build(check->file, change, without, &check->work);
    spate_faults_add_texts(faults, without);
    if (spate_faults_noted(without) == 0)
        return scenario;
    spate_scenario_free(scenario);
    SpateFileChange mended = *change;
    mended.has_settings = true;
    return spate_file_build(check->file, &mended, faults, &check->work);
}

/* False when the work is used up. */
static bool
check_change(Check *check, const SpateFileChange *change, const char *context)
{
    if (check->work > MAX_WORK)
        return false;
    spate_faults_set_context(check->faults, context);
    spate_scenario_free(build(check, change, check->faults));
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
            check->work += MIN(set->pairs->len, SPATE_CHANGE_MAX_SET) * check->n_values / 64;
        const SpateFileChange change = {.variant = pair};
        g_autofree char *context = spate_file_context(pair);
        if (check_change(check, &change, context))
            continue;
        spate_faults_note(check->faults, pair->key_place, "fewer variants, or a smaller scenario",
                          "there are too many variants for a scenario of this size");
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
    const SpateFileChange change = {
        .path = vary->value->text, .place = vary->value->place, .value = value};
    g_autofree char *context = g_strdup_printf("with %s varied", vary->value->text);
    return check_change(check, &change, context);
}

static bool
has_fraction(const SpateYaml *value)
{
    return value != NULL && value->kind == SPATE_YAML_SCALAR && strchr(value->text, '.') != NULL;
}

/* An end as the steps write it: where they have fractions, 1 is 1.0, and no count of things. */
static void
check_end(Check *check, const SpateYamlPair *vary, const SpateYaml *sweep, const char *key)
{
    const SpateYaml *end = spate_yaml_get(sweep, key);
    g_autoptr(SpateYaml) written = end != NULL ? spate_yaml_copy(end) : NULL;
    bool is_fine = has_fraction(spate_yaml_get(sweep, "from")) ||
                   has_fraction(spate_yaml_get(sweep, "to")) ||
                   has_fraction(spate_yaml_get(sweep, "step"));
    if (is_fine && end != NULL && end->kind == SPATE_YAML_SCALAR && !has_fraction(end)) {
        int n_digits = (int)strspn(end->text, "+-0123456789");
        g_free(written->text);
        written->text = g_strdup_printf("%.*s%s%s", n_digits, end->text, n_digits > 0 ? ".0" : "",
                                        end->text + n_digits);
    }
    check_value(check, vary, written);
}

static void
check_varied(Check *check, const SpateYaml *sweep)
{
    const SpateYamlPair *vary = spate_yaml_pair(sweep, "vary");
    const SpateYaml *values = vary == NULL ? NULL : spate_yaml_get(sweep, "values");
    if (vary == NULL)
        return;
    check_end(check, vary, sweep, "from");
    check_end(check, vary, sweep, "to");
    if (values == NULL || values->kind != SPATE_YAML_LIST)
        return;
    for (guint i = 0; i < values->items->len; i++)
        if (!check_value(check, vary, g_ptr_array_index(values->items, i)))
            return;
}

/* What is said of a candidate is wrong before anyone builds it. */
static SpateScenario *
build_sites(Check *check)
{
    const SpateFileChange built = {.builds_sites = true};
    spate_faults_set_context(check->faults, "with all candidates built");
    SpateScenario *scenario = build(check, &built, check->faults);
    spate_faults_set_context(check->faults, NULL);
    return scenario;
}

/* What changes it is measured by the base, candidates among it. */
static void
check_base(Check *check)
{
    const SpateFileChange none = {0};
    size_t before = spate_faults_noted(check->faults);
    SpateScenario *base = build(check, &none, check->faults);
    if (base != NULL && base->n_sites > 0 && spate_faults_noted(check->faults) == before) {
        spate_scenario_free(base);
        base = build_sites(check);
    }
    if (base == NULL || !base->has_measured_levels || spate_faults_noted(check->faults) > before) {
        spate_scenario_free(base);
        return;
    }
    /* A file that its own base kept would never be freed. */
    spate_file_settle(base);
    check->file->base = base;
}

/* Whether the scenario takes no fraction there; its faults are none of the file. */
static bool
wants_whole(Check *check, const SpateYamlPair *pair, const SpateYaml *low, const SpateYaml *high)
{
    static const char DIGITS[] = "+-0123456789";
    size_t length = strspn(low->text, DIGITS);
    if (low->text[length] == '.' || high->text[strspn(high->text, DIGITS)] == '.' ||
        check->work > MAX_WORK)
        return false;
    g_autoptr(SpateYaml) between = spate_yaml_copy(low);
    g_free(between->text);
    between->text = g_strdup_printf("%.*s.5%s", (int)length, low->text, low->text + length);
    g_autoptr(SpateFaults) faults = spate_scenario_file_new_faults(check->file);
    const SpateFileChange change = {.path = pair->key, .place = pair->key_place, .value = between};
    spate_scenario_free(build(check, &change, faults));
    return spate_faults_noted(faults) > 0;
}

/* Only what is in order is tried. */
static void
check_doubts(Check *check, const SpateYaml *doubts)
{
    size_t before = spate_faults_noted(check->faults);
    bool is_map = doubts != NULL && doubts->kind == SPATE_YAML_MAP;
    for (guint i = 0; is_map && i < doubts->pairs->len && i < SPATE_MOST_DOUBTS; i++) {
        const SpateYamlPair *pair = &g_array_index(doubts->pairs, SpateYamlPair, i);
        const GPtrArray *ends = pair->value->items;
        if (before > 0 || ends == NULL || ends->len != 2)
            return;
        g_autofree char *context = g_strdup_printf("with %s at a bound", pair->key);
        for (guint end = 0; end < 2; end++) {
            const SpateFileChange change = {
                .path = pair->key, .place = pair->key_place, .value = g_ptr_array_index(ends, end)};
            if (!check_change(check, &change, context))
                return;
        }
        if (spate_faults_noted(check->faults) == before)
            check->file->is_whole[i] =
                wants_whole(check, pair, g_ptr_array_index(ends, 0), g_ptr_array_index(ends, 1));
    }
}

void
spate_file_check(SpateScenarioFile *file, SpateFaults *faults)
{
    Check check = {
        .file = file, .faults = faults, .n_values = spate_yaml_extent(file->root).n_nodes};
    check_base(&check);
    check_variants(&check);
    const SpateYaml *size = spate_yaml_get(file->root, "size");
    const SpateYaml *sweep = spate_yaml_get(file->root, "sweep");
    if (size != NULL)
        check_varied(&check, size);
    for (guint i = 0; sweep != NULL && sweep->kind == SPATE_YAML_LIST && i < sweep->items->len; i++)
        check_varied(&check, g_ptr_array_index(sweep->items, i));
    check_doubts(&check, spate_yaml_get(file->root, "doubt"));
    file->check_work = check.work;
}
