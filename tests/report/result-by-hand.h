/* result-by-hand.h - a small result whose every figure is known */
#pragma once

#include "core/time.h"
#include "study/run/result.h"
#include <math.h>

#define HAND_REPLICATIONS 3

static inline double *
hand_values(double a, double b, double c)
{
    double *values = g_new(double, HAND_REPLICATIONS);
    values[0] = a;
    values[1] = b;
    values[2] = c;
    return values;
}

static inline void
hand_variant(SpateResultVariant *variant, const char *name, const char *summary, size_t n_rows)
{
    variant->name = g_strdup(name);
    variant->summary = g_strdup(summary);
    variant->rows = g_new0(SpateResultRow, n_rows);
    variant->n_rows = n_rows;
}

static inline SpateResultRow
hand_delivery(double mean, double low, double high, double *values)
{
    return (SpateResultRow){.measure = SPATE_MEASURE_DELIVERY,
                            .traffic = g_strdup("talk"),
                            .mean = mean,
                            .ci95 = {low, high},
                            .n = 3,
                            .values = values};
}

/* Nothing was delivered in the second replication of the base, nothing at all in those of the
 * variant. */
static inline SpateResultRow
hand_latency(double mean, uint32_t n, double *values)
{
    return (SpateResultRow){.measure = SPATE_MEASURE_LATENCY_P95,
                            .traffic = g_strdup("talk"),
                            .mean = mean,
                            .ci95 = {NAN, NAN},
                            .n = n,
                            .values = values};
}

static inline SpateResultRow
hand_load(double mean, double *values)
{
    return (SpateResultRow){.measure = SPATE_MEASURE_LOAD,
                            .traffic = g_strdup("talk"),
                            .bearer = g_strdup("valley"),
                            .mean = mean,
                            .ci95 = {mean, mean},
                            .n = 3,
                            .values = values};
}

static inline SpateResultRow
hand_held_back(double mean, double *values)
{
    return (SpateResultRow){.measure = SPATE_MEASURE_HELD_BACK,
                            .bridge = g_strdup("farm"),
                            .mean = mean,
                            .ci95 = {mean, mean},
                            .n = 3,
                            .values = values};
}

static inline SpateResult *
hand_result(void)
{
    SpateResult *result = g_new0(SpateResult, 1);
    result->command = g_strdup("compare");
    result->title = g_strdup("Höhe \"A\"");
    result->sha256 = g_strdup("ab12");
    result->seed = 7;
    result->n_replications = HAND_REPLICATIONS;
    result->duration_ns = 2 * SPATE_NS_PER_HOUR;
    result->warm_up_ns = 90 * SPATE_NS_PER_S + SPATE_NS_PER_S / 2;
    result->n_variants = 2;
    result->variants = g_new0(SpateResultVariant, 2);

    SpateResultVariant *base = &result->variants[0], *open = &result->variants[1];
    hand_variant(base, "base", NULL, 4);
    base->rows[0] = hand_delivery(0.9, 0.8, 1.0, hand_values(0.8, 0.9, 1.0));
    base->rows[1] = hand_latency(1.25, 2, hand_values(1.0, NAN, 1.5));
    base->rows[2] = hand_load(0.0125, hand_values(0.0125, 0.0125, 0.0125));
    base->rows[3] = hand_held_back(12, hand_values(12, 12, 12));
    hand_variant(open, "open", "all may cross", 4);
    open->rows[0] = hand_delivery(0.1, 0.0, 0.25, hand_values(0, 0.1, 0.2));
    open->rows[1] = hand_latency(NAN, 0, hand_values(NAN, NAN, NAN));
    open->rows[2] = hand_load(0.02, hand_values(0.02, 0.02, 0.02));
    open->rows[3] = hand_held_back(0, hand_values(0, 0, 0));

    result->n_differences = 2;
    result->differences = g_new0(SpateDifference, 2);
    result->differences[0] = (SpateDifference){.variant = "open",
                                               .versus = "base",
                                               .row = &open->rows[0],
                                               .mean = -0.8,
                                               .ci95 = {-0.9, -0.7},
                                               .n = 3};
    result->differences[1] = (SpateDifference){.variant = "open",
                                               .versus = "base",
                                               .row = &open->rows[2],
                                               .mean = 0.0075,
                                               .ci95 = {-0.0005, 0.0155},
                                               .n = 3};
    return result;
}
