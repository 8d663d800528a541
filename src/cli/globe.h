/* globe.h - where nodes are on the earth, and maps of them */
#pragma once

#include "cli/command.h"
#include "document/form.h"
#include "scenario/world/world.h"
#include "study/detail/detail.h"

/* The place of each node on WGS 84, by number; free with g_free().  NULL with a complaint and
 * *status set if one is nowhere on the earth. */
SpatePosition *cli_globe_places(const SpateWorld *world, CliStatus *status);

/* A feature of GeoJSON: a point; with `to` a line.  Its properties are what the form says of
 * `properties`. */
void cli_globe_append_feature(GString *text, const SpatePosition *at, const SpatePosition *to,
                              const SpateForm *form, gconstpointer properties);

/* detail-geojson.c: nodes as points, who hears whom as lines */
void cli_detail_append_geojson(GString *text, const SpateDetailVariant *detail,
                               const SpatePosition *places);
