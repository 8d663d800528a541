/* read-names.h - what names stand for
 *
 * Only the loader includes this header.
 */
#pragma once

#include "scenario/read/read-fields.h"

/* What a name (or a list of names) may be besides nodes and groups. */
typedef enum {
    SPATE_MEMBERS_NAMED = 0,
    SPATE_MEMBERS_OR_EVERYONE = 1, /* `everyone` */
    SPATE_MEMBERS_OR_NOBODY = 2    /* `nobody` */
} SpateMemberWords;

/* The nodes that a name or a list of names stands for, ascending, each once: a new GArray of
 * uint32_t, or NULL with a fault. */
GArray *spate_read_members(SpateReader *reader, const SpateYaml *value, const char *key,
                           SpateMemberWords words);
/* The same as a set: an array of n_nodes entries, to be freed with g_free(); NULL with a fault. */
bool *spate_read_member_set(SpateReader *reader, const SpateYaml *value, const char *key,
                            SpateMemberWords words);
/* The numbers of a name or a list of names: a new GArray of uint32_t (in the order given), NULL
 * with a fault. */
GArray *spate_read_numbers(SpateReader *reader, const SpateNames *names, const SpateYaml *value,
                           const char *key);
/* For each scalar of a value that is a scalar or a list of scalars; false with a fault for another.
 */
typedef bool (*SpateScalarFunc)(SpateReader *reader, const SpateYaml *scalar, gpointer user);
bool spate_each_scalar(SpateReader *reader, const SpateYaml *value, const char *key,
                       SpateScalarFunc each, gpointer user);
/* Of structs whose first member is their name, for sorting. */
int spate_compare_names(const void *a, const void *b);
/* Sorts numbers (uint32_t) and leaves each once. */
void spate_keep_each_once(GArray *numbers);
/* False with a fault for a name that means something else where nodes are named. */
bool spate_is_free_name(SpateReader *reader, const char *name, SpatePlace place);
/* False with a fault for the name of a site: what a file says of it needs a node. */
bool spate_is_built(SpateReader *reader, const SpateYaml *scalar);
void spate_note_name_taken(SpateReader *reader, const char *name, SpatePlace place);
