/* size.c - which values of one number meet all expectations */
#include "study/judge/size.h"

#include "core/stop.h"
#include "scenario/text/quantity.h"
#include <math.h>
#include <string.h>

/* Values of the coarse row. */
#define COARSE 13
/* Times the scenario's replications that a doubtful value may have. */
#define MORE_FOR_DOUBT 8

typedef struct {
    const SpateSizeWanted *wanted;
    const SpateStudyOptions *options;
    SpateSize *size;
    const SpateScenarioSize *range;
    int64_t n_steps;    /* values are numbered 0 ... n_steps */
    GArray *numbers;    /* int64_t, of the points, ascending */
    GArray *points;     /* SpateSizePoint, likewise */
    char *replications; /* value of run.replications; NULL: as the scenario says */
} Search;

void
spate_size_free(SpateSize *size)
{
    if (size == NULL)
        return;
    for (size_t i = 0; i < size->n_points; i++) {
        SpateSizePoint *point = &size->points[i];
        for (size_t k = 0; k < point->n_verdicts; k++)
            spate_doubt_verdict_free(point->verdicts[k].doubt);
        g_free(point->text);
        g_free(point->verdicts);
    }
    g_free(size->points);
    g_free(size->bands);
    g_free(size->vary);
    g_free(size->unit);
    spate_check_free(size->words);
    g_free(size);
}

/* ---- one value ------------------------------------------------------------------------------- */

static double
value_of(const Search *search, int64_t number)
{
    return search->range->from + (double)number * search->range->step;
}

/* "12", "2.5 km": what YAML reads as that value. */
static char *
text_of(const Search *search, int64_t number)
{
    return spate_counted_text(value_of(search, number), search->range->unit,
                              search->range->is_count, 10);
}

static SpateSizeAnswer
answer_of(const SpateCheck *check)
{
    SpateSizeAnswer answer = SPATE_SIZE_MEETS;
    if (check->n_replications == 0)
        return SPATE_SIZE_OPEN;
    for (size_t i = 0; i < check->n_points; i++) {
        SpateExpectVerdict verdict = check->points[i].judgement.kind;
        if (verdict == SPATE_VERDICT_FAIL)
            return SPATE_SIZE_FAILS;
        if (verdict == SPATE_VERDICT_UNDECIDED)
            answer = SPATE_SIZE_UNSURE;
    }
    return answer;
}

static SpateSizePoint
point_of(const Search *search, int64_t number, SpateCheck *check)
{
    SpateSizePoint point = {
        .value = value_of(search, number),
        .text = text_of(search, number),
        .answer = answer_of(check),
        .n_replications = check->n_replications,
        .verdicts = g_new(SpateSizeVerdict, check->n_points + 1),
        .n_verdicts = check->n_points,
    };
    for (size_t i = 0; i < check->n_points; i++)
        point.verdicts[i] = (SpateSizeVerdict){check->points[i].judgement,
                                               g_steal_pointer(&check->points[i].doubt)};
    return point;
}

size_t
spate_size_binding(const SpateSize *size, const SpateSizePoint *point)
{
    SpateExpectVerdict wanted =
        point->answer == SPATE_SIZE_FAILS ? SPATE_VERDICT_FAIL : SPATE_VERDICT_UNDECIDED;
    size_t i = 0;
    while (i < size->words->n_points && point->verdicts[i].judgement.kind != wanted)
        i++;
    return i;
}

/* ---- rounds ---------------------------------------------------------------------------------- */

/* Judges some values side by side.  False with an error. */
static bool
look_at(Search *search, const GArray *numbers, GError **error)
{
    SpateCheckOptions options = search->wanted->check;
    options.stops_at_failure = true;
    g_autoptr(GPtrArray) checks = g_ptr_array_new_with_free_func((GDestroyNotify)spate_check_free);
    for (guint i = 0; i < numbers->len; i++) {
        g_autofree char *value = text_of(search, g_array_index(numbers, int64_t, i));
        const SpateSetting settings[] = {{search->range->vary, value},
                                         {"run.replications", search->replications}};
        const SpateTrial trial = {.settings = settings,
                                  .n_settings = search->replications != NULL ? 2 : 1};
        options.trial = &trial;
        SpateCheck *check = spate_check_new(search->wanted->file, &options, error);
        if (check == NULL)
            return false;
        g_ptr_array_add(checks, check);
    }
    if (!spate_checks_run((SpateCheck *const *)checks->pdata, checks->len, search->options, error))
        return false;
    for (guint i = 0; i < numbers->len; i++) {
        int64_t number = g_array_index(numbers, int64_t, i);
        SpateSizePoint point = point_of(search, number, g_ptr_array_index(checks, i));
        guint at = 0;
        while (at < search->numbers->len && g_array_index(search->numbers, int64_t, at) < number)
            at++;
        g_array_insert_val(search->numbers, at, number);
        g_array_insert_val(search->points, at, point);
    }
    return true;
}

static GArray *
coarse_row(const Search *search)
{
    GArray *numbers = g_array_new(FALSE, FALSE, sizeof(int64_t));
    int64_t parts = MIN(search->n_steps, COARSE - 1), last = -1;
    for (int64_t i = 0; i <= parts; i++) {
        int64_t number = parts == 0 ? 0 : (i * search->n_steps + parts / 2) / parts;
        if (number > last)
            g_array_append_val(numbers, number);
        last = number;
    }
    return numbers;
}

/* Neighbours that both fail, but for different reasons, may have something between them.  Of a
 * value that was given up only the reasons that it had then are known: one at least. */
static bool
differ(const SpateSize *size, const SpateSizePoint *a, const SpateSizePoint *b)
{
    bool is_different = a->answer != b->answer;
    for (size_t i = 0; a->answer == SPATE_SIZE_FAILS && i < size->words->n_points; i++)
        is_different = is_different || (a->verdicts[i].judgement.kind == SPATE_VERDICT_FAIL) !=
                                           (b->verdicts[i].judgement.kind == SPATE_VERDICT_FAIL);
    return is_different;
}

/* The middle between neighbours whose answers differ. */
static GArray *
finer_row(const Search *search)
{
    GArray *numbers = g_array_new(FALSE, FALSE, sizeof(int64_t));
    for (guint i = 0; i + 1 < search->points->len; i++) {
        int64_t a = g_array_index(search->numbers, int64_t, i);
        int64_t b = g_array_index(search->numbers, int64_t, i + 1);
        int64_t middle = a + (b - a) / 2;
        if (b - a > 1 && differ(search->size, &g_array_index(search->points, SpateSizePoint, i),
                                &g_array_index(search->points, SpateSizePoint, i + 1)))
            g_array_append_val(numbers, middle);
    }
    return numbers;
}

/* ---- the whole ------------------------------------------------------------------------------- */

static void
add_bands(SpateSize *size)
{
    g_autoptr(GArray) bands = g_array_new(FALSE, FALSE, sizeof(SpateSizeBand));
    for (size_t i = 0; i < size->n_points; i++) {
        SpateSizeBand *last =
            bands->len > 0 ? &g_array_index(bands, SpateSizeBand, bands->len - 1) : NULL;
        SpateSizeBand band = {i, i, size->points[i].answer};
        if (last != NULL && last->answer == band.answer)
            last->last = i;
        else
            g_array_append_val(bands, band);
    }
    gsize n = 0;
    size->bands = g_array_steal(bands, &n);
    size->n_bands = n;
}

/* Without bounds of its own the scenario gets some, so that doubt can be settled. */
static char *
bounds_of(const SpateSizeWanted *wanted, const SpateScenario *base)
{
    if (wanted->check.replications > 0)
        return NULL;
    uint64_t most = wanted->most_replications;
    if (most == 0 && base->replications_at_most > base->replications)
        return NULL;
    if (most == 0)
        most = (uint64_t)base->replications * MORE_FOR_DOUBT;
    uint32_t least = MAX(base->replications, 2);
    return g_strdup_printf("{at-least: %u, at-most: %" G_GUINT64_FORMAT "}", least,
                           MAX(most, least));
}

SpateSize *
spate_size_run(const SpateSizeWanted *wanted, const SpateStudyOptions *options, GError **error)
{
    g_autoptr(SpateCheck) words = spate_check_new(wanted->file, &wanted->check, error);
    if (words == NULL)
        return NULL;
    const SpateScenarioSize *range = &words->base->size;
    if (!range->is_given || words->n_points == 0) {
        g_set_error(error, SPATE_SCENARIO_ERROR, SPATE_SCENARIO_ERROR_BAD,
                    range->is_given
                        ? "%s: there are no expectations to meet; add some under 'expect'"
                        : "%s: there is no 'size'; name what to vary, as in size: {vary: "
                          "nodes.soil.count, from: 5, to: 80} or --vary nodes.soil.count --from 5 "
                          "--to 80",
                    words->base->name);
        return NULL;
    }
    g_autofree char *replications = bounds_of(wanted, words->base);
    g_autoptr(SpateSize) size = g_new0(SpateSize, 1);
    size->vary = g_strdup(range->vary);
    size->unit = g_strdup(range->unit);
    size->words = g_steal_pointer(&words);
    Search search = {
        .wanted = wanted,
        .options = options,
        .size = size,
        .range = range,
        .n_steps = (int64_t)floor((range->to - range->from) / range->step + 1e-9),
        .numbers = g_array_new(FALSE, FALSE, sizeof(int64_t)),
        .points = g_array_new(FALSE, FALSE, sizeof(SpateSizePoint)),
        .replications = replications,
    };
    bool is_fine = true;
    g_autoptr(GArray) row = coarse_row(&search);
    while (row->len > 0 && is_fine && !spate_is_stopped(options->stop)) {
        is_fine = look_at(&search, row, error);
        g_array_unref(row);
        row = finer_row(&search);
    }
    gsize n = 0;
    size->points = g_array_steal(search.points, &n);
    size->n_points = n;
    size->interrupted = spate_is_stopped(options->stop);
    g_array_unref(search.points);
    g_array_unref(search.numbers);
    if (!is_fine)
        return NULL;
    add_bands(size);
    return g_steal_pointer(&size);
}
