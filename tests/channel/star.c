/* star.c - a medium of given levels for tests */
#include "channel/star.h"

#include <math.h>

SpateBearer
star_lora(int spreading_factor, int preamble_symbols, int lock_symbols)
{
    return (SpateBearer){
        .modulation = {.kind = &spate_radio_lora,
                       .centre_hz = 869500000,
                       .bandwidth_hz = {125000, 1},
                       .spreading_factor = spreading_factor,
                       .coding_rate_denominator = 5,
                       .preamble_symbols = preamble_symbols,
                       .explicit_header = true,
                       .crc = true,
                       .lock_symbols = lock_symbols},
        .largest_frame_bytes = 255,
        .noise_figure_db = 6.0,
        .sensitivity_dbm = NAN,
        .protection_same_db = NAN,
        .protection_other_db = NAN,
        .access = {.cad_slots = 6,
                   .cad_tries = 4,
                   .cad_payload = true,
                   .cad_detection = 1.0,
                   .csma_threshold_dbm = NAN},
    };
}

SpateBearer
star_dsss(int64_t rate_bps)
{
    SpateBearer bearer = star_lora(7, 8, 5);
    bearer.modulation = (SpateModulation){.kind = &spate_radio_dsss,
                                          .centre_hz = 2437000000,
                                          .rate_bps = rate_bps,
                                          .preamble_ns = 192000};
    bearer.largest_frame_bytes = 293;
    bearer.access.method = SPATE_ACCESS_CSMA;
    return bearer;
}

SpateMedium *
star_medium(Star *star, uint32_t n_nodes, double power_dbm, StarLevel level, void *user)
{
    g_autofree SpateNodeSite *nodes = g_new0(SpateNodeSite, n_nodes);
    g_autofree SpateRadioSite *radios = g_new0(SpateRadioSite, n_nodes);
    g_autofree double *zero = g_new0(double, n_nodes);
    g_autoptr(GArray) given = g_array_new(FALSE, FALSE, sizeof(SpateGivenLoss));
    for (uint32_t i = 0; i < n_nodes; i++) {
        nodes[i].name_hash = i + 1;
        radios[i] = (SpateRadioSite){.node = i, .power_dbm = power_dbm};
        for (uint32_t to = 0; to < n_nodes; to++) {
            SpateGivenLoss loss = {i, to, -1, power_dbm - level(i, to, user)};
            g_array_append_val(given, loss);
        }
    }
    star->bearer_hash = 1;
    g_autoptr(SpateLinks) links =
        spate_links_new(nodes, n_nodes, zero, radios, n_nodes, &star->bearer, &star->propagation, 1,
                        (const SpateGivenLoss *)(const void *)given->data, given->len);
    SpateMediumPlan plan = {.links = links,
                            .nodes = nodes,
                            .radios = radios,
                            .noise_rise_db = zero,
                            .bearers = &star->bearer,
                            .propagation = &star->propagation,
                            .fading = &star->fading,
                            .bearer_hash = &star->bearer_hash,
                            .n_nodes = n_nodes,
                            .n_radios = n_nodes,
                            .n_bearers = 1};
    return spate_medium_new(&plan, NULL);
}
