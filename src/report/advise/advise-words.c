/* advise-words.c - what the reports of advice share */
#include "report/advise/advise-words.h"

#include "core/shown-text.h"
#include "core/time.h"
#include "document/csv-text.h"
#include "document/json-text.h"
#include "document/numbers.h"
#include "report/result/shared-forms.h"
#include "report/words/run-words.h"
#include "scenario/layout.h"
#include <math.h>
#include <string.h>

/* ---- numbers --------------------------------------------------------------------------------- */

char *
spate_number_fixed(double value, int decimals)
{
    GString *text = g_string_new(NULL);
    spate_append_fixed(text, value, decimals, FALSE);
    return g_string_free(text, FALSE);
}

char *
spate_estimate_text(const SpateEstimate *estimate, double factor, int decimals, gboolean sign)
{
    GString *text = g_string_new(NULL);
    double low = estimate->ci95.low * factor, high = estimate->ci95.high * factor;
    decimals = spate_decimals_to_tell(low, high, decimals);
    spate_append_fixed(text, estimate->mean * factor, decimals, sign);
    if (!isnan(low)) {
        g_string_append(text, " [");
        spate_append_fixed(text, low, decimals, sign);
        g_string_append(text, ", ");
        spate_append_fixed(text, high, decimals, sign);
        g_string_append_c(text, ']');
    }
    return g_string_free(text, FALSE);
}

char *
spate_estimate_percent(const SpateEstimate *estimate, gboolean sign)
{
    return spate_estimate_text(estimate, 100.0, 1, sign);
}

void
spate_estimate_append_json(GString *text, const SpateEstimate *estimate)
{
    spate_form_append(text, &SPATE_ESTIMATE_FORM, estimate);
}

void
spate_append_json_member(GString *text, const char *key, const char *value)
{
    g_string_append_printf(text, ", \"%s\": ", key);
    if (value != NULL)
        spate_append_json_string(text, value);
    else
        g_string_append(text, "null");
}

/* ---- heads ----------------------------------------------------------------------------------- */

void
spate_advise_append_json_head(GString *text, const char *kind, const SpateScenario *scenario,
                              const char *variant, uint32_t n_replications, bool is_interrupted)
{
    g_string_append(text, "{\"format\": \"spate-advice/1\"");
    spate_append_json_member(text, "advice", kind);
    spate_append_json_member(text, "version", SPATE_VERSION);
    g_string_append(text, ",\n \"scenario\": {\"title\": ");
    spate_append_json_string(text, scenario->title != NULL ? scenario->title : "");
    spate_append_json_member(text, "sha256", scenario->sha256);
    g_string_append_printf(text, "}, \"seed\": %" G_GUINT64_FORMAT, (guint64)scenario->seed);
    spate_append_json_member(text, "variant", variant);
    g_string_append_printf(text, ", \"replications\": %u", n_replications);
    if (is_interrupted)
        g_string_append(text, ", \"interrupted\": true");
    if (spate_scenario_holds_layout(scenario))
        g_string_append(text, ", \"one_layout\": true");
}

static void
append_time(GString *text, int64_t time_ns)
{
    double seconds = (double)time_ns / (double)SPATE_NS_PER_S;
    bool is_hours = seconds >= 3600.0, is_minutes = seconds >= 60.0;
    double unit = is_hours ? 3600.0 : is_minutes ? 60.0 : 1.0;
    spate_append_number(text, rint(seconds / unit * 100.0) / 100.0);
    g_string_append(text, is_hours ? " h" : is_minutes ? " min" : " s");
}

void
spate_advise_append_head(GString *text, const SpateScenario *scenario, const char *variant,
                         uint32_t n_replications, bool is_interrupted)
{
    if (scenario->title != NULL) {
        spate_append_shown_line(text, scenario->title);
        g_string_append_c(text, '\n');
    }
    if (strcmp(variant, "base") != 0)
        g_string_append_printf(text, "variant %s: ", variant);
    g_string_append_printf(text, "%u replication%s of ", n_replications,
                           n_replications == 1 ? "" : "s");
    append_time(text, scenario->duration_ns);
    g_string_append_printf(text, ", seed %" G_GUINT64_FORMAT, (guint64)scenario->seed);
    spate_append_layout_words(text, spate_scenario_holds_layout(scenario));
    g_string_append_printf(text, "%s; [95 %% intervals]\n", is_interrupted ? " (interrupted)" : "");
}

void
spate_people_append(GString *text, const SpatePeople *people, const SpateEstimate *delivery,
                    const char *otherwise)
{
    g_string_append(text, "people's traffic: ");
    const char *separator = "";
    for (uint32_t i = 0; people->any_named && i < people->scenario->n_traffics; i++) {
        if (!people->is_named[i])
            continue;
        g_string_append_printf(text, "%s%s", separator, people->scenario->traffics[i].name);
        separator = ", ";
    }
    g_string_append(text, people->any_named ? " (what expectations of delivery name)" : otherwise);
    g_autofree char *arrives = spate_estimate_percent(delivery, FALSE);
    g_string_append_printf(text, "\n%s arrives, %%: %s (in time where it has a deadline)\n",
                           people->any_named ? "of it" : "of all traffic", arrives);
}

void
spate_people_append_json(GString *text, const SpatePeople *people, const SpateEstimate *delivery)
{
    g_string_append(text, ",\n \"people\": {\"traffics\": ");
    const char *separator = "[";
    for (uint32_t i = 0; people->any_named && i < people->scenario->n_traffics; i++) {
        if (!people->is_named[i])
            continue;
        g_string_append(text, separator);
        spate_append_json_string(text, people->scenario->traffics[i].name);
        separator = ", ";
    }
    g_string_append(text, people->any_named ? "]" : "null");
    g_string_append(text, ", \"delivery\": ");
    spate_estimate_append_json(text, delivery);
    g_string_append_c(text, '}');
}

/* ---- CSV ------------------------------------------------------------------------------------- */

void
spate_append_csv_estimate(GString *text, const SpateEstimate *estimate)
{
    const double values[] = {estimate->mean, estimate->ci95.low, estimate->ci95.high};
    for (size_t i = 0; i < G_N_ELEMENTS(values); i++)
        spate_append_csv_number(text, values[i]);
}
