/* test-allocations.c - once warm, a run allocates nothing
 *
 * GLib's slices have to be counted too: G_SLICE=always-malloc.
 */
#include "small-scenario.h"
#include "study/run/run.h"
#include "support/allocations.h"
#include "support/check-main.h"

/* Compares the count at the first frame after `warm_ns` with that at the last frame. */
typedef struct {
    int64_t warm_ns;
    uint64_t n_frames;
    uint64_t at_warm, at_last;
} Watch;

static void
note_started(gpointer self, const SpateEvent *event)
{
    Watch *watch = self;
    if (event->at_ns < watch->warm_ns)
        return;
    if (watch->n_frames++ == 0)
        watch->at_warm = allocations_so_far();
    watch->at_last = allocations_so_far();
}

START_TEST(a_warm_run_allocates_nothing)
{
    const SpateSetting longer = {"run.duration", "6 h"};
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) file = spate_scenario_file_parse(
        "small.yaml", SMALL_SCENARIO, strlen(SMALL_SCENARIO), &longer, 1, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    g_autoptr(SpateScenario) scenario = spate_scenario_new(file, "open", NULL);
    g_autoptr(SpateWorld) world = spate_world_new(scenario, NULL);
    g_autoptr(SpateRun) run = spate_run_new(world, 0, NULL);
    Watch watch = {.warm_ns = 3 * SPATE_NS_PER_HOUR};
    const SpateObserver observer = {SPATE_EVENT_STARTED, note_started, &watch};
    spate_run_add_observer(run, &observer);

    ck_assert(spate_run_go(run, NULL, NULL));

    ck_assert_uint_gt(watch.n_frames, 1000);
    ck_assert_uint_eq(watch.at_last - watch.at_warm, 0);
}
END_TEST

/* Under valgrind, whose own malloc goes first, there is nothing to count. */
static bool
counts(void)
{
    uint64_t before = allocations_so_far();
    g_autofree volatile char *probe = g_malloc(1);
    probe[0] = 1;
    return allocations_so_far() > before;
}

int
main(void)
{
    if (!counts())
        return 77; /* skipped */
    TCase *cases = tcase_create("allocations");
    tcase_add_test(cases, a_warm_run_allocates_nothing);
    Suite *suite = suite_create("allocations");
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
