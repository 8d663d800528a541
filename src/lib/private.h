/* private.h - what the files of the public library share */
#pragma once

#include "measure/measures.h"
#include "scenario/world.h"
#include "spate/spate.h"

struct SpateFile {
    SpateScenarioFile *inside;
};

struct SpateModel {
    SpateScenario *scenario;
    SpateWorld *world;
    SpateMeasureRow *rows;
    size_t n_rows;
};

/* Hands an error of the rooms on as one of the public domain; takes `inside` over. */
void spate_error_propagate(GError **error, GError *inside);
