/* profile-picture.c - the ground between two nodes in the characters of a terminal
 *
 * A column of characters for a stretch of the path, of which the highest ground and the narrowest
 * clearance are shown; heights are drawn from the chord of the curved earth.
 */
#include "document/numbers.h"
#include "report/profile/profile-report.h"

#include <math.h>
#include <string.h>

#define ROWS        16
#define LABEL_WIDTH 8 /* of heights at the left edge */

enum { BLANK, ZONE, RAY, GROUND, N_SIGNS };

static const char *const SIGNS[N_SIGNS] = {" ", "·", "─", "█"};
static const char *const ASCII_SIGNS[N_SIGNS] = {" ", ".", "-", "#"};

/* What is drawn in a column, in metres. */
typedef struct {
    double ground_m, ray_m, fresnel_m;
} Column;

static Column
column_of(const SpateProfileReport *report, unsigned column, unsigned n_columns)
{
    const GArray *points = report->points;
    size_t last = points->len - 1;
    size_t from = last * column / n_columns, to = last * (column + 1) / n_columns;
    Column found = {.ground_m = -INFINITY};
    double narrowest_m = INFINITY;
    for (size_t i = from; i <= to; i++) {
        const SpatePathPoint *point = &g_array_index(points, SpatePathPoint, i);
        found.ground_m = fmax(found.ground_m, point->ground_m + point->bulge_m);
        if (point->clearance_m >= narrowest_m)
            continue;
        narrowest_m = point->clearance_m;
        found.ray_m = point->ray_m;
        found.fresnel_m = point->fresnel_m;
    }
    return found;
}

/* From the top, 0 to ROWS - 1. */
static int
row_of(double height_m, double low_m, double high_m)
{
    double share = high_m > low_m ? (high_m - height_m) / (high_m - low_m) : 0.0;
    return (int)CLAMP(floor(share * ROWS), 0.0, ROWS - 1.0);
}

static void
append_row(GString *text, const guint8 *signs, unsigned n, bool is_ascii)
{
    gsize start = text->len;
    for (unsigned c = 0; c < n; c++)
        g_string_append(text, (is_ascii ? ASCII_SIGNS : SIGNS)[signs[c]]);
    while (text->len > start && text->str[text->len - 1] == ' ')
        g_string_truncate(text, text->len - 1);
    g_string_append_c(text, '\n');
}

static void
append_legend(GString *text, const SpateProfileReport *report, unsigned n, bool is_ascii)
{
    const char *const *signs = is_ascii ? ASCII_SIGNS : SIGNS;
    g_autoptr(GString) ends = g_string_new("0");
    g_autoptr(GString) far = g_string_new(NULL);
    spate_append_fixed(far, report->distance_m, 0, false);
    g_string_append(far, " m");
    g_string_append_printf(text, "%*s%s%*s\n", LABEL_WIDTH + 1, "", ends->str, (int)(n - 1),
                           far->str);
    g_string_append_printf(text,
                           "%*s%s ground of the curved earth, %s line of sight, %s first "
                           "Fresnel zone\n",
                           LABEL_WIDTH + 1, "", signs[GROUND], signs[RAY], signs[ZONE]);
}

void
spate_profile_append_picture(GString *text, const SpateProfileReport *report, unsigned width,
                             bool is_ascii)
{
    unsigned n = MAX(width, LABEL_WIDTH + 21) - LABEL_WIDTH - 1;
    g_autofree guint8 *signs = g_new0(guint8, (gsize)n * ROWS);
    double low_m, high_m;
    spate_profile_find_heights(report, &low_m, &high_m);
    for (unsigned c = 0; c < n; c++) {
        Column column = column_of(report, c, n);
        int top = row_of(column.ray_m + column.fresnel_m, low_m, high_m);
        int bottom = row_of(column.ray_m - column.fresnel_m, low_m, high_m);
        for (int r = top; r <= bottom; r++)
            signs[(unsigned)r * n + c] = ZONE;
        for (int r = row_of(column.ground_m, low_m, high_m); r < ROWS; r++)
            signs[(unsigned)r * n + c] = GROUND;
        signs[(unsigned)row_of(column.ray_m, low_m, high_m) * n + c] = RAY;
    }
    for (unsigned r = 0; r < ROWS; r++) {
        g_autoptr(GString) label = g_string_new(NULL);
        if (r == 0 || r == ROWS - 1) {
            spate_append_fixed(label, r == 0 ? high_m : low_m, 0, false);
            g_string_append(label, " m");
        }
        g_string_append_printf(text, "%*s ", LABEL_WIDTH, label->str);
        append_row(text, &signs[r * n], n, is_ascii);
    }
    append_legend(text, report, n, is_ascii);
}
