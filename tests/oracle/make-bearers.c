/* make-bearers.c - random bearers: alike, next to each other, or with nothing in common */
#include "oracle/making.h"
#include "radio/bearer.h"

#include <math.h>

typedef struct {
    const char *word;
    double about_hz;
} Bandwidth;

static const Bandwidth NARROW[] = {{"31.25 kHz", 31250},
                                   {"62.5 kHz", 62500},
                                   {"125 kHz", 125e3},
                                   {"250 kHz", 250e3},
                                   {"500 kHz", 500e3}};
static const Bandwidth WIDE[] = {
    {"203 kHz", 203e3}, {"406 kHz", 406e3}, {"812 kHz", 812e3}, {"1625 kHz", 1625e3}};

#define MIDDLING_BYTES        24
#define USUAL_PREAMBLE_NS     192000
#define LONGEST_TURNAROUND_NS INT64_C(10000000000)

/* ---- settings of the modulation -------------------------------------------------------------- */

static bool
is_high_band(const SpateModulation *modulation)
{
    return modulation->centre_hz > INT64_C(2000000000);
}

static void
take_bandwidth(MakingBearer *bearer, const Bandwidth *bandwidth)
{
    bearer->bandwidth = bandwidth->word;
    bool is_known = spate_lora_bandwidth(bandwidth->about_hz, bearer->modulation.centre_hz,
                                         &bearer->modulation.bandwidth_hz);
    g_assert(is_known);
}

static const Bandwidth *
find_bandwidth(const MakingBearer *bearer, double about_hz)
{
    bool is_high = is_high_band(&bearer->modulation);
    const Bandwidth *list = is_high ? WIDE : NARROW;
    for (size_t i = 0; i < (is_high ? G_N_ELEMENTS(WIDE) : G_N_ELEMENTS(NARROW)); i++)
        if (fabs(list[i].about_hz - about_hz) < 0.02 * about_hz)
            return &list[i];
    return NULL;
}

static void
draw_framing(Making *m, SpateModulation *modulation)
{
    if (making_chance(m, 25))
        modulation->coding_rate_denominator = making_whole(m, 5, 8);
    if (making_chance(m, 40))
        modulation->preamble_symbols = making_chance(m, 80) ? making_whole(m, 6, 24) : 100;
    if (making_chance(m, 30))
        modulation->lock_symbols = making_whole(m, 1, modulation->preamble_symbols);
    modulation->explicit_header = making_chance(m, 85);
    modulation->crc = making_chance(m, 85);
    if (making_chance(m, 15))
        modulation->low_data_rate_optimise = making_chance(m, 50) ? SPATE_LDRO_ON : SPATE_LDRO_OFF;
}

static void
draw_lora(Making *m, MakingBearer *bearer, bool is_high)
{
    bearer->modulation = (SpateModulation){
        .kind = &spate_radio_lora,
        .centre_hz = is_high ? INT64_C(2403000000) + 1000000 * making_whole(m, 0, 30)
                             : INT64_C(868000000) + 25000 * making_whole(m, 0, 40),
        .spreading_factor = making_whole(m, 5, 12),
        .coding_rate_denominator = 5,
        .preamble_symbols = 8,
        .lock_symbols = 5,
    };
    draw_framing(m, &bearer->modulation);
    take_bandwidth(bearer, is_high ? &WIDE[making_whole(m, 0, 3)] : &NARROW[making_whole(m, 0, 4)]);
}

static void
draw_dsss(Making *m, MakingBearer *bearer)
{
    bearer->modulation = (SpateModulation){
        .kind = &spate_radio_dsss,
        .centre_hz = INT64_C(2412000000) + 5000000 * making_whole(m, 0, 5),
        .rate_bps = INT64_C(250000) << making_whole(m, 0, 3),
        .preamble_ns = making_chance(m, 80) ? USUAL_PREAMBLE_NS : 1000 * making_whole(m, 72, 400),
    };
}

static bool
is_dsss(const MakingBearer *bearer)
{
    return bearer->modulation.kind == &spate_radio_dsss;
}

/* Of the same chirp rate: bandwidth^2 / 2^SF. */
static void
keep_chirp_rate(Making *m, MakingBearer *bearer)
{
    SpateModulation *modulation = &bearer->modulation;
    double hz = modulation->kind->bandwidth_hz(modulation);
    bool widens = making_chance(m, 50);
    const Bandwidth *other = find_bandwidth(bearer, widens ? 2 * hz : hz / 2);
    int factor = modulation->spreading_factor + (widens ? 2 : -2);
    if (other == NULL || factor < 5 || factor > 12)
        return;
    modulation->spreading_factor = factor;
    take_bandwidth(bearer, other);
}

/* Next to it, half over it, or well apart. */
static void
shift_channel(Making *m, MakingBearer *bearer)
{
    double hz = is_dsss(bearer) ? 20e6 : bearer->modulation.kind->bandwidth_hz(&bearer->modulation);
    static const double steps[] = {0.25, 0.5, 0.75, 1.0, 1.5, 3.0, 9.0};
    double shift_hz = hz * steps[making_whole(m, 0, is_dsss(bearer) ? 4 : 6)];
    bearer->modulation.centre_hz += (int64_t)round(shift_hz);
}

static void
vary(Making *m, MakingBearer *bearer)
{
    int what = making_whole(m, 0, 3);
    if (what == 0)
        return; /* identical, but by another name */
    if (what == 3) {
        shift_channel(m, bearer);
    } else if (is_dsss(bearer)) {
        bearer->modulation.rate_bps = INT64_C(250000) << making_whole(m, 0, 3);
    } else if (what == 1) {
        bearer->modulation.spreading_factor = making_whole(m, 5, 12);
    } else {
        keep_chirp_rate(m, bearer);
        if (making_chance(m, 40))
            shift_channel(m, bearer);
    }
}

static void
draw_modulation(Making *m, int number, int high_percent)
{
    MakingBearer *bearer = &m->bearers[number];
    if (number > 0 && making_chance(m, 65)) {
        const char *name = bearer->name;
        *bearer = m->bearers[making_whole(m, 0, number - 1)];
        bearer->name = name;
        vary(m, bearer);
        return;
    }
    bool is_high = making_chance(m, high_percent);
    if (is_high && making_chance(m, 70))
        draw_dsss(m, bearer);
    else
        draw_lora(m, bearer, is_high);
}

/* ---- as a text ------------------------------------------------------------------------------- */

static void
say_lora(Outline *map, const MakingBearer *bearer)
{
    const SpateModulation *modulation = &bearer->modulation;
    outline_say(map, "bandwidth", "%s", bearer->bandwidth);
    outline_say(map, "spreading-factor", "%d", modulation->spreading_factor);
    if (modulation->coding_rate_denominator != 5)
        outline_say(map, "coding-rate", "4/%d", modulation->coding_rate_denominator);
    if (modulation->preamble_symbols != 8)
        outline_say(map, "preamble", "%d symbols", modulation->preamble_symbols);
    if (modulation->lock_symbols != 5)
        outline_say(map, "lock", "%d symbols", modulation->lock_symbols);
    if (!modulation->explicit_header)
        outline_say(map, "header", "implicit");
    if (!modulation->crc)
        outline_say(map, "crc", "no");
    if (modulation->low_data_rate_optimise != SPATE_LDRO_AUTO)
        outline_say(map, "low-data-rate-optimise", "%s",
                    modulation->low_data_rate_optimise == SPATE_LDRO_ON ? "on" : "off");
}

static void
say_dsss(Outline *map, const MakingBearer *bearer)
{
    outline_say(map, "rate", "%d kbit/s", (int)(bearer->modulation.rate_bps / 1000));
    if (bearer->modulation.preamble_ns != USUAL_PREAMBLE_NS)
        making_say_time(map, "preamble", bearer->modulation.preamble_ns);
}

static void
say_cad(Making *m, Outline *access)
{
    outline_say(access, "method", "cad");
    if (making_chance(m, 50))
        outline_say(access, "slots", "%d", making_whole(m, 1, 4));
    if (making_chance(m, 50))
        outline_say(access, "tries", "%d", making_whole(m, 1, 8));
    if (making_chance(m, 35))
        outline_say(access, "payload", "no");
    if (making_chance(m, 35))
        outline_say(access, "detection", "%s", MAKING_ONE_OF(m, "0 %", "50 %", "90 %"));
}

static void
say_csma(Making *m, Outline *access, const MakingBearer *bearer)
{
    outline_say(access, "method", "csma");
    if (making_chance(m, 35))
        making_say_tenths(access, "threshold",
                          140 - bearer->budget_tenths - making_whole(m, -150, 150), "dBm");
}

static void
say_access(Making *m, Outline *map, const MakingBearer *bearer)
{
    if (!making_chance(m, 60))
        return;
    Outline *access = outline_put(map, "access", outline_new(OUTLINE_MAP));
    if (is_dsss(bearer))
        say_csma(m, access, bearer);
    else
        say_cad(m, access);
}

/* A share of the hour that holds a few frames. */
static void
say_duty_cycle(Making *m, Outline *map, const MakingBearer *bearer)
{
    double share = making_whole(m, 1, 9) * (double)bearer->airtime_ns / 3.6e12;
    int thousandths = (int)CLAMP(ceil(share * 1e5), 1.0, 99999.0);
    outline_say(map, "duty-cycle", "%d.%03d %%", thousandths / 1000, thousandths % 1000);
}

static void
say_protection(Making *m, Outline *map, const MakingBearer *bearer)
{
    Outline *protection = outline_put(map, "protection", outline_new(OUTLINE_MAP));
    /* Below 0 dB two equal frames survive each other, and which one is locked on is the question.
     */
    int same_db = making_chance(m, 50) ? making_whole(m, 0, 9) : -making_whole(m, 1, 12);
    making_say_tenths(protection, "same", 10 * same_db - 3, "dB");
    if (!is_dsss(bearer) && making_chance(m, 60))
        making_say_tenths(protection, "other", -making_whole(m, 0, 24) * 10 - 7, "dB");
}

static void
say_fading(Making *m, Outline *map, const MakingBearer *bearer)
{
    if (making_chance(m, 30)) {
        outline_say(map, "fading", "rayleigh");
        return;
    }
    Outline *fading = outline_put(map, "fading", outline_new(OUTLINE_MAP));
    switch (making_whole(m, 0, 2)) {
    case 0:
        outline_say(fading, "rayleigh", "yes");
        break;
    case 1:
        making_say_tenths(fading, "rician", making_whole(m, -30, 150), "dB");
        break;
    default:
        outline_say(fading, "nakagami", "%d.%d", making_whole(m, 0, 4), making_whole(m, 5, 9));
        break;
    }
    if (making_chance(m, 60))
        making_say_time(fading, "coherence", bearer->airtime_ns * making_whole(m, 1, 20));
}

static void
say_extras(Making *m, Outline *map, MakingBearer *bearer)
{
    if (making_chance(m, 20))
        making_say_tenths(map, "noise-figure", making_whole(m, 20, 120), "dB");
    if (making_chance(m, 15)) {
        int dbm_tenths = 140 - bearer->budget_tenths + making_whole(m, -40, 80);
        making_say_tenths(map, "sensitivity", dbm_tenths, "dBm");
        bearer->budget_tenths = 140 - dbm_tenths;
    }
    say_access(m, map, bearer);
    if (making_chance(m, 25))
        say_duty_cycle(m, map, bearer);
    int64_t turnaround_ns = making_chance(m, 50) ? bearer->airtime_ns / 20 : bearer->airtime_ns;
    if (making_chance(m, 30))
        making_say_time(map, "turnaround", MIN(turnaround_ns, LONGEST_TURNAROUND_NS));
    if (making_chance(m, 35))
        say_protection(m, map, bearer);
    if (making_chance(m, 20))
        say_fading(m, map, bearer);
    if (making_chance(m, 20))
        outline_say(map, "largest-frame", "%d bytes", bearer->overhead + making_whole(m, 12, 40));
}

static void
say_bearer(Making *m, Outline *map, MakingBearer *bearer)
{
    SpateModulation *modulation = &bearer->modulation;
    const SpateRadioKind *kind = modulation->kind;
    outline_say(map, "kind", "%s", kind->name);
    outline_say(map, "frequency", "%" G_GINT64_FORMAT " Hz", modulation->centre_hz);
    if (is_dsss(bearer))
        say_dsss(map, bearer);
    else
        say_lora(map, bearer);
    bearer->overhead = kind->default_overhead_bytes;
    if (making_chance(m, 20)) {
        bearer->overhead = making_whole(m, 0, 50);
        outline_say(map, "overhead", "%d bytes", bearer->overhead);
    }
    bearer->airtime_ns = kind->airtime_ns(modulation, (size_t)(MIDDLING_BYTES + bearer->overhead));
    double floor_dbm = spate_noise_floor_dbm(kind->bandwidth_hz(modulation), 6.0);
    bearer->budget_tenths =
        (int)round(10.0 * (14.0 - floor_dbm - kind->required_snr_db(modulation)));
    say_extras(m, map, bearer);
}

void
making_add_bearers(Making *m)
{
    Outline *bearers = outline_put(m->root, "bearers", outline_new(OUTLINE_MAP));
    int high_percent = making_chance(m, 55) ? 0 : making_chance(m, 70) ? 100 : 50;
    for (int i = 0; i < m->n_bearers; i++) {
        draw_modulation(m, i, high_percent);
        Outline *map = outline_put(bearers, m->bearers[i].name, outline_new(OUTLINE_MAP));
        say_bearer(m, map, &m->bearers[i]);
    }
}
