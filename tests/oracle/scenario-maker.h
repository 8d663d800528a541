/* scenario-maker.h - random small scenarios in which as much as possible happens
 *
 * Two to seven nodes with a few bearers that disturb each other, short queues, and more traffic
 * than fits.  Much of it happens at one instant on purpose: sources that offer together, losses and
 * backoffs that are equal, lists of times that repeat each other.  The reader of scenarios
 * takes all of them.
 */
#pragma once

#include "oracle/outline.h"
#include "scenario/scenario.h"
#include <stdint.h>

/* The same number makes the same scenario.  Free with outline_free(). */
Outline *scenario_make(uint64_t number);

/* As a file would be read that says this. */
SpateScenario *scenario_read(const Outline *outline, GError **error);
