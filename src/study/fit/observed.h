/* observed.h - measured levels beside those that a scenario predicts
 *
 * A prediction is the link budget, without shadowing and fading: so differences spread by sigma
 * even where the scenario is right.  Rows with nothing heard are listed apart; what was heard is
 * the luckier part of a link near its sensitivity, so the bias of that part leans upwards there.
 */
#pragma once

#include "core/statistics.h"
#include "scenario/read/walk-table.h"
#include "scenario/world/world.h"

typedef struct {
    const char *from, *to, *bearer; /* of the scenario */
    uint32_t line;
    bool is_given;       /* the scenario gives the loss of this link: nothing was predicted */
    double observed_dbm; /* NAN: nothing was heard */
    double predicted_dbm;
    double difference_db; /* observed less predicted; NAN */
    double margin_db;     /* predicted, above the sensitivity of the receiver */
} SpateObservedRow;

typedef struct {
    GArray *heard;   /* SpateObservedRow, those that fit worst first */
    GArray *unheard; /* those with the largest margin first */
    size_t n_given;
    size_t n_expected;         /* of the unheard: predicted above the sensitivity */
    double bias_db, spread_db; /* mean and standard deviation of the differences; NAN of too few */
    SpateInterval bias_ci95, spread_ci95; /* if rows are independent */
} SpateObserved;

/* NULL with all faults of the table, or where a model of the scenario does not hold. */
SpateObserved *spate_observed_new(const SpateWalk *walk, const SpateWorld *world, GError **error);
void spate_observed_free(SpateObserved *observed);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateObserved, spate_observed_free)
