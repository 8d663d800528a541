/* scene.h - a hand-worked case: who is heard where how loudly, who sends when
 *
 * A scene is a script that is put together by hand and played by the channel and by its plain
 * twin; both have to come to the outcome that the test has worked out from docs/model.md.
 *
 * Radio 0 is the receiver, of node 0.  Nobody hears anybody unless scene_heard() says so.
 */
#pragma once

#include "channel/star.h"
#include "channel/twin.h"

/* SF7 at 125 kHz: a symbol of 1.024 ms, critical from (n - 5) symbols on, the preamble ends
 * after n + 4.25; noise -117.03 dBm, required SNR -7.5 dB, so -124.53 dBm is just decoded; 1 dB
 * protects from the same settings. */
#define SYMBOL_NS        INT64_C(1024000)
#define PREAMBLE_SYMBOLS 8
#define CRITICAL_NS      (3 * SYMBOL_NS)
#define HEADER_NS        (49 * SYMBOL_NS / 4)
#define SENSITIVITY_DBM  (-124.531)
#define AIRTIME_NS       (50 * SYMBOL_NS)

typedef struct {
    TwinScript script;
    TwinResult by_channel, by_twin;
} Scene;

/* Node 0 with a radio on a bearer of these settings. */
void scene_init(Scene *scene, const SpateBearer *bearer);
/* Node 0 with a radio on the usual bearer, with the settings above. */
void scene_init_usual(Scene *scene);

uint32_t scene_add_bearer(Scene *scene, const SpateBearer *bearer);
/* Another radio of the last node. */
uint32_t scene_add_mate(Scene *scene, uint32_t bearer);
/* A new node with a radio, which the receiver's node hears with that level. */
uint32_t scene_add_sender(Scene *scene, uint32_t bearer, double level_dbm);
void scene_heard(Scene *scene, uint32_t sender, uint32_t receiver, double level_dbm);
/* The radio sleeps; its first window begins at 0. */
void scene_listens(Scene *scene, uint32_t radio, int64_t every_ns, int64_t for_ns);
uint32_t scene_send(Scene *scene, uint32_t radio, int64_t start_ns, int64_t end_ns);

void scene_play(Scene *scene);

/* After scene_play(); `disturber` is a radio, or SPATE_NO_DISTURBER. */
void scene_expect(const Scene *scene, uint32_t frame, uint32_t receiver, SpateOutcome outcome,
                  uint32_t disturber);
void scene_expect_received(const Scene *scene, uint32_t frame, uint32_t receiver);
void scene_expect_inaudible(const Scene *scene, uint32_t frame, uint32_t receiver);
void scene_expect_skipped(const Scene *scene, uint32_t frame, bool skipped);
/* From 0 to the end of the last frame. */
void scene_expect_busy(const Scene *scene, uint32_t radio, int64_t busy_ns);
void scene_expect_awake(const Scene *scene, uint32_t radio, int64_t awake_ns);
