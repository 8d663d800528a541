/* yaml-tree.h - a YAML text as a tree that remembers where everything stood
 *
 * Only what a scenario needs: maps with scalar keys in the order of the file, lists,
 * scalars as text with a mark whether they were quoted.  Nothing is
 * interpreted here: `no`, `010` and `1:30` stay the text that they are.  Anchors and aliases are
 * expanded, within bounds; merge keys and tags are refused.  Depth, number of nodes and size are
 * bounded, so that no input can use up memory or stack.
 */
#pragma once

#include "scenario/text/faults.h"
#include <stddef.h>

typedef enum { SPATE_YAML_SCALAR, SPATE_YAML_LIST, SPATE_YAML_MAP } SpateYamlKind;

typedef struct SpateYaml SpateYaml;

typedef struct {
    char *key;
    SpatePlace key_place;
    SpateYaml *value;
} SpateYamlPair;

struct SpateYaml {
    SpateYamlKind kind;
    SpatePlace place;
    char *text;       /* scalar; "" for an empty one */
    bool quoted;      /* scalar */
    bool is_cell;     /* scalar: of a table, in a column whose name bears no unit */
    GPtrArray *items; /* list: SpateYaml*, owned */
    GArray *pairs;    /* map: SpateYamlPair, owned, in the order of the file */
};

#define SPATE_YAML_MAX_DEPTH 64
#define SPATE_YAML_MAX_NODES 2000000
/* By aliases: a few lines must not become the largest file that there can be. */
#define SPATE_YAML_MAX_COPIED 100000
#define SPATE_YAML_MAX_BYTES  (64u << 20)

/* Empty. */
SpateYaml *spate_yaml_new(SpateYamlKind kind, SpatePlace place);
void spate_yaml_free(SpateYaml *node);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateYaml, spate_yaml_free)

/* One document.  What cannot be read (none, several, not UTF-8, not YAML, a merge key, too deep,
 * too large) is noted as a fault and NULL returned.  What reading can go on after (a key given
 * twice, which is then left out; a tag) is noted too, so a tree alone does not say that all is
 * well. `origin` comes from spate_faults_add_text(). */
SpateYaml *spate_yaml_parse(const char *text, size_t length, int origin, SpateFaults *faults);
SpateYaml *spate_yaml_copy(const SpateYaml *node);
/* A copy without one key of the map, if it is one and has it. */
SpateYaml *spate_yaml_copy_without(const SpateYaml *map, const char *key);

/* What a tree holds: scalars, lists and maps, the bytes of its texts and keys, levels. */
typedef struct {
    size_t n_nodes, n_bytes, depth;
} SpateYamlExtent;
SpateYamlExtent spate_yaml_extent(const SpateYaml *node);

/* The pair of a key, and its value; NULL if absent or not a map. */
SpateYamlPair *spate_yaml_pair(const SpateYaml *map, const char *key);
SpateYaml *spate_yaml_get(const SpateYaml *map, const char *key);

/* Sets the value at a dotted path ("nodes.soil.count", entries of lists by number from 0, keys that
 * hold dots in double quotes).  Missing maps on the way are made; the last key of a map may be new;
 * an entry of a list must exist, or be the next one.  Takes `value` over.  False, with a fault at
 * `place`, if the path leads nowhere ("the list 'expect' has no entry '9'") or is too long. */
bool spate_yaml_set(SpateYaml *root, const char *path, SpatePlace place, SpateYaml *value,
                    SpateFaults *faults);
