/* advise-rules.c - streams that are held back, as rules */
#include "study/advise/advise-rules.h"

#include "scenario/text/yaml-flow.h"
#include <string.h>

/* A key of a path; with a dot in it, it is in quotes. */
static void
append_key(GString *text, const char *key)
{
    bool is_simple = strpbrk(key, ".\" ") == NULL;
    g_string_append_printf(text, is_simple ? "%s" : "\"%s\"", key);
}

static void
append_path(GString *text, const SpateAdvice *advice, const SpateCrossingGroup *crossing)
{
    g_string_append(text, "bridges.");
    append_key(text, advice->scenario->bridge_names[crossing->bridge]);
    g_string_append_c(text, '.');
    append_key(text, crossing->name);
    g_string_append(text, ".rules");
}

/* Each node of a bridge that is a group has a bucket of its own. */
static uint32_t
n_nodes_of(const SpateAdvice *advice, uint32_t group)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < advice->scenario->n_crossings; i++)
        n += advice->index.group_of[i] == group;
    return n;
}

static void
append_action(GString *text, const SpateAdvice *advice, const SpateAdviseStream *stream,
              uint32_t one_of)
{
    if (one_of == 0) {
        g_string_append(text, "hold-back");
        return;
    }
    switch (advice->gentle) {
    case SPATE_ADVISE_THIN:
    case SPATE_ADVISE_HOLD:
        g_string_append_printf(text, "{thin: {keep: 1, of: %u, per: origin}}", one_of);
        return;
    case SPATE_ADVISE_LIMIT: {
        char digits[G_ASCII_DTOSTR_BUF_SIZE];
        double rate = stream->per_hour.mean / one_of / n_nodes_of(advice, stream->group);
        g_ascii_formatd(digits, sizeof digits, "%.2f", MAX(rate, 0.01));
        g_string_append_printf(text, "{limit: {rate: %s per hour}}", digits);
        return;
    }
    }
}

static void
append_rule(GString *text, const SpateAdvice *advice, const SpateAdviseStream *stream,
            uint32_t one_of)
{
    g_string_append(text, "  - {when: {traffic: ");
    spate_yaml_append_scalar(text, advice->scenario->traffics[stream->traffic].name, false);
    if (stream->source != NULL) {
        g_string_append(text, ", from: ");
        spate_yaml_append_scalar(text, stream->source, false);
    }
    g_string_append(text, "}, do: ");
    append_action(text, advice, stream, one_of);
    g_string_append(text, "}\n");
}

/* What is made into rules. */
typedef struct {
    const SpateAdvice *advice;
    const guint *streams;
    size_t n_streams;
    uint32_t one_of;
} Treated;

/* The new rules of a crossing that stand before rule number `from`, and not before an earlier one.
 */
static void
append_new(GString *text, const Treated *treated, uint32_t group, uint32_t from, uint32_t to)
{
    for (size_t i = 0; i < treated->n_streams; i++) {
        const SpateAdviseStream *stream = spate_advise_stream(treated->advice, treated->streams[i]);
        if (stream->group == group && stream->first_rule >= from && stream->first_rule <= to)
            append_rule(text, treated->advice, stream, treated->one_of);
    }
}

static void
append_list(GString *text, const Treated *treated, uint32_t group, char *const *rules)
{
    uint32_t n = 0;
    for (; rules[n] != NULL; n++) {
        append_new(text, treated, group, n, n);
        g_string_append_printf(text, "  - %s\n", rules[n]);
    }
    append_new(text, treated, group, n, SPATE_NO_RULE);
}

static bool
has_stream(const Treated *treated, uint32_t group)
{
    for (size_t i = 0; i < treated->n_streams; i++)
        if (spate_advise_stream(treated->advice, treated->streams[i])->group == group)
            return true;
    return false;
}

/* The rules that the crossing has. */
static char **
rules_now(const SpateAdvice *advice, const SpateAdviseWanted *wanted,
          const SpateCrossingGroup *crossing)
{
    const char *const at[] = {"bridges", advice->scenario->bridge_names[crossing->bridge],
                              crossing->name, "rules", NULL};
    return spate_scenario_file_items(wanted->file, wanted->variant, at);
}

char *
spate_advise_rules(const SpateAdvice *advice, const SpateAdviseWanted *wanted, const guint *streams,
                   size_t n_streams, uint32_t one_of)
{
    const Treated treated = {advice, streams, n_streams, one_of};
    GString *text = g_string_new(NULL);
    for (guint i = 0; i < advice->index.groups->len; i++) {
        const SpateCrossingGroup *crossing =
            &g_array_index(advice->index.groups, SpateCrossingGroup, i);
        if (!has_stream(&treated, i))
            continue;
        g_auto(GStrv) rules = rules_now(advice, wanted, crossing);
        append_path(text, advice, crossing);
        g_string_append(text, ":\n");
        append_list(text, &treated, i, rules);
    }
    return g_string_free(text, FALSE);
}
