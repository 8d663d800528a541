/* doubt-verdict.c - in how many draws a verdict holds, and which doubtful input it hangs on */
#include "study/judge/doubt-verdict.h"

#include <math.h>
#include <stdlib.h>

#define ALPHA 0.05

/* The draws that can be judged. */
typedef struct {
    uint32_t n;
    uint32_t *replications;
    double *measured, *held;
} Draws;

static void
clear_draws(Draws *draws)
{
    g_free(draws->replications);
    g_free(draws->measured);
    g_free(draws->held);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(Draws, clear_draws)

/* ---- where it flips -------------------------------------------------------------------------- */

typedef struct {
    double value;
    bool held;
} Point;

static int
compare_points(const void *a, const void *b)
{
    const Point *first = a, *second = b;
    return (first->value > second->value) - (first->value < second->value);
}

/* The cut that leaves the fewest draws on the wrong side; the lowest of several. */
static void
find_cut(SpateDoubtEffect *effect, const Draws *draws, const double *drawn, uint32_t n_held)
{
    uint32_t n = draws->n, held_below = 0, best = UINT32_MAX;
    g_autofree Point *points = g_new(Point, n + 1);
    for (uint32_t i = 0; i < n; i++)
        points[i] = (Point){drawn[i], draws->held[i] > 0.0};
    qsort(points, n, sizeof points[0], compare_points);
    for (uint32_t below = 1; below < n; below++) {
        held_below += points[below - 1].held;
        if (points[below].value == points[below - 1].value)
            continue;
        /* That it holds below: those that fail there are wrong, and those that hold above. */
        uint32_t wrong_if_below = below - held_below + n_held - held_below;
        uint32_t wrong = MIN(wrong_if_below, n - wrong_if_below);
        if (wrong >= best)
            continue;
        best = wrong;
        effect->holds_below = wrong == wrong_if_below;
        effect->from = points[below - 1].value;
        effect->to = points[below].value;
    }
    effect->flips = true;
    effect->n_wrong = best;
}

/* ---- all inputs ------------------------------------------------------------------------------ */

/* Draws in which nothing was measured (a latency) are left out. */
static double
correlation_of(const double *drawn, const double *values, uint32_t n, uint32_t *n_pairs)
{
    g_autofree double *x = g_new(double, n + 1), *y = g_new(double, n + 1);
    uint32_t kept = 0;
    for (uint32_t i = 0; i < n; i++) {
        if (isnan(values[i]))
            continue;
        x[kept] = drawn[i];
        y[kept++] = values[i];
    }
    *n_pairs = kept;
    return spate_rank_correlation(x, y, kept);
}

static void
find_effects(SpateDoubtVerdict *verdict, const GPtrArray *drawn, const Draws *draws)
{
    uint32_t n = verdict->n_effects, n_pairs = 0;
    g_autofree double *measured_p = g_new(double, n + 1), *held_p = g_new(double, n + 1);
    g_autoptr(GPtrArray) values = g_ptr_array_new_with_free_func(g_free);
    for (uint32_t i = 0; i < n; i++) {
        SpateDoubtEffect *effect = &verdict->effects[i];
        const SpateDrawn *input = g_ptr_array_index(drawn, i);
        double *its = g_new(double, draws->n + 1);
        for (uint32_t k = 0; k < draws->n; k++)
            its[k] = input->values[draws->replications[k]];
        g_ptr_array_add(values, its);
        effect->correlation = correlation_of(its, draws->measured, draws->n, &n_pairs);
        measured_p[i] = spate_rank_correlation_p(effect->correlation, n_pairs);
        double with_held = correlation_of(its, draws->held, draws->n, &n_pairs);
        held_p[i] = spate_rank_correlation_p(with_held, n_pairs);
    }
    spate_holm_adjust(measured_p, n);
    spate_holm_adjust(held_p, n);
    bool are_enough = draws->n >= SPATE_LEAST_DRAWS;
    for (uint32_t i = 0; i < n; i++) {
        verdict->effects[i].p = measured_p[i];
        verdict->effects[i].is_detectable = are_enough && measured_p[i] < ALPHA;
        if (are_enough && held_p[i] < ALPHA)
            find_cut(&verdict->effects[i], draws, g_ptr_array_index(values, i), verdict->n_held);
    }
}

SpateDoubtVerdict *
spate_doubt_judge(const SpateResult *result, size_t variant, size_t versus, const double *measured,
                  const double *held)
{
    g_autoptr(GPtrArray) drawn = g_ptr_array_new(); /* SpateDrawn, borrowed */
    for (size_t i = 0; i < result->n_drawn; i++)
        if (result->variants[variant].is_drawn[i] || result->variants[versus].is_drawn[i])
            g_ptr_array_add(drawn, &result->drawn[i]);
    if (drawn->len == 0)
        return NULL;
    g_autoptr(SpateDoubtVerdict) verdict = g_new0(SpateDoubtVerdict, 1);
    verdict->n_effects = drawn->len;
    verdict->effects = g_new0(SpateDoubtEffect, drawn->len);
    for (guint i = 0; i < drawn->len; i++) {
        const SpateDrawn *its = g_ptr_array_index(drawn, i);
        verdict->effects[i].path = g_strdup(its->path);
        verdict->effects[i].unit = g_strdup(its->unit);
    }
    g_auto(Draws) draws = {.replications = g_new(uint32_t, result->n_replications + 1),
                           .measured = g_new(double, result->n_replications + 1),
                           .held = g_new(double, result->n_replications + 1)};
    for (uint32_t i = 0; i < result->n_replications; i++) {
        if (isnan(held[i]))
            continue;
        verdict->n_held += held[i] > 0.0;
        draws.replications[draws.n] = i;
        draws.measured[draws.n] = measured[i];
        draws.held[draws.n++] = held[i];
    }
    verdict->n = draws.n;
    verdict->ci95 = spate_wilson_interval(verdict->n_held, verdict->n);
    find_effects(verdict, drawn, &draws);
    return g_steal_pointer(&verdict);
}

void
spate_doubt_verdict_free(SpateDoubtVerdict *verdict)
{
    if (verdict == NULL)
        return;
    for (uint32_t i = 0; i < verdict->n_effects; i++) {
        g_free(verdict->effects[i].path);
        g_free(verdict->effects[i].unit);
    }
    g_free(verdict->effects);
    g_free(verdict);
}
