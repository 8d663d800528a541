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
    size_t n_cells;
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

/* ---- do -------------------------------------------------------------------------------------- */

/* Both are capped so that level and time passed never overflow when added; a bucket keeps its whole
 * burst even where a token takes centuries. */
static void
begin_limit(Notes *notes, const SpateRule *rule)
{
    const double longest_ns = (double)(INT64_MAX / 4);
    double burst = fmax(rule->limit_burst, 1.0);
    double token_ns = fmin((double)SPATE_NS_PER_S / rule->limit_per_s, longest_ns / burst);
    notes->token_ns = llround(token_ns);
    notes->full_ns = llround(fmin((double)notes->token_ns * rule->limit_burst, longest_ns));
    for (size_t i = 0; i < notes->n_cells; i++)
        notes->cells[i].bucket.level_ns = notes->full_ns;
}

static bool
take_token(const SpateRule *rule, const Notes *notes, Cell *cell, int64_t now_ns)
{
    Bucket *bucket = &cell->bucket;
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
take_place_in_row(const SpateRule *rule, const Notes *notes, Cell *cell, int64_t now_ns)
{
    uint32_t place = cell->row;
    bool passes = place < rule->thin_keep;
    cell->row = place + 1 < rule->thin_of ? place + 1 : 0;
    return passes;
}

static bool
pass(const SpateRule *rule, const Notes *notes, Cell *cell, int64_t now_ns)
{
    return true;
}

static bool
hold_back(const SpateRule *rule, const Notes *notes, Cell *cell, int64_t now_ns)
{
    return false;
}

static int64_t
longest_in_digest_ns(const SpateRule *rule)
{
    return rule->digest_every_ns;
}

static int64_t
longest_delay_ns(const SpateRule *rule)
{
    return rule->delay_at_most_ns;
}

typedef struct {
    SpateRuleActionInfo info;
    bool (*passes)(const SpateRule *rule, const Notes *notes, Cell *cell, int64_t now_ns);
    bool remembers;
    void (*begin)(Notes *notes, const SpateRule *rule); /* NULL: cells of zeros */
} Action;

static const Action ACTIONS[SPATE_N_RULE_ACTIONS] = {
    [SPATE_RULE_PASS] = {{"pass"}, pass},
    [SPATE_RULE_HOLD_BACK] = {{"hold-back"}, hold_back},
    [SPATE_RULE_LIMIT] = {{"limit", "no token was left"}, take_token, true, begin_limit},
    [SPATE_RULE_THIN] = {{"thin", "not among those that it keeps"}, take_place_in_row, true},
    [SPATE_RULE_DIGEST] = {{.name = "digest",
                            .sending = SPATE_SENT_IN_DIGEST,
                            .longest_wait_ns = longest_in_digest_ns,
                            .wait_key = "every"},
                           pass},
    [SPATE_RULE_DELAY] = {{.name = "delay",
                           .sending = SPATE_SENT_WHEN_QUIET,
                           .longest_wait_ns = longest_delay_ns,
                           .wait_key = "at-most"},
                          pass},
};

const SpateRuleActionInfo *
spate_rule_action_info(SpateRuleAction action)
{
    g_assert(action >= 0 && action < SPATE_N_RULE_ACTIONS);
    return &ACTIONS[action].info;
}

/* ---- memory ---------------------------------------------------------------------------------- */

static void
begin_notes(Notes *notes, const SpateRule *rule, uint32_t n_nodes)
{
    const Action *action = &ACTIONS[rule->action];
    notes->n_cells = !action->remembers ? 0 : rule->per_origin ? MAX(n_nodes, 1) : 1;
    if (action->remembers)
        notes->cells = g_new0(Cell, notes->n_cells);
    if (action->begin != NULL)
        action->begin(notes, rule);
}

SpateRuleMemory *
spate_rule_memory_new(const SpateRule *rules, size_t n_rules, uint32_t n_nodes)
{
    SpateRuleMemory *memory = g_new0(SpateRuleMemory, 1);
    memory->n_rules = n_rules;
    memory->notes = g_new0(Notes, MAX(n_rules, 1));
    for (size_t i = 0; i < n_rules; i++)
        begin_notes(&memory->notes[i], &rules[i], n_nodes);
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

/* A bucket that is full is full at any later time; without one, full_ns is 0 and so is the row. */
void
spate_rule_memory_reset(SpateRuleMemory *memory)
{
    for (size_t i = 0; i < memory->n_rules; i++) {
        const Notes *notes = &memory->notes[i];
        for (size_t k = 0; k < notes->n_cells; k++)
            notes->cells[k] = (Cell){.bucket = {.level_ns = notes->full_ns}};
    }
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

/* ---- judging --------------------------------------------------------------------------------- */

static bool
act(const SpateRule *rule, const Notes *notes, const SpateRuleSubject *subject)
{
    size_t cell = rule->per_origin ? subject->origin : 0;
    return ACTIONS[rule->action].passes(
        rule, notes, notes->cells != NULL ? &notes->cells[cell] : NULL, subject->now_ns);
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
