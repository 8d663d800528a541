/* fuzz-maps.c - any bytes as the points of a map, by each suffix that names one */
#include "fuzz.h"
#include "scenario/text/map-points.h"
#include "try-scenario.h"

#include <glib/gstdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char OF_POINTS[] =
    "spate: 1\n"
    "run: {duration: 5 min}\n"
    "bearers:\n"
    "  valley: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 9}\n"
    "nodes:\n"
    "  gate: {at: {lat: 10 deg, lon: 20 deg}, radios: {valley: {power: 14 dBm}}}\n"
    "  tree: {place: {table: %s}, radios: {valley: {power: 9 dBm}}}\n"
    "traffic: {t: {from: tree, to: gate, payload: 9 bytes, every: 2 min}}\n";

static const char *const SUFFIXES[] = {".geojson", ".gpx", ".kml"};

/* Links with these suffixes to the file in memory; as long as the program runs. */
static char *folder, *links[G_N_ELEMENTS(SUFFIXES)];

static void
remove_links(void)
{
    for (size_t i = 0; i < G_N_ELEMENTS(SUFFIXES); i++) {
        g_unlink(links[i]);
        g_clear_pointer(&links[i], g_free);
    }
    g_rmdir(folder);
    g_clear_pointer(&folder, g_free);
}

static void
make_links(int fd)
{
    g_autofree char *target = g_strdup_printf("/proc/self/fd/%d", fd);
    folder = g_dir_make_tmp("spate-fuzz-maps-XXXXXX", NULL);
    g_assert(folder != NULL);
    for (size_t i = 0; i < G_N_ELEMENTS(SUFFIXES); i++) {
        g_autofree char *name = g_strconcat("points", SUFFIXES[i], NULL);
        links[i] = g_build_filename(folder, name, NULL);
        g_assert(spate_map_format(links[i]) != NULL && symlink(target, links[i]) == 0);
    }
    atexit(remove_links);
}

int
LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    int fd = file_in_memory(bytes, length);
    if (folder == NULL)
        make_links(fd);
    for (size_t i = 0; i < G_N_ELEMENTS(SUFFIXES); i++) {
        g_autofree char *text = g_strdup_printf(OF_POINTS, links[i]);
        try_scenario("points.yaml", text, strlen(text), NULL, 0);
    }
    return 0;
}
