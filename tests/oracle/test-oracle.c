/* test-oracle.c - the program against a plain second implementation, on random scenarios
 *
 *     test-oracle                 400 cases, as in the suite
 *     test-oracle CASES [FIRST]   as many cases, beginning with that number (0), and the figures
 *
 * A difference is told as the smallest scenario that shows it.  Left out are the cases in which two
 * levels came so close to a tie that the last digits decide: the program reckons in whole units of
 * 2^-16 or less of what a receiver can just decode, and leaves out links below a millionth of it
 * (docs/model.md, "What the sums leave out").
 */
#include "oracle/history.h"
#include "oracle/oracle.h"
#include "oracle/played.h"
#include "oracle/scenario-maker.h"
#include "oracle/shrink.h"
#include "support/check-main.h"

#include <math.h>

#define N_CASES          400
#define LEAST_DISTANCE   1e-4 /* from a tie, as a ratio */
#define MOST_DIFFERENCES 5
#define MOST_LEFT_OUT    0.2

/* A level that is half a unit of 2^-16 off moves the wait of `weakest-first`, ten airtimes in all
 * for 40 dB, by a millionth of them for each.  Mostly units are finer, or the oracle takes the
 * same: but not where a node moves and another's radios hear each other so loudly that sums need
 * the room. */
#define SLACK_AIRTIMES 1e-5
/* The last digits of a logarithm may round a wait up or down all the same, and one wait follows
 * another, hop by hop. */
#define SLACK_OF_DIGITS_NS 1

/* ---- one case -------------------------------------------------------------------------------- */

typedef struct {
    uint32_t replication;
    PlayedCounts counts; /* of the last scenario that was judged */
    bool is_detectable;  /* it is a scenario, and could be played */
    bool is_left_out;
} Case;

/* Geodesics of both agree to a micrometre, which takes a slow node so long at most. */
static int64_t
slack_of_geodesics_ns(const SpateScenario *scenario)
{
    double longest_ns = 0.0;
    for (uint32_t i = 0; i < scenario->n_nodes && scenario->is_geographic; i++)
        if (scenario->nodes[i].moves.n_points > 0)
            longest_ns = fmax(longest_ns, 1e9 * 1e-6 / scenario->nodes[i].moves.speed_m_per_s);
    return (int64_t)ceil(longest_ns);
}

static int64_t
most_hops(const History *history)
{
    int64_t most = 0;
    for (guint i = 0; i < history->frames->len; i++)
        most = MAX(most, (int64_t)g_array_index(history->frames, HistoryFrame, i).hops);
    return most;
}

static int64_t
slack_of_levels_ns(const SpateScenario *scenario, const Outline *outline, const History *expected)
{
    if (!outline_mentions(outline, "weakest-first"))
        return 0;
    bool is_rounded_alike = expected->moves->len > 0 && !scenario->is_geographic &&
                            !outline_mentions(outline, "isolation");
    return is_rounded_alike ? SLACK_OF_DIGITS_NS * most_hops(expected)
                            : (int64_t)ceil(SLACK_AIRTIMES * (double)expected->longest_airtime_ns);
}

/* A ShrinkJudge. */
static char *
judge(const Outline *outline, gpointer user)
{
    Case *it = user;
    it->counts = (PlayedCounts){0};
    it->is_detectable = false;
    g_autoptr(SpateScenario) scenario = scenario_read(outline, NULL);
    if (scenario == NULL)
        return NULL;
    g_autoptr(History) got = played_run(scenario, it->replication, &it->counts, NULL);
    if (got == NULL)
        return NULL;
    it->is_detectable = true;
    g_autoptr(History) expected = oracle_run(scenario, it->replication);
    it->is_left_out = expected->closest < LEAST_DISTANCE;
    if (it->is_left_out)
        return NULL;
    return history_difference(expected, got,
                              slack_of_levels_ns(scenario, outline, expected) +
                                  slack_of_geodesics_ns(scenario));
}

/* Numbers in a history are those of names in the alphabet. */
static void
print_names(const Outline *outline)
{
    g_autoptr(SpateScenario) scenario = scenario_read(outline, NULL);
    g_printerr("# nodes:");
    for (uint32_t i = 0; i < scenario->n_nodes; i++)
        g_printerr(" %u %s", i, scenario->nodes[i].name);
    g_printerr("; bearers:");
    for (uint32_t i = 0; i < scenario->n_bearers; i++)
        g_printerr(" %u %s", i, scenario->bearers[i].name);
    g_printerr("; traffics:");
    for (uint32_t i = 0; i < scenario->n_traffics; i++)
        g_printerr(" %u %s", i, scenario->traffics[i].name);
    g_printerr("\n");
}

static void
print_smallest(uint64_t number, const Outline *outline, const Case *it)
{
    Case again = {.replication = it->replication};
    g_autoptr(Outline) smallest = shrink(outline, judge, &again);
    g_autofree char *difference = judge(smallest, &again);
    g_autofree char *yaml = outline_to_yaml(smallest);
    g_printerr("# case %" G_GUINT64_FORMAT ", replication %u: %s\n", number, it->replication,
               difference);
    print_names(smallest);
    g_printerr("%s\n", yaml);
}

/* ---- many cases ------------------------------------------------------------------------------ */

/* What scenarios must hold often enough, as a key or a word. */
static const char *const FEATURES[] = {
    "lora",
    "dsss",
    "cad",
    "csma",
    "tries",
    "detection",
    "threshold",
    "duty-cycle",
    "turnaround",
    "lock",
    "same",
    "other",
    "noise-rise",
    "largest-frame",
    "sensitivity",
    "rayleigh",
    "rician",
    "nakagami",
    "coherence",
    "free-space",
    "intercept",
    "log-distance",
    "two-ray",
    "hata",
    "sigma",
    "once",
    "extra-loss",
    "groups",
    "links",
    "between",
    "isolation",
    "site-loss",
    "azimuth",
    "feeder-loss",
    "listens",
    "after-sending",
    "frames",
    "order",
    "expire",
    "priority",
    "classic",
    "counter",
    "probability",
    "none",
    "weakest-first",
    "hop-limit",
    "route-record",
    "entries",
    "for",
    "bridges",
    "otherwise",
    "pass",
    "hold-back",
    "limit",
    "thin",
    "digest",
    "delay",
    "origin",
    "class",
    "size",
    "hops",
    "received-power",
    "occupancy",
    "together",
    "spread",
    "every",
    "mean-interval",
    "at",
    "on",
    "acknowledge",
    "outages",
    "mean-between",
    "moves",
    "move-step",
    "decorrelation",
    "source",
    "along",
    "back",
    "follows",
    "share",
    "nobody",
    "everyone",
    "everywhere",
    "busy",
    "folk",
    "count",
    "circle",
    "rectangle",
    "polygon",
    "each-replication",
};

/* What must have happened, and how often at least in N_CASES. */
typedef struct {
    const char *name;
    size_t at; /* of PlayedCounts */
    uint64_t least;
} Happening;

#define HAPPENING(name, member, least)                                                             \
    {                                                                                              \
        name, offsetof(PlayedCounts, member), least                                                \
    }
#define OUTCOME(name, which, least) HAPPENING(name, outcomes[SPATE_OUTCOME_##which], least)
#define DROP(name, which, least)    HAPPENING(name, drops[SPATE_DROP_##which], least)
#define DECIDED(name, which, least) HAPPENING(name, decisions[SPATE_DECISION_##which], least)

static const Happening HAPPENINGS[] = {
    HAPPENING("frames", frames, 10000),
    HAPPENING("frames that begin together", together, 1000),
    HAPPENING("deliveries", deliveries, 3000),
    HAPPENING("further copies", redundant, 3000),
    OUTCOME("received", RECEIVED, 5000),
    OUTCOME("lost-collision", LOST_COLLISION, 1000),
    OUTCOME("lost-busy", LOST_BUSY, 1000),
    OUTCOME("lost-sending", LOST_SENDING, 1000),
    OUTCOME("lost-blocked", LOST_BLOCKED, 1000),
    OUTCOME("lost-asleep", LOST_ASLEEP, 1000),
    HAPPENING("disturbed by ambient sources", named_ambient, 20),
    DROP("dropped-queue", QUEUE, 100),
    DROP("dropped-expired", EXPIRED, 200),
    DROP("dropped-size", SIZE, 100),
    DROP("dropped-outage", OUTAGE, 100),
    DROP("relays cancelled in a queue", CANCELLED, 8),
    HAPPENING("held back", refusals, 500),
    HAPPENING("relays refused by rules", refused_relays, 50),
    DECIDED("relays or crossings", SEND, 3000),
    DECIDED("delays", DELAY, 8),
    DECIDED("collected in digests", COLLECT, 30),
    DECIDED("stopped by the hop limit", HOP_LIMIT, 200),
    DECIDED("waiting already", IS_WAITING, 4),
    DECIDED("stopped by the policy", POLICY, 100),
    HAPPENING("digests", digests, 100),
    HAPPENING("outages", outages, 200),
    HAPPENING("steps of nodes", moves, 2000),
    HAPPENING("further tries", further_tries, 300),
    HAPPENING("answers", answers, 300),
    HAPPENING("acknowledged", acknowledged, 150),
    HAPPENING("routes learned", learned, 50),
    HAPPENING("routes dropped", unlearned, 15),
    HAPPENING("frames along routes", along_routes, 400),
    HAPPENING("waits for the duty cycle", duty_waits, 8),
    HAPPENING("second looks of cad", cad_waits, 200),
    HAPPENING("backoffs frozen by csma", csma_freezes, 200),
};

typedef struct {
    uint64_t n_cases, n_left_out, n_differences;
    uint64_t features[G_N_ELEMENTS(FEATURES)];
    uint64_t happenings[G_N_ELEMENTS(HAPPENINGS)];
} Tally;

/* Only what was compared counts. */
static void
add_up(Tally *tally, const Outline *outline, const Case *it)
{
    tally->n_cases++;
    if (it->is_left_out) {
        tally->n_left_out++;
        return;
    }
    for (size_t i = 0; i < G_N_ELEMENTS(HAPPENINGS); i++)
        tally->happenings[i] += G_STRUCT_MEMBER(uint64_t, &it->counts, HAPPENINGS[i].at);
    for (size_t i = 0; i < G_N_ELEMENTS(FEATURES); i++)
        tally->features[i] += outline_mentions(outline, FEATURES[i]) ? 1 : 0;
}

/* Whatever is made must be played. */
static void
refuse(uint64_t number, const Outline *outline, uint32_t replication)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenario) scenario = scenario_read(outline, &error);
    PlayedCounts counts = {0};
    if (scenario != NULL)
        history_free(played_run(scenario, replication, &counts, &error));
    g_error("case %" G_GUINT64_FORMAT " cannot be played: %s", number, error->message);
}

static void
run_case(Tally *tally, uint64_t number)
{
    Case it = {.replication = (uint32_t)(number % 3)};
    g_autoptr(Outline) outline = scenario_make(number);
    g_autofree char *difference = judge(outline, &it);
    if (!it.is_detectable)
        refuse(number, outline, it.replication);
    add_up(tally, outline, &it);
    if (difference == NULL)
        return;
    tally->n_differences++;
    print_smallest(number, outline, &it);
}

static void
run_cases(Tally *tally, uint64_t n_cases, uint64_t first)
{
    for (uint64_t i = 0; i < n_cases && tally->n_differences < MOST_DIFFERENCES; i++)
        run_case(tally, first + i);
}

static void
print_figures(const Tally *tally)
{
    g_print("%" G_GUINT64_FORMAT " cases, %" G_GUINT64_FORMAT " left out, %" G_GUINT64_FORMAT
            " differences\n",
            tally->n_cases, tally->n_left_out, tally->n_differences);
    for (size_t i = 0; i < G_N_ELEMENTS(HAPPENINGS); i++)
        g_print("  %-30s %10" G_GUINT64_FORMAT "\n", HAPPENINGS[i].name, tally->happenings[i]);
    g_print("cases with\n");
    for (size_t i = 0; i < G_N_ELEMENTS(FEATURES); i++)
        g_print("  %-30s %10" G_GUINT64_FORMAT "\n", FEATURES[i], tally->features[i]);
}

START_TEST(the_program_and_the_oracle_tell_the_same)
{
    Tally tally = {0};

    run_cases(&tally, N_CASES, 0);

    ck_assert_uint_eq(tally.n_differences, 0);
    ck_assert_double_le((double)tally.n_left_out, MOST_LEFT_OUT * N_CASES);
    /* A test that sees nothing finds nothing. */
    for (size_t i = 0; i < G_N_ELEMENTS(HAPPENINGS); i++)
        ck_assert_msg(tally.happenings[i] >= HAPPENINGS[i].least, "%s: only %" G_GUINT64_FORMAT,
                      HAPPENINGS[i].name, tally.happenings[i]);
    for (size_t i = 0; i < G_N_ELEMENTS(FEATURES); i++)
        ck_assert_msg(tally.features[i] >= 5, "only %" G_GUINT64_FORMAT " cases with '%s'",
                      tally.features[i], FEATURES[i]);
}
END_TEST

static int
run_long(int argc, char **argv)
{
    Tally tally = {0};
    uint64_t first = argc > 2 ? g_ascii_strtoull(argv[2], NULL, 10) : 0;
    run_cases(&tally, g_ascii_strtoull(argv[1], NULL, 10), first);
    print_figures(&tally);
    return tally.n_differences == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}

int
main(int argc, char **argv)
{
    const TTest *const tests[] = {the_program_and_the_oracle_tell_the_same};
    return argc > 1 ? run_long(argc, argv) : run_sentences("oracle", tests, G_N_ELEMENTS(tests));
}
