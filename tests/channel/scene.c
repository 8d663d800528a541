/* scene.c - a hand-worked case */
#include "channel/scene.h"

#include "channel/drive.h"

#include <check.h>
#include <glib.h>
#include <string.h>

#define NEVER_HEARD_DB 300.0
#define ISOLATION_DB   40.0

static uint32_t
add_radio(Scene *scene, uint32_t node, uint32_t bearer)
{
    TwinScript *s = &scene->script;
    g_assert(s->n_radios < TWIN_MOST_RADIOS && node < TWIN_MOST_NODES && bearer < s->n_bearers);
    uint32_t radio = s->n_radios++;
    s->node[radio] = node;
    s->bearer[radio] = bearer;
    for (uint32_t to = 0; to < TWIN_MOST_NODES; to++)
        s->loss_db[radio][to] = NEVER_HEARD_DB;
    return radio;
}

static uint32_t
add_node(Scene *scene)
{
    scene->script.isolation_db[scene->script.n_nodes] = ISOLATION_DB;
    return scene->script.n_nodes++;
}

void
scene_init(Scene *scene, const SpateBearer *bearer)
{
    memset(scene, 0, sizeof *scene);
    scene_add_bearer(scene, bearer);
    add_radio(scene, add_node(scene), 0);
}

void
scene_init_usual(Scene *scene)
{
    SpateBearer bearer = star_lora(7, PREAMBLE_SYMBOLS, 5);
    scene_init(scene, &bearer);
}

uint32_t
scene_add_bearer(Scene *scene, const SpateBearer *bearer)
{
    g_assert(scene->script.n_bearers < TWIN_MOST_BEARERS);
    scene->script.bearers[scene->script.n_bearers] = *bearer;
    return scene->script.n_bearers++;
}

uint32_t
scene_add_mate(Scene *scene, uint32_t bearer)
{
    return add_radio(scene, scene->script.n_nodes - 1, bearer);
}

uint32_t
scene_add_sender(Scene *scene, uint32_t bearer, double level_dbm)
{
    uint32_t radio = add_radio(scene, add_node(scene), bearer);
    scene_heard(scene, radio, 0, level_dbm);
    return radio;
}

void
scene_heard(Scene *scene, uint32_t sender, uint32_t receiver, double level_dbm)
{
    scene->script.loss_db[sender][scene->script.node[receiver]] = -level_dbm;
}

uint32_t
scene_send(Scene *scene, uint32_t radio, int64_t start_ns, int64_t end_ns)
{
    TwinScript *s = &scene->script;
    g_assert(s->n_frames < TWIN_MOST_FRAMES && end_ns > start_ns);
    s->frames[s->n_frames] =
        (TwinFrame){.radio = radio, .start_ns = start_ns, .airtime_ns = end_ns - start_ns};
    return s->n_frames++;
}

void
scene_play(Scene *scene)
{
    drive_phases(&scene->script);
    drive_channel(&scene->script, &scene->by_channel);
    twin_run(&scene->script, &scene->by_twin);
    g_autofree char *differs =
        drive_difference(&scene->script, &scene->by_twin, &scene->by_channel);
    ck_assert_msg(differs == NULL, "%s", differs);
}

static const char *
outcome_name(const TwinFate *fate)
{
    static const char *const names[SPATE_N_OUTCOMES] = {
        "received", "lost-collision", "lost-busy", "lost-sending", "lost-blocked", "lost-asleep"};
    return fate->audible ? names[fate->outcome] : "inaudible";
}

static void
expect_fate(const Scene *scene, uint32_t frame, uint32_t receiver, TwinFate expected)
{
    const TwinFate *fate = &scene->by_channel.fates[frame][receiver];
    ck_assert_msg(fate->audible == expected.audible && fate->outcome == expected.outcome,
                  "frame %u at radio %u is %s, not %s", frame, receiver, outcome_name(fate),
                  outcome_name(&expected));
    ck_assert_msg(!fate->audible || fate->disturber == expected.disturber,
                  "frame %u at radio %u is disturbed by %d, not %d", frame, receiver,
                  (int)fate->disturber, (int)expected.disturber);
}

void
scene_expect(const Scene *scene, uint32_t frame, uint32_t receiver, SpateOutcome outcome,
             uint32_t disturber)
{
    expect_fate(scene, frame, receiver, (TwinFate){true, outcome, disturber});
}

void
scene_expect_received(const Scene *scene, uint32_t frame, uint32_t receiver)
{
    scene_expect(scene, frame, receiver, SPATE_OUTCOME_RECEIVED, SPATE_NO_DISTURBER);
}

void
scene_expect_inaudible(const Scene *scene, uint32_t frame, uint32_t receiver)
{
    expect_fate(scene, frame, receiver, (TwinFate){.audible = false});
}

void
scene_expect_skipped(const Scene *scene, uint32_t frame, bool skipped)
{
    ck_assert_int_eq(scene->by_channel.skipped[frame], skipped);
}

void
scene_listens(Scene *scene, uint32_t radio, int64_t every_ns, int64_t for_ns)
{
    scene->script.listening[radio] =
        (SpateListening){.every_ns = every_ns, .for_ns = for_ns, .phase = SPATE_PHASE_TOGETHER};
}

void
scene_expect_awake(const Scene *scene, uint32_t radio, int64_t awake_ns)
{
    ck_assert_int_eq(scene->by_channel.awake_ns[radio], awake_ns);
}

void
scene_expect_busy(const Scene *scene, uint32_t radio, int64_t busy_ns)
{
    ck_assert_int_eq(scene->by_channel.busy_ns[radio], busy_ns);
}
