/* profile-report.c - the ground between two nodes: JSON, CSV, words */
#include "report/profile/profile-report.h"

#include "document/form.h"
#include "document/numbers.h"
#include <math.h>

static const SpateMember POINT[] = {
    {"distance_m", SPATE_CELL_NUMBER, offsetof(SpatePathPoint, distance_m)},
    {"ground_m", SPATE_CELL_NUMBER, offsetof(SpatePathPoint, ground_m)},
    {"bulge_m", SPATE_CELL_NUMBER, offsetof(SpatePathPoint, bulge_m)},
    {"ray_m", SPATE_CELL_NUMBER, offsetof(SpatePathPoint, ray_m)},
    {"fresnel_m", SPATE_CELL_NUMBER, offsetof(SpatePathPoint, fresnel_m)},
    {"clearance_m", SPATE_CELL_NUMBER, offsetof(SpatePathPoint, clearance_m)},
};
static const SpateForm POINT_FORM = SPATE_FORM(SpatePathPoint, POINT);

typedef struct {
    const char *from, *to;
    double distance_m;
    const SpatePathPoint *points;
    uint32_t n_points;
} Profile;

static const SpateMember PROFILE[] = {
    {"from", SPATE_CELL_TEXT, offsetof(Profile, from)},
    {"to", SPATE_CELL_TEXT, offsetof(Profile, to)},
    {"distance_m", SPATE_CELL_NUMBER, offsetof(Profile, distance_m)},
    {"points", SPATE_CELL_LIST, SPATE_LIST(Profile, points, n_points), .form = &POINT_FORM,
     .each = "\n"},
};

typedef struct {
    Profile profile;
} Document;

static const SpateMember DOCUMENT[] = {
    {"profile", SPATE_CELL_OBJECT, offsetof(Document, profile), SPATE_OF(Profile, PROFILE)},
};
static const SpateForm DOCUMENT_FORM = SPATE_FORM(Document, DOCUMENT);

void
spate_profile_append_json(GString *text, const SpateProfileReport *report)
{
    const Document document = {{report->from, report->to, report->distance_m,
                                (const SpatePathPoint *)(const void *)report->points->data,
                                report->points->len}};
    spate_form_append(text, &DOCUMENT_FORM, &document);
    g_string_append_c(text, '\n');
}

void
spate_profile_append_csv(GString *text, const SpateProfileReport *report)
{
    spate_form_append_csv_head(text, &POINT_FORM);
    for (guint i = 0; i < report->points->len; i++)
        spate_form_append_csv(text, &POINT_FORM, &g_array_index(report->points, SpatePathPoint, i));
}

void
spate_profile_find_heights(const SpateProfileReport *report, double *low_m, double *high_m)
{
    *low_m = INFINITY;
    *high_m = -INFINITY;
    for (guint i = 0; i < report->points->len; i++) {
        const SpatePathPoint *point = &g_array_index(report->points, SpatePathPoint, i);
        double ground_m = point->ground_m + point->bulge_m;
        *low_m = fmin(*low_m, fmin(ground_m, point->ray_m - point->fresnel_m));
        *high_m = fmax(*high_m, fmax(ground_m, point->ray_m + point->fresnel_m));
    }
}

static void
append_metres(GString *text, double metres)
{
    spate_append_fixed(text, metres, fabs(metres) < 100.0 ? 1 : 0, false);
    g_string_append(text, " m");
}

void
spate_profile_append_verdict(GString *text, const SpateProfileReport *report)
{
    const SpatePathPoint *worst = spate_path_worst(report->points);
    if (worst == NULL) {
        g_string_append(text, "nothing lies between the antennas");
        return;
    }
    double enough_m = SPATE_CLEAR_SHARE * worst->fresnel_m;
    if (worst->clearance_m < 0.0) {
        g_string_append(text, "the ground stands ");
        append_metres(text, -worst->clearance_m);
        g_string_append(text, " above the line of sight");
    } else if (worst->clearance_m < enough_m) {
        g_string_append(text, "the ground stands ");
        append_metres(text, enough_m - worst->clearance_m);
        g_string_append(text, " within 60 % of the first Fresnel zone, ");
        append_metres(text, worst->clearance_m);
        g_string_append(text, " below the line of sight");
    } else {
        g_string_append_printf(text,
                               "60 %% of the first Fresnel zone is clear; the ground comes "
                               "nearest to the line of sight (%.0f %% of the radius)",
                               100.0 * worst->clearance_m / worst->fresnel_m);
    }
    g_string_append(text, ", ");
    append_metres(text, worst->distance_m);
    g_string_append_printf(text, " from %s", report->from);
}

void
spate_profile_append_table(GString *text, const SpateProfileReport *report,
                           const SpateTableStyle *style)
{
    static const unsigned USUAL_WIDTH = 72, MOST_WIDTH = 120;
    g_string_append_printf(text, "%s to %s: ", report->from, report->to);
    append_metres(text, report->distance_m);
    g_string_append(text, ", at ");
    spate_append_fixed(text, report->frequency_hz / 1e6, 3, false);
    g_string_append_printf(text, " MHz (%s)\n", report->bearer);
    if (!report->has_terrain)
        g_string_append(text, "no height model ('terrain'): the ground is flat, and so is the "
                              "earth\n");
    g_string_append_c(text, '\n');
    unsigned width = style->columns > 0 ? MIN(style->columns, MOST_WIDTH) : USUAL_WIDTH;
    spate_profile_append_picture(text, report, width, style->is_ascii);
    g_string_append_c(text, '\n');
    spate_profile_append_verdict(text, report);
    g_string_append_c(text, '\n');
    if (!isnan(report->loss_db)) {
        g_string_append_printf(text, "path loss on %s: ", report->bearer);
        spate_append_fixed(text, report->loss_db, 1, false);
        g_string_append(text, " dB\n");
    }
}
