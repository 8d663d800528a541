/* disturbers-report.c - whose frames break whose reception, as text */
#include "report/advise/advise-report.h"

#include "report/advise/advise-words.h"
#include "report/result/shared-forms.h"
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

static SpateAdviceHead
head_of(const SpateDisturberRanking *ranking)
{
    return spate_advice_head("disturbers", ranking->scenario, ranking->variant,
                             ranking->n_replications, ranking->interrupted);
}

/* ---- for people ------------------------------------------------------------------------------ */

/* "a neighbour, 12.3 m away"; free with g_free(). */
static char *
where(const SpateDisturber *disturber)
{
    if (disturber->blame == SPATE_BLAME_OWN_RADIO)
        return g_strdup("its own other radio");
    if (disturber->blame == SPATE_BLAME_AMBIENT)
        return g_strdup("no sender in this mesh");
    const SpateShown shown = {1.0, disturber->distance_m < 100.0 ? 1 : 0, false};
    g_autofree char *distance = spate_figure_text(disturber->distance_m, shown);
    return g_strdup_printf(
        "%s%s m away", disturber->blame == SPATE_BLAME_NEIGHBOUR ? "a neighbour, " : "", distance);
}

/* "collision 12.3, busy 0.4": what the share is made of; free with g_free(). */
static char *
parts(const SpateDisturber *disturber)
{
    const struct {
        const char *word;
        double share;
    } PARTS[] = {{"collision", disturber->collision},
                 {"busy", disturber->busy},
                 {"blocked", disturber->blocked}};
    GString *text = g_string_new(NULL);
    for (size_t i = 0; i < G_N_ELEMENTS(PARTS); i++) {
        if (PARTS[i].share <= 0.0)
            continue;
        g_autofree char *figure = spate_figure_text(PARTS[i].share, (SpateShown){100.0, 1, false});
        g_string_append_printf(text, "%s%s %s", text->len > 0 ? ", " : "", PARTS[i].word, figure);
    }
    return g_string_free(text, FALSE);
}

static void
add_disturber(SpateColumns *columns, const SpateDisturberRanking *ranking,
              const SpateDisturber *disturber)
{
    g_autofree char *missed = spate_number_text(disturber->missed_per_hour);
    if (disturber->blame == SPATE_BLAME_AMBIENT)
        spate_columns_add(columns, "other people's traffic");
    else
        spate_columns_take(columns, g_strdup_printf("%s on %s", node_of(ranking, disturber->sender),
                                                    bearer_of(ranking, disturber->sender)));
    spate_columns_take(columns, where(disturber));
    if (disturber->missed_per_hour > 0.0)
        spate_columns_take(columns, g_strdup_printf("misses %s an hour", missed));
    else
        spate_columns_add(columns, "");
    spate_columns_take(columns, spate_estimate_percent(&disturber->share, false));
    spate_columns_take(columns, parts(disturber));
    spate_columns_end_line(columns);
}

static void
append_radio(GString *text, const SpateDisturberRanking *ranking, const SpateDisturbedRadio *radio)
{
    g_autofree char *audible = spate_number_text(radio->audible_per_hour);
    g_autofree char *received = spate_estimate_percent(&radio->received, false);
    g_autofree char *lost = spate_estimate_percent(&radio->lost, false);
    g_autofree char *sending = spate_estimate_percent(&radio->sending, false);
    g_autofree char *needed = spate_number_text(radio->needed_per_hour);
    g_autofree char *missed = spate_estimate_percent(&radio->missed, false);
    g_string_append_printf(text,
                           "\n%s on %s: %s frames an hour within reach; received %s, lost to "
                           "others %s, while it sent %s",
                           node_of(ranking, radio->radio), bearer_of(ranking, radio->radio),
                           audible, received, lost, sending);
    if (radio->sleeps) {
        g_autofree char *asleep = spate_estimate_percent(&radio->asleep, false);
        g_string_append_printf(text, ", while it slept %s", asleep);
    }
    g_string_append_printf(
        text,
        "\n  of %s messages an hour that it needs, it never received because of others, %%: %s\n",
        needed, missed);
    g_autoptr(SpateColumns) columns = spate_columns_new(1);
    for (guint i = 0; i < MIN(radio->disturbers->len, MOST_DISTURBERS); i++) {
        const SpateDisturber *disturber = &g_array_index(radio->disturbers, SpateDisturber, i);
        if (disturber->share.mean >= LEAST_SHARE)
            add_disturber(columns, ranking, disturber);
    }
    spate_columns_append(text, columns, 2);
}

static void
append_table(GString *text, const SpateDisturberRanking *ranking)
{
    const SpateAdviceHead head = head_of(ranking);
    spate_advice_append_head(text, &head);
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
    for (; n_shown < MIN(ranking->radios->len, MOST_RADIOS); n_shown++) {
        const SpateDisturbedRadio *radio =
            &g_array_index(ranking->radios, SpateDisturbedRadio, n_shown);
        /* They are sorted by that: after the first that misses nothing, none does. */
        if (radio->disturbers->len == 0 ||
            g_array_index(radio->disturbers, SpateDisturber, 0).missed_per_hour <= 0.0)
            break;
        append_radio(text, ranking, radio);
    }
    if (n_shown == 0)
        g_string_append(text, "\nno radio misses a message that it needs because of others\n");
}

/* ---- for programs ---------------------------------------------------------------------------- */

typedef struct {
    SpateDisturber its;
    const char *node, *bearer;                   /* of the sender; NULL: not in this mesh */
    const char *receiver_node, *receiver_bearer; /* of CSV */
} Disturber;

static const SpateMember DISTURBER[] = {
    {"blame", SPATE_CELL_WORD, offsetof(Disturber, its.blame), SPATE_IS_BLAME},
    {"node", SPATE_CELL_TEXT, offsetof(Disturber, node), SPATE_OR_NULL},
    {"bearer", SPATE_CELL_TEXT, offsetof(Disturber, bearer), SPATE_OR_NULL},
    SPATE_ESTIMATE_MEMBER("share", Disturber, its.share),
    {"distance_m", SPATE_CELL_NUMBER, offsetof(Disturber, its.distance_m)},
    {"collision", SPATE_CELL_NUMBER, offsetof(Disturber, its.collision)},
    {"busy", SPATE_CELL_NUMBER, offsetof(Disturber, its.busy)},
    {"blocked", SPATE_CELL_NUMBER, offsetof(Disturber, its.blocked)},
    {"missed_per_hour", SPATE_CELL_NUMBER, offsetof(Disturber, its.missed_per_hour)},
};

static const SpateMember LINE[] = {
    {"kind", SPATE_CELL_FIXED, .fixed = "disturber"},
    {"receiver", SPATE_CELL_TEXT, offsetof(Disturber, receiver_node)},
    {"bearer", SPATE_CELL_TEXT, offsetof(Disturber, receiver_bearer)},
    {"blame", SPATE_CELL_WORD, offsetof(Disturber, its.blame), SPATE_IS_BLAME},
    {"sender", SPATE_CELL_TEXT, offsetof(Disturber, node)},
    {"sender_bearer", SPATE_CELL_TEXT, offsetof(Disturber, bearer)},
    {"distance_m", SPATE_CELL_NUMBER, offsetof(Disturber, its.distance_m)},
    {"share", SPATE_CELL_NUMBER, offsetof(Disturber, its.share.mean)},
    {"low", SPATE_CELL_NUMBER, offsetof(Disturber, its.share.ci95.low)},
    {"high", SPATE_CELL_NUMBER, offsetof(Disturber, its.share.ci95.high)},
    {"collision", SPATE_CELL_NUMBER, offsetof(Disturber, its.collision)},
    {"busy", SPATE_CELL_NUMBER, offsetof(Disturber, its.busy)},
    {"blocked", SPATE_CELL_NUMBER, offsetof(Disturber, its.blocked)},
    {"missed_per_hour", SPATE_CELL_NUMBER, offsetof(Disturber, its.missed_per_hour)},
};
static const SpateForm LINE_FORM = SPATE_FORM(Disturber, LINE);

typedef struct {
    SpateDisturbedRadio its;
    const char *node, *bearer;
    Disturber *disturbers;
    size_t n_disturbers;
} Receiver;

static const SpateMember RECEIVER[] = {
    {"node", SPATE_CELL_TEXT, offsetof(Receiver, node)},
    {"bearer", SPATE_CELL_TEXT, offsetof(Receiver, bearer)},
    {"audible_per_hour", SPATE_CELL_NUMBER, offsetof(Receiver, its.audible_per_hour)},
    {"needed_per_hour", SPATE_CELL_NUMBER, offsetof(Receiver, its.needed_per_hour)},
    SPATE_ESTIMATE_MEMBER("received", Receiver, its.received),
    SPATE_ESTIMATE_MEMBER("lost", Receiver, its.lost),
    SPATE_ESTIMATE_MEMBER("sending", Receiver, its.sending),
    {"asleep", SPATE_CELL_OBJECT, offsetof(Receiver, its.asleep), .absence = SPATE_OR_ABSENT,
     .given = SPATE_GIVEN(Receiver, its.sleeps), .form = &SPATE_ESTIMATE_FORM},
    SPATE_ESTIMATE_MEMBER("missed", Receiver, its.missed),
    {"disturbers", SPATE_CELL_LIST, SPATE_LIST(Receiver, disturbers, n_disturbers),
     SPATE_OF(Disturber, DISTURBER), .each = "\n    "},
};

typedef struct {
    SpateAdviceHead head;
    bool random_places;
    Receiver *receivers;
    size_t n_receivers;
} Document;

static const SpateMember DOCUMENT[] = {
    {NULL, SPATE_CELL_PARTS, offsetof(Document, head), .form = &SPATE_ADVICE_HEAD_FORM},
    {"random_places", SPATE_CELL_FLAG, offsetof(Document, random_places), SPATE_OR_ABSENT},
    {"receivers", SPATE_CELL_LIST, SPATE_LIST(Document, receivers, n_receivers),
     SPATE_OF(Receiver, RECEIVER), .line = "\n ", .each = "\n  "},
};
static const SpateForm DOCUMENT_FORM = SPATE_FORM(Document, DOCUMENT);

static Receiver
receiver_of(const SpateDisturberRanking *ranking, guint number, GPtrArray *scratch)
{
    const SpateDisturbedRadio *its = &g_array_index(ranking->radios, SpateDisturbedRadio, number);
    Receiver receiver = {
        .its = *its,
        .node = node_of(ranking, its->radio),
        .bearer = bearer_of(ranking, its->radio),
        .disturbers = spate_scratch(scratch, g_new(Disturber, its->disturbers->len + 1)),
        .n_disturbers = its->disturbers->len,
    };
    for (guint i = 0; i < its->disturbers->len; i++) {
        const SpateDisturber *disturber = &g_array_index(its->disturbers, SpateDisturber, i);
        receiver.disturbers[i] =
            (Disturber){*disturber, node_of(ranking, disturber->sender),
                        bearer_of(ranking, disturber->sender), receiver.node, receiver.bearer};
    }
    return receiver;
}

static void
append_json(GString *text, const SpateDisturberRanking *ranking)
{
    g_autoptr(GPtrArray) scratch = g_ptr_array_new_with_free_func(g_free);
    Document document = {
        .head = head_of(ranking),
        .random_places = spate_scenario_redraws_places(ranking->scenario),
        .receivers = spate_scratch(scratch, g_new(Receiver, ranking->radios->len + 1)),
        .n_receivers = ranking->radios->len,
    };
    for (guint i = 0; i < ranking->radios->len; i++)
        document.receivers[i] = receiver_of(ranking, i, scratch);
    spate_form_append(text, &DOCUMENT_FORM, &document);
    g_string_append_c(text, '\n');
}

static void
append_csv(GString *text, const SpateDisturberRanking *ranking)
{
    g_autoptr(GPtrArray) scratch = g_ptr_array_new_with_free_func(g_free);
    spate_form_append_csv_head(text, &LINE_FORM);
    for (guint i = 0; i < ranking->radios->len; i++) {
        const Receiver receiver = receiver_of(ranking, i, scratch);
        for (size_t k = 0; k < receiver.n_disturbers; k++)
            spate_form_append_csv(text, &LINE_FORM, &receiver.disturbers[k]);
    }
}

void
spate_disturbers_report_append(GString *text, const SpateDisturberRanking *ranking,
                               SpateFormat format)
{
    static void (*const FORMATS[])(GString *, const SpateDisturberRanking *) = {
        [SPATE_FORMAT_TABLE] = append_table,
        [SPATE_FORMAT_JSON] = append_json,
        [SPATE_FORMAT_CSV] = append_csv,
    };
    FORMATS[format](text, ranking);
}
