/* table-pictures.c - what a terminal shows beside the figures of a table */
#include "report/table/table-pictures.h"

#include <math.h>
#include <string.h>

/* In characters.  Fewer would show hardly more than the figures do; more would not help. */
#define LEAST_WIDTH 16
#define MOST_WIDTH  32
#define BETWEEN     2

SpateTablePictures
spate_table_pictures_fit(const SpateTableStyle *style, unsigned taken, bool has_differences)
{
    SpateTablePictures pictures = {.means.is_ascii = style->is_ascii,
                                   .differences.is_ascii = style->is_ascii};
    unsigned room = style->columns > taken + BETWEEN ? style->columns - taken - BETWEEN : 0;
    pictures.is_drawn = room >= LEAST_WIDTH;
    if (!pictures.is_drawn)
        return pictures;
    bool has_both = has_differences && room >= 2 * LEAST_WIDTH + BETWEEN;
    unsigned width = MIN(has_both ? (room - BETWEEN) / 2 : room, MOST_WIDTH);
    if (has_both || !has_differences)
        pictures.means.width = width;
    if (has_differences)
        pictures.differences.width = width;
    return pictures;
}

void
spate_table_pictures_append_key(GString *text, const SpateTablePictures *pictures,
                                size_t n_variants)
{
    if (!pictures->is_drawn)
        return;
    if (n_variants == 1)
        g_string_append(text, "bars: mean and 95 % interval, from 0 to 100 % or the block's "
                              "largest of the unit\n");
    else
        g_string_append(text, "bars: 95 % intervals between the ends above them; a line at 0\n");
}

typedef struct {
    double low, high; /* none yet: low > high */
} Extent;

static const Extent NOTHING = {INFINITY, -INFINITY};

static void
widen(Extent *extent, double mean, SpateInterval ci95)
{
    /* Each leaves out what is NAN. */
    extent->low = fmin(extent->low, fmin(mean, ci95.low));
    extent->high = fmax(extent->high, fmax(mean, ci95.high));
}

static Extent
extent_of_rows(const SpateTableLine *line, size_t n_variants)
{
    Extent extent = NOTHING;
    for (size_t v = 0; v < n_variants; v++)
        if (line->rows[v] != NULL)
            widen(&extent, line->rows[v]->mean, line->rows[v]->ci95);
    return extent;
}

static const SpateMeasureInfo *
measure_of(const SpateTableLine *line, size_t n_variants)
{
    return spate_measure_info(spate_table_line_row(line, n_variants)->measure);
}

static double
factor_of(const SpateMeasureInfo *measure)
{
    return measure->unit == SPATE_UNIT_RATIO ? 100.0 : 1.0;
}

SpateLinePictures
spate_line_pictures_of_variants(const SpateTableLine *line, size_t n_variants,
                                const SpateTablePictures *drawn)
{
    SpateLinePictures pictures = {.factor = factor_of(measure_of(line, n_variants))};
    Extent rows = extent_of_rows(line, n_variants);
    Extent differences = NOTHING;
    double factor = pictures.factor;
    for (size_t v = 0; v < n_variants; v++)
        if (line->differences[v] != NULL)
            widen(&differences, line->differences[v]->mean, line->differences[v]->ci95);
    if (differences.low <= differences.high)
        widen(&differences, 0.0, (SpateInterval){0.0, 0.0});
    if (drawn->is_drawn && rows.low < rows.high) {
        pictures.means = drawn->means;
        pictures.scale = spate_scale_linear(rows.low * factor, rows.high * factor, 5);
    }
    if (drawn->is_drawn && differences.low < differences.high) {
        pictures.differences = drawn->differences;
        pictures.difference_scale =
            spate_scale_linear(differences.low * factor, differences.high * factor, 5);
    }
    return pictures;
}

/* Hops are counted, but nothing else is counted in hops. */
static bool
has_company(const SpateMeasureInfo *measure)
{
    return measure != spate_measure_info(SPATE_MEASURE_HOPS_MEAN);
}

SpateLinePictures
spate_line_pictures_of_one(const SpateTableLine *line, const GPtrArray *block,
                           const SpateTablePictures *drawn)
{
    const SpateMeasureInfo *measure = measure_of(line, 1);
    SpateLinePictures pictures = {.factor = factor_of(measure)};
    double largest = pictures.factor == 100.0 ? 100.0 : 0.0;
    if (!drawn->is_drawn || !has_company(measure))
        return pictures;
    for (guint i = 0; i < block->len; i++) {
        const SpateTableLine *other = g_ptr_array_index(block, i);
        const SpateMeasureInfo *its = measure_of(other, 1);
        if (has_company(its) && its->unit == measure->unit)
            largest = fmax(largest, extent_of_rows(other, 1).high * pictures.factor);
    }
    pictures.scale = (SpateScale){.low = 0.0, .high = largest};
    if (largest > 0.0)
        pictures.means = drawn->means;
    return pictures;
}

static char *
interval_picture(double mean, SpateInterval ci95, double factor, const SpateScale *scale,
                 bool zero_line, SpatePictureStyle style)
{
    GString *picture = g_string_new(NULL);
    const SpateInterval scaled = {ci95.low * factor, ci95.high * factor};
    spate_picture_append_interval(picture, mean * factor, scaled, scale, zero_line, style);
    return g_string_free(picture, FALSE);
}

void
spate_line_pictures_fill(SpateTableRow *cells, const SpateLinePictures *pictures,
                         const SpateTableLine *line, size_t variant)
{
    const SpateResultRow *row = line->rows[variant];
    const SpateDifference *difference = line->differences[variant];
    if (pictures->means.width > 0)
        cells->cells[SPATE_COLUMN_PICTURE] = interval_picture(
            row->mean, row->ci95, pictures->factor, &pictures->scale, false, pictures->means);
    if (pictures->differences.width > 0 && difference != NULL)
        cells->cells[SPATE_COLUMN_DIFFERENCE_PICTURE] =
            interval_picture(difference->mean, difference->ci95, pictures->factor,
                             &pictures->difference_scale, true, pictures->differences);
}

static char *
ends_picture(const SpateScale *scale, SpatePictureStyle style)
{
    GString *picture = g_string_new(NULL);
    spate_picture_append_ends(picture, scale, style);
    return g_string_free(picture, FALSE);
}

void
spate_line_pictures_fill_ends(SpateTableRow *cells, const SpateLinePictures *pictures)
{
    if (pictures->means.width > 0)
        cells->cells[SPATE_COLUMN_PICTURE] = ends_picture(&pictures->scale, pictures->means);
    if (pictures->differences.width > 0)
        cells->cells[SPATE_COLUMN_DIFFERENCE_PICTURE] =
            ends_picture(&pictures->difference_scale, pictures->differences);
}
