/* store-design.c - the design of a sweep, as its store holds it */
#include "study/sweep/store-private.h"

#include "scenario/layout.h"
#include <string.h>

/* Behind the sum, where no path can stand. */
#define LAYOUT_WORDS "; " SPATE_ONE_LAYOUT_WORDS

/* ---- reading --------------------------------------------------------------------------------- */

static bool
read_variants(SpateStore *store, SpateDesign *design, GError **error)
{
    g_autoptr(SpateStatement) points =
        spate_sql_prepare(&store->sql, "SELECT variant FROM points ORDER BY point", error);
    if (points == NULL || !spate_store_count_points(store, &design->n_points, error))
        return false;
    design->variants = g_new0(const char *, design->n_points + 1);
    uint32_t n = 0;
    while (n < design->n_points && spate_sql_next(&store->sql, points, error))
        design->variants[n++] =
            g_string_chunk_insert_const(design->texts, spate_sql_some_text(points, 0));
    return n == design->n_points || store->sql.is_done;
}

static bool
read_values(SpateStore *store, SpateDesign *design, GError **error)
{
    g_autoptr(SpateStatement) settings =
        spate_sql_prepare(&store->sql, "SELECT point, path, value FROM settings", error);
    if (settings == NULL)
        return false;
    uint64_t n_values = (uint64_t)design->n_points * design->n_paths;
    if (n_values > SPATE_DESIGN_MAX_SETTINGS) {
        g_set_error(error, SPATE_STORE_ERROR, SPATE_STORE_ERROR_FOREIGN,
                    "%s: it has more settings than a sweep may have", store->sql.name);
        return false;
    }
    design->values = g_new0(const char *, n_values + 1);
    while (spate_sql_next(&store->sql, settings, error)) {
        int64_t point = sqlite3_column_int64(settings, 0), path = sqlite3_column_int64(settings, 1);
        if (point >= 0 && point < design->n_points && path >= 0 && path < design->n_paths)
            design->values[point * design->n_paths + path] =
                g_string_chunk_insert_const(design->texts, spate_sql_some_text(settings, 2));
    }
    return store->sql.is_done;
}

bool
spate_store_is_of_one_layout(SpateStore *store, bool *one_layout, GError **error)
{
    g_autofree char *design = spate_store_about(store, "design", error);
    *one_layout = design != NULL && strstr(design, LAYOUT_WORDS) != NULL;
    return design != NULL;
}

SpateDesign *
spate_store_read_design(SpateStore *store, GError **error)
{
    g_autoptr(SpateDesign) design = g_new0(SpateDesign, 1);
    design->texts = g_string_chunk_new(4096);
    design->paths = spate_store_paths(store, error);
    if (design->paths == NULL)
        return NULL;
    design->n_paths = g_strv_length(design->paths);
    if (!read_variants(store, design, error) || !read_values(store, design, error) ||
        !spate_store_is_of_one_layout(store, &design->one_layout, error))
        return NULL;
    return g_steal_pointer(&design);
}

/* ---- describing ------------------------------------------------------------------------------ */

static void
add_to_sum(GChecksum *sum, const char *text)
{
    /* What is missing differs from what is empty. */
    if (text != NULL)
        g_checksum_update(sum, (const guchar *)text, (gssize)strlen(text) + 1);
    else
        g_checksum_update(sum, (const guchar *)"\1", 2);
}

/* "12 points of nodes.soil.count; sha256 ...", and what an answer for one layout says. */
char *
spate_store_describe_design(const SpateDesign *design)
{
    g_autoptr(GChecksum) sum = g_checksum_new(G_CHECKSUM_SHA256);
    for (uint32_t i = 0; i < design->n_paths; i++)
        add_to_sum(sum, design->paths[i]);
    for (uint32_t i = 0; i < design->n_points; i++)
        add_to_sum(sum, design->variants[i]);
    for (size_t i = 0; i < (size_t)design->n_points * design->n_paths; i++)
        add_to_sum(sum, design->values[i]);
    g_autofree char *paths = g_strjoinv(", ", design->paths);
    return g_strdup_printf("%u point%s%s%s; sha256 %s%s", design->n_points,
                           design->n_points == 1 ? "" : "s", design->n_paths > 0 ? " of " : "",
                           paths, g_checksum_get_string(sum),
                           design->one_layout ? LAYOUT_WORDS : "");
}

char *
spate_store_design_view(char *const *paths)
{
    GString *view = g_string_new("CREATE VIEW design AS SELECT point, variant");
    for (uint32_t i = 0; paths[i] != NULL; i++) {
        char *column = sqlite3_mprintf(", (SELECT value FROM settings WHERE settings.point ="
                                       " points.point AND path = %u) AS \"%w\"",
                                       i, paths[i]);
        g_string_append(view, column);
        sqlite3_free(column);
    }
    g_string_append(view, " FROM points");
    return g_string_free(view, FALSE);
}
