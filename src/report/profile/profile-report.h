/* profile-report.h - what `links --profile` shows: the ground between two nodes
 *
 * As JSON (docs/result-format.md), CSV, words with a picture in the characters of a terminal, and a
 * drawing of its own.
 */
#pragma once

#include "propagation/path-profile.h"
#include "report/report.h"

typedef struct {
    const char *from, *to; /* borrowed, as all here */
    const char *bearer;    /* whose frequency counts */
    double frequency_hz;
    double distance_m;    /* along the ground */
    double loss_db;       /* of the bearer's path model; NAN: not known */
    bool has_terrain;     /* else ground and earth are flat */
    const GArray *points; /* SpatePathPoint */
} SpateProfileReport;

void spate_profile_append_json(GString *text, const SpateProfileReport *report);
void spate_profile_append_csv(GString *text, const SpateProfileReport *report);
void spate_profile_append_table(GString *text, const SpateProfileReport *report,
                                const SpateTableStyle *style);
/* What stands in the way, in a sentence without its end: "ground stands 12.3 m above ..." */
void spate_profile_append_verdict(GString *text, const SpateProfileReport *report);
/* Lines of characters: ground, ray and first Fresnel zone. */
void spate_profile_append_picture(GString *text, const SpateProfileReport *report, unsigned width,
                                  bool is_ascii);
void spate_profile_append_plot(GString *svg, const SpateProfileReport *report);
/* The lowest and the highest of all that is drawn. */
void spate_profile_find_heights(const SpateProfileReport *report, double *low_m, double *high_m);
