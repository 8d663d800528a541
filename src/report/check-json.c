/* check-json.c - verdicts as JSON: spate-check/1, docs/result-format.md */
#include "core/time.h"
#include "document/json-text.h"
#include "document/numbers.h"
#include "report/check-words.h"
#include "report/doubt-words.h"
#include "report/run-words.h"
#include <math.h>

static void
append_key(GString *text, const char *key)
{
    g_string_append_printf(text, ", \"%s\": ", key);
}

/* Nothing where there is none. */
static void
append_text(GString *text, const char *key, const char *value)
{
    if (value == NULL)
        return;
    append_key(text, key);
    spate_append_json_string(text, value);
}

static void
append_seconds(GString *text, const char *key, int64_t time_ns)
{
    append_key(text, key);
    spate_append_number(text, (double)time_ns / (double)SPATE_NS_PER_S);
}

static const char *
kind_word(SpateExpectKind kind)
{
    switch (kind) {
    case SPATE_EXPECT_VALUE:
        return "value";
    case SPATE_EXPECT_CHANGE:
        return "change";
    case SPATE_EXPECT_REACHES:
        return "reaches";
    case SPATE_EXPECT_NEVER_REACHES:
        return "never-reaches";
    case SPATE_EXPECT_NEVER_ON:
        return "never-on";
    }
    g_assert_not_reached();
}

static void
append_bound(GString *text, const char *key, SpateExpectBound bound)
{
    if (!bound.is_given)
        return;
    append_key(text, key);
    g_string_append(text, "{\"value\": ");
    spate_append_number(text, bound.value);
    g_string_append_printf(text, ", \"relative\": %s}", bound.is_relative ? "true" : "false");
}

static void
append_expectation(GString *text, const SpateCheckPoint *point)
{
    const SpateExpectation *expectation = point->expectation;
    const SpateMeasureInfo *measure = expectation->measure;
    g_autoptr(GString) title = g_string_new(NULL);
    spate_check_append_title(title, point);
    g_string_append(text, "{\"line\": ");
    spate_append_number(text, spate_check_line(point) > 0 ? (double)spate_check_line(point)
                                                          : (double)NAN);
    append_text(text, "expectation", title->str);
    append_text(text, "kind", kind_word(expectation->kind));
    append_text(text, "variant", expectation->variant);
    append_text(text, "versus", expectation->versus);
    if (measure != NULL)
        append_text(text, "measure", measure->name);
    append_text(text, "traffic", expectation->traffic);
    append_text(text, "to", expectation->to);
    append_text(text, "bearer", expectation->bearer);
    append_text(text, "node", expectation->node);
    append_text(text, "bridge", expectation->bridge);
    append_text(text, "from", expectation->from);
    append_text(text, "unit", measure != NULL ? spate_unit_name(measure->unit) : NULL);
    append_bound(text, "at_least", expectation->at_least);
    append_bound(text, "at_most", expectation->at_most);
    if (expectation->kind == SPATE_EXPECT_REACHES)
        append_seconds(text, "within_s", expectation->within_ns);
    if (expectation->measure == NULL && !expectation->at_least.is_given) {
        append_key(text, "in_at_least");
        spate_append_number(text, expectation->in_at_least);
    }
}

static void
append_broken(GString *text, const SpateCheckPoint *point)
{
    append_key(text, "messages");
    g_string_append_printf(text,
                           "%" G_GUINT64_FORMAT ", \"broken\": %" G_GUINT64_FORMAT
                           ", \"too_late\": %" G_GUINT64_FORMAT,
                           (guint64)point->n_messages, (guint64)point->n_broken,
                           (guint64)point->n_too_late);
    if (!point->is_broken)
        return;
    append_key(text, "first_broken");
    g_string_append_printf(text, "{\"replication\": %u, \"origin\": ", point->replication + 1);
    spate_append_json_string(text, point->origin);
    g_string_append_printf(text, ", \"offer\": %" G_GUINT64_FORMAT ", \"message\": %u",
                           (guint64)point->broken.first.offer + 1, point->broken.first_number);
    append_seconds(text, "offered_s", point->broken.offered_ns);
    append_key(text, "at_s");
    spate_append_number(
        text, point->broken.at_ns < 0 ? NAN : (double)point->broken.at_ns / (double)SPATE_NS_PER_S);
    g_string_append_c(text, '}');
}

static void
append_interval(GString *text, SpateInterval ci95)
{
    append_key(text, "ci95");
    spate_append_json_interval(text, ci95);
}

static void
append_judgement(GString *text, const SpateJudgement *judgement)
{
    append_key(text, "mean");
    spate_append_number(text, judgement->mean);
    append_interval(text, judgement->ci95);
    g_string_append_printf(text, ", \"n\": %u", judgement->n);
    if (judgement->n_looks > 1)
        g_string_append_printf(text, ", \"looks\": %u", judgement->n_looks);
    bool is_known = judgement->kind == SPATE_VERDICT_UNDECIDED &&
                    judgement->more != SPATE_MORE_NEVER && judgement->more != SPATE_MORE_MANY;
    append_key(text, "more");
    spate_append_number(text, is_known ? (double)judgement->more : NAN);
}

static void
append_since(GString *text, const SpateCheckReport *report, const SpateJudgement *since)
{
    g_string_append_printf(text, ", \"since\": {\"verdict\": \"%s\", \"ok\": %s",
                           spate_check_verdict_word(since),
                           spate_judgement_passes(since, report->is_strict) ? "true" : "false");
    append_judgement(text, since);
    g_string_append_c(text, '}');
}

static void
append_difference(GString *text, const SpateDifference *difference)
{
    const SpateResultRow *row = difference->row;
    const SpateMeasureInfo *info = spate_measure_info(row->measure);
    g_string_append(text, "    {\"variant\": ");
    spate_append_json_string(text, difference->variant);
    append_text(text, "measure", info->name);
    append_text(text, "traffic", row->traffic);
    append_text(text, "to", row->to);
    append_text(text, "bearer", row->bearer);
    append_text(text, "node", row->node);
    append_text(text, "bridge", row->bridge);
    append_text(text, "unit", spate_unit_name(info->unit));
    append_key(text, "mean");
    spate_append_number(text, difference->mean);
    append_interval(text, difference->ci95);
    g_string_append_printf(text, ", \"n\": %u}", difference->n);
}

static void
append_differences(GString *text, const GArray *differences)
{
    g_string_append(text, ", \"differences\": [");
    for (guint i = 0; i < differences->len; i++) {
        g_string_append(text, i > 0 ? ",\n" : "\n");
        append_difference(text, &g_array_index(differences, SpateDifference, i));
    }
    g_string_append_c(text, ']');
}

static void
append_uncompared(GString *text, const GArray *uncompared)
{
    g_string_append(text, ", \"uncompared\": [");
    for (guint i = 0; i < uncompared->len; i++) {
        const SpateUncompared *one = &g_array_index(uncompared, SpateUncompared, i);
        g_string_append_printf(text, "%s{\"what\": \"%s\", \"name\": ", i > 0 ? ", " : "",
                               one->what);
        spate_append_json_string(text, one->name);
        g_string_append_printf(text, ", \"in\": \"%s\"}", one->is_gone ? "before" : "now");
    }
    g_string_append_c(text, ']');
}

static void
append_point(GString *text, const SpateCheckReport *report, const SpateCheck *check,
             const SpateCheckPoint *point)
{
    g_autoptr(GString) finding = g_string_new(NULL);
    spate_check_append_finding(finding, check, point);
    g_string_append(text, "    ");
    append_expectation(text, point);
    append_text(text, "verdict", spate_check_verdict_word(&point->judgement));
    append_key(text, "ok");
    g_string_append(text, spate_judgement_passes(&point->judgement, report->is_strict) ? "true"
                                                                                       : "false");
    append_judgement(text, &point->judgement);
    if (point->expectation->measure == NULL)
        append_broken(text, point);
    if (point->has_since)
        append_since(text, report, &point->since);
    spate_doubt_append_json(text, point->doubt);
    append_text(text, "finding", finding->str);
    append_text(text, "explanation", point->explanation);
    g_string_append_c(text, '}');
}

static void
append_file(GString *text, const SpateCheckReport *report, size_t file)
{
    const SpateCheck *check = report->checks[file];
    g_string_append(text, "  {\"file\": ");
    spate_append_json_string(text, report->names[file]);
    append_text(text, "title", check->base->title != NULL ? check->base->title : "");
    append_text(text, "sha256", check->base->sha256);
    g_string_append_printf(text, ", \"seed\": %" G_GUINT64_FORMAT ", \"replications\": %u",
                           (guint64)check->base->seed, check->n_replications);
    spate_append_layout_json(text, spate_check_is_of_one_layout(check));
    g_string_append(text, ", \"expectations\": [");
    for (size_t k = 0; spate_check_is_judged(check) && k < check->n_points; k++) {
        g_string_append(text, k > 0 ? ",\n" : "\n");
        append_point(text, report, check, &check->points[k]);
    }
    g_string_append_c(text, ']');
    if (check->differences != NULL)
        append_differences(text, check->differences);
    if (check->uncompared != NULL)
        append_uncompared(text, check->uncompared);
    g_string_append_c(text, '}');
}

void
spate_check_report_json(GString *text, const SpateCheckReport *report)
{
    SpateCheckCounts counts = spate_check_count(report);
    g_string_append(text, "{\"format\": \"spate-check/1\"");
    append_text(text, "version", SPATE_VERSION);
    g_string_append_printf(text,
                           ", \"strict\": %s, \"passed\": %" G_GSIZE_FORMAT
                           ", \"failed\": %" G_GSIZE_FORMAT ", \"undecided\": %" G_GSIZE_FORMAT,
                           report->is_strict ? "true" : "false", counts.n_passed, counts.n_failed,
                           counts.n_undecided);
    append_text(text, "against", report->before);
    if (report->is_interrupted)
        g_string_append(text, ", \"interrupted\": true");
    g_string_append(text, ",\n \"files\": [");
    for (size_t i = 0; i < report->n_checks; i++) {
        g_string_append(text, i > 0 ? ",\n" : "\n");
        append_file(text, report, i);
    }
    g_string_append(text, "]}\n");
}
