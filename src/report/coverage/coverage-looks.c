/* coverage-looks.c - the colours of coverage on maps */
#include "report/coverage/coverage-report.h"

/* The steps are those of a map for all kinds of colour vision, where what is more is lighter too:
 * J. R. Nunez, C. R. Anderton, R. S. Renslow, Optimizing colormaps with consideration for color
 * vision deficiency, PLoS ONE 13(7), 2018; six even steps of it. */
const SpateCoverageLook SPATE_COVERAGE_LOOKS[SPATE_N_STEPS] = {
    [SPATE_STEP_LEFT_OUT] = {{0, 0, 0, 0}, "not judged"},
    [SPATE_STEP_NONE] = {{0x00, 0x20, 0x4d, 255}, "none"},
    [SPATE_STEP_ONE_WAY] = {{0x31, 0x44, 0x6b, 255}, "none, but one is heard, or hears"},
    [SPATE_STEP_1] = {{0x66, 0x69, 0x70, 255}, "1"},
    [SPATE_STEP_2] = {{0x95, 0x8f, 0x78, 255}, "2"},
    [SPATE_STEP_3] = {{0xcb, 0xba, 0x69, 255}, "3"},
    [SPATE_STEP_MORE] = {{0xff, 0xea, 0x46, 255}, "4 or more"},
};
