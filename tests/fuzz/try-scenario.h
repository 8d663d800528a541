/* try-scenario.h - all that the program does with a scenario, in small
 *
 * Reads the text with the settings, and of the base and the first variants asks lint, builds the
 * world and runs the beginning of a replication, as far as they are small.
 */
#pragma once

#include "scenario/scenario.h"
#include <stdint.h>

void try_scenario(const char *name, const char *text, size_t length, const SpateSetting *settings,
                  size_t n_settings);

/* Its descriptor: a file that scenarios can name, of these bytes until the next call. */
int file_in_memory(const uint8_t *bytes, size_t length);
