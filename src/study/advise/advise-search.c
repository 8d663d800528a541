/* advise-search.c - the smallest set of streams whose holding back meets the expectations
 *
 * A set is a mask over the streams that are tried, by what they win.  Its rules are put into the
 * file, and the file is judged by its own expectations; it is given up as soon as one has failed.
 * What is found goes to fresh replications.
 */
#include "study/advise/advise-private.h"

#include "core/stop.h"
#include <math.h>
#include <string.h>

/* Streams up to which all sets are tried. */
#define FEW 4
/* Sets that are judged side by side. */
#define ABREAST 8

typedef struct {
    SpateAdvice *advice;
    const SpateAdviseWanted *wanted;
    const SpateStudyOptions *options;
    GArray *candidates; /* guint: streams, what wins most first */
    uint32_t chosen;    /* the mask of the set that is kept */
} Search;

/* A set and what became of it. */
typedef struct {
    uint32_t mask;
    uint32_t one_of;
    SpateCheck *check;
} Set;

static void
clear_set(gpointer set)
{
    spate_check_free(((Set *)set)->check);
}

/* ---- one set --------------------------------------------------------------------------------- */

static GArray *
streams_of(const Search *search, uint32_t mask)
{
    GArray *streams = g_array_new(FALSE, FALSE, sizeof(guint));
    for (guint i = 0; i < search->candidates->len; i++)
        if (mask & (UINT32_C(1) << i))
            g_array_append_val(streams, g_array_index(search->candidates, guint, i));
    return streams;
}

/* Judges sets side by side.  False with an error. */
static bool
judge(Search *search, GArray *sets, GError **error)
{
    g_autoptr(GPtrArray) checks = g_ptr_array_new();
    for (guint i = 0; i < sets->len; i++) {
        Set *set = &g_array_index(sets, Set, i);
        g_autoptr(GArray) streams = streams_of(search, set->mask);
        g_autofree char *rules =
            spate_advise_rules(search->advice, search->wanted, (const guint *)(void *)streams->data,
                               streams->len, set->one_of);
        set->check = spate_advise_candidate(search->advice, search->wanted, rules, error);
        if (set->check == NULL)
            return false;
        /* Rules of the base go for all variants, those of a variant for it alone. */
        if (strcmp(search->advice->variant, "base") != 0)
            spate_check_adopt_others(set->check, search->advice->variant, search->advice->as_it_is);
        g_ptr_array_add(checks, set->check);
    }
    search->advice->n_sets_tried += sets->len;
    if (!spate_checks_run((SpateCheck *const *)checks->pdata, checks->len, search->options, error))
        return false;
    for (guint i = 0; i < sets->len; i++)
        search->advice->n_searched =
            MAX(search->advice->n_searched, g_array_index(sets, Set, i).check->n_replications);
    return true;
}

static GArray *
new_sets(void)
{
    GArray *sets = g_array_new(FALSE, TRUE, sizeof(Set));
    g_array_set_clear_func(sets, clear_set);
    return sets;
}

static void
add_set(GArray *sets, uint32_t mask, uint32_t one_of)
{
    const Set set = {.mask = mask, .one_of = one_of};
    g_array_append_val(sets, set);
}

static guint
n_bits(uint32_t mask)
{
    guint n = 0;
    for (; mask != 0; mask &= mask - 1)
        n++;
    return n;
}

/* ---- keeping the best ------------------------------------------------------------------------ */

static void
keep(Search *search, const Set *set, SpateAdviseAnswer answer)
{
    SpateAdvice *advice = search->advice;
    g_clear_pointer(&advice->chosen, g_array_unref);
    advice->chosen = streams_of(search, set->mask);
    search->chosen = set->mask;
    advice->answer = answer;
}

static double
gain_of(const Search *search, uint32_t mask)
{
    g_autoptr(GArray) streams = streams_of(search, mask);
    double gain = 0.0;
    for (guint i = 0; i < streams->len; i++)
        gain += spate_advise_stream(search->advice, g_array_index(streams, guint, i))->gain.mean;
    return gain;
}

/* Of the sets with that answer, the one of the fewest streams; of those, that which wins most. */
static Set *
best_of(const Search *search, GArray *sets, SpateAdviseMeets wanted)
{
    Set *best = NULL;
    for (guint i = 0; i < sets->len; i++) {
        Set *set = &g_array_index(sets, Set, i);
        if (spate_advise_meets(set->check) != wanted)
            continue;
        if (best == NULL || n_bits(set->mask) < n_bits(best->mask) ||
            (n_bits(set->mask) == n_bits(best->mask) &&
             gain_of(search, set->mask) > gain_of(search, best->mask)))
            best = set;
    }
    return best;
}

/* True if a set that meets all is kept; one that only leans to is, as long as there is no other. */
static bool
keep_best(Search *search, GArray *sets)
{
    if (spate_is_stopped(search->options->stop))
        return false;
    Set *best = best_of(search, sets, SPATE_ADVISE_MEETS);
    if (best != NULL) {
        keep(search, best, SPATE_ADVISE_FOUND);
        return true;
    }
    best = best_of(search, sets, SPATE_ADVISE_LEANS);
    if (best != NULL && search->advice->answer == SPATE_ADVISE_NONE)
        keep(search, best, SPATE_ADVISE_UNSURE);
    return false;
}

/* ---- which sets ------------------------------------------------------------------------------ */

/* All sets of the first `n`, by size, that are not sets of the first `n_before`. */
static bool
try_all(Search *search, guint n_before, guint n, GError **error)
{
    for (guint size = 1; size <= n && !spate_is_stopped(search->options->stop); size++) {
        g_autoptr(GArray) sets = new_sets();
        for (uint32_t mask = UINT32_C(1) << n_before; mask < UINT32_C(1) << n; mask++)
            if (n_bits(mask) == size)
                add_set(sets, mask, 0);
        if (!judge(search, sets, error))
            return false;
        if (keep_best(search, sets))
            break;
    }
    search->advice->is_smallest = search->advice->answer == SPATE_ADVISE_FOUND;
    return true;
}

/* The first so many of those that win most, from more than `n_before` on. */
static bool
try_first(Search *search, guint n_before, guint n, GError **error)
{
    for (guint begin = n_before + 1; begin <= n && !spate_is_stopped(search->options->stop);
         begin += ABREAST) {
        g_autoptr(GArray) sets = new_sets();
        for (guint size = begin; size <= n && size < begin + ABREAST; size++)
            add_set(sets, (UINT32_C(1) << size) - 1, 0);
        if (!judge(search, sets, error))
            return false;
        if (keep_best(search, sets))
            return true;
    }
    return true;
}

/* Leaves out every stream of the kept set that can be, what wins least first. */
static bool
prune(Search *search, GError **error)
{
    for (guint i = search->candidates->len; i-- > 0 && !spate_is_stopped(search->options->stop);) {
        uint32_t less = search->chosen & ~(UINT32_C(1) << i);
        if (less == search->chosen || less == 0)
            continue;
        g_autoptr(GArray) sets = new_sets();
        add_set(sets, less, 0);
        if (!judge(search, sets, error))
            return false;
        keep_best(search, sets);
    }
    return true;
}

static bool
search_sets(Search *search, guint n_before, guint n, GError **error)
{
    if (n <= n_before || spate_is_stopped(search->options->stop))
        return true;
    if (n <= FEW)
        return try_all(search, n_before, n, error);
    return try_first(search, n_before, n, error) &&
           (search->advice->answer != SPATE_ADVISE_FOUND || prune(search, error));
}

/* People's delivery loses by it, and not by chance. */
static bool
loses(const SpateAdviseStream *stream)
{
    return stream->gain.ci95.high < 0.0;
}

/* Sets of streams that people can spare; if none is enough, of all. */
static bool
search_in_turn(Search *search, GError **error)
{
    SpateAdvice *advice = search->advice;
    guint n = search->candidates->len, n_spare = 0;
    while (n_spare < n &&
           !loses(spate_advise_stream(advice, g_array_index(search->candidates, guint, n_spare))))
        n_spare++;
    if (!search_sets(search, 0, n_spare, error))
        return false;
    if (advice->answer != SPATE_ADVISE_FOUND)
        return search_sets(search, n_spare, n, error);
    for (guint i = n_spare; i < n; i++)
        g_array_index(advice->streams, SpateAdviseStream,
                      g_array_index(search->candidates, guint, i))
            .left_out = SPATE_ADVISE_LOSES;
    return true;
}

/* ---- more gently ----------------------------------------------------------------------------- */

/* Treatments of the set that was found, the gentlest first; to hold it back is the last. */
static bool
find_treatments(Search *search, GError **error)
{
    static const uint32_t ONE_OF[] = {2, 4, 8};
    static const uint32_t NONE = 0;
    SpateAdvice *advice = search->advice;
    bool is_gentle = advice->answer == SPATE_ADVISE_FOUND && advice->gentle != SPATE_ADVISE_HOLD;
    g_autoptr(GArray) sets = new_sets();
    for (size_t i = 0; is_gentle && i < G_N_ELEMENTS(ONE_OF); i++)
        add_set(sets, search->chosen, ONE_OF[i]);
    if (!judge(search, sets, error))
        return false;
    advice->treatments = g_array_new(FALSE, FALSE, sizeof(uint32_t));
    for (guint i = 0; i < sets->len; i++)
        if (spate_advise_meets(g_array_index(sets, Set, i).check) == SPATE_ADVISE_MEETS)
            g_array_append_val(advice->treatments, ONE_OF[i]);
    g_array_append_val(advice->treatments, NONE);
    return true;
}

/* ---- the whole ------------------------------------------------------------------------------- */

/* What people lose by goes last; of the rest, what wins most first. */
static int
compare_gains(gconstpointer a, gconstpointer b, gpointer user)
{
    guint numbers[] = {*(const guint *)a, *(const guint *)b};
    const SpateAdviseStream *first = spate_advise_stream(user, numbers[0]);
    const SpateAdviseStream *second = spate_advise_stream(user, numbers[1]);
    if (loses(first) != loses(second))
        return loses(first) ? 1 : -1;
    const double gains[] = {spate_estimate_or_least(&first->gain),
                            spate_estimate_or_least(&second->gain)};
    if (gains[0] != gains[1])
        return gains[0] > gains[1] ? -1 : 1;
    return (numbers[0] > numbers[1]) - (numbers[0] < numbers[1]);
}

/* False with an error. */
static bool
judge_as_it_is(Search *search, GError **error)
{
    SpateAdvice *advice = search->advice;
    advice->as_it_is = g_steal_pointer(&advice->unjudged);
    spate_check_adopt(advice->as_it_is, advice->variant, advice->study);
    if (!spate_checks_run(&advice->as_it_is, 1, search->options, error))
        return false;
    advice->n_searched = MAX(advice->n_searched, advice->as_it_is->n_replications);
    if (advice->as_it_is->n_points == 0)
        advice->answer = SPATE_ADVISE_NOTHING_EXPECTED;
    else if (spate_is_stopped(search->options->stop))
        advice->answer = SPATE_ADVISE_OPEN;
    else if (spate_advise_meets(advice->as_it_is) == SPATE_ADVISE_MEETS)
        advice->answer = SPATE_ADVISE_MET_ALREADY;
    else
        advice->answer = SPATE_ADVISE_NONE;
    return true;
}

bool
spate_advise_search(SpateAdvice *advice, const SpateAdviseWanted *wanted,
                    const SpateStudyOptions *options, GError **error)
{
    g_autoptr(GArray) candidates = g_array_new(FALSE, FALSE, sizeof(guint));
    Search search = {advice, wanted, options, candidates, 0};
    for (guint i = 0; i < advice->streams->len; i++)
        if (spate_advise_stream(advice, i)->is_tried)
            g_array_append_val(candidates, i);
    g_array_sort_with_data(candidates, compare_gains, advice);
    if (!judge_as_it_is(&search, error))
        return false;
    if (advice->answer != SPATE_ADVISE_NONE || candidates->len == 0)
        return true;
    if (!search_in_turn(&search, error))
        return false;
    bool has_set = advice->chosen != NULL && !spate_is_stopped(search.options->stop);
    if (has_set && !find_treatments(&search, error))
        return false;
    if (!spate_is_stopped(search.options->stop))
        return !has_set || spate_advise_confirm(advice, wanted, options, error);
    advice->answer = SPATE_ADVISE_OPEN;
    g_clear_pointer(&advice->chosen, g_array_unref);
    return true;
}
