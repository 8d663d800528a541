/* renumber.h - other numbers for the nodes and radios of a variant's details
 *
 * Nodes and radios are listed in the order of their names: with other names in that order they
 * would still tell the old ones.
 */
#pragma once

#include <json-glib/json-glib.h>

/* By the number after the last blank of what each node is renamed to (name -> "node 17"), which is
 * not yet done; radios by their nodes.  Rows are sorted anew. */
void spate_detail_renumber(JsonObject *variant, GHashTable *renamed);
