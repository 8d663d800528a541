/* private.h - what the files of the public library share */
#pragma once

#include "measure/measures.h"
#include "scenario/world/world.h"
#include "spate/spate.h"
#include "study/study.h"

struct SpateFile {
    SpateScenarioFile *inside;
};

struct SpateModel {
    SpateScenario *scenario;
    SpateWorld *world;
    SpateMeasureRow *rows;
    size_t n_rows;
};

/* NULL: none of them. */
SpateStudyOptions spate_study_options_of(const SpateSummaryOptions *options);

/* Hands an error of the rooms on as one of the public domain; takes `inside` over. */
void spate_error_propagate(GError **error, GError *inside);
