/* cost.c - how long a study will take, said before it begins
 *
 * Most studies take seconds, and nothing is said of them.  Where a bound from above leaves room for
 * a long one, the beginning of the first run is tried, and what it took is carried on to the whole:
 * a run that will take hours says so at once, with the figures on which that rests.
 */
#include "cli/cli.h"

#include "study/run/run.h"
#include <math.h>
#include <stdio.h>

/* One event takes so much, and so much for each radio that a frame may reach (docs/performance.md):
 * enough to tell what is not worth a trial. */
#define EVENT_S 0.5e-6
#define LINK_S  10e-9
/* Of what takes less nothing is said, and below a third of it by that bound no trial is made. */
#define WORTH_A_WORD_S 1800.0
/* Bursts look cheap in a scenario and are not: of so many the cost is said sooner. */
#define MANY_BURSTS           1e7
#define WORTH_A_WORD_BURSTS_S 20.0
/* Twice: the first half fills the queues, the second is measured.  A second or two. */
#define TRIAL_EVENTS 100000

typedef struct {
    double run_s;           /* of one run, on one core */
    double frames_per_hour; /* of simulated time, sent by the whole mesh */
    double links_each;      /* of a radio */
    double tried_s;         /* simulated */
    uint32_t n_nodes;
} Trial;

typedef struct {
    double wall_s, simulated_s, frames;
} Reading;

static Reading
read_run(const SpateRun *run)
{
    return (Reading){(double)g_get_monotonic_time() / 1e6,
                     (double)spate_run_now_ns(run) / SPATE_NS_PER_S,
                     (double)spate_run_n_transmissions(run)};
}

/* False: the run is over so soon, or fails so, that there is nothing to say now. */
static bool
try_run(const SpateScenario *scenario, Trial *trial)
{
    g_autoptr(SpateWorld) world = spate_world_new(scenario, NULL);
    g_autoptr(SpateRun) run = world != NULL ? spate_run_new(world, 0, NULL) : NULL;
    if (run == NULL || !spate_run_try(run, TRIAL_EVENTS))
        return false;
    Reading half = read_run(run);
    if (!spate_run_try(run, TRIAL_EVENTS))
        return false;
    Reading whole = read_run(run);
    double simulated_s = fmax(whole.simulated_s - half.simulated_s, 1e-9);
    double duration_s = (double)scenario->duration_ns / SPATE_NS_PER_S;
    const SpateMedium *medium = spate_run_medium(run);
    *trial = (Trial){
        .run_s = duration_s * (whole.wall_s - half.wall_s) / simulated_s,
        .frames_per_hour = 3600.0 * (whole.frames - half.frames) / simulated_s,
        .links_each = (double)medium->n_links / MAX(medium->n_radios, 1),
        .tried_s = whole.simulated_s,
        .n_nodes = scenario->n_nodes,
    };
    return true;
}

static char *
words_of_time(double time_s)
{
    if (time_s < 90.0)
        return g_strdup_printf("%.3g s", time_s);
    if (time_s < 90.0 * 60.0)
        return g_strdup_printf("%.0f min", time_s / 60.0);
    if (time_s < 48.0 * 3600.0)
        return g_strdup_printf("%.3g h", time_s / 3600.0);
    return g_strdup_printf("%.0f days", time_s / 86400.0);
}

/* NULL: it takes less than that. */
static char *
words_from(double worth_s, const SpateScenario *scenario, uint64_t n_runs, unsigned jobs)
{
    Trial trial;
    unsigned n_threads = jobs > 0 ? jobs : g_get_num_processors();
    n_threads = (unsigned)MIN((uint64_t)n_threads, MAX(n_runs, 1));
    double most_s = spate_scenario_most_events(scenario) * (EVENT_S + LINK_S * scenario->n_nodes) *
                    (double)n_runs / n_threads;
    if (most_s < worth_s / 3.0 || !try_run(scenario, &trial))
        return NULL;
    double whole_s = trial.run_s * (double)n_runs / n_threads;
    if (whole_s < worth_s)
        return NULL;
    g_autofree char *time = words_of_time(whole_s);
    g_autofree char *duration = words_of_time((double)scenario->duration_ns / SPATE_NS_PER_S);
    double n_bursts = spate_scenario_bursts(scenario);
    g_autofree char *bursts =
        n_bursts < MANY_BURSTS
            ? g_strdup("")
            : g_strdup_printf(" with %.0f million ambient bursts each", n_bursts / 1e6);
    return g_strdup_printf("%" G_GUINT64_FORMAT " run%s of %s%s will take about %s on this "
                           "machine: %u nodes, %.0f links each, about %.0f frames an hour "
                           "(measured over %.3g simulated seconds)",
                           n_runs, n_runs == 1 ? "" : "s", duration, bursts, time, trial.n_nodes,
                           trial.links_each, trial.frames_per_hour, trial.tried_s);
}

char *
cli_cost_words(const SpateScenario *scenario, uint64_t n_runs, unsigned jobs)
{
    return words_from(WORTH_A_WORD_S, scenario, n_runs, jobs);
}

void
cli_cost_say(const SpateScenario *scenario, uint64_t n_runs, const char *part,
             const CliOptions *options)
{
    if (options->quiet)
        return;
    bool is_costly = spate_scenario_bursts(scenario) >= MANY_BURSTS;
    double worth_s = is_costly ? WORTH_A_WORD_BURSTS_S : WORTH_A_WORD_S;
    g_autofree char *words = words_from(worth_s, scenario, n_runs, options->jobs);
    if (words != NULL)
        fprintf(stderr,
                "spate: %s%s%s; a shorter run.duration or fewer --replications give a first answer "
                "sooner\n",
                part != NULL ? part : "", part != NULL ? ": " : "", words);
}
