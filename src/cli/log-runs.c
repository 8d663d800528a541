/* log-runs.c - run --events and --capture: all that happens, written down
 *
 * The study runs on threads and keeps only measures; what is to be written down is run again, one
 * replication after the other.  So no result can depend on whether anybody watches.
 */
#include "cli/cli.h"

#include "core/stop.h"
#include "report/log/event-log.h"
#include "report/log/packet-capture.h"
#include "study/run/run.h"
#include <string.h>

/* ---- names ----------------------------------------------------------------------------------- */

typedef uint32_t (*FindFunc)(const SpateScenario *scenario, const char *name);

/* What the names stand for, as flags; NULL without names.  Names that this scenario lacks are
 * another variant's. */
static bool *
flags_of(const SpateScenario *scenario, char **names, FindFunc find, uint32_t n)
{
    if (names == NULL)
        return NULL;
    bool *flags = g_new0(bool, n + 1u);
    for (size_t i = 0; names[i] != NULL; i++) {
        uint32_t number = find(scenario, names[i]);
        if (number != UINT32_MAX)
            flags[number] = true;
    }
    return flags;
}

static CliStatus
check_names(char **names, FindFunc find, const char *what, const SpateScenario *const *scenarios,
            size_t n)
{
    for (size_t i = 0; names != NULL && names[i] != NULL; i++) {
        size_t known = 0;
        while (known < n && find(scenarios[known], names[i]) == UINT32_MAX)
            known++;
        if (known == n)
            return cli_complain(CLI_USAGE, "there is no %s '%s'", what, names[i]);
    }
    return CLI_DONE;
}

void
cli_logs_note(const CliOptions *options)
{
    const char *events = cli_option_text(options, "events");
    const char *capture = cli_option_text(options, "capture");
    if (events != NULL)
        cli_places_write("--events", events);
    if (capture != NULL)
        cli_places_write("--capture", capture);
}

CliStatus
cli_logs_check(const CliOptions *options, const SpateScenario *const *scenarios, size_t n)
{
    char **traffics = cli_option_texts(options, "events-of");
    char **nodes = cli_option_texts(options, "capture-at");
    bool has_capture = cli_option_text(options, "capture") != NULL;
    if (traffics != NULL && cli_option_text(options, "events") == NULL && !has_capture)
        return cli_complain(CLI_USAGE, "--events-of needs --events or --capture");
    if (nodes != NULL && !has_capture)
        return cli_complain(CLI_USAGE, "--capture-at needs --capture");
    CliStatus status = check_names(traffics, spate_scenario_find_traffic, "traffic", scenarios, n);
    if (status == CLI_DONE)
        status = check_names(nodes, spate_scenario_find_node, "node", scenarios, n);
    return status;
}

/* ---- runs ------------------------------------------------------------------------------------ */

typedef struct {
    const CliOptions *options;
    CliStream *events, *capture; /* NULL: not wanted */
} Log;

static void
take_lines(gpointer stream, const char *lines, gsize length)
{
    cli_stream_append(stream, lines, length);
}

static void
take_bytes(gpointer stream, const guint8 *bytes, gsize length)
{
    cli_stream_append(stream, bytes, length);
}

static double *
powers_of(const SpateScenario *scenario, uint32_t n_radios)
{
    double *power_dbm = g_new(double, n_radios + 1u);
    uint32_t radio = 0;
    for (uint32_t i = 0; i < scenario->n_nodes; i++)
        for (uint32_t r = 0; r < scenario->nodes[i].n_radios; r++)
            power_dbm[radio++] = scenario->nodes[i].radios[r].power_dbm;
    g_assert(radio == n_radios);
    return power_dbm;
}

/* False if it was stopped. */
static bool
run_watched(const Log *log, const SpateWorld *world, const char *variant, uint32_t replication,
            GError **error)
{
    const SpateRunMaking making = {.names_disturbers = true, .n_builders = log->options->jobs};
    g_autoptr(SpateRun) run = spate_run_new_made(world, replication, making, error);
    if (run == NULL)
        return false;
    const SpateScenario *scenario = spate_world_scenario(spate_run_world(run));
    const SpatePlan *plan = spate_world_plan(spate_run_world(run));
    g_autofree double *power_dbm = powers_of(scenario, plan->n_radios);
    g_autofree bool *traffics = flags_of(scenario, cli_option_texts(log->options, "events-of"),
                                         spate_scenario_find_traffic, scenario->n_traffics);
    g_autofree bool *nodes = flags_of(scenario, cli_option_texts(log->options, "capture-at"),
                                      spate_scenario_find_node, scenario->n_nodes);
    g_autoptr(SpateEventLog) event_log = NULL;
    g_autoptr(SpatePacketCapture) capture = NULL;
    if (log->events != NULL) {
        event_log = spate_event_log_new(&(SpateEventLogSettings){
            .plan = plan,
            .variant = variant,
            .replication = replication,
            .traffics = traffics,
            .sink = take_lines,
            .user = log->events,
        });
        SpateObserver observer = spate_event_log_observer(event_log);
        spate_run_add_observer(run, &observer);
    }
    if (log->capture != NULL) {
        capture = spate_packet_capture_new(&(SpatePacketCaptureSettings){
            .plan = plan,
            .power_dbm = power_dbm,
            .at_nodes = nodes,
            .traffics = traffics,
            .sink = take_bytes,
            .user = log->capture,
        });
        SpateObserver observer = spate_packet_capture_observer(capture);
        spate_run_add_observer(run, &observer);
    }
    return spate_run_go(run, cli_interrupt_flag(), error);
}

static bool
is_fine(const CliStream *stream)
{
    return stream == NULL || cli_stream_is_fine(stream);
}

/* Only the first replication of the first variant is captured; without events, nothing else is
 * run. */
static bool
write_all(const Log *log, const SpateScenario *const *scenarios, const char *const *names, size_t n,
          GError **error)
{
    Log log_of = *log;
    for (size_t i = 0; i < n && (i == 0 || log->events != NULL); i++) {
        g_autoptr(SpateWorld) world = spate_world_new(scenarios[i], error);
        if (world == NULL)
            return false;
        uint32_t wanted = cli_replications(log->options, scenarios[i]);
        for (uint32_t k = 0; k < wanted && (k == 0 || log->events != NULL); k++) {
            if (!run_watched(&log_of, world, names[i], k, error) || !is_fine(log->events) ||
                !is_fine(log->capture))
                return false;
            log_of.capture = NULL;
        }
    }
    return true;
}

CliStatus
cli_logs_write(const CliOptions *options, const SpateScenario *const *scenarios,
               const char *const *names, size_t n)
{
    const char *events = cli_option_text(options, "events");
    const char *capture = cli_option_text(options, "capture");
    CliStatus status = CLI_DONE;
    GError *error = NULL;
    Log log = {.options = options};
    if (events == NULL && capture == NULL)
        return CLI_DONE;
    cli_interrupt_keep_results();
    if (events != NULL && (log.events = cli_stream_open(events, CLI_EXACT, &status)) == NULL)
        return status;
    if (capture != NULL && (log.capture = cli_stream_open(capture, CLI_EXACT, &status)) == NULL) {
        if (log.events != NULL)
            cli_stream_close(log.events, false);
        return status;
    }
    bool is_whole = write_all(&log, scenarios, names, n, &error);
    if (log.events != NULL)
        status = cli_stream_close(log.events, is_whole);
    if (log.capture != NULL) {
        CliStatus captured = cli_stream_close(log.capture, is_whole);
        status = status != CLI_DONE ? status : captured;
    }
    if (error != NULL)
        return cli_complain_error(error);
    if (!is_whole && status == CLI_DONE && spate_is_stopped(cli_interrupt_flag()))
        return cli_complain(CLI_INTERRUPTED, "interrupted: the unfinished log was discarded");
    return status;
}
