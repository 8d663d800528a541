/* fuzz-set.c - any lines as `--set` of a scenario that has a little of everything */
#include "fuzz.h"
#include "try-scenario.h"

#include <string.h>

#define MOST_SETTINGS 8

static const char BASE[] =
    "spate: 1\n"
    "run: {duration: 20 min, warm-up: 1 min, replications: 2}\n"
    "bearers:\n"
    "  valley: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 9,\n"
    "    access: {method: cad}, duty-cycle: 10 %, fading: rayleigh,\n"
    "    propagation: {model: log-distance, exponent: 3.1, shadowing: 6 dB}}\n"
    "  yard: {kind: dsss, frequency: 2437 MHz, access: {method: csma},\n"
    "    propagation: {model: two-ray, between: [{groups: [soil, gate], model: free-space}]}}\n"
    "flooding: {policy: counter, copies: 3, p: 60 %, hop-limit: 4}\n"
    "priority: [alarm, talk]\n"
    "nodes:\n"
    "  ridge: {at: {x: 0 m, y: 0 m, height: 9 m}, radios: {valley: {power: 20 dBm}}, relay: "
    "valley}\n"
    "  gate:\n"
    "    at: {x: 300 m, y: 40 m, height: 5 m}\n"
    "    radios: {valley: {power: 20 dBm}, yard: {power: 12 dBm, antenna: {gain: 6 dBi}}}\n"
    "    relay: [valley, yard]\n"
    "  soil:\n"
    "    count: 5\n"
    "    place: {circle: {centre: {x: 310 m, y: 50 m}, radius: 60 m}}\n"
    "    radios: {yard: {power: 18 dBm}}\n"
    "groups: {people: [ridge, gate]}\n"
    "links: [{between: [ridge, gate], loss: 110 dB}]\n"
    "bridges:\n"
    "  gate:\n"
    "    up: {from: yard, to: valley, rules: [{when: {class: alarm}, do: pass},\n"
    "      {do: {limit: {rate: 12 per hour}}}], otherwise: hold-back}\n"
    "    down: {from: valley, to: yard}\n"
    "traffic:\n"
    "  moisture: {from: soil, to: gate, payload: 24 bytes, every: 5 min}\n"
    "  talk: {from: people, to: people, payload: 60 bytes, mean-interval: 2 min, deadline: 10 s}\n"
    "  alarm: {from: soil-1, to: ridge, payload: 16 bytes, at: [5 min, 9 min]}\n"
    "ambient: [{bearer: yard, everywhere: yes, power: -90 dBm, busy: 3 %, burst: 200 ms}]\n"
    "variants: {open: {set: {bridges.gate.up.rules: []}}}\n"
    "expect: [{measure: delivery, traffic: talk, at-least: 90 %}]\n";

/* "PATH=VALUE" lines; without '=' the whole is the path, and the value is nothing. */
int
LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    g_autofree char *text = g_strndup((const char *)bytes, length);
    g_auto(GStrv) lines = g_strsplit(text, "\n", MOST_SETTINGS + 1);
    SpateSetting settings[MOST_SETTINGS];
    size_t n = 0;
    for (; n < MOST_SETTINGS && lines[n] != NULL; n++) {
        char *equals = strchr(lines[n], '=');
        settings[n] = (SpateSetting){lines[n], equals != NULL ? equals + 1 : ""};
        if (equals != NULL)
            *equals = '\0';
    }
    try_scenario("base.yaml", BASE, strlen(BASE), settings, n);
    return 0;
}
