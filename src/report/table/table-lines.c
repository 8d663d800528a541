/* table-lines.c - the rows of a result by what they tell of, and side by side */
#include "report/table/table-lines.h"

#include <string.h>

typedef struct {
    const SpateResult *result;
    GHashTable *lines;    /* key of a row -> SpateTableLine, borrowed */
    GHashTable *subjects; /* "0/talk" -> SpateSubject, borrowed */
    GPtrArray *by_kind[SPATE_N_SUBJECT_KINDS];
} Collector;

static void
free_line(gpointer line)
{
    SpateTableLine *dying = line;
    g_free(dying->rows);
    g_free(dying->differences);
    g_free(dying);
}

static void
free_subject(gpointer subject)
{
    SpateSubject *dying = subject;
    g_ptr_array_unref(dying->lines);
    g_free(dying);
}

static SpateSubject *
subject_of(Collector *collector, const SpateResultRow *row)
{
    const char *const names[SPATE_N_SUBJECT_KINDS] = {row->traffic, row->bearer, row->bridge,
                                                      row->node};
    int kind = 0;
    while (kind < SPATE_N_SUBJECT_KINDS - 1 && names[kind] == NULL)
        kind++;
    g_autofree char *key = g_strdup_printf("%d/%s", kind, names[kind]);
    SpateSubject *subject = g_hash_table_lookup(collector->subjects, key);
    if (subject != NULL)
        return subject;

    subject = g_new0(SpateSubject, 1);
    *subject = (SpateSubject){(SpateSubjectKind)kind, names[kind],
                              g_ptr_array_new_with_free_func(free_line)};
    g_ptr_array_add(collector->by_kind[kind], subject);
    g_hash_table_insert(collector->subjects, g_steal_pointer(&key), subject);
    return subject;
}

static SpateTableLine *
line_of(Collector *collector, const SpateResultRow *row)
{
    g_autofree char *key = spate_result_row_key(row);
    SpateTableLine *line = g_hash_table_lookup(collector->lines, key);
    if (line != NULL)
        return line;

    line = g_new0(SpateTableLine, 1);
    line->rows = g_new0(const SpateResultRow *, collector->result->n_variants);
    line->differences = g_new0(const SpateDifference *, collector->result->n_variants);
    g_ptr_array_add(subject_of(collector, row)->lines, line);
    g_hash_table_insert(collector->lines, g_steal_pointer(&key), line);
    return line;
}

GPtrArray *
spate_table_subjects(const SpateResult *result)
{
    g_autoptr(GHashTable) lines = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    g_autoptr(GHashTable) subjects = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    Collector collector = {.result = result, .lines = lines, .subjects = subjects};
    for (int kind = 0; kind < SPATE_N_SUBJECT_KINDS; kind++)
        collector.by_kind[kind] = g_ptr_array_new();
    for (size_t v = 0; v < result->n_variants; v++)
        for (size_t i = 0; i < result->variants[v].n_rows; i++) {
            const SpateResultRow *row = &result->variants[v].rows[i];
            line_of(&collector, row)->rows[v] = row;
        }
    for (size_t i = 0; i < result->n_differences; i++) {
        const SpateDifference *difference = &result->differences[i];
        SpateTableLine *line = line_of(&collector, difference->row);
        for (size_t v = 0; v < result->n_variants; v++)
            if (line->rows[v] == difference->row)
                line->differences[v] = difference;
    }

    GPtrArray *all = g_ptr_array_new_with_free_func(free_subject);
    for (int kind = 0; kind < SPATE_N_SUBJECT_KINDS; kind++)
        g_ptr_array_extend_and_steal(all, collector.by_kind[kind]);
    return all;
}

const SpateResultRow *
spate_table_line_row(const SpateTableLine *line, size_t n_variants)
{
    for (size_t v = 0; v < n_variants; v++)
        if (line->rows[v] != NULL)
            return line->rows[v];
    g_assert_not_reached();
}

const SpateResultLatency *
spate_find_latency(const SpateResultVariant *variant, const char *traffic)
{
    for (size_t i = 0; i < variant->n_latencies; i++)
        if (strcmp(variant->latencies[i].traffic, traffic) == 0)
            return &variant->latencies[i];
    return NULL;
}

bool
spate_find_latency_bins(const SpateResult *result, unsigned *first, unsigned *last)
{
    *first = SPATE_LATENCY_BINS;
    *last = 0;
    for (size_t v = 0; v < result->n_variants; v++)
        for (size_t i = 0; i < result->variants[v].n_latencies; i++)
            for (unsigned bin = 0; bin < SPATE_LATENCY_BINS; bin++) {
                if (result->variants[v].latencies[i].bins[bin] == 0)
                    continue;
                *first = MIN(*first, bin);
                *last = MAX(*last, bin);
            }
    return *first <= *last;
}
