/* advise-search.c - the smallest set of streams whose holding back meets the expectations
 *
 * A set is a mask over the streams that are tried, by what they win.  Its rules are put into the
 * file, and the file is judged by its own expectations.
 */
#include "study/advise-search.h"

#include "study/advise-rules.h"
#include <math.h>

/* Streams up to which all sets are tried. */
#define FEW 4
/* Sets that are judged side by side. */
#define ABREAST 8
/* Times the scenario's replications that a doubtful set may have. */
#define MORE_FOR_DOUBT 8

typedef struct {
    SpateAdvice *advice;
    const SpateAdviseWanted *wanted;
    const SpateStudyOptions *options;
    GArray *candidates; /* guint: streams, what wins most first */
} Search;

/* A set and what became of it. */
typedef struct {
    uint32_t mask;
    uint32_t one_of;
    char *rules;
    SpateCheck *check;
} Set;

static void
clear_set(gpointer set)
{
    g_free(((Set *)set)->rules);
    spate_check_free(((Set *)set)->check);
}

/* ---- one set --------------------------------------------------------------------------------- */

typedef enum { MEETS, LEANS, MISSES } SetAnswer;

static SetAnswer
answer_of(const SpateCheck *check)
{
    SetAnswer answer = MEETS;
    for (size_t i = 0; i < check->n_points; i++) {
        const SpateJudgement *judgement = &check->points[i].judgement;
        if (!spate_judgement_passes(judgement, false))
            return MISSES;
        if (judgement->kind == SPATE_VERDICT_UNDECIDED)
            answer = LEANS;
    }
    return check->n_replications > 0 ? answer : MISSES;
}

static GArray *
streams_of(const Search *search, uint32_t mask)
{
    GArray *streams = g_array_new(FALSE, FALSE, sizeof(guint));
    for (guint i = 0; i < search->candidates->len; i++)
        if (mask & (UINT32_C(1) << i))
            g_array_append_val(streams, g_array_index(search->candidates, guint, i));
    return streams;
}

static SpateCheck *
check_of(const Search *search, const char *rules, GError **error)
{
    const SpateAdviseWanted *wanted = search->wanted;
    const char *const variants[] = {search->advice->variant, NULL};
    const SpateCheckOptions options = {
        .variants = variants,
        .has_seed = wanted->has_seed,
        .seed = wanted->seed,
        .replications = wanted->replications,
        .most_replications = search->advice->scenario->replications * MORE_FOR_DOUBT,
    };
    if (!spate_scenario_file_paste(wanted->file, wanted->variant, rules, error))
        return NULL;
    SpateCheck *check = spate_check_new(wanted->file, &options, error);
    spate_scenario_file_paste(wanted->file, NULL, NULL, NULL);
    return check;
}

static bool
prepare(const Search *search, Set *set, GError **error)
{
    g_autoptr(GArray) streams = streams_of(search, set->mask);
    set->rules =
        spate_advise_rules(search->advice, search->wanted, (const guint *)(void *)streams->data,
                           streams->len, set->one_of);
    set->check = check_of(search, streams->len > 0 ? set->rules : NULL, error);
    return set->check != NULL;
}

/* Judges sets side by side.  False with an error. */
static bool
judge(Search *search, GArray *sets, GError **error)
{
    g_autoptr(GPtrArray) checks = g_ptr_array_new();
    for (guint i = 0; i < sets->len; i++) {
        Set *set = &g_array_index(sets, Set, i);
        if (!prepare(search, set, error))
            return false;
        g_ptr_array_add(checks, set->check);
    }
    search->advice->n_sets_tried += sets->len;
    return spate_checks_run((SpateCheck *const *)checks->pdata, checks->len, search->options,
                            error);
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

/* Takes over what a set holds. */
static void
keep(Search *search, Set *set, SpateAdviseAnswer answer)
{
    SpateAdvice *advice = search->advice;
    g_clear_pointer(&advice->chosen, g_array_unref);
    g_free(advice->rules);
    spate_check_free(advice->verified);
    advice->chosen = streams_of(search, set->mask);
    advice->one_of = set->one_of;
    advice->rules = g_steal_pointer(&set->rules);
    advice->verified = g_steal_pointer(&set->check);
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
best_of(const Search *search, GArray *sets, SetAnswer wanted)
{
    Set *best = NULL;
    for (guint i = 0; i < sets->len; i++) {
        Set *set = &g_array_index(sets, Set, i);
        if (answer_of(set->check) != wanted)
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
    Set *best = best_of(search, sets, MEETS);
    if (best != NULL) {
        keep(search, best, SPATE_ADVISE_FOUND);
        return true;
    }
    best = best_of(search, sets, LEANS);
    if (best != NULL && search->advice->answer == SPATE_ADVISE_NONE)
        keep(search, best, SPATE_ADVISE_UNSURE);
    return false;
}

/* ---- which sets ------------------------------------------------------------------------------ */

static bool
is_stopped(const Search *search)
{
    return spate_advise_is_stopped(search->options);
}

/* All sets, by size. */
static bool
try_all(Search *search, GError **error)
{
    guint n = search->candidates->len;
    for (guint size = 1; size <= n && !is_stopped(search); size++) {
        g_autoptr(GArray) sets = new_sets();
        for (uint32_t mask = 1; mask < UINT32_C(1) << n; mask++)
            if (n_bits(mask) == size)
                add_set(sets, mask, 0);
        if (!judge(search, sets, error))
            return false;
        if (!is_stopped(search) && keep_best(search, sets))
            break;
    }
    search->advice->is_smallest = search->advice->answer == SPATE_ADVISE_FOUND;
    return true;
}

static uint32_t
first_ones(guint n)
{
    return (UINT32_C(1) << n) - 1;
}

/* The first so many of those that win most.  *mask: the smallest of these sets that meets all; 0 if
 * none does. */
static bool
try_first(Search *search, uint32_t *mask, GError **error)
{
    guint n = search->candidates->len;
    for (guint begin = 1; begin <= n && !is_stopped(search); begin += ABREAST) {
        g_autoptr(GArray) sets = new_sets();
        for (guint size = begin; size <= n && size < begin + ABREAST; size++)
            add_set(sets, first_ones(size), 0);
        if (!judge(search, sets, error))
            return false;
        const Set *best = best_of(search, sets, MEETS);
        *mask = best != NULL ? best->mask : 0;
        if (!is_stopped(search) && keep_best(search, sets))
            return true;
    }
    return true;
}

/* Leaves out every stream that can be, what wins least first. */
static bool
prune(Search *search, uint32_t mask, GError **error)
{
    for (guint i = search->candidates->len; i-- > 0 && !is_stopped(search);) {
        uint32_t less = mask & ~(UINT32_C(1) << i);
        if (less == mask || less == 0)
            continue;
        g_autoptr(GArray) sets = new_sets();
        add_set(sets, less, 0);
        if (!judge(search, sets, error))
            return false;
        if (!is_stopped(search) && keep_best(search, sets))
            mask = less;
    }
    return true;
}

static bool
search_sets(Search *search, GError **error)
{
    if (search->candidates->len <= FEW)
        return try_all(search, error);
    uint32_t mask = 0;
    return try_first(search, &mask, error) && prune(search, mask, error);
}

/* ---- more gently ----------------------------------------------------------------------------- */

static uint32_t
mask_of_chosen(const Search *search)
{
    uint32_t mask = 0;
    for (guint i = 0; i < search->candidates->len; i++)
        for (guint k = 0; k < search->advice->chosen->len; k++)
            if (g_array_index(search->candidates, guint, i) ==
                g_array_index(search->advice->chosen, guint, k))
                mask |= UINT32_C(1) << i;
    return mask;
}

static bool
try_gentler(Search *search, GError **error)
{
    static const uint32_t ONE_OF[] = {2, 4, 8};
    if (search->advice->answer != SPATE_ADVISE_FOUND ||
        search->advice->gentle == SPATE_ADVISE_HOLD || is_stopped(search))
        return true;
    g_autoptr(GArray) sets = new_sets();
    for (size_t i = 0; i < G_N_ELEMENTS(ONE_OF); i++)
        add_set(sets, mask_of_chosen(search), ONE_OF[i]);
    if (!judge(search, sets, error))
        return false;
    /* All are of one size and win the same: the first that meets all is the best. */
    if (!is_stopped(search))
        keep_best(search, sets);
    return true;
}

/* ---- the whole ------------------------------------------------------------------------------- */

static double
or_least(double value)
{
    return isnan(value) ? -INFINITY : value;
}

static int
compare_gains(gconstpointer a, gconstpointer b, gpointer user)
{
    guint numbers[] = {*(const guint *)a, *(const guint *)b};
    double first = or_least(spate_advise_stream(user, numbers[0])->gain.mean);
    double second = or_least(spate_advise_stream(user, numbers[1])->gain.mean);
    if (first != second)
        return first > second ? -1 : 1;
    return (numbers[0] > numbers[1]) - (numbers[0] < numbers[1]);
}

/* False with an error. */
static bool
judge_as_it_is(Search *search, GError **error)
{
    SpateAdvice *advice = search->advice;
    advice->as_it_is = check_of(search, NULL, error);
    if (advice->as_it_is == NULL || !spate_checks_run(&advice->as_it_is, 1, search->options, error))
        return false;
    if (advice->as_it_is->n_points == 0)
        advice->answer = SPATE_ADVISE_NOTHING_EXPECTED;
    else if (is_stopped(search))
        advice->answer = SPATE_ADVISE_OPEN;
    else if (answer_of(advice->as_it_is) == MEETS)
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
    Search search = {advice, wanted, options, candidates};
    for (guint i = 0; i < advice->streams->len; i++)
        if (spate_advise_stream(advice, i)->is_tried)
            g_array_append_val(candidates, i);
    g_array_sort_with_data(candidates, compare_gains, advice);
    if (!judge_as_it_is(&search, error))
        return false;
    if (advice->answer != SPATE_ADVISE_NONE || candidates->len == 0)
        return true;
    if (!search_sets(&search, error) || !try_gentler(&search, error))
        return false;
    if (is_stopped(&search) && advice->answer == SPATE_ADVISE_NONE)
        advice->answer = SPATE_ADVISE_OPEN;
    return true;
}
