/* picture.h - intervals and histograms in the characters of a terminal */
#pragma once

#include "core/statistics.h"
#include "report/table/scale.h"
#include <stdint.h>

/* What a picture is drawn with. */
typedef struct {
    unsigned width; /* in characters */
    bool is_ascii;  /* the terminal knows no other characters */
} SpatePictureStyle;

/* A mark at the mean, a bar along its interval (none where there is none), and a line at 0 if
 * asked for; without blanks at the end.  Nothing for a mean that is NAN. */
void spate_picture_append_interval(GString *text, double mean, SpateInterval ci95,
                                   const SpateScale *scale, bool zero_line,
                                   SpatePictureStyle style);
/* The ends of a scale, above such bars; nothing if they have no room side by side. */
void spate_picture_append_ends(GString *text, const SpateScale *scale, SpatePictureStyle style);
/* A character for each count, as high as its share of `most`; what is not 0 shows.  Without blanks
 * at the end. */
void spate_picture_append_heights(GString *text, const uint64_t *counts, double most,
                                  SpatePictureStyle style);
