/* rules.c - what may be carried on */
#include "rules/rules.h"

#include <math.h>

/* A token bucket, kept in time: a token is the time in which one flows in, so that the sums are
 * whole numbers and a message that comes just when its token is complete finds it there. */
typedef struct {
    int64_t level_ns;
    int64_t filled_ns; /* when the level was true */
} Bucket;

typedef union {
    Bucket bucket;
    uint32_t row; /* THIN: how many of the present row have come */
} Cell;

/* What one rule remembers; no cells for a rule that needs none. */
typedef struct {
    Cell *cells; /* by origin, or a single one */
    int64_t token_ns, full_ns;
} Notes;

struct SpateRuleMemory {
    size_t n_rules;
    Notes *notes; /* by rule */
};

void
spate_rule_clear(SpateRule *rule)
{
    g_clear_pointer(&rule->traffics, g_free);
    g_clear_pointer(&rule->origins, g_free);
    g_clear_pointer(&rule->recipients, g_free);
}

/* ---- memory ---------------------------------------------------------------------------------- */

/* Both are capped so that level and time passed never overflow when added; a bucket keeps its whole
 * burst even where a token takes centuries. */
static void
measure_bucket(Notes *notes, const SpateRule *rule)
{
    const double longest_ns = (double)(INT64_MAX / 4);
    double burst = fmax(rule->limit_burst, 1.0);
    double token_ns = fmin((double)SPATE_NS_PER_S / rule->limit_per_s, longest_ns / burst);
    notes->token_ns = llround(token_ns);
    notes->full_ns = llround(fmin((double)notes->token_ns * rule->limit_burst, longest_ns));
}

static void
init_notes(Notes *notes, const SpateRule *rule, uint32_t n_nodes)
{
    size_t n_cells = rule->per_origin ? MAX(n_nodes, 1) : 1;
    switch (rule->action) {
    case SPATE_RULE_PASS:
    case SPATE_RULE_HOLD_BACK:
    case SPATE_RULE_DIGEST:
    case SPATE_RULE_DELAY:
        break;
    case SPATE_RULE_LIMIT:
        notes->cells = g_new0(Cell, n_cells);
        measure_bucket(notes, rule);
        for (size_t i = 0; i < n_cells; i++)
            notes->cells[i].bucket.level_ns = notes->full_ns;
        break;
    case SPATE_RULE_THIN:
        notes->cells = g_new0(Cell, n_cells);
        break;
    }
}

SpateRuleMemory *
spate_rule_memory_new(const SpateRule *rules, size_t n_rules, uint32_t n_nodes)
{
    SpateRuleMemory *memory = g_new0(SpateRuleMemory, 1);
    memory->n_rules = n_rules;
    memory->notes = g_new0(Notes, MAX(n_rules, 1));
    for (size_t i = 0; i < n_rules; i++)
        init_notes(&memory->notes[i], &rules[i], n_nodes);
    return memory;
}

void
spate_rule_memory_free(SpateRuleMemory *memory)
{
    if (memory == NULL)
        return;
    for (size_t i = 0; i < memory->n_rules; i++)
        g_free(memory->notes[i].cells);
    g_free(memory->notes);
    g_free(memory);
}

/* ---- when ------------------------------------------------------------------------------------ */

/* NAN compares false: no bound. */
static bool
lies_within(SpateBounds bounds, double value)
{
    return !(value <= bounds.above) && !(value >= bounds.below);
}

/* The source of a message is none of its recipients, even if its traffic lists it. */
static bool
names_a_recipient(const bool *named, const SpateRuleSubject *subject)
{
    for (size_t i = 0; i < subject->n_recipients; i++) {
        uint32_t node = subject->recipients[i];
        if (named[node] && node != subject->origin)
            return true;
    }
    return false;
}

static bool
occupancy_is_above(const SpateRule *rule, const SpateRuleSubject *subject)
{
    return subject->occupancy(subject->user, (uint32_t)rule->occupancy_bearer) >
           rule->occupancy_above;
}

static bool
matches(const SpateRule *rule, const SpateRuleSubject *subject)
{
    return (rule->traffics == NULL || rule->traffics[subject->traffic]) &&
           (rule->origins == NULL || rule->origins[subject->origin]) &&
           lies_within(rule->size_bytes, subject->size_bytes) &&
           lies_within(rule->hops, subject->hops) &&
           lies_within(rule->received_dbm, subject->received_dbm) &&
           (rule->recipients == NULL || names_a_recipient(rule->recipients, subject)) &&
           (rule->occupancy_bearer < 0 || occupancy_is_above(rule, subject));
}

/* ---- do -------------------------------------------------------------------------------------- */

static bool
take_token(Bucket *bucket, const Notes *notes, int64_t now_ns)
{
    g_assert(now_ns >= bucket->filled_ns);
    int64_t passed_ns = now_ns - bucket->filled_ns;
    bucket->filled_ns = now_ns;
    bucket->level_ns = passed_ns >= notes->full_ns - bucket->level_ns
                           ? notes->full_ns
                           : bucket->level_ns + passed_ns;
    if (bucket->level_ns < notes->token_ns)
        return false;
    bucket->level_ns -= notes->token_ns;
    return true;
}

static bool
take_place_in_row(uint32_t *row, const SpateRule *rule)
{
    bool passes = *row < rule->thin_keep;
    *row = *row + 1 < rule->thin_of ? *row + 1 : 0;
    return passes;
}

static bool
act(const SpateRule *rule, Notes *notes, const SpateRuleSubject *subject)
{
    size_t cell = rule->per_origin ? subject->origin : 0;
    switch (rule->action) {
    case SPATE_RULE_PASS:
    case SPATE_RULE_DIGEST:
    case SPATE_RULE_DELAY:
        return true;
    case SPATE_RULE_HOLD_BACK:
        return false;
    case SPATE_RULE_LIMIT:
        return take_token(&notes->cells[cell].bucket, notes, subject->now_ns);
    case SPATE_RULE_THIN:
        return take_place_in_row(&notes->cells[cell].row, rule);
    }
    g_assert_not_reached();
}

SpateVerdict
spate_rules_judge(const SpateRule *rules, size_t n_rules, bool otherwise_passes,
                  SpateRuleMemory *memory, const SpateRuleSubject *subject)
{
    g_assert(memory->n_rules == n_rules);
    for (size_t i = 0; i < n_rules; i++)
        if (matches(&rules[i], subject))
            return (SpateVerdict){act(&rules[i], &memory->notes[i], subject), (uint32_t)i};
    return (SpateVerdict){otherwise_passes, SPATE_NO_RULE};
}
