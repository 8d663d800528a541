/* settings.h - values that are set from outside of the file: PATH=VALUE
 *
 * Either each is a text of its own, as on the command line, or they are the lines of one
 * text, as those of a point of a sweep.  Only the loader includes this header.
 */
#pragma once

#include "scenario/scenario.h"

typedef struct {
    char *path;
    char *text;       /* "PATH=VALUE" */
    SpateYaml *value; /* NULL if it is no YAML */
    SpatePlace place;
} SpateGivenSetting;

typedef struct {
    const char *name; /* of the texts, as shown; borrowed */
    bool are_lines;   /* of one text */
    SpateGivenSetting *all;
    size_t n;
} SpateSettings;

void spate_settings_init(SpateSettings *settings, const SpateSetting *given, size_t n,
                         const char *name, bool are_lines);
void spate_settings_clear(SpateSettings *settings);
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(SpateSettings, spate_settings_clear)

/* Tells faults the texts: one, or as many as there are settings.  Returns the number of the first.
 */
int spate_settings_add_texts(const SpateSettings *settings, SpateFaults *faults);
/* Reads the values; the first text is that of `origin` in the faults. */
void spate_settings_read(SpateSettings *settings, int origin, SpateFaults *faults);
