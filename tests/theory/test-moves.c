/* test-moves.c - nodes that move: how their shadowing changes on the way, and where they fall
 * silent
 */
#include "judge.h"

#include "channel/medium.h"
#include "study/run/run.h"
#include "support/check-main.h"

#include <math.h>
#include <string.h>

#define GUDMUNDSON                                                                                 \
    "M. Gudmundson, Correlation model for shadow fading in mobile radio systems, Electronics "     \
    "Letters 27(23), 1991: exp(-d / decorrelation); from memory"

/* Frames that reached the mast, in order: when each began, and how loud it was. */
typedef struct {
    SpateRun *run;
    GArray *started_s, *level_dbm; /* double */
} Heard;

static void
see(gpointer self, const SpateEvent *event)
{
    Heard *heard = self;
    if (event->n_receptions == 0)
        return;
    const SpateReception *reception = &event->receptions[0];
    double level_dbm = spate_medium_level_dbm(event->medium, reception->receiver, reception->power);
    double started_s = (double)event->frame->started_ns / SPATE_NS_PER_S;
    g_array_append_val(heard->level_dbm, level_dbm);
    g_array_append_val(heard->started_s, started_s);
}

static SpateWorld *
world_of(const char *text, SpateScenario **scenario)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("theory", text, strlen(text), NULL, 0, &error);
    *scenario = file != NULL ? spate_scenario_new(file, NULL, &error) : NULL;
    SpateWorld *world = *scenario != NULL ? spate_world_new(*scenario, &error) : NULL;
    ck_assert_msg(world != NULL, "%s", error != NULL ? error->message : "");
    return world;
}

static void
listen(Heard *heard, const SpateWorld *world, uint32_t replication)
{
    heard->started_s = g_array_new(FALSE, FALSE, sizeof(double));
    heard->level_dbm = g_array_new(FALSE, FALSE, sizeof(double));
    g_autoptr(SpateRun) run = spate_run_new(world, replication, NULL);
    const SpateObserver observer = {SPATE_EVENT_ENDED, see, heard};
    spate_run_add_observer(run, &observer);
    ck_assert(spate_run_go(run, NULL, NULL));
}

static void
heard_clear(Heard *heard)
{
    g_array_free(heard->started_s, TRUE);
    g_array_free(heard->level_dbm, TRUE);
}

/* ---- shadowing ------------------------------------------------------------------------------- */

#define SIGMA_DB       6.0
#define N_REPLICATIONS 40

/* The median of all levels: 20 dBm less 100 dB.  The mast is so far off that a kilometre changes
 * nothing. */
#define MEDIAN_DBM (-80.0)

/* A walker of 1 m/s, and a frame after each 10 m of its way. */
static const char SHADOWED[] =
    "spate: 1\n"
    "run: {duration: 30000 s, cool-down: 1 s}\n"
    "bearers: {air: {kind: lora, frequency: 868 MHz, bandwidth: 125 kHz, spreading-factor: 7,\n"
    "  propagation: {model: log-distance, exponent: 1, intercept: {at: 100 km, loss: 100 dB},\n"
    "    shadowing: {sigma: 6 dB, decorrelation: 50 m}}}}\n"
    "nodes:\n"
    "  mast: {at: {x: 0 m, y: -100000 m}, radios: {air: {power: 20 dBm}}%s}\n"
    "  walker: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 20 dBm}},\n"
    "    moves: {along: [{x: 1000 m, y: 0 m}], speed: 1 m/s, back: yes}}\n"
    "traffic: {here: {from: walker, to: mast, payload: 4 bytes, every: 10 s, phase: together}}\n";

/* The mean of z(k) z(k + lag) over a run, z being shadowing over sigma. */
static double
correlation(const Heard *heard, guint lag)
{
    double sum = 0.0;
    for (guint i = 0; i + lag < heard->level_dbm->len; i++)
        sum += (g_array_index(heard->level_dbm, double, i) - MEDIAN_DBM) *
               (g_array_index(heard->level_dbm, double, i + lag) - MEDIAN_DBM);
    return sum / (heard->level_dbm->len - lag) / (SIGMA_DB * SIGMA_DB);
}

/* `apart_m`: of way, of both together, between two frames. */
static void
judge_correlation(const char *mast_moves, const char *who, double apart_m, const guint *lags,
                  size_t n_lags)
{
    g_autofree char *text = g_strdup_printf(SHADOWED, mast_moves);
    SpateScenario *scenario = NULL;
    SpateWorld *world = world_of(text, &scenario);
    double values[4][N_REPLICATIONS];
    for (uint32_t i = 0; i < N_REPLICATIONS; i++) {
        Heard heard = {0};
        listen(&heard, world, i);
        ck_assert_uint_gt(heard.level_dbm->len, 2990);
        for (size_t k = 0; k < n_lags; k++)
            values[k][i] = correlation(&heard, lags[k]);
        heard_clear(&heard);
    }
    for (size_t k = 0; k < n_lags; k++) {
        double way_m = apart_m * lags[k];
        g_autofree char *subject =
            g_strdup_printf("Shadowing on the way (%s): %.0f m of way", who, way_m);
        const JudgeClaim claim = {.subject = subject,
                                  .quantity = "correlation",
                                  .unit = "1",
                                  .expected = exp(-way_m / 50.0),
                                  .tolerance = 0.06,
                                  .source = GUDMUNDSON};
        judge_values(&claim, values[k], N_REPLICATIONS);
    }
    spate_world_free(world);
    spate_scenario_free(scenario);
}

START_TEST(shadowing_falls_out_of_step_with_the_way_gone)
{
    static const guint LAGS[] = {0, 1, 4, 10};
    judge_correlation("", "one walks", 10.0, LAGS, G_N_ELEMENTS(LAGS));
}
END_TEST

/* The other goes at half the speed: 10 m in the time of two frames. */
START_TEST(where_both_walk_their_ways_add_up)
{
    static const guint LAGS[] = {2, 6};
    judge_correlation(
        ",\n    moves: {along: [{x: 1000 m, y: -100000 m}], speed: 0.5 m/s, back: yes}",
        "both walk", 15.0, LAGS, G_N_ELEMENTS(LAGS));
}
END_TEST

/* ---- reach ----------------------------------------------------------------------------------- */

/* SF7 at 125 kHz: noise -174 + 51 + 6 dB, 7.5 dB below which a lone frame is decoded. */
START_TEST(a_walker_falls_silent_where_the_link_budget_says)
{
    static const double STEPS_M[] = {0.5, 5.0, 20.0};
    double budget_db = 14.0 - (-174.0 + 10.0 * log10(125e3) + 6.0 - 7.5) - 60.0;
    double at_1_m_db = 20.0 * log10(4.0 * G_PI * 868e6 / 299792458.0);
    double reach_m = pow(10.0, (budget_db - at_1_m_db) / 20.0);
    for (size_t i = 0; i < G_N_ELEMENTS(STEPS_M); i++) {
        char digits[G_ASCII_DTOSTR_BUF_SIZE];
        g_autofree char *text = g_strdup_printf(
            "spate: 1\n"
            "run: {duration: 500 s, cool-down: 1 s, move-step: %s m}\n"
            "bearers: {air: {kind: lora, frequency: 868 MHz, bandwidth: 125 kHz,\n"
            "  spreading-factor: 7, propagation: {model: free-space, extra-loss: 60 dB}}}\n"
            "nodes:\n"
            "  mast: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm}}}\n"
            "  walker: {at: {x: 10 m, y: 0 m}, radios: {air: {power: 14 dBm}},\n"
            "    moves: {along: [{x: 1000 m, y: 0 m}], speed: 1 m/s}}\n"
            "traffic: {here: {from: walker, to: mast, payload: 4 bytes, every: 250 ms,\n"
            "  phase: together}}\n",
            g_ascii_formatd(digits, sizeof digits, "%g", STEPS_M[i]));
        SpateScenario *scenario = NULL;
        SpateWorld *world = world_of(text, &scenario);
        Heard heard = {0};
        listen(&heard, world, 0);
        g_autofree char *subject =
            g_strdup_printf("A walker on free space: steps of %g m", STEPS_M[i]);
        const JudgeClaim claim = {.subject = subject,
                                  .quantity = "distance of the last frame that is heard",
                                  .unit = "m",
                                  .expected = reach_m,
                                  .tolerance = STEPS_M[i],
                                  .source = "Rec. ITU-R P.525 and the link budget of "
                                            "docs/model.md; within one step of the way"};
        judge_value(&claim,
                    10.0 + g_array_index(heard.started_s, double, heard.started_s->len - 1));
        heard_clear(&heard);
        spate_world_free(world);
        spate_scenario_free(scenario);
    }
}
END_TEST

CHECK_MAIN("theory of moves", shadowing_falls_out_of_step_with_the_way_gone,
           where_both_walk_their_ways_add_up, a_walker_falls_silent_where_the_link_budget_says)
