/* modulation.h - what a frame costs and what it survives
 *
 * A kind of radio is a constant table of functions: it keeps no state, schedules
 * nothing and draws no random numbers.  A new kind is a new file and one line in
 * spate_radio_kinds().
 */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef enum { SPATE_LDRO_AUTO, SPATE_LDRO_ON, SPATE_LDRO_OFF } SpateLdro;

typedef struct SpateRadioKind SpateRadioKind;

/* A bandwidth or rate as an exact fraction of Hz: 7.8 kHz is 500000/64 Hz. */
typedef struct {
    int64_t numerator, denominator;
} SpateRational;

/* How the radios of a bearer are set.  Fields of another kind are left zero. */
typedef struct {
    const SpateRadioKind *kind;
    int64_t centre_hz;

    /* lora */
    SpateRational bandwidth_hz;
    int spreading_factor;        /* 5 .. 12 */
    int coding_rate_denominator; /* 5 .. 8, for 4/5 .. 4/8 */
    int preamble_symbols;        /* programmed, 6 .. 65535 */
    bool explicit_header, crc;
    SpateLdro low_data_rate_optimise;
    int lock_symbols; /* preamble symbols that a receiver needs to lock */

    /* dsss */
    int64_t rate_bps; /* 250000, 500000, 1000000, 2000000 */
    int64_t preamble_ns;
} SpateModulation;

struct SpateRadioKind {
    const char *name; /* as written in a scenario: "lora" */
    int default_overhead_bytes;
    int default_largest_payload_bytes; /* largest frame less the overhead */

    /* False, with the reason in English in *why (static), for settings that no
     * radio of this kind has. */
    bool (*check)(const SpateModulation *modulation, const char **why);
    /* Time the frame occupies the channel, preamble included; whole ns, rounded half up. */
    int64_t (*airtime_ns)(const SpateModulation *modulation, size_t frame_bytes);
    /* Payload symbols, header included, preamble not (lora); bytes (dsss). */
    int64_t (*payload_symbols)(const SpateModulation *modulation, size_t frame_bytes);
    /* From the start of a frame: the start of the critical part (the last instant at
     * which a radio can lock), >= 0. */
    int64_t (*critical_ns)(const SpateModulation *modulation);
    /* From the start of a frame: the end of its preamble, until when a stronger
     * frame can take the lock. */
    int64_t (*header_ns)(const SpateModulation *modulation);
    int64_t (*symbol_ns)(const SpateModulation *modulation);
    double (*bandwidth_hz)(const SpateModulation *modulation);
    /* Signal-to-noise ratio in that bandwidth at which a lone frame is just decoded. */
    double (*required_snr_db)(const SpateModulation *modulation);
};

extern const SpateRadioKind spate_radio_lora;
extern const SpateRadioKind spate_radio_dsss;

/* All kinds, NULL at the end. */
const SpateRadioKind *const *spate_radio_kinds(void);
/* NULL if there is none of that name. */
const SpateRadioKind *spate_radio_kind_find(const char *name);

/* The LoRa bandwidth meant by a figure that may be rounded or cut, such as 7.8 or 812 kHz,
 * as an exact fraction; false if there is none: 126 kHz is not 125.  `centre_hz` tells the two
 * families apart: below 1 GHz 7.8125 to 500 kHz, at 2.4 GHz 203.125 to 1625 kHz. */
bool spate_lora_bandwidth(double about_hz, int64_t centre_hz, SpateRational *bandwidth_hz);
/* Whether low data rate optimisation is on. */
bool spate_lora_ldro_is_on(const SpateModulation *modulation);
