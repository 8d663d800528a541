/* disturbers-report.c - whose frames break whose reception, as text */
#include "report/advise/advise-report.h"

#include "document/csv-text.h"
#include "document/json-text.h"
#include "document/numbers.h"
#include "report/advise/advise-words.h"
#include "report/words/blame-words.h"
#include "report/words/columns.h"
#include "scenario/layout.h"

/* What a table shows; JSON and CSV hold all. */
#define MOST_RADIOS     12
#define MOST_DISTURBERS 3
/* Below one in two hundred, a sender is no trouble. */
#define LEAST_SHARE 0.005

static const char *
node_of(const SpateDisturberRanking *ranking, uint32_t radio)
{
    const SpatePlan *plan = spate_world_plan(ranking->world);
    return radio < plan->n_radios ? plan->nodes[plan->radios[radio].node].name : NULL;
}

static const char *
bearer_of(const SpateDisturberRanking *ranking, uint32_t radio)
{
    const SpatePlan *plan = spate_world_plan(ranking->world);
    return radio < plan->n_radios ? plan->bearer_names[plan->radios[radio].bearer] : NULL;
}

/* ---- for people ------------------------------------------------------------------------------ */

/* "desk on valley"; free with g_free(). */
static char *
sender_name(const SpateDisturberRanking *ranking, const SpateDisturber *disturber)
{
    if (disturber->blame == SPATE_BLAME_AMBIENT)
        return g_strdup("other people's traffic");
    return g_strdup_printf("%s on %s", node_of(ranking, disturber->sender),
                           bearer_of(ranking, disturber->sender));
}

static char *
where(const SpateDisturber *disturber)
{
    GString *text = g_string_new(NULL);
    switch (disturber->blame) {
    case SPATE_BLAME_OWN_RADIO:
        return g_string_free(g_string_append(text, "its own other radio"), FALSE);
    case SPATE_BLAME_AMBIENT:
        return g_string_free(g_string_append(text, "no sender in this mesh"), FALSE);
    case SPATE_BLAME_NEIGHBOUR:
        g_string_append(text, "a neighbour, ");
        break;
    case SPATE_BLAME_MESH:
        break;
    }
    spate_append_fixed(text, disturber->distance_m, disturber->distance_m < 100.0 ? 1 : 0, FALSE);
    return g_string_free(g_string_append(text, " m away"), FALSE);
}

static void
append_part(GString *text, const char *separator, const char *word, double share)
{
    if (share <= 0.0)
        return;
    if (text->len > 0)
        g_string_append(text, separator);
    g_string_append_printf(text, "%s ", word);
    spate_append_fixed(text, share * 100.0, 1, FALSE);
}

static char *
parts(const SpateDisturber *disturber)
{
    GString *text = g_string_new(NULL);
    append_part(text, ", ", "collision", disturber->collision);
    append_part(text, ", ", "busy", disturber->busy);
    append_part(text, ", ", "blocked", disturber->blocked);
    return g_string_free(text, FALSE);
}

static char *
per_hour(double value)
{
    return spate_number_fixed(value, spate_decimals_for(value));
}

/* "; of 412 messages an hour that it needs, 3.1 [2.9, 3.3] never arrived" */
static void
append_missed(GString *text, const SpateDisturbedRadio *radio)
{
    g_autofree char *needed = per_hour(radio->needed_per_hour);
    g_autofree char *missed = spate_estimate_percent(&radio->missed, FALSE);
    g_string_append_printf(
        text,
        "  of %s messages an hour that it needs, it never received because of others, %%: %s\n",
        needed, missed);
}

static char *
missed_text(const SpateDisturber *disturber)
{
    g_autofree char *missed = per_hour(disturber->missed_per_hour);
    return disturber->missed_per_hour > 0.0 ? g_strdup_printf("misses %s an hour", missed)
                                            : g_strdup("");
}

static void
append_radio(GString *text, const SpateDisturberRanking *ranking, const SpateDisturbedRadio *radio)
{
    g_autofree char *audible = per_hour(radio->audible_per_hour);
    g_autofree char *received = spate_estimate_percent(&radio->received, FALSE);
    g_autofree char *lost = spate_estimate_percent(&radio->lost, FALSE);
    g_autofree char *sending = spate_estimate_percent(&radio->sending, FALSE);
    g_string_append_printf(text,
                           "\n%s on %s: %s frames an hour within reach; received %s, lost to "
                           "others %s, while it sent %s\n",
                           node_of(ranking, radio->radio), bearer_of(ranking, radio->radio),
                           audible, received, lost, sending);
    append_missed(text, radio);
    g_autoptr(SpateColumns) columns = spate_columns_new();
    for (guint i = 0; i < MIN(radio->disturbers->len, MOST_DISTURBERS); i++) {
        const SpateDisturber *disturber = &g_array_index(radio->disturbers, SpateDisturber, i);
        if (disturber->share.mean < LEAST_SHARE)
            continue;
        spate_columns_take(columns, sender_name(ranking, disturber));
        spate_columns_take(columns, where(disturber));
        spate_columns_take(columns, missed_text(disturber));
        spate_columns_take(columns, spate_estimate_percent(&disturber->share, FALSE));
        spate_columns_take(columns, parts(disturber));
        spate_columns_end_line(columns);
    }
    spate_columns_append(text, columns, 2);
}

/* Radios are sorted by what their worst disturber makes them miss: after the first without, none
 * misses any. */
static bool
misses_any(const SpateDisturberRanking *ranking, guint number)
{
    const GArray *disturbers =
        g_array_index(ranking->radios, SpateDisturbedRadio, number).disturbers;
    return disturbers->len > 0 &&
           g_array_index(disturbers, SpateDisturber, 0).missed_per_hour > 0.0;
}

static void
append_table(GString *text, const SpateDisturberRanking *ranking)
{
    spate_advise_append_head(text, ranking->scenario, ranking->variant, ranking->n_replications,
                             ranking->interrupted);
    g_string_append_printf(
        text,
        "in %% of the frames within reach of a radio: what was lost to each sender.  Shown are at "
        "most %d radios,\n"
        "those that miss most of the messages they need because of one sender (relays and "
        "recipients need\n"
        "messages), with at most %d senders each; JSON and CSV hold all\n",
        MOST_RADIOS, MOST_DISTURBERS);
    if (spate_scenario_redraws_places(ranking->scenario))
        g_string_append(text, "distances and neighbours are those of replication 1; each draws "
                              "random places anew\n");
    guint n_shown = 0;
    while (n_shown < MIN(ranking->radios->len, MOST_RADIOS) && misses_any(ranking, n_shown))
        append_radio(text, ranking,
                     &g_array_index(ranking->radios, SpateDisturbedRadio, n_shown++));
    if (n_shown == 0)
        g_string_append(text, "\nno radio misses a message that it needs because of others\n");
}

/* ---- for programs ---------------------------------------------------------------------------- */

static void
append_json_disturber(GString *text, const SpateDisturberRanking *ranking,
                      const SpateDisturber *disturber)
{
    const struct {
        const char *key;
        double value;
    } numbers[] = {{"distance_m", disturber->distance_m},
                   {"collision", disturber->collision},
                   {"busy", disturber->busy},
                   {"blocked", disturber->blocked},
                   {"missed_per_hour", disturber->missed_per_hour}};
    g_string_append(text, "{\"blame\": ");
    spate_append_json_string(text, spate_blame_word(disturber->blame));
    spate_append_json_member(text, "node", node_of(ranking, disturber->sender));
    spate_append_json_member(text, "bearer", bearer_of(ranking, disturber->sender));
    g_string_append(text, ", \"share\": ");
    spate_estimate_append_json(text, &disturber->share);
    for (size_t i = 0; i < G_N_ELEMENTS(numbers); i++) {
        g_string_append_printf(text, ", \"%s\": ", numbers[i].key);
        spate_append_number(text, numbers[i].value);
    }
    g_string_append_c(text, '}');
}

static void
append_json_radio(GString *text, const SpateDisturberRanking *ranking,
                  const SpateDisturbedRadio *radio)
{
    const struct {
        const char *key;
        const SpateEstimate *estimate;
    } estimates[] = {{"received", &radio->received},
                     {"lost", &radio->lost},
                     {"sending", &radio->sending},
                     {"missed", &radio->missed}};
    g_string_append(text, "{\"node\": ");
    spate_append_json_string(text, node_of(ranking, radio->radio));
    spate_append_json_member(text, "bearer", bearer_of(ranking, radio->radio));
    g_string_append(text, ", \"audible_per_hour\": ");
    spate_append_number(text, radio->audible_per_hour);
    g_string_append(text, ", \"needed_per_hour\": ");
    spate_append_number(text, radio->needed_per_hour);
    for (size_t i = 0; i < G_N_ELEMENTS(estimates); i++) {
        g_string_append_printf(text, ", \"%s\": ", estimates[i].key);
        spate_estimate_append_json(text, estimates[i].estimate);
    }
    g_string_append(text, ", \"disturbers\": [");
    for (guint i = 0; i < radio->disturbers->len; i++) {
        g_string_append(text, i > 0 ? ",\n    " : "\n    ");
        append_json_disturber(text, ranking, &g_array_index(radio->disturbers, SpateDisturber, i));
    }
    g_string_append(text, "]}");
}

static void
append_json(GString *text, const SpateDisturberRanking *ranking)
{
    spate_advise_append_json_head(text, "disturbers", ranking->scenario, ranking->variant,
                                  ranking->n_replications, ranking->interrupted);
    if (spate_scenario_redraws_places(ranking->scenario))
        g_string_append(text, ", \"random_places\": true");
    g_string_append(text, ",\n \"receivers\": [");
    for (guint i = 0; i < ranking->radios->len; i++) {
        g_string_append(text, i > 0 ? ",\n  " : "\n  ");
        append_json_radio(text, ranking, &g_array_index(ranking->radios, SpateDisturbedRadio, i));
    }
    g_string_append(text, "]}\n");
}

static void
append_csv_line(GString *text, const SpateDisturberRanking *ranking,
                const SpateDisturbedRadio *radio, const SpateDisturber *disturber)
{
    const double numbers[] = {disturber->collision, disturber->busy, disturber->blocked,
                              disturber->missed_per_hour};
    g_string_append(text, "disturber");
    spate_append_csv_field(text, node_of(ranking, radio->radio));
    spate_append_csv_field(text, bearer_of(ranking, radio->radio));
    spate_append_csv_field(text, spate_blame_word(disturber->blame));
    spate_append_csv_field(text, node_of(ranking, disturber->sender));
    spate_append_csv_field(text, bearer_of(ranking, disturber->sender));
    g_string_append_c(text, ',');
    if (disturber->blame != SPATE_BLAME_AMBIENT)
        spate_append_number(text, disturber->distance_m);
    spate_append_csv_estimate(text, &disturber->share);
    for (size_t i = 0; i < G_N_ELEMENTS(numbers); i++) {
        g_string_append_c(text, ',');
        spate_append_number(text, numbers[i]);
    }
    g_string_append_c(text, '\n');
}

static void
append_csv(GString *text, const SpateDisturberRanking *ranking)
{
    g_string_append(text, "kind,receiver,bearer,blame,sender,sender_bearer,distance_m,share,low,"
                          "high,collision,busy,blocked,missed_per_hour\n");
    for (guint i = 0; i < ranking->radios->len; i++) {
        const SpateDisturbedRadio *radio = &g_array_index(ranking->radios, SpateDisturbedRadio, i);
        for (guint k = 0; k < radio->disturbers->len; k++)
            append_csv_line(text, ranking, radio,
                            &g_array_index(radio->disturbers, SpateDisturber, k));
    }
}

void
spate_disturbers_report_append(GString *text, const SpateDisturberRanking *ranking,
                               SpateFormat format)
{
    switch (format) {
    case SPATE_FORMAT_TABLE:
        append_table(text, ranking);
        break;
    case SPATE_FORMAT_JSON:
        append_json(text, ranking);
        break;
    case SPATE_FORMAT_CSV:
        append_csv(text, ranking);
        break;
    }
}
