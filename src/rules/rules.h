/* rules.h - what may be carried on
 *
 * A rule has a condition on a message and an action; of a list, the first rule that matches
 * decides.  Rules are immutable and shared; what they remember (token buckets, counts) is a
 * SpateRuleMemory, one for each list and run.  Rules act on messages, not frames.
 */
#pragma once

#include "core/time.h"
#include "spate/event.h"
#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

/* `above` and `below` are strict; NAN: no bound. */
typedef struct {
    double above, below;
} SpateBounds;

typedef enum {
    SPATE_RULE_PASS,
    SPATE_RULE_HOLD_BACK,
    SPATE_RULE_LIMIT,
    SPATE_RULE_THIN,
    SPATE_RULE_DIGEST, /* passes, carried by a digest */
    SPATE_RULE_DELAY,  /* passes, later */
    SPATE_N_RULE_ACTIONS
} SpateRuleAction;

typedef struct {
    /* when: all must hold; an absent condition holds always */
    bool *traffics;   /* by traffic, from `class` and `traffic`; NULL: any */
    bool *origins;    /* by node; NULL: any */
    bool *recipients; /* by node: matches if any recipient is in; NULL: any */
    SpateBounds size_bytes;
    SpateBounds hops;
    SpateBounds received_dbm;
    int32_t occupancy_bearer; /* -1: no condition */
    double occupancy_above;

    /* do */
    SpateRuleAction action;
    double limit_per_s; /* LIMIT: token bucket, full at the start, one token a message */
    double limit_burst;
    uint32_t thin_keep, thin_of; /* THIN: of every `of` matching messages the first `keep` pass */
    bool per_origin;             /* LIMIT, THIN: a memory for each origin */
    int64_t digest_every_ns;     /* DIGEST: no message waits longer for it */
    uint32_t digest_most;        /* messages in one; 0: as many as a frame holds */
    double delay_until_below;    /* DELAY: until the bearer's occupancy is below this share ... */
    int64_t delay_at_most_ns;    /* ... but no longer */

    uint32_t line, column; /* in the scenario file, for explanations; 0 if none */
} SpateRule;

void spate_rule_clear(SpateRule *rule);

/* How what passes is sent on. */
typedef enum { SPATE_SENT_NOW, SPATE_SENT_IN_DIGEST, SPATE_SENT_WHEN_QUIET } SpateSending;

typedef struct {
    const char *name;    /* as a scenario writes it */
    const char *refusal; /* why a message does not pass, beside the name; NULL: the name says it */
    SpateSending sending;
    /* Of an action that keeps messages for a time: the longest, and its key; else NULL. */
    int64_t (*longest_wait_ns)(const SpateRule *rule);
    const char *wait_key;
} SpateRuleActionInfo;

/* Static; lives for ever. */
const SpateRuleActionInfo *spate_rule_action_info(SpateRuleAction action);

/* What rules see of a message at a node. */
typedef struct {
    uint32_t traffic, origin;
    uint32_t size_bytes;
    uint32_t hops; /* transmissions so far; direct 1 */
    double received_dbm;
    const uint32_t *recipients; /* nodes */
    size_t n_recipients;
    int64_t now_ns;
    /* Share of the last 5 minutes in which this node's radio on the bearer was busy. */
    double (*occupancy)(gpointer user, uint32_t bearer);
    gpointer user;
} SpateRuleSubject;

typedef struct SpateRuleMemory SpateRuleMemory;
SpateRuleMemory *spate_rule_memory_new(const SpateRule *rules, size_t n_rules, uint32_t n_nodes);
void spate_rule_memory_free(SpateRuleMemory *memory);
/* As it was in the beginning: buckets are full, rows begin anew. */
void spate_rule_memory_reset(SpateRuleMemory *memory);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateRuleMemory, spate_rule_memory_free)

/* How a message passes is for those who send it: the rule's action says it. */
typedef struct {
    bool passes;
    uint32_t rule; /* index of the rule that decided, or SPATE_NO_RULE: `otherwise` did */
} SpateVerdict;

/* Judges a message and remembers it (a token, a count). */
SpateVerdict spate_rules_judge(const SpateRule *rules, size_t n_rules, bool otherwise_passes,
                               SpateRuleMemory *memory, const SpateRuleSubject *subject);
