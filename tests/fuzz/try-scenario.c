/* try-scenario.c - all that the program does with a scenario, in small */
#include "try-scenario.h"

#include "scenario/world/world.h"
#include "study/run/run.h"
#include <sys/mman.h>
#include <unistd.h>

/* What one input may take: some milliseconds. */
#define MOST_NODES    40
#define MOST_VARIANTS 4
#define MOST_AMBIENT  2e4 /* bursts in the whole run */
#define MOST_NOTES    3000

/* A call fails exactly if it says why. */
static void
check_error(bool succeeded, GError *error)
{
    g_assert(succeeded == (error == NULL));
    g_assert(error == NULL || g_utf8_validate(error->message, -1, NULL));
    g_clear_error(&error);
}

/* Stops a run after so many things that it tells. */
typedef struct {
    int left;
    volatile int stop;
} Patience;

static void
spend(gpointer self, const SpateEvent *event)
{
    Patience *patience = self;
    if (--patience->left <= 0)
        patience->stop = 1;
}

static void
try_run(const SpateWorld *world)
{
    GError *error = NULL;
    Patience patience = {.left = MOST_NOTES};
    const SpateObserver observer = {SPATE_EVENT_OFFERED | SPATE_EVENT_QUEUED | SPATE_EVENT_STARTED,
                                    spend, &patience};
    g_autoptr(SpateRun) run = spate_run_new(world, 0, &error);
    check_error(run != NULL, error);
    if (run == NULL)
        return;
    spate_run_add_observer(run, &observer);
    spate_run_go(run, &patience.stop, NULL);
}

static bool
is_small(const SpateScenario *scenario)
{
    double n_bursts = 0;
    for (uint32_t i = 0; i < scenario->n_ambient; i++)
        n_bursts += (double)scenario->duration_ns / (double)scenario->ambient[i].burst_ns;
    return scenario->n_nodes <= MOST_NODES && n_bursts <= MOST_AMBIENT;
}

static void
try_variant(const SpateScenarioFile *file, const char *variant)
{
    GError *error = NULL;
    g_autoptr(SpateScenario) scenario = spate_scenario_new(file, variant, &error);
    check_error(scenario != NULL, error);
    if (scenario == NULL || !is_small(scenario))
        return;
    g_autoptr(SpateWorld) world = spate_world_new(scenario, &error);
    check_error(world != NULL, error);
    if (world == NULL)
        return;
    g_autofree char *warnings = spate_world_lint(world, file);
    g_assert(g_utf8_validate(warnings, -1, NULL));
    try_run(world);
}

void
try_scenario(const char *name, const char *text, size_t length, const SpateSetting *settings,
             size_t n_settings)
{
    GError *error = NULL;
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse(name, text, length, settings, n_settings, &error);
    check_error(file != NULL, error);
    if (file == NULL)
        return;
    try_variant(file, NULL);
    const char *const *variants = spate_scenario_file_variants(file);
    for (int i = 0; i < MOST_VARIANTS && variants[i] != NULL; i++)
        try_variant(file, variants[i]);
}

int
file_in_memory(const uint8_t *bytes, size_t length)
{
    static int fd = -1;
    if (fd < 0)
        fd = memfd_create("table", 0);
    g_assert(fd >= 0 && ftruncate(fd, 0) == 0);
    g_assert(length == 0 || pwrite(fd, bytes, length, 0) == (ssize_t)length);
    return fd;
}
