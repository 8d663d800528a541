/* store-private.h - the insides of a store, for the files that make it up */
#pragma once

#include "study/store.h"

struct SpateStore {
    SpateSql sql;
    /* Kept; made when they are first used. */
    SpateStatement *add_run, *add_sample, *forget_sums;
};

/* Whether nothing was ever written. */
bool spate_store_is_empty(SpateStore *store, bool *is_empty, GError **error);
/* The first thing that `there` (a store of another thing) and `here` differ in.  `there` and `here`
 * are values by key, in the order of SPATE_STORE_KEYS; free with g_free(). */
#define SPATE_STORE_N_KEYS 5
extern const char *const SPATE_STORE_KEYS[SPATE_STORE_N_KEYS];
/* NULL if they are the same. */
char *spate_store_difference(const char *const *there, const char *const *here);

/* Of a row that is read from columns that start with its name: name, traffic, bearer, node, bridge.
 * False if the measure is unknown. */
bool spate_store_name_row(SpateResultRow *row, SpateStatement *statement, int column);
