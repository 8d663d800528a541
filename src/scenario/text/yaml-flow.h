/* yaml-flow.h - a tree back to YAML, on a single line
 *
 * What is read back from the text is the same tree, up to places; comments are lost, and aliases
 * stay expanded.
 */
#pragma once

#include "scenario/text/yaml-tree.h"

void spate_yaml_append_flow(GString *text, const SpateYaml *node);
/* A single scalar: in double quotes where it needs them, or if `quoted`. */
void spate_yaml_append_scalar(GString *text, const char *scalar, bool quoted);
/* As a setting is written: scalars plain wherever they can be.  Free with g_free(). */
char *spate_yaml_text(const SpateYaml *node);
