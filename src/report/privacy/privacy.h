/* privacy.h - a result that may be published: places moved, names taken away
 *
 * Both work on the JSON of a result with or without details, and take out whatever else would tell
 * what they hide: the text of the scenario and its settings; for places what was drawn of them,
 * coverage and the relief of the ground, also margins (to 10 dB, which distances follow from) and
 * heights (to 10 m); for names that of the height model.
 *
 * The seed must stay with whoever publishes: with it the steps can be taken back.  The same seed
 * moves a node of one name by the same step in every result, so that many pages tell no more than
 * one.
 */
#pragma once

#include <json-glib/json-glib.h>
#include <stdint.h>

/* Moves each node by a step that is even over a disc. */
void spate_result_blur(JsonObject *result, double radius_m, uint64_t seed);

/* Names of nodes and bridges become numbers in an order that reveals nothing; what else holds such
 * a name (of variants, of traffics, the title, uncertain inputs) becomes a number too. */
void spate_result_anonymise(JsonObject *result, uint64_t seed);

/* private: renumber.c
 *
 * Nodes and radios are listed in the order of their names: with other names in that order they
 * would still tell the old ones.  So a variant's details have other numbers for them: by the number
 * after the last blank of what each node is renamed to (name -> "node 17"), which is not yet done;
 * radios by their nodes.  Rows are sorted anew. */
void spate_detail_renumber(JsonObject *variant, GHashTable *renamed);
