/* links.h - the rows of spate links, for what writes them */
#pragma once

#include "document/form.h"
#include "scenario/world/world.h"

typedef struct {
    const char *from, *to, *bearer;
    double distance_m, loss_db, received_dbm, margin_db;
    uint32_t sender, receiver; /* radios */
} CliLink;

extern const SpateForm CLI_LINK_FORM;

/* All nodes as points, at their places on the earth; then the links as lines, those both ways once.
 */
void cli_links_append_geojson(GString *text, GArray *rows, const SpateWorld *world,
                              const SpatePosition *places);
