/* design.c - the points of a sweep */
#include "study/sweep/design.h"

#include "scenario/read/tables.h"
#include <string.h>

static uint32_t
count_variants(const char *const *variants)
{
    return g_strv_length((char **)(uintptr_t)variants);
}

/* NULL with an error if there is too much to try. */
static SpateDesign *
new_design(uint64_t n_points, uint32_t n_paths, GError **error)
{
    if (n_points > SPATE_DESIGN_MAX_POINTS || n_points * n_paths > SPATE_DESIGN_MAX_SETTINGS) {
        g_set_error(error, SPATE_SCENARIO_ERROR, SPATE_SCENARIO_ERROR_BAD,
                    "the sweep has %" G_GUINT64_FORMAT " points of %u settings: at most %u points "
                    "and %u settings in all\n",
                    n_points, n_paths, SPATE_DESIGN_MAX_POINTS, SPATE_DESIGN_MAX_SETTINGS);
        return NULL;
    }
    SpateDesign *design = g_new0(SpateDesign, 1);
    design->n_points = (uint32_t)n_points;
    design->n_paths = n_paths;
    design->paths = g_new0(char *, n_paths + 1);
    design->variants = g_new0(const char *, n_points);
    design->values = g_new0(const char *, n_points *n_paths + 1);
    design->texts = g_string_chunk_new(4096);
    return design;
}

void
spate_design_free(SpateDesign *design)
{
    if (design == NULL)
        return;
    g_strfreev(design->paths);
    g_free(design->variants);
    g_free(design->values);
    g_string_chunk_free(design->texts);
    g_free(design);
}

/* ---- grids ----------------------------------------------------------------------------------- */

/* `stride`: how often each value is repeated before the next one comes. */
static void
fill_axis(SpateDesign *design, const SpateSweepAxis *axis, uint32_t number, uint32_t stride)
{
    g_autofree const char **values = g_new(const char *, axis->n_values);
    design->paths[number] = g_strdup(axis->path);
    for (uint32_t i = 0; i < axis->n_values; i++) {
        g_autofree char *text = spate_sweep_axis_value(axis, i);
        values[i] = g_string_chunk_insert_const(design->texts, text);
    }
    for (uint32_t i = 0; i < design->n_points; i++)
        design->values[i * design->n_paths + number] = values[i / stride % axis->n_values];
}

SpateDesign *
spate_design_new_grid(const SpateSweepAxis *axes, uint32_t n_axes, const char *const *variants,
                      GError **error)
{
    uint32_t n_variants = count_variants(variants);
    uint64_t n_grid = 1;
    for (uint32_t i = 0; i < n_axes && n_grid <= SPATE_DESIGN_MAX_POINTS; i++)
        n_grid *= axes[i].n_values;
    SpateDesign *design = new_design(n_grid * n_variants, n_axes, error);
    if (design == NULL)
        return NULL;
    for (uint32_t i = 0; i < design->n_points; i++)
        design->variants[i] = g_string_chunk_insert_const(design->texts, variants[i / n_grid]);
    for (uint32_t i = n_axes, stride = 1; i-- > 0; stride *= axes[i].n_values)
        fill_axis(design, &axes[i], i, stride);
    return design;
}

/* ---- lists ----------------------------------------------------------------------------------- */

static SpateDesign *
list(const SpateCsvTable *table, const char *const *variants, GError **error)
{
    uint32_t n_variants = count_variants(variants);
    uint32_t n_rows = table->rows->items->len;
    SpateDesign *design =
        new_design((uint64_t)n_rows * n_variants, table->columns->pairs->len, error);
    if (design == NULL)
        return NULL;
    for (uint32_t i = 0; i < design->n_paths; i++)
        design->paths[i] = g_strdup(g_array_index(table->columns->pairs, SpateYamlPair, i).key);
    for (uint32_t i = 0; i < design->n_points; i++) {
        design->variants[i] = g_string_chunk_insert_const(design->texts, variants[i / n_rows]);
        /* A cell is YAML as a setting is, and kept as it is written. */
        for (uint32_t k = 0; k < design->n_paths; k++) {
            const SpateYaml *cell =
                spate_yaml_get(g_ptr_array_index(table->rows->items, i % n_rows), design->paths[k]);
            if (cell != NULL)
                design->values[i * design->n_paths + k] =
                    g_string_chunk_insert_const(design->texts, cell->text);
        }
    }
    return design;
}

static bool
is_path(const char *name, gconstpointer user)
{
    (void)user;
    return spate_scenario_has_path(name);
}

SpateDesign *
spate_design_new_listed(const char *name, const char *csv, size_t length,
                        const char *const *variants, GError **error)
{
    g_autoptr(SpateFaults) faults = spate_faults_new();
    if (length > SPATE_TABLES_MAX_BYTES) {
        g_set_error(error, SPATE_SCENARIO_ERROR, SPATE_SCENARIO_ERROR_BAD,
                    "%s: it is larger than 16 MiB\n", name);
        return NULL;
    }
    if (!spate_csv_names_any(csv, length, is_path, NULL)) {
        g_set_error(
            error, SPATE_SCENARIO_ERROR, SPATE_SCENARIO_ERROR_BAD,
            "%s: this is not a design: its first line must name paths of the scenario, as in "
            "nodes.soil.count\n",
            name);
        return NULL;
    }
    int origin = spate_faults_add_text(faults, name, csv);
    g_autoptr(SpateCsvTable) table = spate_csv_parse(csv, length, origin, faults);
    if (table != NULL && table->rows->items->len == 0)
        spate_faults_note(faults, (SpatePlace){origin, 1, 1}, "add a row for each point",
                          "the design has no points");
    if (spate_faults_raise(faults, error))
        return NULL;
    g_assert(table != NULL); /* else there were faults */
    return list(table, variants, error);
}

SpateSetting *
spate_design_settings(const SpateDesign *design, uint32_t point, size_t *n_settings)
{
    g_assert(point < design->n_points);
    SpateSetting *settings = g_new0(SpateSetting, design->n_paths + 1);
    *n_settings = 0;
    for (uint32_t i = 0; i < design->n_paths; i++) {
        const char *value = design->values[(size_t)point * design->n_paths + i];
        if (value != NULL)
            settings[(*n_settings)++] = (SpateSetting){design->paths[i], value};
    }
    return settings;
}
