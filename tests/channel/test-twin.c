/* test-twin.c - the channel and its plain twin agree on random scripts, frame by frame */
#include "channel/drive.h"
#include "channel/twin.h"
#include "core/random.h"
#include "support/check-main.h"
#include "support/sanitized.h"

#include <math.h>
#include <string.h>

#define N_SCRIPTS (40000 / ONE_DRAW_IN)
#define TOO_CLOSE 1e-3

static SpateBearer
lora(int sf, int64_t bandwidth_hz, int64_t centre_hz, int preamble, int lock)
{
    SpateBearer bearer = {
        .modulation = {.kind = &spate_radio_lora,
                       .centre_hz = centre_hz,
                       .spreading_factor = sf,
                       .coding_rate_denominator = 5,
                       .preamble_symbols = preamble,
                       .explicit_header = true,
                       .crc = true,
                       .lock_symbols = lock},
        .noise_figure_db = 6.0,
        .sensitivity_dbm = NAN,
        .protection_same_db = NAN,
        .protection_other_db = NAN,
        .access = {.csma_threshold_dbm = NAN},
    };
    ck_assert(
        spate_lora_bandwidth((double)bandwidth_hz, centre_hz, &bearer.modulation.bandwidth_hz));
    return bearer;
}

static SpateBearer
dsss(int64_t centre_hz)
{
    SpateBearer bearer = lora(7, 125000, 869500000, 8, 5);
    bearer.modulation = (SpateModulation){.kind = &spate_radio_dsss,
                                          .centre_hz = centre_hz,
                                          .rate_bps = 250000,
                                          .preamble_ns = 192000};
    return bearer;
}

/* A handful of situations on shared, overlapping and neighbouring spectrum. */
static void
draw_bearers(TwinScript *s, SpateRandom *random)
{
    int lock = spate_random_below(random, 5) == 0 ? 12 : 5;
    int preamble = 8 + (int)spate_random_below(random, 20);
    s->bearers[0] = lora(9, 125000, 869500000, preamble, lock);
    switch (spate_random_below(random, 8)) {
    case 0: /* the same settings on three bearers */
        s->bearers[1] = s->bearers[2] = s->bearers[0];
        break;
    case 1: /* other spreading factors */
        s->bearers[1] = lora(8, 125000, 869500000, 12, 5);
        s->bearers[2] = lora(12, 125000, 869500000, 8, 5);
        break;
    case 2: /* the same chirp rate on another bandwidth; short frames against long symbols */
        s->bearers[1] = lora(11, 250000, 869500000, 8, 5);
        s->bearers[2] = lora(5, 500000, 869500000, 8, 5);
        break;
    case 3: /* neighbouring and overlapping channels */
        s->bearers[1] = lora(9, 125000, 869700000, 10, 5);
        s->bearers[2] = lora(9, 125000, 869550000, 10, 5);
        break;
    case 4: /* LoRa and dsss at 2.4 GHz */
        s->bearers[0] = lora(12, 203125, 2440000000, preamble, lock);
        s->bearers[1] = dsss(2437000000);
        s->bearers[2] = dsss(2462000000);
        break;
    case 5: /* two bands that do not meet */
        s->bearers[1] = dsss(2437000000);
        s->bearers[2] = dsss(2442000000);
        break;
    case 6: /* a protection ratio below 0 dB: both of two frames may survive */
        s->bearers[0].protection_same_db = -6.0;
        s->bearers[1] = s->bearers[0];
        s->bearers[2] = lora(10, 125000, 869500000, 8, 5);
        break;
    default: /* long preambles, so that much can happen within one */
        s->bearers[0] = lora(7, 125000, 869500000, 120, 5);
        s->bearers[1] = lora(7, 500000, 869500000, 8, 5);
        s->bearers[2] = lora(7, 125000, 869500000, 60, 5);
    }
    s->n_bearers = 1 + (uint32_t)spate_random_below(random, 3);
}

static void
draw_radios(TwinScript *s, SpateRandom *random)
{
    s->n_nodes = 2 + (uint32_t)spate_random_below(random, TWIN_MOST_NODES - 1);
    for (uint32_t node = 0; node < s->n_nodes; node++) {
        s->isolation_db[node] = 60.0 + 80.0 * spate_random_unit(random);
        uint64_t mask = 1 + spate_random_below(random, (UINT64_C(1) << s->n_bearers) - 1);
        for (uint32_t b = 0; b < s->n_bearers; b++) {
            if (!(mask & (UINT64_C(1) << b)))
                continue;
            uint32_t r = s->n_radios++;
            s->node[r] = node;
            s->bearer[r] = b;
            double least_dbm = spate_bearer_sensitivity_dbm(&s->bearers[b]);
            for (uint32_t to = 0; to < TWIN_MOST_NODES; to++)
                s->loss_db[r][to] = -least_dbm + 6.0 - 40.0 * spate_random_unit(random);
        }
    }
}

/* Windows of the length of preambles, about; not so many that to count them takes long. */
static void
draw_listening(TwinScript *s, SpateRandom *random)
{
    if (spate_random_below(random, 2) == 0)
        return;
    int64_t least_ns = 1000000;
    for (uint32_t b = 0; b < s->n_bearers; b++) {
        const SpateModulation *m = &s->bearers[b].modulation;
        least_ns = MAX(least_ns, m->kind->header_ns(m) / 20);
    }
    for (uint32_t r = 0; r < s->n_radios; r++) {
        const SpateModulation *m = &s->bearers[s->bearer[r]].modulation;
        int64_t most_ns = 3 * m->kind->header_ns(m);
        int64_t every_ns = (int64_t)spate_random_below(random, (uint64_t)most_ns);
        if (spate_random_below(random, 4) == 0)
            every_ns = m->kind->critical_ns(m);
        every_ns = MAX(every_ns, least_ns);
        if (spate_random_below(random, 2) == 0)
            continue;
        s->listening[r] = (SpateListening){
            .every_ns = every_ns,
            .for_ns = 1 + (int64_t)spate_random_below(random, (uint64_t)every_ns - 1),
            .after_sending_ns = spate_random_below(random, 2) == 0
                                    ? 0
                                    : (int64_t)spate_random_below(random, (uint64_t)most_ns),
            .phase = spate_random_below(random, 2) == 0 ? SPATE_PHASE_TOGETHER : SPATE_PHASE_RANDOM,
        };
    }
    drive_phases(s);
}

/* Such that a frame of the radio begins, or reaches its critical part, at an edge of a window of
 * some other, or just beside it. */
static int64_t
draw_edge(const TwinScript *s, SpateRandom *random, uint32_t radio, int64_t horizon_ns)
{
    uint32_t sleeper = (uint32_t)spate_random_below(random, s->n_radios);
    const SpateListening *listening = &s->listening[sleeper];
    const SpateModulation *m = &s->bearers[s->bearer[radio]].modulation;
    if (listening->every_ns == 0)
        return (int64_t)spate_random_below(random, (uint64_t)horizon_ns);
    int64_t n_windows = MIN(horizon_ns / listening->every_ns, 1000) + 1;
    int64_t edge_ns = s->phase_ns[sleeper] + listening->every_ns * (int64_t)spate_random_below(
                                                                       random, (uint64_t)n_windows);
    if (spate_random_below(random, 2) == 0)
        edge_ns += listening->for_ns;
    if (spate_random_below(random, 2) == 0)
        edge_ns -= m->kind->critical_ns(m);
    edge_ns += 1 - (int64_t)spate_random_below(random, 3);
    return MAX(edge_ns, 0);
}

/* An instant that means something to another frame, or any. */
static int64_t
draw_instant(const TwinScript *s, SpateRandom *random, int64_t horizon_ns)
{
    if (s->n_frames == 0 || spate_random_below(random, 3) == 0)
        return (int64_t)spate_random_below(random, (uint64_t)horizon_ns);
    const TwinFrame *like = &s->frames[spate_random_below(random, s->n_frames)];
    const SpateModulation *m = &s->bearers[s->bearer[like->radio]].modulation;
    const int64_t offsets[] = {0,
                               m->kind->critical_ns(m),
                               m->kind->critical_ns(m) + 1,
                               m->kind->header_ns(m),
                               like->airtime_ns,
                               like->airtime_ns - 1,
                               (int64_t)spate_random_below(random, (uint64_t)like->airtime_ns)};
    return like->start_ns + offsets[spate_random_below(random, 7)];
}

static bool
overlaps_own(const TwinScript *s, const TwinFrame *frame)
{
    for (uint32_t f = 0; f < s->n_frames; f++) {
        const TwinFrame *other = &s->frames[f];
        if (other->radio == frame->radio && frame->start_ns < other->start_ns + other->airtime_ns &&
            other->start_ns < frame->start_ns + frame->airtime_ns)
            return true;
    }
    return false;
}

static void
draw_frames(TwinScript *s, SpateRandom *random)
{
    uint32_t wanted = 2 + (uint32_t)spate_random_below(random, 14);
    for (uint32_t tries = 0; tries < 4 * wanted && s->n_frames < wanted; tries++) {
        TwinFrame frame = {.radio = (uint32_t)spate_random_below(random, s->n_radios)};
        const SpateModulation *m = &s->bearers[s->bearer[frame.radio]].modulation;
        frame.airtime_ns = m->kind->airtime_ns(m, 1 + spate_random_below(random, 30));
        frame.start_ns = spate_random_below(random, 3) == 0
                             ? draw_edge(s, random, frame.radio, 3 * frame.airtime_ns)
                             : draw_instant(s, random, 3 * frame.airtime_ns);
        if (!overlaps_own(s, &frame))
            s->frames[s->n_frames++] = frame;
    }
}

static void
draw_script(TwinScript *s, uint64_t number)
{
    SpateRandom random = spate_random_stream(spate_random_key(1, 0, SPATE_FOR_TEST), number);
    memset(s, 0, sizeof *s);
    draw_bearers(s, &random);
    draw_radios(s, &random);
    draw_listening(s, &random);
    draw_frames(s, &random);
}

static char *
run_both(const TwinScript *s, TwinResult *plain, TwinResult *fast)
{
    twin_run(s, plain);
    drive_channel(s, fast);
    return plain->closest < TOO_CLOSE ? NULL : drive_difference(s, plain, fast);
}

static bool
still_differ(const TwinScript *s)
{
    TwinResult plain, fast;
    g_autofree char *differs = run_both(s, &plain, &fast);
    return differs != NULL;
}

static void
leave_out_frame(TwinScript *s, uint32_t f)
{
    s->n_frames--;
    memmove(&s->frames[f], &s->frames[f + 1], (s->n_frames - f) * sizeof s->frames[0]);
}

/* With all that it sends. */
static void
leave_out_radio(TwinScript *s, uint32_t r)
{
    for (uint32_t f = s->n_frames; f-- > 0;)
        if (s->frames[f].radio == r)
            leave_out_frame(s, f);
        else
            s->frames[f].radio -= s->frames[f].radio > r;
    s->n_radios--;
    memmove(&s->node[r], &s->node[r + 1], (s->n_radios - r) * sizeof s->node[0]);
    memmove(&s->bearer[r], &s->bearer[r + 1], (s->n_radios - r) * sizeof s->bearer[0]);
    memmove(&s->loss_db[r], &s->loss_db[r + 1], (s->n_radios - r) * sizeof s->loss_db[0]);
    memmove(&s->listening[r], &s->listening[r + 1], (s->n_radios - r) * sizeof s->listening[0]);
    memmove(&s->phase_ns[r], &s->phase_ns[r + 1], (s->n_radios - r) * sizeof s->phase_ns[0]);
}

/* Leaves out radios, then frames, as long as the two still differ. */
static void
shrink(TwinScript *s)
{
    for (uint32_t r = s->n_radios; r-- > 0;) {
        TwinScript smaller = *s;
        leave_out_radio(&smaller, r);
        if (still_differ(&smaller))
            *s = smaller;
    }
    for (uint32_t f = s->n_frames; f-- > 0;) {
        TwinScript smaller = *s;
        leave_out_frame(&smaller, f);
        if (still_differ(&smaller))
            *s = smaller;
    }
}

static void
print_script(const TwinScript *s)
{
    for (uint32_t b = 0; b < s->n_bearers; b++) {
        const SpateModulation *m = &s->bearers[b].modulation;
        printf("bearer %u: %s SF %d, %.0f Hz wide at %ld Hz\n", b, m->kind->name,
               m->spreading_factor, m->kind->bandwidth_hz(m), (long)m->centre_hz);
    }
    for (uint32_t r = 0; r < s->n_radios; r++) {
        printf("radio %u: node %u, bearer %u, isolation %.1f dB, heard by nodes at", r, s->node[r],
               s->bearer[r], s->isolation_db[s->node[r]]);
        for (uint32_t to = 0; to < s->n_nodes; to++)
            printf(" %.1f", -s->loss_db[r][to]);
        printf(" dBm\n");
        const SpateListening *listening = &s->listening[r];
        if (listening->every_ns > 0)
            printf("  listens every %ld ns for %ld, from %ld on, and %ld after sending\n",
                   (long)listening->every_ns, (long)listening->for_ns, (long)s->phase_ns[r],
                   (long)listening->after_sending_ns);
    }
    for (uint32_t f = 0; f < s->n_frames; f++) {
        const TwinFrame *frame = &s->frames[f];
        const SpateModulation *m = &s->bearers[s->bearer[frame->radio]].modulation;
        printf("frame %u: radio %u from %ld, critical %ld, header %ld, to %ld ns\n", f,
               frame->radio, (long)frame->start_ns,
               (long)(frame->start_ns + m->kind->critical_ns(m)),
               (long)(frame->start_ns + m->kind->header_ns(m)),
               (long)(frame->start_ns + frame->airtime_ns));
    }
}

START_TEST(the_channel_and_its_plain_twin_agree)
{
    uint32_t n_close = 0;
    uint64_t n_outcomes[SPATE_N_OUTCOMES] = {0};
    for (uint64_t number = 0; number < N_SCRIPTS; number++) {
        TwinScript script;
        TwinResult plain, fast;
        draw_script(&script, number);
        g_autofree char *differs = run_both(&script, &plain, &fast);
        if (differs != NULL) {
            shrink(&script);
            g_autofree char *still = run_both(&script, &plain, &fast);
            print_script(&script);
            fflush(stdout); /* an abort does not */
            ck_abort_msg("script %lu: %s", (unsigned long)number, still);
        }
        n_close += plain.closest < TOO_CLOSE;
        for (uint32_t f = 0; f < script.n_frames; f++)
            for (uint32_t r = 0; r < script.n_radios; r++)
                if (plain.fates[f][r].audible)
                    n_outcomes[plain.fates[f][r].outcome]++;
    }
    printf("%d scripts, %u left out because a test is too close to a tie; outcomes:", N_SCRIPTS,
           n_close);
    for (int o = 0; o < SPATE_N_OUTCOMES; o++) {
        printf(" %lu", (unsigned long)n_outcomes[o]);
        ck_assert_uint_gt(n_outcomes[o], N_SCRIPTS / 400);
    }
    printf("\n");
    ck_assert_uint_lt(n_close, N_SCRIPTS / 5);
}
END_TEST

CHECK_MAIN("twin", the_channel_and_its_plain_twin_agree)
