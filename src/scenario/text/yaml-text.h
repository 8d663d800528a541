/* yaml-text.h - a value of a tree as one line that reads back as the same value
 *
 * As a setting is written: lists and maps in brackets, scalars plain where they can be.
 */
#pragma once

#include "scenario/text/yaml-tree.h"

/* Free with g_free(). */
char *spate_yaml_text(const SpateYaml *node);
