/* lint.h - checks that stop nothing: what a scenario says that its author may not mean
 *
 * Only lint.c and its parts include this header.
 */
#pragma once

#include "scenario/lint/lint-hearing.h"
#include "scenario/text/faults.h"
#include "scenario/world/world.h"

typedef struct {
    const SpateScenario *scenario;
    const SpateWorld *world; /* of the scenario */
    SpateHearing *hearing;   /* in the world */
    SpateFaults *faults;
    bool *is_first; /* by node: the first of its entry, for warnings that a whole group shares */
} SpateLint;

/* Whether the node relays: on the bearer, on any. */
bool spate_lint_relays_on(const SpateScenarioNode *node, uint32_t bearer);
bool spate_lint_is_relay(const SpateScenarioNode *node);
/* The hop limit of a message of the traffic at a node. */
uint32_t spate_lint_hop_limit(const SpateScenarioTraffic *traffic, const SpateFlooding *flooding);
/* The share of time that a bearer's duty cycle allows; 1: all. */
double spate_lint_duty(const SpateBearer *radio);
/* Time on air of a traffic's frame as its source sends it. */
int64_t spate_lint_airtime_ns(const SpateScenario *scenario, uint32_t bearer,
                              const SpateScenarioTraffic *traffic);
/* Of the shortest frame that a source of the traffic sends; INT64_MAX if none does. */
int64_t spate_lint_shortest_airtime_ns(const SpateScenario *scenario,
                                       const SpateScenarioTraffic *traffic);
/* Whether a source of the traffic would send it on the bearer. */
bool spate_lint_sends_on(const SpateScenario *scenario, const SpateScenarioTraffic *traffic,
                         uint32_t source, uint32_t bearer);
/* Whether any of its sources would. */
bool spate_lint_is_sent_on(const SpateScenario *scenario, const SpateScenarioTraffic *traffic,
                           uint32_t bearer);
/* Whether it has a radio for it at all. */
bool spate_lint_can_send(const SpateScenario *scenario, const SpateScenarioTraffic *traffic,
                         uint32_t source);
/* What recipients send, as a traffic; it shares all lists of that one. */
SpateScenarioTraffic spate_lint_answers_of(const SpateScenarioTraffic *traffic);
/* The bearers that messages of a traffic can come to, by number: those on which its sources send,
 * and those to which a crossing leads from there, whatever its rules say.  Free with g_free(). */
bool *spate_lint_bearers_reached(const SpateScenario *scenario,
                                 const SpateScenarioTraffic *traffic);
/* Whether the node has a radio on one of these bearers. */
bool spate_lint_can_hear(const SpateScenarioNode *node, const bool *reached);
/* Whether some message of the traffic, as it was offered, fits the rule. */
bool spate_lint_rule_may_match(const SpateRule *rule, const SpateScenario *scenario,
                               uint32_t traffic);
/* Whether some message of the traffic may pass there. */
bool spate_lint_may_cross(const SpateScenario *scenario, const SpateScenarioCrossing *crossing,
                          uint32_t traffic);
/* Where the rule is, or its owner if a setting wrote it. */
SpatePlace spate_lint_rule_place(const SpateRule *rule, SpatePlace owner);
/* A step that visits all of n, neighbours far apart in time: a bound on the work then leaves a fair
 * sample. */
uint32_t spate_lint_stride(uint32_t n);
/* "15 min"; free with g_free(). */
char *spate_lint_time(int64_t time_ns);
/* ", in the layout of the first replication" where places are drawn anew; else "". */
const char *spate_lint_layout_note(const SpateScenario *scenario);
/* Calls for each list of rules once for each bearer that what passes goes out on. */
typedef void (*SpateLintRulesFunc)(SpateLint *lint, const GArray *rules, SpatePlace owner,
                                   uint32_t to_bearer);
void spate_lint_each_rules(SpateLint *lint, SpateLintRulesFunc each);
/* Whether any rule makes digests. */
bool spate_lint_has_digests(const SpateScenario *scenario);

/* Expectations that cannot fail, or are judged by less than it seems. */
void spate_lint_expectations(SpateLint *lint);
/* Losses that two entries of `links:` give differently. */
void spate_lint_links(SpateLint *lint);
/* Recipients to whom no path leads, or only one with too many hops. */
void spate_lint_reach(SpateLint *lint);
/* Relays that nobody hears, or that hear nobody. */
void spate_lint_relays(SpateLint *lint);
/* Power, duty and frames against common limits. */
void spate_lint_regulations(SpateLint *lint);
/* Rules that no message comes to. */
void spate_lint_rules(SpateLint *lint);
/* Actions of rules and settings of flooding that do nothing, or more than is meant. */
void spate_lint_actions(SpateLint *lint);
/* Other people's traffic: how loud it is, and what it costs to simulate. */
void spate_lint_ambient(SpateLint *lint);
/* Figures of radios and propagation that hardly any radio or place has. */
void spate_lint_figures(SpateLint *lint);
/* Moves that no result shows, and steps too coarse for them. */
void spate_lint_moves(SpateLint *lint);
/* Outages that no result shows. */
void spate_lint_outages(SpateLint *lint);
/* Places, heights, and tables without rows. */
void spate_lint_places(SpateLint *lint);
/* Frames and digests that are too long beyond their source. */
void spate_lint_sizes(SpateLint *lint);
/* Candidates that carry nothing for others. */
void spate_lint_sites(SpateLint *lint);
/* Radios that sleep through frames that are meant for them. */
void spate_lint_sleep(SpateLint *lint);
/* Bounds on time that not even an empty channel keeps. */
void spate_lint_soonest(SpateLint *lint);
/* Traffics that follow what never comes. */
void spate_lint_follows(SpateLint *lint);
/* Given routes. */
void spate_lint_routes(SpateLint *lint);
/* Times that do not fit the run, the frames or each other. */
void spate_lint_times(SpateLint *lint);
/* What is offered, and whether it can be sent and received. */
void spate_lint_traffic(SpateLint *lint);
