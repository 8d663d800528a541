/* table-lines.c - the rows of a result by what they tell of, and side by side */
#include "report/table/table-lines.h"

typedef struct {
    const SpateResult *result;
    GHashTable *lines;    /* name of a row -> SpateTableLine, borrowed */
    GHashTable *subjects; /* "0/talk" -> SpateSubject, borrowed */
    GPtrArray *by_kind[SPATE_N_SUBJECT_KINDS];
} Collector;

static SpateSubjectKind
kind_of(const SpateResultRow *row, const char **name)
{
    const char *names[SPATE_N_SUBJECT_KINDS] = {row->traffic, row->bearer, row->bridge, row->node};
    for (int kind = 0; kind < SPATE_N_SUBJECT_KINDS; kind++) {
        *name = names[kind];
        if (*name != NULL)
            return (SpateSubjectKind)kind;
    }
    g_assert_not_reached();
}

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
    const char *name;
    SpateSubjectKind kind = kind_of(row, &name);
    g_autofree char *key = g_strdup_printf("%d/%s", (int)kind, name);
    SpateSubject *subject = g_hash_table_lookup(collector->subjects, key);
    if (subject != NULL)
        return subject;

    subject = g_new0(SpateSubject, 1);
    *subject = (SpateSubject){kind, name, g_ptr_array_new_with_free_func(free_line)};
    g_ptr_array_add(collector->by_kind[kind], subject);
    g_hash_table_insert(collector->subjects, g_steal_pointer(&key), subject);
    return subject;
}

/* Names hold no slash. */
static char *
key_of(const SpateResultRow *row)
{
    const char *names[] = {row->traffic, row->bearer, row->bridge, row->node, row->to};
    GString *key = g_string_new(NULL);
    g_string_append_printf(key, "%d", (int)row->measure);
    for (size_t i = 0; i < G_N_ELEMENTS(names); i++)
        g_string_append_printf(key, "/%s", names[i] != NULL ? names[i] : "");
    return g_string_free(key, FALSE);
}

static SpateTableLine *
line_of(Collector *collector, const SpateResultRow *row)
{
    g_autofree char *key = key_of(row);
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

static void
collect(Collector *collector)
{
    const SpateResult *result = collector->result;
    for (size_t v = 0; v < result->n_variants; v++)
        for (size_t i = 0; i < result->variants[v].n_rows; i++) {
            const SpateResultRow *row = &result->variants[v].rows[i];
            line_of(collector, row)->rows[v] = row;
        }
    for (size_t i = 0; i < result->n_differences; i++) {
        const SpateDifference *difference = &result->differences[i];
        SpateTableLine *line = line_of(collector, difference->row);
        for (size_t v = 0; v < result->n_variants; v++)
            if (line->rows[v] == difference->row)
                line->differences[v] = difference;
    }
}

GPtrArray *
spate_table_subjects(const SpateResult *result)
{
    g_autoptr(GHashTable) lines = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    g_autoptr(GHashTable) subjects = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    Collector collector = {.result = result, .lines = lines, .subjects = subjects};
    for (int kind = 0; kind < SPATE_N_SUBJECT_KINDS; kind++)
        collector.by_kind[kind] = g_ptr_array_new();
    collect(&collector);

    GPtrArray *all = g_ptr_array_new_with_free_func(free_subject);
    for (int kind = 0; kind < SPATE_N_SUBJECT_KINDS; kind++)
        g_ptr_array_extend_and_steal(all, collector.by_kind[kind]);
    return all;
}
