/* check-judge.c - expectations judged by the replications that are finished */
#include "study/judge/check-private.h"

#include <math.h>

const SpateResultRow *
spate_check_find_row(const SpateResultVariant *variant, const SpateExpectation *expectation)
{
    for (size_t i = 0; i < variant->n_rows; i++) {
        const SpateResultRow *row = &variant->rows[i];
        if (spate_measure_info(row->measure) == expectation->measure &&
            g_strcmp0(row->traffic, expectation->traffic) == 0 &&
            g_strcmp0(row->bearer, expectation->bearer) == 0 &&
            g_strcmp0(row->node, expectation->node) == 0 &&
            g_strcmp0(row->bridge, expectation->bridge) == 0 &&
            g_strcmp0(row->to, expectation->to) == 0)
            return row;
    }
    return NULL;
}

/* Of both sides of a change; of a value, both are one.  False if one is missing. */
static bool
find_rows(const SpateCheckPoint *point, const SpateResult *result, const SpateResultRow **row,
          const SpateResultRow **versus)
{
    *row = spate_check_find_row(&result->variants[point->arm], point->expectation);
    *versus = spate_check_find_row(&result->variants[point->versus], point->expectation);
    return *row != NULL && *versus != NULL;
}

/* Whether the replication has no value because nothing was delivered, which keeps to no bound: a
 * change needs both of its sides, a value breaks only what bounds it from above. */
static bool
is_undelivered(const SpateCheckPoint *point, const SpateResult *result, const SpateResultRow *row,
               const SpateResultRow *versus, uint32_t replication)
{
    bool is_change = point->expectation->kind == SPATE_EXPECT_CHANGE;
    if (!is_change && !point->expectation->at_most.is_given)
        return false;
    return spate_undelivered(&result->variants[point->arm], row, replication) ||
           (is_change && spate_undelivered(&result->variants[point->versus], versus, replication));
}

static void
judge_measure(SpateCheckPoint *point, const SpateResult *result, SpateLook look)
{
    const SpateExpectation *expectation = point->expectation;
    const SpateResultRow *row = NULL, *versus = NULL;
    uint32_t n = result->n_replications, n_undelivered = 0;
    if (!find_rows(point, result, &row, &versus)) {
        point->judgement = spate_judge_missing(SPATE_MISSING_MEASURE);
        return;
    }
    point->judgement =
        expectation->kind == SPATE_EXPECT_CHANGE
            ? spate_judge_change(row, versus, n, expectation->at_least, expectation->at_most, look)
            : spate_judge_value(row, n, expectation->at_least, expectation->at_most, look);
    for (uint32_t i = 0; i < n; i++)
        n_undelivered += is_undelivered(point, result, row, versus, i);
    spate_judge_undelivered(&point->judgement, n_undelivered);
}

SpateWorld *
spate_check_world_of_broken(const SpateCheck *check, const SpateCheckPoint *point)
{
    return spate_world_of_replication(spate_study_world(check->study, point->arm),
                                      point->replication, NULL);
}

static void
note_broken(const SpateCheck *check, SpateCheckPoint *point, uint32_t replication,
            const SpateClaimResult *told)
{
    point->is_broken = true;
    point->replication = check->first + replication;
    point->broken = *told;
    g_autoptr(SpateWorld) world = spate_check_world_of_broken(check, point);
    g_free(point->origin);
    point->origin = g_strdup(spate_world_plan(world)->nodes[told->first.origin].name);
}

static void
find_unanswered(const SpateCheck *check, SpateCheckPoint *point)
{
    point->is_broken = false;
    for (uint32_t i = 0; i < check->n_replications && !point->is_broken; i++) {
        const SpateClaimResult *told =
            spate_study_claim_result(check->study, point->arm, i, point->claim);
        if (told->n_broken > 0)
            note_broken(check, point, i, told);
    }
}

/* In how many of the replications all messages keep to it; or how many messages do. Replications
 * without a message that could be judged tell nothing. */
static void
judge_claim(const SpateCheck *check, SpateCheckPoint *point, SpateLook look)
{
    uint32_t n = 0, n_held = 0;
    const SpateExpectation *expectation = point->expectation;
    g_autofree SpateKept *kept = g_new(SpateKept, check->n_replications);
    point->n_messages = point->n_broken = point->n_too_late = 0;
    point->is_broken = false;
    for (uint32_t i = 0; i < check->n_replications; i++) {
        const SpateClaimResult *told =
            spate_study_claim_result(check->study, point->arm, i, point->claim);
        kept[i] = (SpateKept){told->n_messages - told->n_broken, told->n_messages};
        point->n_messages += told->n_messages;
        point->n_broken += told->n_broken;
        point->n_too_late += told->n_too_late;
        n += told->n_messages > 0;
        n_held += told->n_messages > 0 && told->n_broken == 0;
        if (told->n_broken > 0 && !point->is_broken)
            note_broken(check, point, i, told);
    }
    point->judgement =
        expectation->at_least.is_given
            ? spate_judge_messages(kept, check->n_replications, expectation->at_least.value, look)
            : spate_judge_share(n_held, n, expectation->in_at_least, look);
}

/* What a replication says of a claim, as the share of its messages that keep to it. */
static void
look_at_claim(const SpateCheck *check, const SpateCheckPoint *point, uint32_t replication,
              double *measured, double *held)
{
    const SpateClaimResult *told =
        spate_study_claim_result(check->study, point->arm, replication, point->claim);
    if (told->n_messages == 0)
        return;
    const SpateExpectBound *least = &point->expectation->at_least;
    *measured = 1.0 - (double)told->n_broken / (double)told->n_messages;
    *held = least->is_given ? *measured >= least->value : told->n_broken == 0;
}

static void
look_at_measure(const SpateCheck *check, const SpateCheckPoint *point, uint32_t replication,
                double *measured, double *held)
{
    const SpateExpectation *expectation = point->expectation;
    bool is_change = expectation->kind == SPATE_EXPECT_CHANGE;
    const SpateResultRow *row = NULL, *versus = NULL;
    if (!find_rows(point, check->result, &row, &versus))
        return;
    double v = row->values[replication], u = versus->values[replication];
    *measured = is_change ? v - u : v;
    *held = is_change ? spate_change_holds(v, u, expectation->at_least, expectation->at_most)
                      : spate_value_holds(v, expectation->at_least, expectation->at_most);
    if (is_undelivered(point, check->result, row, versus, replication))
        *held = 0.0;
}

static void
judge_doubt(const SpateCheck *check, SpateCheckPoint *point)
{
    g_clear_pointer(&point->doubt, spate_doubt_verdict_free);
    if (check->result->n_drawn == 0)
        return;
    uint32_t n = check->n_replications;
    g_autofree double *measured = g_new(double, n), *held = g_new(double, n);
    for (uint32_t i = 0; i < n; i++) {
        measured[i] = held[i] = NAN;
        if (spate_expectation_is_claim(point->expectation))
            look_at_claim(check, point, i, &measured[i], &held[i]);
        else
            look_at_measure(check, point, i, &measured[i], &held[i]);
    }
    point->doubt = spate_doubt_judge(check->result, point->arm, point->versus, measured, held);
}

void
spate_check_judge(SpateCheck *check)
{
    check->n_replications = spate_study_n_replications(check->study);
    if (check->n_replications == 0)
        return;
    spate_result_free(check->result);
    check->result = spate_study_result(check->study, "check");
    SpateLook look = spate_check_is_early(check)
                         ? spate_look_early(check->n_looks)
                         : spate_look_later(check->n_looks, check->n_early > 0);
    for (size_t i = 0; i < check->n_points; i++) {
        SpateCheckPoint *point = &check->points[i];
        if (spate_expectation_is_claim(point->expectation))
            judge_claim(check, point, look);
        else
            judge_measure(point, check->result, look);
        if (spate_expectation_is_about_answers(point->expectation))
            find_unanswered(check, point);
        judge_doubt(check, point);
    }
}
