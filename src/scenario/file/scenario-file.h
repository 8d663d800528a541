/* scenario-file.h - the internals of a scenario file, for those who build and check scenarios
 *
 * A scenario is read from a tree: that of the file with what a variant, the settings, a point of a
 * sweep and a draw change in it.  Only the loader includes this header.
 */
#pragma once

#include "scenario/file/change.h"
#include "scenario/read/read-sections.h"

struct SpateScenarioFile {
    gint n_references; /* the file itself, and scenarios with uncertain inputs */
    gint serial;       /* no other file that was read has it */
    char *name, *text, *sha256;
    SpateYaml *root;
    SpateYaml *bare;        /* the same without `sweep`, whose values may be thousands */
    uint64_t check_work;    /* what checking took, in values and nodes that were read */
    SpateSettings settings; /* of the command line */
    SpateTables *tables;
    SpateScenario *base; /* kept where it defines what measured levels mean; else NULL */
    bool is_whole[SPATE_MOST_DOUBTS]; /* by doubt */
    GPtrArray *variants;              /* names; ends with NULL */
};

/* Changes to the base, in the order of SpateTrial; a value of a sweep or of a doubt comes last. */
typedef struct {
    const SpateYamlPair *variant; /* NULL: none */
    bool has_settings;            /* those of the command line come after the variant */
    const SpateYaml *rules;       /* a map of paths; NULL: none */
    const char *rules_of;         /* the variant that they belong to; NULL: the base */
    const SpateSettings *more;    /* those of a trial; NULL: none */
    const char *path;             /* NULL: none */
    SpatePlace place;
    const SpateYaml *value;
    bool builds_sites; /* as if no `candidate` was given */
} SpateFileChange;

/* "in variant 'open'".  Free with g_free(). */
char *spate_file_context(const SpateYamlPair *variant);
/* The texts are the file, the settings of the command line, those of a trial (NULL: empty), its
 * rules (likewise), and the tables, whatever is found of these. */
SpateFaults *spate_file_new_faults(const SpateScenarioFile *file, const SpateSettings *more,
                                   const char *rules);
SpateYaml *spate_file_changed_tree(const SpateScenarioFile *file, const SpateFileChange *change,
                                   SpateFaults *faults);
/* As spate_read_scenario(); the values of the tree count as work. */
SpateScenario *spate_file_build(const SpateScenarioFile *file, const SpateFileChange *change,
                                SpateFaults *faults, uint64_t *work);
/* Takes it out, and notes it, copied, for draws to come.  Once for a scenario. */
void spate_file_mute(SpateScenario *scenario, const SpateMute *mute);
/* In doubt no more: it is as it was read, and needs nothing of its file. */
void spate_file_settle(SpateScenario *scenario);
/* Notes all that is wrong with the base, every variant, and what size, sweep and doubt change. */
void spate_file_check(SpateScenarioFile *file, SpateFaults *faults);
