/* size-report.c - which values meet all expectations, as text */
#include "report/size-report.h"

#include "core/shown-text.h"
#include "document/json-text.h"
#include "document/numbers.h"
#include "report/check-words.h"
#include "report/doubt-words.h"
#include "report/run-words.h"
#include <math.h>

/* The expectation with what became of it at a point, for the words of a check. */
static SpateCheckPoint
judged_at(const SpateSize *size, const SpateSizePoint *point, size_t expectation)
{
    SpateCheckPoint judged = size->words->points[expectation];
    judged.judgement = point->judgements[expectation];
    judged.doubt = point->doubts[expectation];
    return judged;
}

static const char *
answer_word(SpateSizeAnswer answer)
{
    switch (answer) {
    case SPATE_SIZE_MEETS:
        return "meets";
    case SPATE_SIZE_FAILS:
        return "fails";
    case SPATE_SIZE_UNSURE:
        return "unsure";
    case SPATE_SIZE_OPEN:
        return "open";
    }
    g_assert_not_reached();
}

/* ---- for people ------------------------------------------------------------------------------ */

static void
append_range(GString *text, const SpateSize *size, const SpateSizeBand *band)
{
    g_string_append(text, size->points[band->first].text);
    if (band->last > band->first)
        g_string_append_printf(text, " to %s", size->points[band->last].text);
}

/* "delivery of talk is at least 90 %: measured 87 % (...)" */
static void
append_binding(GString *text, const SpateSize *size, const SpateSizePoint *point)
{
    size_t binding = spate_size_binding(size, point);
    if (binding == size->words->n_points)
        return;
    SpateCheckPoint judged = judged_at(size, point, binding);
    SpateCheck check = *size->words;
    check.n_replications = point->n_replications;
    spate_check_append_title(text, &judged);
    g_string_append(text, "\n    ");
    spate_check_append_finding(text, &check, &judged);
}

/* The end of a band that lies on the side of those that meet; the upper one without any. */
static const SpateSizePoint *
nearest_end(const SpateSize *size, size_t number)
{
    const SpateSizeBand *band = &size->bands[number];
    bool after_good = false;
    for (size_t i = 0; i < number; i++)
        after_good = after_good || size->bands[i].answer == SPATE_SIZE_MEETS;
    return &size->points[after_good ? band->first : band->last];
}

static void
append_band(GString *text, const SpateSize *size, size_t number)
{
    static const char *const HEADS[] = {[SPATE_SIZE_MEETS] = "meets all expectations: ",
                                        [SPATE_SIZE_FAILS] = "fails: ",
                                        [SPATE_SIZE_UNSURE] = "not sure: ",
                                        [SPATE_SIZE_OPEN] = "not judged: "};
    const SpateSizeBand *band = &size->bands[number];
    g_string_append(text, HEADS[band->answer]);
    append_range(text, size, band);
    if (band->answer == SPATE_SIZE_FAILS || band->answer == SPATE_SIZE_UNSURE) {
        const SpateSizePoint *end = nearest_end(size, number);
        g_string_append_printf(text, "; at %s: ", end->text);
        append_binding(text, size, end);
    }
    g_string_append_c(text, '\n');
}

static void
append_answer(GString *text, const SpateSize *size)
{
    const SpateSizePoint *smallest = NULL, *largest = NULL;
    const char *so_far = size->interrupted ? " so far" : "";
    for (size_t i = 0; i < size->n_points; i++) {
        if (size->points[i].answer != SPATE_SIZE_MEETS)
            continue;
        smallest = smallest == NULL ? &size->points[i] : smallest;
        largest = &size->points[i];
    }
    if (smallest == NULL)
        g_string_append(text, "no value that was tried meets all expectations for sure\n");
    else
        g_string_append_printf(text, "the smallest that meets all%s: %s; the largest%s: %s\n",
                               so_far, smallest->text, so_far, largest->text);
}

static void
append_curve(GString *text, const SpateSize *size, size_t expectation)
{
    g_string_append_c(text, '\n');
    spate_check_append_title(text, &size->words->points[expectation]);
    g_string_append_c(text, '\n');
    for (size_t i = 0; i < size->n_points; i++) {
        const SpateSizePoint *point = &size->points[i];
        SpateCheckPoint judged = judged_at(size, point, expectation);
        SpateCheck check = *size->words;
        check.n_replications = point->n_replications;
        g_string_append_printf(text, "  %8s  %-9s ", point->text,
                               spate_check_verdict_word(&judged.judgement));
        spate_check_append_finding(text, &check, &judged);
        g_string_append_c(text, '\n');
        spate_doubt_append(text, judged.doubt, "                      ");
    }
}

static void
append_table(GString *text, const SpateSize *size)
{
    const SpateScenario *base = size->words->base;
    if (base->title != NULL) {
        spate_append_shown_line(text, base->title);
        g_string_append_c(text, '\n');
    }
    g_string_append_printf(text, "%s: %zu values tried", size->vary, size->n_points);
    spate_append_layout_words(text, spate_check_is_of_one_layout(size->words));
    g_string_append(text, size->interrupted ? " (interrupted)\n\n" : "\n\n");
    append_answer(text, size);
    for (size_t i = 0; i < size->n_bands; i++)
        append_band(text, size, i);
    g_string_append(text, "(between neighbours that agree, no values were tried)\n");
    for (size_t i = 0; i < size->words->n_points; i++)
        append_curve(text, size, i);
}

/* ---- for programs ---------------------------------------------------------------------------- */

static void
append_text(GString *text, const char *key, const char *value)
{
    g_string_append_printf(text, ", \"%s\": ", key);
    spate_append_json_string(text, value);
}

static void
append_judgement(GString *text, const SpateSize *size, const SpateSizePoint *point,
                 size_t expectation)
{
    SpateCheckPoint judged = judged_at(size, point, expectation);
    g_string_append_printf(text, "{\"expectation\": %zu", expectation);
    append_text(text, "verdict", spate_check_verdict_word(&judged.judgement));
    g_string_append(text, ", \"mean\": ");
    spate_append_number(text, judged.judgement.mean);
    g_string_append(text, ", \"ci95\": ");
    spate_append_json_interval(text, judged.judgement.ci95);
    if (judged.judgement.n_looks > 1)
        g_string_append_printf(text, ", \"looks\": %u", judged.judgement.n_looks);
    spate_doubt_append_json(text, judged.doubt);
    g_string_append_c(text, '}');
}

static void
append_point(GString *text, const SpateSize *size, const SpateSizePoint *point)
{
    g_string_append(text, "  {\"value\": ");
    spate_append_number(text, point->value);
    append_text(text, "setting", point->text);
    append_text(text, "answer", answer_word(point->answer));
    g_string_append_printf(text, ", \"replications\": %u, \"expectations\": [",
                           point->n_replications);
    for (size_t i = 0; i < size->words->n_points; i++) {
        g_string_append(text, i > 0 ? ", " : "");
        append_judgement(text, size, point, i);
    }
    g_string_append(text, "]}");
}

static void
append_ends(GString *text, const SpateSize *size)
{
    double smallest = NAN, largest = NAN;
    for (size_t i = 0; i < size->n_points; i++) {
        if (size->points[i].answer != SPATE_SIZE_MEETS)
            continue;
        smallest = isnan(smallest) ? size->points[i].value : smallest;
        largest = size->points[i].value;
    }
    g_string_append(text, ", \"smallest\": ");
    spate_append_number(text, smallest);
    g_string_append(text, ", \"largest\": ");
    spate_append_number(text, largest);
}

static void
append_bands(GString *text, const SpateSize *size)
{
    g_string_append(text, ",\n \"bands\": [");
    for (size_t i = 0; i < size->n_bands; i++) {
        const SpateSizeBand *band = &size->bands[i];
        g_string_append(text, i > 0 ? ", {\"from\": " : "{\"from\": ");
        spate_append_number(text, size->points[band->first].value);
        g_string_append(text, ", \"to\": ");
        spate_append_number(text, size->points[band->last].value);
        append_text(text, "answer", answer_word(band->answer));
        if (band->answer == SPATE_SIZE_FAILS || band->answer == SPATE_SIZE_UNSURE)
            g_string_append_printf(text, ", \"binding\": %zu",
                                   spate_size_binding(size, nearest_end(size, i)));
        g_string_append_c(text, '}');
    }
    g_string_append_c(text, ']');
}

static void
append_json(GString *text, const SpateSize *size)
{
    const SpateScenario *base = size->words->base;
    g_string_append(text, "{\"format\": \"spate-size/1\"");
    append_text(text, "version", SPATE_VERSION);
    g_string_append(text, ",\n \"scenario\": {\"title\": ");
    spate_append_json_string(text, base->title != NULL ? base->title : "");
    append_text(text, "sha256", base->sha256);
    g_string_append_printf(text, "}, \"seed\": %" G_GUINT64_FORMAT, (guint64)base->seed);
    append_text(text, "vary", size->vary);
    append_text(text, "unit", size->unit);
    append_ends(text, size);
    if (size->interrupted)
        g_string_append(text, ", \"interrupted\": true");
    spate_append_layout_json(text, spate_check_is_of_one_layout(size->words));
    g_string_append(text, ",\n \"expectations\": [");
    for (size_t i = 0; i < size->words->n_points; i++) {
        g_autoptr(GString) title = g_string_new(NULL);
        spate_check_append_title(title, &size->words->points[i]);
        g_string_append(text, i > 0 ? ", " : "");
        spate_append_json_string(text, title->str);
    }
    g_string_append_c(text, ']');
    append_bands(text, size);
    g_string_append(text, ",\n \"points\": [");
    for (size_t i = 0; i < size->n_points; i++) {
        g_string_append(text, i > 0 ? ",\n" : "\n");
        append_point(text, size, &size->points[i]);
    }
    g_string_append(text, "]}\n");
}

static void
append_csv(GString *text, const SpateSize *size)
{
    g_string_append(text, "value,answer,replications,expectation,verdict,mean,low,high\n");
    for (size_t i = 0; i < size->n_points; i++) {
        const SpateSizePoint *point = &size->points[i];
        for (size_t k = 0; k < size->words->n_points; k++) {
            SpateCheckPoint judged = judged_at(size, point, k);
            const double values[] = {judged.judgement.mean, judged.judgement.ci95.low,
                                     judged.judgement.ci95.high};
            spate_append_number(text, point->value);
            g_string_append_printf(text, ",%s,%u,%zu,%s", answer_word(point->answer),
                                   point->n_replications, k,
                                   spate_check_verdict_word(&judged.judgement));
            for (size_t v = 0; v < G_N_ELEMENTS(values); v++) {
                g_string_append_c(text, ',');
                if (!isnan(values[v]))
                    spate_append_number(text, values[v]);
            }
            g_string_append_c(text, '\n');
        }
    }
}

void
spate_size_report_append(GString *text, const SpateSize *size, SpateFormat format)
{
    switch (format) {
    case SPATE_FORMAT_TABLE:
        append_table(text, size);
        break;
    case SPATE_FORMAT_JSON:
        append_json(text, size);
        break;
    case SPATE_FORMAT_CSV:
        append_csv(text, size);
        break;
    }
}
