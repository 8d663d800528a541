/* advise-cases.h - a mesh of which all is known, for tests of advice */
#pragma once

#include "scenario/scenario.h"

#include <check.h>
#include <string.h>

/* Radios that hear nothing but what `links` says; any overlap of frames breaks both, if they are
 * equally loud.  A frame of 10 bytes lasts T = 41.216 ms. */
#define AIR                                                                                        \
    "spate: 1\n"                                                                                   \
    "run: {duration: 30 min, cool-down: 1 s, replications: 4}\n"                                   \
    "bearers:\n"                                                                                   \
    "  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7,\n"         \
    "    preamble: 8 symbols, lock: 8 symbols, propagation: {model: free-space, extra-loss: 200 "  \
    "dB}}\n"
#define FRAME_S 0.041216

/* Leaves hear the hub alone, and the hub hears them: it is the only cut vertex.  Two leaves relay
 * too, in vain. */
#define STAR                                                                                       \
    AIR "links: [{between: [hub, leaves], loss: 80 dB}]\n"                                         \
        "flooding: {policy: classic}\n"                                                            \
        "nodes:\n"                                                                                 \
        "  hub: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 14 dBm}}, relay: [air]}\n"            \
        "  leaf: {count: 4, place: {circle: {centre: {x: 0 m, y: 0 m}, radius: 90 m}}, radios: "   \
        "{air: {power: 14 dBm}}}\n"                                                                \
        "  busy: {count: 2, place: {circle: {centre: {x: 0 m, y: 0 m}, radius: 90 m}}, radios: "   \
        "{air: {power: 14 dBm}}, relay: [air]}\n"                                                  \
        "groups: {leaves: [leaf, busy]}\n"                                                         \
        "traffic: {talk: {from: leaf, to: leaf, payload: 10 bytes, mean-interval: 60 s}}\n"

static SpateScenarioFile *
file_of(const char *text)
{
    g_autoptr(GError) error = NULL;
    SpateScenarioFile *file =
        spate_scenario_file_parse("plan.yaml", text, strlen(text), NULL, 0, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    return file;
}
