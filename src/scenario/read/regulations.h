/* regulations.h - common limits of radiated power and time on air, as a planning aid
 *
 * A constant table, not legal advice: editions change, countries differ.  Each row says
 * where it is from and how well that is confirmed.
 */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef enum { SPATE_LIMIT_ERP, SPATE_LIMIT_EIRP, SPATE_LIMIT_CONDUCTED } SpateLimitKind;

typedef struct {
    const char *region, *band;
    double low_hz, high_hz;
    double limit_dbm;
    SpateLimitKind kind;
    double duty_cycle;                            /* share of any hour; 1: no limit */
    double least_bandwidth_hz, most_bandwidth_hz; /* of signals that the row is for */
    int64_t longest_frame_ns;                     /* 0: no limit */
    bool is_for_alarms;                           /* not for a mesh */
    bool is_additional;                           /* holds beside the other rows of its region */
    const char *conditions;                       /* beyond power and time, for the reader */
    const char *source, *edition, *confirmation;
} SpateRegulation;

/* ERP = EIRP - 2.15 dB: over a half-wave dipole instead of an isotropic antenna. */
#define SPATE_DIPOLE_GAIN_DBI 2.15

/* All rows; those of one region stand together. */
const SpateRegulation *spate_regulations(size_t *n);

/* Whether a signal lies within the row's band and is of its kind. */
bool spate_regulation_covers(const SpateRegulation *row, double centre_hz, double bandwidth_hz);

/* "ERP", "EIRP" or "conducted". */
const char *spate_limit_kind_name(SpateLimitKind kind);
