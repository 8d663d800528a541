/* globe.h - where nodes are on the earth */
#pragma once

#include "cli/command.h"
#include "scenario/world/world.h"

/* The place of each node on WGS 84, by number; free with g_free().  NULL with a complaint and
 * *status set if one is nowhere on the earth. */
SpatePosition *cli_globe_places(const SpateWorld *world, CliStatus *status);
