/* change.h - values of a scenario that are set by their paths
 *
 * What variants, settings and draws have in common: the tree of the file is changed before anything
 * of it is read.  Only the loader includes this header.
 */
#pragma once

#include "scenario/file/settings.h"

/* Paths of one variant: each is looked for from the top. */
#define SPATE_CHANGE_MAX_SET 1000

/* A copy of the value.  The names on the way must be there: "nodes.sail.count" makes no new node.
 */
void spate_change(SpateYaml *root, const char *path, SpatePlace place, const SpateYaml *value,
                  SpateFaults *faults);
/* A map of paths and values. */
void spate_change_by_set(SpateYaml *root, const SpateYaml *set, SpateFaults *faults);
void spate_change_by_variant(SpateYaml *root, const SpateYamlPair *variant, SpateFaults *faults);
void spate_change_by_settings(SpateYaml *root, const SpateSettings *settings, SpateFaults *faults);

/* Whether setting what is at the path replaces what is at the inner one. */
bool spate_change_covers(const char *path, const char *inner);
