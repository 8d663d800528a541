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

void
cli_logs_clear(CliLogs *logs)
{
    g_free(logs->events);
    g_free(logs->capture);
    g_strfreev(logs->events_of);
    g_strfreev(logs->capture_at);
}

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
cli_logs_note(const CliLogs *logs)
{
    if (logs->events != NULL)
        cli_places_write("--events", logs->events);
    if (logs->capture != NULL)
        cli_places_write("--capture", logs->capture);
}

CliStatus
cli_logs_check(const CliLogs *logs, const SpateScenario *const *scenarios, size_t n)
{
    if (logs->events_of != NULL && logs->events == NULL && logs->capture == NULL)
        return cli_complain(CLI_USAGE, "--events-of needs --events or --capture");
    if (logs->capture_at != NULL && logs->capture == NULL)
        return cli_complain(CLI_USAGE, "--capture-at needs --capture");
    CliStatus status =
        check_names(logs->events_of, spate_scenario_find_traffic, "traffic", scenarios, n);
    if (status == CLI_DONE)
        status = check_names(logs->capture_at, spate_scenario_find_node, "node", scenarios, n);
    return status;
}

/* ---- one run --------------------------------------------------------------------------------- */

typedef struct {
    const CliLogs *logs;
    const char *name;
    CliStream *events, *capture; /* NULL: not wanted, or not of this run */
} Watch;

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
run_watched(const Watch *watch, const SpateWorld *world, uint32_t replication, GError **error)
{
    g_autoptr(SpateRun) run = spate_run_new_with_disturbers(world, replication, error);
    if (run == NULL)
        return false;
    const SpateScenario *scenario = spate_world_scenario(spate_run_world(run));
    const SpatePlan *plan = spate_world_plan(spate_run_world(run));
    g_autofree double *power_dbm = powers_of(scenario, plan->n_radios);
    g_autofree bool *traffics = flags_of(scenario, watch->logs->events_of,
                                         spate_scenario_find_traffic, scenario->n_traffics);
    g_autofree bool *nodes =
        flags_of(scenario, watch->logs->capture_at, spate_scenario_find_node, scenario->n_nodes);
    g_autoptr(SpateEventLog) log = NULL;
    g_autoptr(SpatePacketCapture) capture = NULL;
    if (watch->events != NULL) {
        log = spate_event_log_new(&(SpateEventLogSettings){
            .plan = plan,
            .variant = watch->name,
            .replication = replication,
            .traffics = traffics,
            .sink = take_lines,
            .user = watch->events,
        });
        SpateObserver observer = spate_event_log_observer(log);
        spate_run_add_observer(run, &observer);
    }
    if (watch->capture != NULL) {
        capture = spate_packet_capture_new(&(SpatePacketCaptureSettings){
            .plan = plan,
            .power_dbm = power_dbm,
            .at_nodes = nodes,
            .traffics = traffics,
            .sink = take_bytes,
            .user = watch->capture,
        });
        SpateObserver observer = spate_packet_capture_observer(capture);
        spate_run_add_observer(run, &observer);
    }
    return spate_run_go(run, cli_interrupt_flag(), error);
}

/* ---- all runs -------------------------------------------------------------------------------- */

typedef struct {
    const CliLogs *logs;
    const SpateScenario *const *scenarios;
    const char *const *names;
    size_t n;
    uint32_t replications; /* 0: as each scenario says */
    CliStream *events, *capture;
} Log;

/* Replications that are written down: without events, only the one that is captured. */
static uint32_t
replications_of(const Log *log, const SpateScenario *scenario)
{
    uint32_t wanted = log->replications > 0 ? log->replications : scenario->replications;
    return log->events != NULL ? wanted : 1;
}

static bool
is_fine(const CliStream *stream)
{
    return stream == NULL || cli_stream_is_fine(stream);
}

static bool
write_variant(const Log *log, size_t number, GError **error)
{
    const SpateScenario *scenario = log->scenarios[number];
    g_autoptr(SpateWorld) world = spate_world_new(scenario, error);
    if (world == NULL)
        return false;
    uint32_t replications = replications_of(log, scenario);
    for (uint32_t i = 0; i < replications; i++) {
        Watch watch = {
            .logs = log->logs,
            .name = log->names[number],
            .events = log->events,
            .capture = number == 0 && i == 0 ? log->capture : NULL,
        };
        if (!run_watched(&watch, world, i, error) || !is_fine(log->events) ||
            !is_fine(log->capture))
            return false;
    }
    return true;
}

static bool
write_all(const Log *log, GError **error)
{
    size_t n = log->events != NULL ? log->n : 1;
    for (size_t i = 0; i < n; i++)
        if (!write_variant(log, i, error))
            return false;
    return true;
}

static CliStatus
worse(CliStatus a, CliStatus b)
{
    return a != CLI_DONE ? a : b;
}

CliStatus
cli_logs_write(const CliLogs *logs, const SpateScenario *const *scenarios, const char *const *names,
               size_t n, const CliOptions *options)
{
    CliStatus status = CLI_DONE;
    GError *error = NULL;
    Log log = {logs, scenarios, names, n, options->replications, NULL, NULL};
    if (logs->events == NULL && logs->capture == NULL)
        return CLI_DONE;
    const volatile int *stop = cli_interrupt_flag();
    cli_interrupt_keep_results();
    if (logs->events != NULL &&
        (log.events = cli_stream_open(logs->events, CLI_EXACT, &status)) == NULL)
        return status;
    if (logs->capture != NULL &&
        (log.capture = cli_stream_open(logs->capture, CLI_EXACT, &status)) == NULL) {
        if (log.events != NULL)
            cli_stream_close(log.events, false);
        return status;
    }
    bool is_whole = write_all(&log, &error);
    if (log.events != NULL)
        status = cli_stream_close(log.events, is_whole);
    if (log.capture != NULL)
        status = worse(status, cli_stream_close(log.capture, is_whole));
    if (error != NULL)
        return cli_complain_error(error);
    if (!is_whole && status == CLI_DONE && spate_is_stopped(stop))
        return cli_complain(CLI_INTERRUPTED, "interrupted: the unfinished log was discarded");
    return status;
}
