/* check-words.c - expectations and verdicts as sentences */
#include "report/check/check-words.h"
#include "report/result/shared-forms.h"

#include "core/instant.h"
#include "core/time.h"
#include "document/numbers.h"
#include <math.h>
#include <string.h>

/* ---- quantities ------------------------------------------------------------------------------ */

typedef struct {
    SpateUnit unit;
    bool is_change; /* with a sign, and a ratio as it is: in percent it would seem relative */
    bool is_relative;
} Scale;

/* What is claimed of messages is a share of them. */
static SpateUnit
unit_of(const SpateCheckPoint *point)
{
    const SpateMeasureInfo *measure = point->expectation->measure;
    return measure != NULL ? measure->unit : SPATE_UNIT_RATIO;
}

bool
spate_check_is_relative(const SpateCheckPoint *point)
{
    const SpateExpectation *expectation = point->expectation;
    return expectation->kind == SPATE_EXPECT_CHANGE &&
           (expectation->at_least.is_relative || !expectation->at_least.is_given) &&
           (expectation->at_most.is_relative || !expectation->at_most.is_given);
}

/* Of a bound, or of the judgement, which is relative if no bound is of another kind. */
static Scale
scale_of(const SpateCheckPoint *point, bool is_relative)
{
    return (Scale){.unit = unit_of(point),
                   .is_change = point->expectation->kind == SPATE_EXPECT_CHANGE,
                   .is_relative = is_relative};
}

static bool
is_in_percent(Scale scale)
{
    return scale.is_relative || (!scale.is_change && scale.unit == SPATE_UNIT_RATIO);
}

static void
append_unit(GString *text, Scale scale)
{
    if (is_in_percent(scale))
        g_string_append(text, " %");
    else if (scale.unit != SPATE_UNIT_ONE && scale.unit != SPATE_UNIT_RATIO)
        g_string_append_printf(text, " %s", spate_unit_name(scale.unit));
}

/* As the file says it: not rounded, but for the steps of binary fractions. */
static void
append_bound(GString *text, double value, Scale scale)
{
    double shown = is_in_percent(scale) ? value * 100.0 : value;
    if (scale.is_change && shown > 0.0)
        g_string_append_c(text, '+');
    spate_append_number(text, rint(shown * 1e9) / 1e9);
    append_unit(text, scale);
}

static double
factor_of(Scale scale)
{
    return is_in_percent(scale) ? 100.0 : 1.0;
}

static void
append_measured(GString *text, double value, int decimals, Scale scale)
{
    spate_append_fixed(text, value * factor_of(scale), decimals, scale.is_change);
    append_unit(text, scale);
}

/* Three digits of it. */
static void
append_mean(GString *text, double mean, Scale scale)
{
    append_measured(text, mean, spate_decimals_for(mean * factor_of(scale)), scale);
}

/* ---- titles ---------------------------------------------------------------------------------- */

static void
append_of(GString *text, const char *traffic, const char *to, const char *bearer, const char *node,
          const char *bridge)
{
    if (traffic != NULL)
        g_string_append_printf(text, " of %s", traffic);
    if (to != NULL)
        g_string_append_printf(text, " to %s", to);
    if (bearer != NULL)
        g_string_append_printf(text, " on %s", bearer);
    if (node != NULL)
        g_string_append_printf(text, " of %s", node);
    if (bridge != NULL)
        g_string_append_printf(text, " at %s", bridge);
}

static const char *
versus_of(const SpateExpectation *expectation)
{
    return expectation->versus != NULL ? expectation->versus : "base";
}

static void
append_bounds(GString *text, const SpateCheckPoint *point)
{
    const SpateExpectBound *least = &point->expectation->at_least;
    const SpateExpectBound *most = &point->expectation->at_most;
    if (least->is_given) {
        g_string_append(text, " at least ");
        append_bound(text, least->value, scale_of(point, least->is_relative));
    }
    if (most->is_given) {
        g_string_append(text, least->is_given ? " and at most " : " at most ");
        append_bound(text, most->value, scale_of(point, most->is_relative));
    }
    if (point->expectation->kind == SPATE_EXPECT_CHANGE)
        g_string_append_printf(text, " against %s", versus_of(point->expectation));
}

static void
append_claim(GString *text, const SpateExpectation *expectation)
{
    g_string_append(text, expectation->traffic);
    if (expectation->from != NULL)
        g_string_append_printf(text, " from %s", expectation->from);
    if (expectation->kind == SPATE_EXPECT_REACHES) {
        g_string_append_printf(text, " reaches %s within ", expectation->node);
        spate_append_number(text, (double)expectation->within_ns / (double)SPATE_NS_PER_S);
        g_string_append(text, " s");
    } else if (expectation->kind == SPATE_EXPECT_NEVER_REACHES) {
        g_string_append_printf(text, " never reaches %s", expectation->node);
    } else {
        g_string_append_printf(text, " is never on %s", expectation->bearer);
    }
}

static void
append_claim_bounds(GString *text, const SpateExpectation *expectation)
{
    if (expectation->at_least.is_given) {
        g_string_append(text, ", at least ");
        append_bound(text, expectation->at_least.value, (Scale){.unit = SPATE_UNIT_RATIO});
        g_string_append(text, " of the messages");
    }
    if (expectation->in_at_least < 1.0) {
        g_string_append(text, ", in at least ");
        append_bound(text, expectation->in_at_least, (Scale){.unit = SPATE_UNIT_RATIO});
        g_string_append(text, " of the replications");
    }
}

void
spate_check_append_subject(GString *text, const SpateCheckPoint *point)
{
    const SpateExpectation *its = point->expectation;
    if (its->variant != NULL && strcmp(its->variant, "base") != 0)
        g_string_append_printf(text, "%s: ", its->variant);
    if (its->measure == NULL) {
        append_claim(text, its);
        return;
    }
    g_string_append(text, its->measure->name);
    append_of(text, its->traffic, its->to, its->bearer, its->node, its->bridge);
}

void
spate_check_append_title(GString *text, const SpateCheckPoint *point)
{
    const SpateExpectation *expectation = point->expectation;
    spate_check_append_subject(text, point);
    if (expectation->measure == NULL) {
        append_claim_bounds(text, expectation);
        return;
    }
    g_string_append(text, expectation->kind == SPATE_EXPECT_CHANGE ? " changes by" : " is");
    append_bounds(text, point);
}

int
spate_check_line(const SpateCheckPoint *point)
{
    return point->expectation->place.origin == 0 ? point->expectation->place.line : 0;
}

const char *
spate_check_verdict_word(const SpateJudgement *judgement)
{
    return SPATE_VERDICT_WORDS[judgement->kind];
}

/* ---- findings -------------------------------------------------------------------------------- */

static void
append_over(GString *text, uint32_t n)
{
    g_string_append_printf(text, n == 1 ? " in %u replication" : " over %u replications", n);
}

/* "12.3 % to 14.5 %" */
static void
append_ends(GString *text, SpateInterval ci95, Scale scale)
{
    double factor = factor_of(scale), largest = fmax(fabs(ci95.low), fabs(ci95.high));
    int decimals = spate_decimals_to_tell(ci95.low * factor, ci95.high * factor,
                                          spate_decimals_for(largest * factor));
    append_measured(text, ci95.low, decimals, scale);
    g_string_append(text, " to ");
    append_measured(text, ci95.high, decimals, scale);
}

static void
append_interval(GString *text, SpateInterval ci95, uint32_t n_looks, Scale scale)
{
    if (isnan(ci95.low))
        return;
    g_string_append(text, " (95 % interval ");
    if (n_looks > 1)
        g_string_append_printf(text, "over %u looks ", n_looks);
    append_ends(text, ci95, scale);
    g_string_append_c(text, ')');
}

static void
append_what_decides(GString *text, const SpateJudgement *judgement)
{
    if (judgement->kind != SPATE_VERDICT_UNDECIDED)
        return;
    if (judgement->n < 2 && judgement->more != SPATE_MORE_NEVER) {
        g_string_append(text, "; undecided: a single replication has no interval");
        return;
    }
    g_string_append(text, "; undecided: the interval contains the bound, ");
    if (judgement->more == SPATE_MORE_NEVER)
        g_string_append(text, "which is the mean itself: more replications would not decide");
    else if (judgement->more == SPATE_MORE_MANY)
        g_string_append_printf(text, "and more than %d more replications would be needed to decide",
                               SPATE_MORE_MOST);
    else
        g_string_append_printf(text, "and about %u more would likely decide", judgement->more);
}

static void
append_measured_finding(GString *text, const SpateCheck *check, const SpateCheckPoint *point)
{
    const SpateJudgement *judgement = &point->judgement;
    Scale scale = scale_of(point, spate_check_is_relative(point));
    g_string_append(text, scale.is_change ? "changed by " : "measured ");
    append_mean(text, judgement->mean, scale);
    append_interval(text, judgement->ci95, judgement->n_looks, scale);
    append_over(text, judgement->n);
    if (judgement->n < check->n_replications)
        g_string_append_printf(text, " of %u (the others have no value)", check->n_replications);
    if (judgement->n_undelivered > 0)
        g_string_append_printf(text,
                               "; nothing was delivered in %u of %u replications, which breaks the "
                               "bound",
                               judgement->n_undelivered, check->n_replications);
    append_what_decides(text, judgement);
}

static const char *const NO_MESSAGES[] = {
    [SPATE_EXPECT_REACHES] = "no message was offered after the warm-up and early enough to judge",
    [SPATE_EXPECT_NEVER_REACHES] = "no message was offered elsewhere after the warm-up",
    [SPATE_EXPECT_NEVER_ON] = "no message was offered after the warm-up",
};

static void
append_missing(GString *text, const SpateCheckPoint *point)
{
    const SpateMeasureInfo *measure = point->expectation->measure;
    switch (point->judgement.missing) {
    case SPATE_MISSING_MEASURE:
        if (measure->needs == SPATE_NEEDS_SUPPLY)
            g_string_append(text, "no radio of this node has a 'supply'");
        else if (measure->needs == SPATE_NEEDS_SLEEPERS)
            g_string_append(text, "no radio on this bearer 'listens' in windows");
        else
            g_string_append_printf(text, "'%s' is not computed yet", measure->name);
        return;
    case SPATE_MISSING_VALUE:
        if (measure->needs == SPATE_NEEDS_PAIRS)
            g_string_append(text, "nothing was delivered: there is no value to judge");
        else
            g_string_append(text, "nothing happened that could be measured");
        return;
    case SPATE_MISSING_BASE:
        g_string_append(text, "it is compared with 0, so there is no relative change");
        return;
    case SPATE_MISSING_MESSAGES:
        g_string_append(text, NO_MESSAGES[point->expectation->kind]);
        return;
    case SPATE_NOTHING_MISSING:
        break;
    }
    g_assert_not_reached();
}

/* "; the first: message 3 of soil-1, offered at 0:30:00.000 in replication 4, came after 7.200 s":
 * as people count, from 1 */
static void
append_first_broken(GString *text, const SpateCheckPoint *point)
{
    const SpateClaimResult *broken = &point->broken;
    g_string_append_printf(text, "; the first: message %" G_GUINT64_FORMAT " of %s, offered at ",
                           (guint64)broken->first.offer + 1, point->origin);
    spate_append_instant(text, broken->offered_ns);
    g_string_append_printf(text, " in replication %u", point->replication + 1);
    if (broken->at_ns < 0)
        return;
    double after_s = (double)(broken->at_ns - broken->offered_ns) / (double)SPATE_NS_PER_S;
    g_string_append(text, point->expectation->kind == SPATE_EXPECT_NEVER_ON ? ", was sent after "
                                                                            : ", came after ");
    spate_append_fixed(text, after_s, 3, FALSE);
    g_string_append(text, " s");
}

/* What the judgement leaves out. */
static void
append_not_judged(GString *text, const SpateCheck *check, const SpateCheckPoint *point)
{
    bool is_one = point->n_too_late == 1;
    if (point->judgement.n < check->n_replications)
        g_string_append_printf(text, "; %u of %u replications have no message to judge",
                               check->n_replications - point->judgement.n, check->n_replications);
    if (point->n_too_late > 0)
        g_string_append_printf(text,
                               "; not judged: %" G_GUINT64_FORMAT
                               " message%s offered too late to have %s time before the end",
                               (guint64)point->n_too_late, is_one ? "" : "s",
                               is_one ? "its" : "their");
}

static void
append_claim_finding(GString *text, const SpateCheck *check, const SpateCheckPoint *point)
{
    const SpateJudgement *judgement = &point->judgement;
    uint32_t n_held = (uint32_t)lround(judgement->mean * judgement->n);
    guint64 n_kept = point->n_messages - point->n_broken;
    bool is_share = point->expectation->at_least.is_given;
    if (point->n_messages > 0)
        g_string_append_printf(text,
                               "held for %" G_GUINT64_FORMAT " of %" G_GUINT64_FORMAT " messages, ",
                               n_kept, (guint64)point->n_messages);
    else /* a point of a size keeps no counts */
        g_string_append(text, is_share ? "measured " : "held ");
    if (is_share) {
        append_mean(text, judgement->mean, (Scale){.unit = SPATE_UNIT_RATIO});
        append_over(text, judgement->n);
    } else if (n_held == judgement->n && n_held > 1) {
        g_string_append_printf(text, "in all %u replications", n_held);
    } else {
        g_string_append_printf(text, "in %u of %u replication%s", n_held, judgement->n,
                               judgement->n == 1 ? "" : "s");
    }
    append_interval(text, judgement->ci95, judgement->n_looks, (Scale){.unit = SPATE_UNIT_RATIO});
    append_not_judged(text, check, point);
    if (point->is_broken)
        append_first_broken(text, point);
    append_what_decides(text, judgement);
}

void
spate_check_append_finding(GString *text, const SpateCheck *check, const SpateCheckPoint *point)
{
    if (point->judgement.missing != SPATE_NOTHING_MISSING)
        append_missing(text, point);
    else if (point->expectation->measure == NULL)
        append_claim_finding(text, check, point);
    else
        append_measured_finding(text, check, point);
}

/* ---- before and now -------------------------------------------------------------------------- */

/* "changed by +0.01 erlang (95 % interval ...)" */
static void
append_change(GString *text, SpateUnit unit, double mean, SpateInterval ci95)
{
    const Scale scale = {.unit = unit, .is_change = true};
    g_string_append(text, "changed by ");
    append_mean(text, mean, scale);
    append_interval(text, ci95, 1, scale);
}

void
spate_check_append_both(GString *title, GString *finding, const SpateCheck *check,
                        const SpateCheckPoint *point, const SpateJudgement *judgement)
{
    const SpateExpectation *expectation = point->expectation;
    if (judgement != &point->since) {
        spate_check_append_title(title, point);
        spate_check_append_finding(finding, check, point);
        return;
    }
    spate_check_append_subject(title, point);
    if (expectation->kind == SPATE_EXPECT_CHANGE)
        g_string_append_printf(title, " against %s", versus_of(expectation));
    g_string_append(title, " is not worse than before");
    if (judgement->missing != SPATE_NOTHING_MISSING) {
        g_string_append(finding, "no replication has a value both before and now");
        return;
    }
    append_change(finding, unit_of(point), judgement->mean, judgement->ci95);
    append_over(finding, judgement->n);
    if (judgement->n_undelivered > 0)
        g_string_append_printf(finding, "; in %u more nothing is delivered now",
                               judgement->n_undelivered);
    append_what_decides(finding, judgement);
}

/* Whether more of it is worse, as some expectation has it: -1, 1, or 0 if none says. */
static int
direction_of(const SpateCheck *check, const SpateDifference *difference)
{
    for (size_t i = 0; i < check->n_points; i++) {
        const SpateCheckPoint *point = &check->points[i];
        if (point->expectation->kind == SPATE_EXPECT_VALUE &&
            spate_check_find_row(&check->result->variants[point->arm], point->expectation) ==
                difference->row)
            return spate_against_worse(point->expectation);
    }
    return 0;
}

void
spate_check_append_difference(GString *text, const SpateCheck *check,
                              const SpateDifference *difference)
{
    const SpateResultRow *row = difference->row;
    const SpateMeasureInfo *info = spate_measure_info(row->measure);
    int worse = direction_of(check, difference);
    g_string_append_printf(text, "%s: %s", difference->variant, info->name);
    append_of(text, row->traffic, row->to, row->bearer, row->node, row->bridge);
    g_string_append_c(text, ' ');
    append_change(text, info->unit, difference->mean, difference->ci95);
    if (worse != 0)
        g_string_append(text, worse * difference->mean > 0.0 ? ": worse" : ": better");
}

/* More names than that are counted. */
#define MOST_UNCOMPARED 8

void
spate_check_append_uncompared(GString *text, const SpateCheck *check, bool is_gone)
{
    guint n = 0;
    for (guint i = 0; check->uncompared != NULL && i < check->uncompared->len; i++) {
        const SpateUncompared *one = &g_array_index(check->uncompared, SpateUncompared, i);
        if (one->is_gone != is_gone || n++ >= MOST_UNCOMPARED)
            continue;
        if (n == 1)
            g_string_append_printf(text, "not compared, in the %s: ",
                                   is_gone ? "earlier result only" : "new result only");
        g_string_append_printf(text, "%s%s %s", n > 1 ? ", " : "", one->what, one->name);
    }
    if (n > MOST_UNCOMPARED)
        g_string_append_printf(text, " and %u more", n - MOST_UNCOMPARED);
}

/* ---- cells ----------------------------------------------------------------------------------- */

/* As in titles, without what joins it to the subject there. */
void
spate_check_append_bound(GString *text, const SpateCheckPoint *point)
{
    g_autoptr(GString) bounds = g_string_new(NULL);
    if (point->expectation->measure == NULL)
        append_claim_bounds(bounds, point->expectation);
    else
        append_bounds(bounds, point);
    if (bounds->len == 0)
        g_string_append(text, "in all replications");
    else
        g_string_append(text, bounds->str + strspn(bounds->str, ", "));
}

void
spate_check_append_measured(GString *mean, GString *ends, const SpateCheckPoint *point,
                            const SpateJudgement *judgement)
{
    Scale scale = scale_of(point, spate_check_is_relative(point));
    if (judgement == &point->since)
        scale = (Scale){.unit = unit_of(point), .is_change = true};
    if (!isnan(judgement->mean))
        append_mean(mean, judgement->mean, scale);
    if (!isnan(judgement->ci95.low))
        append_ends(ends, judgement->ci95, scale);
}
