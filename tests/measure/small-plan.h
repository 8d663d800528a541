/* small-plan.h - a mesh of four nodes, two bearers and one bridge, as numbers
 *
 *     gate   valley (radio 0), yard (radio 1); bridge
 *     hut    valley (radio 2), 500 mW sending, 100 mW receiving
 *     shed   yard (radio 3)
 *     tower  valley (radio 4)
 *
 * "readings" go to gate alone, which answers them; "talk" to gate, hut and tower, with a deadline
 * of 10 s.
 */
#pragma once

#include "core/time.h"
#include "mesh/plan.h"
#include <math.h>

enum { GATE, HUT, SHED, TOWER, N_NODES };
enum { VALLEY, YARD, N_BEARERS };
enum { GATE_VALLEY, GATE_YARD, HUT_VALLEY, SHED_YARD, TOWER_VALLEY, N_RADIOS };
enum { READINGS, TALK, N_TRAFFICS };

static const char *const BEARER_NAMES[] = {"valley", "yard"};
static const char *const BRIDGE_NAMES[] = {"gatehouse"};
static const uint32_t TO_GATE[] = {GATE};
static const uint32_t TO_PEOPLE[] = {GATE, HUT, TOWER};
static const SpateBearer BEARERS[N_BEARERS];

static const SpateNode NODES[] = {
    {.name = "gate", .first_radio = GATE_VALLEY, .n_radios = 2},
    {.name = "hut", .first_radio = HUT_VALLEY, .n_radios = 1},
    {.name = "shed", .first_radio = SHED_YARD, .n_radios = 1},
    {.name = "tower", .first_radio = TOWER_VALLEY, .n_radios = 1},
};

#define SUPPLY(sending_w, receiving_w)                                                             \
    .supply_sending_w = (sending_w), .supply_receiving_w = (receiving_w)

static const SpateRadio RADIOS[] = {
    {.node = GATE, .bearer = VALLEY, .relays = true, SUPPLY(NAN, NAN)},
    {.node = GATE, .bearer = YARD, .relays = true, SUPPLY(NAN, NAN)},
    {.node = HUT, .bearer = VALLEY, SUPPLY(0.5, 0.1)},
    {.node = SHED, .bearer = YARD, SUPPLY(NAN, NAN)},
    {.node = TOWER, .bearer = VALLEY, .relays = true, SUPPLY(1.0, NAN)},
};

static const SpateTrafficKind TRAFFICS[] = {
    {.name = "readings",
     .acknowledgement = {.tries = 3, .within_ns = SPATE_NS_PER_S},
     .recipients = TO_GATE,
     .n_recipients = 1},
    {.name = "talk",
     .deadline_ns = 10 * SPATE_NS_PER_S,
     .recipients = TO_PEOPLE,
     .n_recipients = 3},
};

static const SpateCrossing CROSSINGS[] = {
    {.name = "up", .bridge = 0, .node = GATE, .from_bearer = YARD, .to_radio = GATE_VALLEY},
};

static const SpatePlan SMALL_PLAN = {
    .nodes = NODES,
    .n_nodes = N_NODES,
    .radios = RADIOS,
    .n_radios = N_RADIOS,
    .bearers = BEARERS,
    .bearer_names = BEARER_NAMES,
    .n_bearers = N_BEARERS,
    .traffics = TRAFFICS,
    .n_traffics = N_TRAFFICS,
    .crossings = CROSSINGS,
    .n_crossings = 1,
    .bridge_names = BRIDGE_NAMES,
    .n_bridges = 1,
};
