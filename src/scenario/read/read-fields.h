/* read-fields.h - maps of a scenario file, read by tables
 *
 * The grammar is made of constant tables: a key, the function that reads its value, where
 * the result goes and what it must lie within.  Reading is strict and tireless: each fault is
 * noted at its own place and reading goes on, so that the user sees them all.
 *
 * Only the loader includes this header.
 */
#pragma once

#include "scenario/read/tables.h"
#include "scenario/scenario.h"
#include "scenario/text/quantity.h"

/* Names of one sort, as they can be referred to. */
typedef struct {
    const char *what;    /* "bearer", for messages */
    GHashTable *numbers; /* name (borrowed) -> number + 1 */
    GPtrArray *words;    /* names worth suggesting; ends with NULL */
    bool is_partial;     /* not all could be read: who names another is not to blame */
} SpateNames;

void spate_names_init(SpateNames *names, const char *what);
void spate_names_clear(SpateNames *names);
/* The name is borrowed.  `suggest`: whether hints may propose it. */
void spate_names_add(SpateNames *names, const char *name, uint32_t number, bool suggest);
bool spate_names_has(const SpateNames *names, const char *name, uint32_t *number);

/* In which form a file gives its places; all in one. */
typedef enum { SPATE_GEO_UNKNOWN, SPATE_GEO_PLANE, SPATE_GEO_GLOBE } SpateGeo;

/* What the loader knows while it reads one scenario. */
typedef struct {
    SpateFaults *faults;
    SpateScenario *scenario;
    SpateTables *tables;
    const SpateScenario *base; /* that a variant changes; NULL: this is the base */
    SpateFlooding flooding;    /* of the top, which nodes override */
    SpateNames bearers;
    SpateNames nodes;   /* numbers of nodes, and of sites */
    SpateNames groups;  /* every name that stands for nodes: entries of scenario->groups */
    SpateNames classes; /* numbers are ranks in `priority:` or UINT32_MAX */
    SpateNames traffics;
    SpateNames bridges;
    SpateGeo geo;
    bool builds_sites; /* candidates are read as nodes */
    bool has_terrain;  /* the key is there, though perhaps with faults */
    bool too_many_nodes, too_many_losses;
    GPtrArray *unread; /* names (borrowed) of `nodes:` and `groups:` whose nodes are not known */
    uint64_t spent;    /* what names of groups stand for, all in all */
    bool overspent;
    uint64_t n_rows; /* of tables that were read */
} SpateReader;

/* All that `everyone` and the names of groups stand for in one scenario, counted each time. */
#define SPATE_MAX_REFERENCES UINT64_C(20000000)
/* Counts `n` of them; false (and a fault, once) when they are too many. */
bool spate_reader_spend(SpateReader *reader, SpatePlace place, uint64_t n);

/* A word of a scenario and what it means. */
typedef struct {
    const char *word; /* NULL ends a list */
    int value;
} SpateWord;

typedef struct SpateField SpateField;
typedef struct SpateTable SpateTable;
/* Reads the value of a key into the struct at `into`. */
typedef void (*SpateReadFunc)(SpateReader *reader, const SpateField *field,
                              const SpateYamlPair *pair, void *into);

struct SpateField {
    const char *key;
    SpateReadFunc read;
    size_t at; /* offset of the member in the struct */
    bool required;
    unsigned only; /* sorts of the map (bits) that have this key; 0: all */

    /* numbers */
    SpateDimension dimension;
    double least, most;
    const char *word; /* may stand for a number: "none"; then the member gets word_value */
    double word_value;

    const SpateWord *words;  /* spate_read_word() */
    const SpateTable *table; /* spate_read_inner() */
};

struct SpateTable {
    const char *what; /* "a bearer" */
    const SpateField *fields;
    size_t n_fields;
    const SpateWord *sorts; /* names of the bits of `only`; NULL without */
    bool of_columns;        /* of a CSV file, which may have others */
};

/* What a field says, by its reader: the key, the member of the struct, and what the value must be.
 * Numbers name their dimension without SPATE_DIM_. */
#define SPATE_KEY(name, how, type, member) .key = name, .read = how, .at = offsetof(type, member)
#define SPATE_WITHIN(unit, low, high)      .dimension = SPATE_DIM_##unit, .least = low, .most = high
#define SPATE_NUMBER(name, type, member, unit, low, high)                                          \
    SPATE_KEY(name, spate_read_number, type, member), SPATE_WITHIN(unit, low, high)
#define SPATE_WHOLE(name, type, member, unit, low, high)                                           \
    SPATE_KEY(name, spate_read_whole, type, member), SPATE_WITHIN(unit, low, high)
#define SPATE_TIME(name, type, member, low, high)                                                  \
    SPATE_KEY(name, spate_read_time, type, member), SPATE_WITHIN(TIME, low, high)
#define SPATE_FLAG(name, type, member) SPATE_KEY(name, spate_read_flag, type, member)
#define SPATE_TEXT(name, type, member) SPATE_KEY(name, spate_read_text, type, member)
#define SPATE_PAIR(name, type, member) SPATE_KEY(name, spate_read_pair, type, member)
#define SPATE_WORD(name, type, member, list)                                                       \
    SPATE_KEY(name, spate_read_word, type, member), .words = list
#define SPATE_EITHER(name, type, member, list)                                                     \
    SPATE_KEY(name, spate_read_either, type, member), .words = list
#define SPATE_INNER(name, type, member, inner)                                                     \
    SPATE_KEY(name, spate_read_inner, type, member), .table = inner

#define SPATE_TABLE(what, fields, sorts)                                                           \
    {                                                                                              \
        what, fields, G_N_ELEMENTS(fields), sorts, false                                           \
    }
#define SPATE_TABLE_OF_COLUMNS(what, fields)                                                       \
    {                                                                                              \
        what, fields, G_N_ELEMENTS(fields), NULL, true                                             \
    }

/* Reads a map; `sort` has the bit of its sort, 0 if that is not known (then keys that only
 * some sorts have are ignored).  `owner` is where missing keys are noted.  False if it is no map.
 */
bool spate_read_map(SpateReader *reader, const SpateTable *table, unsigned sort, SpatePlace owner,
                    const SpateYaml *map, void *into);

/* The table of a CSV file that the value names, with columns for the fields, and perhaps others,
 * which a warning names; NULL with a fault. */
const SpateCsvTable *spate_open_table(SpateReader *reader, const SpateTable *columns,
                                      const SpateYamlPair *pair);

/* Notes columns that are missing or misspelt; others that it does not know get a warning. */
void spate_check_columns(SpateReader *reader, const SpateTable *columns,
                         const SpateCsvTable *table);

/* Where the field's value goes in the struct. */
void *spate_member(const SpateField *field, void *into);

/* Readers for tables.  After each, the member's type. */
void spate_read_number(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair,
                       void *into); /* double */
void spate_read_time(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair,
                     void *into); /* int64_t, ns; `least` and `most` are in ns */
void spate_read_whole(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair,
                      void *into); /* uint32_t or int */
void spate_read_flag(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair,
                     void *into); /* bool: yes no true false on off */
void spate_read_word(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair,
                     void *into); /* an enum or int */
void spate_read_either(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair,
                       void *into); /* bool: by words whose values are 0 and 1 */
void spate_read_text(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair,
                     void *into); /* char *, owned by the struct */
void spate_read_inner(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair,
                      void *into); /* a struct, by field->table */
void spate_read_pair(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair,
                     void *into); /* const SpateYamlPair *, to be read later */
void spate_read_elsewhere(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair,
                          void *into); /* nothing: someone else reads it */

/* False with a fault if the value of `key` is of another kind. */
bool spate_is_kind(SpateReader *reader, const SpateYaml *value, SpateYamlKind kind,
                   const char *key);
bool spate_is_word(const SpateYaml *value, const char *word);

/* The bit of the sort that the word of `key` names: `absent` without the key (-1: none), 0 if the
 * word is wrong. */
unsigned spate_sort_of(const SpateYaml *map, const char *key, const SpateWord *words, int absent);
/* False with a fault at the scalar, if it is none of them; `what`: "an access method". */
bool spate_find_word(SpateReader *reader, const SpateYaml *scalar, const SpateWord *words,
                     const char *what, int *value);

/* A fault for every pair of the map that is present, but the first, of these keys; returns the
 * one present or NULL.  Ends with NULL. */
const SpateYamlPair *spate_only_one(SpateReader *reader, const SpateYaml *map,
                                    const char *const *keys);

/* Whether faults were noted since the count was `before`. */
bool spate_faults_since(const SpateReader *reader, size_t before);

/* Keys of maps that are names: false with a fault. */
bool spate_is_name(SpateReader *reader, const char *name, SpatePlace place);
/* The number of what a scalar names; false with a fault and the nearest name. */
bool spate_find_name(SpateReader *reader, const SpateNames *names, const SpateYaml *scalar,
                     uint32_t *number);
/* The same of what the value of a pair names; false also without a pair. */
bool spate_find_named(SpateReader *reader, const SpateNames *names, const SpateYamlPair *pair,
                      uint32_t *number);
/* "did you mean 'x'?", or `otherwise` (copied, may be NULL) if none is near. */
char *spate_hint_nearest(const SpateReader *reader, const char *word, const char *const *candidates,
                         const char *otherwise);
