/* threshold.c - how weak a link may be and still be held */
#include "channel/medium-private.h"

#include "core/units.h"
#include <math.h>
#include <string.h>

/* A link is left out when its power, weighted and at its highest fade, stays this far below what
 * the receiver can just decode.  With at most SMALL_MEDIUM senders the sum of all
 * that is left out is below a thousandth of that (0.005 dB).  In larger meshes
 * the threshold rises, up to nearly a hundredth, until LINKS_PER_RECEIVER fit on average. */
#define LEAST_RELATIVE_POWER 1e-6
#define SMALL_MEDIUM         1000
#define LINKS_PER_RECEIVER   400

/* The threshold is chosen by every so many senders, in half-decibel steps from the least: 39.5 dB
 * above it (9 / 1000) at most. */
#define STEPS           80
#define SAMPLED_SENDERS 32

/* Weights fall by so many steps before the levels are looked at again: most media have their links
 * among the strong ones, and of what is sure to be weaker no path is walked. */
#define STEPS_AT_ONCE 20

static void
count_row(const SpateLevels *levels, uint32_t sender, SpateLinkRow row, size_t at_level[STEPS])
{
    for (uint32_t i = 0; i < row.n; i++) {
        double weight = spate_levels_weight(levels, sender, row.receiver[i], row.level[i]);
        if (weight < LEAST_RELATIVE_POWER)
            continue;
        double steps = 2.0 * spate_linear_to_db(weight / LEAST_RELATIVE_POWER);
        at_level[(size_t)MIN(steps, STEPS - 1.0)]++;
    }
}

/* Counts links by the step of their weight, from `least` on.  False with an error. */
static bool
count_links(SpateLevels *levels, size_t least, size_t at_level[STEPS], GError **error)
{
    const SpateMedium *medium = levels->medium;
    bool fine = true;
    SpateLinkRows rows;
    uint32_t every = SAMPLED_SENDERS, at_once = every * SPATE_ROWS_AT_ONCE;
    memset(at_level, 0, STEPS * sizeof at_level[0]);
    spate_levels_set_threshold(levels,
                               LEAST_RELATIVE_POWER * spate_db_to_linear(0.5 * (double)least));
    spate_link_rows_init(&rows, levels);
    for (uint32_t first = 0; fine && first < medium->n_senders; first += at_once) {
        fine = spate_link_rows_fill(&rows, first, every, (SpateMeanwhile){NULL, NULL}, error);
        for (uint32_t at = 0; fine && at < rows.n; at++)
            count_row(levels, spate_link_rows_sender(&rows, at), spate_link_row(&rows, at),
                      at_level);
    }
    spate_link_rows_clear(&rows);
    return fine;
}

bool
spate_levels_choose_threshold(SpateLevels *levels, double *n_links, GError **error)
{
    const SpateMedium *medium = levels->medium;
    *n_links = 0.0;
    spate_levels_set_threshold(levels, LEAST_RELATIVE_POWER);
    if (medium->n_senders <= SMALL_MEDIUM)
        return true;

    size_t at_level[STEPS], step, kept, least = STEPS - 1;
    size_t wanted = (size_t)LINKS_PER_RECEIVER * medium->n_radios / SAMPLED_SENDERS;
    for (;;) {
        if (!count_links(levels, least, at_level, error))
            return false;
        step = STEPS - 1;
        kept = at_level[step];
        while (step > least && kept + at_level[step - 1] <= wanted)
            kept += at_level[--step];
        if (step > least || least == 0 || kept > wanted)
            break;
        least -= MIN(least, STEPS_AT_ONCE);
    }
    spate_levels_set_threshold(levels,
                               LEAST_RELATIVE_POWER * spate_db_to_linear(0.5 * (double)step));
    *n_links = (double)kept * SAMPLED_SENDERS;
    return true;
}
