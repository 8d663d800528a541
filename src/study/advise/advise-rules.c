/* advise-rules.c - streams that are held back, as rules, and whether the file meets its
 * expectations with these */
#include "study/advise/advise-private.h"

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
append_action(GString *text, const SpateAdvice *advice, const SpateAdviseStream *stream,
              uint32_t one_of)
{
    if (one_of == 0) {
        g_string_append(text, "hold-back");
        return;
    }
    if (advice->gentle != SPATE_ADVISE_LIMIT) {
        g_string_append_printf(text, "{thin: {keep: 1, of: %u, per: origin}}", one_of);
        return;
    }
    /* Each node of a bridge that is a group has a bucket of its own. */
    uint32_t n_nodes = 0;
    for (uint32_t i = 0; i < advice->scenario->n_crossings; i++)
        n_nodes += advice->index.group_of[i] == stream->group;
    char digits[G_ASCII_DTOSTR_BUF_SIZE];
    g_ascii_formatd(digits, sizeof digits, "%.2f",
                    MAX(stream->per_hour.mean / one_of / n_nodes, 0.01));
    g_string_append_printf(text, "{limit: {rate: %s per hour}}", digits);
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

char *
spate_advise_rules(const SpateAdvice *advice, const SpateAdviseWanted *wanted, const guint *streams,
                   size_t n_streams, uint32_t one_of)
{
    const Treated treated = {advice, streams, n_streams, one_of};
    GString *text = g_string_new(NULL);
    for (guint i = 0; i < advice->index.groups->len; i++) {
        const SpateCrossingGroup *crossing =
            &g_array_index(advice->index.groups, SpateCrossingGroup, i);
        const char *bridge = spate_advise_bridge(advice, crossing);
        const char *const at[] = {"bridges", bridge, crossing->name, "rules", NULL};
        bool has_stream = false;
        for (size_t k = 0; k < n_streams; k++)
            has_stream = has_stream || spate_advise_stream(advice, streams[k])->group == i;
        if (!has_stream)
            continue;
        g_string_append(text, "bridges.");
        append_key(text, bridge);
        g_string_append_c(text, '.');
        append_key(text, crossing->name);
        g_string_append(text, ".rules:\n");
        g_auto(GStrv) now = spate_scenario_file_items(wanted->file, wanted->variant, at);
        uint32_t n = 0;
        for (; now[n] != NULL; n++) {
            append_new(text, &treated, i, n, n);
            g_string_append_printf(text, "  - %s\n", now[n]);
        }
        append_new(text, &treated, i, n, SPATE_NO_RULE);
    }
    return g_string_free(text, FALSE);
}

/* ---- judging --------------------------------------------------------------------------------- */

/* Times the scenario's replications that a doubtful set may have. */
#define MORE_FOR_DOUBT 8

SpateAdviseMeets
spate_advise_meets(const SpateCheck *check)
{
    SpateAdviseMeets meets = SPATE_ADVISE_MEETS;
    for (size_t i = 0; i < check->n_points; i++) {
        const SpateJudgement *judgement = &check->points[i].judgement;
        if (!spate_judgement_passes(judgement, false))
            return SPATE_ADVISE_MISSES;
        if (judgement->kind == SPATE_VERDICT_UNDECIDED)
            meets = SPATE_ADVISE_LEANS;
    }
    return check->n_replications > 0 ? meets : SPATE_ADVISE_MISSES;
}

/* In the variant that is wanted. */
static SpateCheck *
check_of(const SpateAdvice *advice, const SpateAdviseWanted *wanted, const char *rules,
         SpateCheckOptions options, GError **error)
{
    const char *const variants[] = {advice->variant, NULL};
    const SpateTrial trial = {.rules = rules, .rules_of = wanted->variant};
    options.variants = variants;
    options.has_seed = wanted->has_seed;
    options.seed = wanted->seed;
    options.replications = wanted->replications;
    options.most_replications = advice->scenario->replications * MORE_FOR_DOUBT;
    options.trial = &trial;
    options.beside = advice->study;
    return spate_check_new(wanted->file, &options, error);
}

SpateCheck *
spate_advise_check(const SpateAdvice *advice, const SpateAdviseWanted *wanted, const char *rules,
                   uint32_t first, GError **error)
{
    return check_of(advice, wanted, rules, (SpateCheckOptions){.first = first}, error);
}

SpateCheck *
spate_advise_candidate(const SpateAdvice *advice, const SpateAdviseWanted *wanted,
                       const char *rules, GError **error)
{
    return check_of(advice, wanted, rules, (SpateCheckOptions){.stops_at_failure = true}, error);
}
