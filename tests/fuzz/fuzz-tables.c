/* fuzz-tables.c - any bytes as a table of nodes, as one of links, and as a walk test */
#include "fuzz.h"
#include "study/fit/fit.h"
#include "try-scenario.h"

#include <string.h>

#define HEAD                                                                                       \
    "spate: 1\n"                                                                                   \
    "run: {duration: 5 min}\n"                                                                     \
    "bearers:\n"                                                                                   \
    "  valley: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 9}\n"      \
    "  yard: {kind: dsss, frequency: 2437 MHz}\n"                                                  \
    "nodes:\n"                                                                                     \
    "  gate: {at: {x: 9 m, y: 0 m}, radios: {valley: {power: 14 dBm}, yard: {power: 9 dBm}}}\n"

static const char OF_NODES[] =
    HEAD "  soil: {place: {table: %s}, radios: {yard: {power: 9 dBm}, valley: {power: 9 dBm}}}\n"
         "traffic: {t: {from: soil, to: gate, payload: 9 bytes, every: 2 min}}\n";
static const char OF_LINKS[] = HEAD
    "  ridge: {at: {x: 900 m, y: 0 m}, radios: {valley: {power: 14 dBm, antenna: {gain: 3 dBi,\n"
    "    azimuth: 20 deg, beamwidth: 60 deg}}}}\n"
    "links: {table: %s}\n"
    "variants: {quiet: {set: {nodes.ridge.radios.valley.power: 1 dBm}}}\n"
    "traffic: {t: {from: ridge, to: gate, payload: 9 bytes, every: 2 min}}\n";

/* What is read is fitted, whatever it is. */
static void
try_walk(const char *path)
{
    const SpateFitQuestion question = {.bearer = "valley",
                                       .power_dbm = 14.0,
                                       .sensitivity_dbm = -120.0,
                                       .frequency_hz = 869.5e6,
                                       .wants_models = true};
    g_autoptr(SpateWalk) walk = spate_walk_read(path, SPATE_WALK_OF_PLACES, NULL, NULL);
    g_autoptr(SpateFit) fit = NULL;
    if (walk != NULL)
        fit = spate_fit_new("walk", walk, NULL, &question, NULL);
}

int
LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    g_autofree char *path = g_strdup_printf("/proc/self/fd/%d", file_in_memory(bytes, length));
    g_autofree char *nodes = g_strdup_printf(OF_NODES, path);
    g_autofree char *links = g_strdup_printf(OF_LINKS, path);
    try_scenario("nodes.yaml", nodes, strlen(nodes), NULL, 0);
    try_scenario("links.yaml", links, strlen(links), NULL, 0);
    try_walk(path);
    return 0;
}
