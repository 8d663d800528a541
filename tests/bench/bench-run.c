/* bench-run.c - the price of a transmission in a whole run: channel, mesh, tally
 *
 * Nodes at random places of a square on a plane, each heard by about the same number of neighbours
 * (the square is a torus in nobody's eyes: those at the border have fewer), flood short messages.
 * Prints ns for each transmission and for each (frame, audible radio), and the memory used.
 *
 *     bench-run [NODES NEIGHBOURS MESSAGES_PER_MINUTE MINUTES [TRIES]]
 *     bench-run SCENARIO.yaml [PATH=VALUE...]
 *
 * With TRIES, messages go to one node in the middle; 0: without acknowledgements.  A file is read
 * instead, with settings as --set takes them; its base is run.
 */
#include "scenario/scenario.h"
#include "scenario/world/world.h"
#include "study/run/run.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>

static double
seconds_now(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

/* With an exponent of 3.5, a node is heard as far as its link budget goes; the square is sized
 * so that a disk of that radius holds the wanted number of neighbours. */
static char *
scenario_text(int n_nodes, int n_neighbours, double per_minute, int minutes, int tries)
{
    g_autofree char *acknowledge =
        tries > 0 ? g_strdup_printf(", acknowledge: {within: 10 s, tries: %d}", tries)
                  : g_strdup("");
    /* 14 dBm at SF 7: sensitivity -124.53 dBm; 138.53 dB of loss = 31.22 + 35 log10 d at 868 MHz */
    double radius_m = pow(10.0, (138.53 - 31.22) / 35.0);
    double side_m = sqrt(G_PI * radius_m * radius_m * n_nodes / (n_neighbours + 1.0));
    g_autofree char *middle = g_strdup_printf(
        "  middle: {at: {x: %.0f m, y: %.0f m, height: 2 m}, radios: {air: {power: 14 dBm}}}\n",
        side_m / 2, side_m / 2);
    return g_strdup_printf(
        "spate: 1\n"
        "run: {duration: %d min, warm-up: 1 min}\n"
        "bearers:\n"
        "  air: {kind: lora, frequency: 868 MHz, bandwidth: 125 kHz, spreading-factor: 7,\n"
        "        propagation: {model: log-distance, exponent: 3.5}}\n"
        "flooding: {hop-limit: 12, jitter: {at-most: 30 airtimes}}\n"
        "nodes:\n"
        "  n: {count: %d, place: {rectangle: {from: {x: 0 m, y: 0 m}, to: {x: %.0f m, y: %.0f m}}, "
        "height: 2 m},\n"
        "      radios: {air: {power: 14 dBm}}, relay: [air]}\n"
        "%s"
        "traffic:\n"
        "  talk: {from: n, to: %s, payload: 20 bytes, mean-interval: %.3f s%s}\n",
        minutes, n_nodes, side_m, side_m, tries < 0 ? "" : middle,
        tries < 0 ? "everyone" : "middle", n_nodes * 60.0 / per_minute, acknowledge);
}

static SpateScenarioFile *
mesh_of_arguments(int argc, char **argv, GError **error)
{
    int n_nodes = argc > 1 ? atoi(argv[1]) : 100;
    int n_neighbours = argc > 2 ? atoi(argv[2]) : 40;
    double per_minute = argc > 3 ? atof(argv[3]) : 10.0;
    int minutes = argc > 4 ? atoi(argv[4]) : 2000;
    int tries = argc > 5 ? atoi(argv[5]) : -1;
    g_autofree char *text = scenario_text(n_nodes, n_neighbours, per_minute, minutes, tries);
    return spate_scenario_file_parse("bench", text, strlen(text), NULL, 0, error);
}

static SpateScenarioFile *
scenario_with_settings(const char *path, char **texts, int n_texts, GError **error)
{
    g_autofree SpateSetting *settings = g_new(SpateSetting, (size_t)n_texts + 1);
    for (int i = 0; i < n_texts; i++) {
        char *value = texts[i] + strcspn(texts[i], "=");
        if (*value != '\0')
            *value++ = '\0';
        settings[i] = (SpateSetting){texts[i], value};
    }
    return spate_scenario_file_read(path, settings, (size_t)n_texts, error);
}

int
main(int argc, char **argv)
{
    g_autoptr(GError) error = NULL;
    bool is_file = argc > 1 && g_str_has_suffix(argv[1], ".yaml");
    g_autoptr(SpateScenarioFile) file =
        is_file ? scenario_with_settings(argv[1], argv + 2, argc - 2, &error)
                : mesh_of_arguments(argc, argv, &error);
    g_autoptr(SpateScenario) scenario =
        file != NULL ? spate_scenario_new(file, NULL, &error) : NULL;
    double began = seconds_now();
    g_autoptr(SpateWorld) world = scenario != NULL ? spate_world_new(scenario, &error) : NULL;
    g_autoptr(SpateMedium) medium = world != NULL ? spate_world_medium(world, 0, 0, &error) : NULL;
    double built = seconds_now() - began;
    if (medium != NULL)
        printf("world built in %.2f s; %zu links (%.0f a radio); left out at most %.2g of the "
               "weakest signal\n",
               built, medium->n_links, (double)medium->n_links / medium->n_radios,
               medium->omitted_worst);
    bool is_built = medium != NULL;
    g_clear_pointer(&medium, spate_medium_unref); /* the run builds its own */
    g_autoptr(SpateRun) run =
        is_built ? spate_run_new_made(world, 0, (SpateRunMaking){0}, &error) : NULL;
    if (run == NULL) {
        fprintf(stderr, "%s\n", error->message);
        return EXIT_FAILURE;
    }
    began = seconds_now();
    spate_run_go(run, NULL, NULL);
    double spent = seconds_now() - began;

    size_t n_rows;
    g_autofree SpateMeasureRow *rows = spate_measure_rows(spate_world_plan(world), &n_rows);
    double audible = 0.0, received = 0.0, load = 0.0, counted = 0.0;
    for (size_t i = 0; i < n_rows; i++) {
        double value = spate_run_values(run)[i].value;
        if (rows[i].measure == SPATE_MEASURE_AUDIBLE)
            audible += value;
        else if (rows[i].measure == SPATE_MEASURE_TRANSMISSIONS && rows[i].traffic < 0)
            counted += value;
        else if (rows[i].measure == SPATE_MEASURE_RECEIVED)
            received += spate_run_values(run)[i].count;
        else if (rows[i].measure == SPATE_MEASURE_LOAD && rows[i].traffic < 0)
            load += value;
    }
    double n = (double)spate_run_n_transmissions(run);
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    printf(
        "%u nodes, %.1f neighbours each, %.2f erlang, %.1f %% received: %.0f transmissions, %.0f "
        "ns each, %.1f ns a frame and radio; %ld MB in all\n",
        spate_world_plan(world)->n_nodes, audible / counted, load, 100.0 * received / audible, n,
        spent / n * 1e9, spent / n * counted / audible * 1e9, usage.ru_maxrss / 1024);
    return EXIT_SUCCESS;
}
