/* coverage-report.h - where a carried radio is heard, as text, as a map and as a picture
 *
 * docs/ground.md describes the formats.  Cells that were left out are in none of them.
 */
#pragma once

#include "report/report.h"
#include "study/coverage/coverage.h"

typedef enum {
    SPATE_COVERAGE_TABLE, /* for people: shares of the area */
    SPATE_COVERAGE_JSON,  /* spate-coverage/1 */
    SPATE_COVERAGE_CSV,
    SPATE_COVERAGE_GEOJSON, /* RFC 7946: of an area on the ellipsoid, or in the plane of a
                               height model that says where it lies */
    SPATE_COVERAGE_PNG      /* a pixel for each cell: only of one bearer, with GDAL */
} SpateCoverageFormat;

/* Piece by piece: an area may be too large for one text.  False with an error for a picture that
 * cannot be made. */
bool spate_coverage_report(const SpateCoverage *coverage, SpateCoverageFormat format,
                           SpateTextSink sink, gpointer user, GError **error);

/* How a step looks on a map, and what it is called. */
typedef struct {
    uint8_t colour[4]; /* red, green, blue, how opaque */
    const char *words;
} SpateCoverageLook;
extern const SpateCoverageLook SPATE_COVERAGE_LOOKS[SPATE_N_STEPS];

/* Whether this build can make pictures. */
bool spate_coverage_has_pictures(void);
/* Where a picture lies, for a file beside it that ends in .pgw. */
void spate_coverage_append_world_file(GString *text, const SpateGrid *grid);

/* private: one file each */

void spate_coverage_table(GString *text, const SpateCoverage *coverage);
/* Free with g_byte_array_unref(). */
GByteArray *spate_coverage_picture(const SpateCoverage *coverage, GError **error);
