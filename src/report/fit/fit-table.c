/* fit-table.c - a fit to a walk test, for people */
#include "report/fit/fit-report.h"

#include "core/shown-text.h"
#include "document/numbers.h"
#include "report/words/columns.h"
#include "scenario/text/quantity.h"
#include <math.h>
#include <string.h>

#define EXPONENT_DECIMALS 2
#define DB_DECIMALS       1
/* Below that, agreement of samples of one place is no chance. */
#define ALIKE_P 0.01
/* What is worth a word. */
#define FARTHER 1.05
/* Of a table; JSON has all. */
#define MOST_WILD 12
/* H. Akaike's rule of thumb (K. P. Burnham and D. R. Anderson, Model Selection and Multimodel
 * Inference, 2002, 2.6): what is closer to the best cannot be told from it. */
#define AIC_TIE 2.0

/* What a scenario takes (scenario/read/read-propagation.c). */
#define LEAST_EXPONENT 1.0
#define MOST_EXPONENT  10.0
#define MOST_LOSS_DB   300.0
#define MOST_SIGMA_DB  40.0
#define LEAST_EXTRA_DB (-100.0)
#define MOST_EXTRA_DB  300.0
/* As free space has it. */
#define TERRAIN_EXPONENT 2.0

/* ---- words ----------------------------------------------------------------------------------- */

static char *
fixed_text(double value, int decimals)
{
    GString *text = g_string_new(NULL);
    spate_append_fixed(text, value, decimals, false);
    return g_string_free(text, FALSE);
}

/* "812 m" or "1.94 km": three digits; free with g_free(). */
static char *
distance_text(double distance_m)
{
    double step = pow(10.0, floor(log10(distance_m)) - 2.0);
    return spate_quantity_text(rint(distance_m / step) * step, SPATE_DIM_LENGTH);
}

static char *
interval_text(SpateInterval interval, int decimals)
{
    g_autofree char *low = fixed_text(interval.low, decimals);
    g_autofree char *high = fixed_text(interval.high, decimals);
    return g_strdup_printf("[%s, %s]", low, high);
}

/* ---- the law --------------------------------------------------------------------------------- */

static void
add_estimate(SpateColumns *columns, const char *label, SpateLossEstimate estimate, int decimals)
{
    spate_columns_add(columns, label);
    spate_columns_take(columns, fixed_text(estimate.value, decimals));
    spate_columns_take(columns, interval_text(estimate.ci95, decimals));
    spate_columns_end_line(columns);
}

static void
append_law(GString *text, const SpateLossFit *fit, guint indent)
{
    static const char *const HEADS[] = {"", "fitted", "95 % interval", NULL};
    g_autoptr(SpateColumns) columns = spate_columns_new(1);
    g_autofree char *at = distance_text(fit->at_m);
    g_autofree char *intercept = g_strdup_printf("loss at %s, dB", at);
    spate_columns_add_heads(columns, HEADS);
    add_estimate(columns, "exponent", fit->exponent, EXPONENT_DECIMALS);
    add_estimate(columns, intercept, fit->intercept_db, DB_DECIMALS);
    add_estimate(columns, "shadowing (sigma), dB", fit->sigma_db, DB_DECIMALS);
    spate_columns_append(text, columns, indent);
}

/* What became of that which the ground takes. */
static void
append_ground(GString *text, const SpateFit *fit)
{
    g_autofree char *low = NULL, *high = NULL;
    switch (fit->ground) {
    case SPATE_FIT_FLAT:
        return;
    case SPATE_FIT_KNOWN:
        low = fixed_text(fit->diffraction_db.low, DB_DECIMALS);
        high = fixed_text(fit->diffraction_db.high, DB_DECIMALS);
        g_string_append_printf(text,
                               "by the height model the ground takes %s to %s dB; the law is what "
                               "is lost beside that\n",
                               low, high);
        return;
    case SPATE_FIT_LEFT:
        g_string_append(text, "what the ground takes is left in the law\n");
        return;
    case SPATE_FIT_NO_PLACES:
        g_string_append(text, "the height model cannot be used, as the table has distances, not "
                              "places: what the ground takes is in the law\n");
        return;
    case SPATE_N_FIT_GROUNDS:
        break;
    }
    g_assert_not_reached();
}

/* The same samples by `model: terrain`, whose exponent is given. */
static void
append_terrain(GString *text, const SpateFit *fit)
{
    static const char *const HEADS[] = {"as model: terrain", "fitted", "95 % interval", NULL};
    SpateInterval exponent = fit->fit.exponent.ci95;
    g_autoptr(SpateColumns) columns = spate_columns_new(1);
    if (fit->ground != SPATE_FIT_KNOWN)
        return;
    spate_columns_add_heads(columns, HEADS);
    add_estimate(columns, "extra-loss, dB", fit->terrain_extra_db, DB_DECIMALS);
    add_estimate(columns, "shadowing (sigma), dB", fit->terrain_sigma_db, DB_DECIMALS);
    spate_columns_append(text, columns, 0);
    if (!(exponent.low > TERRAIN_EXPONENT || exponent.high < TERRAIN_EXPONENT))
        return;
    g_autofree char *interval = interval_text(exponent, EXPONENT_DECIMALS);
    g_string_append_printf(text,
                           "that model has the exponent of free space, 2; the samples say %s: it "
                           "loses too %s beyond them\n",
                           interval, exponent.low > TERRAIN_EXPONENT ? "little" : "much");
}

static void
append_head(GString *text, const SpateFit *fit)
{
    spate_append_shown_line(text, fit->name);
    g_string_append_printf(text, ": %zu samples", fit->fit.n);
    if (fit->bearer != NULL) {
        g_string_append(text, " on ");
        spate_append_shown_line(text, fit->bearer);
    }
    g_string_append_printf(text, ", %zu heard", fit->fit.n_heard);
    if (fit->fit.n > fit->fit.n_heard) {
        g_autofree char *level = fixed_text(fit->sensitivity_dbm, DB_DECIMALS);
        g_string_append_printf(text, "; the others count as weaker than %s dBm", level);
    }
    g_string_append_c(text, '\n');
    if (fit->n_elsewhere > 0)
        g_string_append_printf(text, "%zu rows of other bearers are left out\n", fit->n_elsewhere);
    if (fit->n_below > 0)
        g_string_append_printf(text,
                               "%zu samples were heard although weaker than the sensitivity: is it "
                               "that of the receiver that was carried?\n",
                               fit->n_below);
    if (fit->leaves_out_wild && fit->n_wild > 0)
        g_string_append_printf(text, "%zu wild samples are left out\n", fit->n_wild);
    append_ground(text, fit);
}

/* Where the law was not measured. */
static void
append_range(GString *text, const SpateLossFit *fit)
{
    g_autofree char *near = distance_text(fit->heard_m.low);
    g_autofree char *far = distance_text(fit->heard_m.high);
    g_string_append_printf(
        text, "heard from %s to %s: nearer and farther the fit only extrapolates", near, far);
    if (fit->all_m.high > FARTHER * fit->heard_m.high) {
        g_autofree char *last = distance_text(fit->all_m.high);
        g_string_append_printf(text, " (nothing was heard from there to %s)", last);
    }
    g_string_append_c(text, '\n');
}

static void
append_free_space(GString *text, const SpateFit *fit)
{
    if (isnan(fit->free_space_db))
        return;
    g_autofree char *at = distance_text(fit->fit.at_m);
    g_autofree char *free_space = fixed_text(fit->free_space_db, DB_DECIMALS);
    g_string_append_printf(text, "free space would lose %s dB at %s\n", free_space, at);
    if (fit->fit.intercept_db.ci95.high < fit->free_space_db - 10.0)
        g_string_append(text,
                        "the fit loses far less: are power, gains and feeder losses right?\n");
}

static void
append_alike(GString *text, const SpateFit *fit)
{
    if (!(fit->alike_p < ALIKE_P))
        return;
    g_string_append(text,
                    "samples of one place or distance agree with each other more than with the "
                    "law: they share their shadowing, or the law is another.  The intervals are "
                    "then too narrow: walk more places, with fewer samples at each\n");
}

/* ---- wild samples ---------------------------------------------------------------------------- */

static void
append_wild_sample(SpateColumns *columns, const SpateFitSample *sample)
{
    spate_columns_take(columns, g_strdup_printf("line %u", sample->line));
    spate_columns_take(columns, distance_text(sample->distance_m));
    if (sample->is_heard)
        spate_columns_take(columns, spate_quantity_text(sample->received_dbm, SPATE_DIM_LEVEL));
    else
        spate_columns_add(columns, "not heard");
    g_autofree char *off = fixed_text(fabs(sample->above_db), DB_DECIMALS);
    /* One that was not heard should have been: its limit is below the law. */
    spate_columns_take(columns,
                       g_strdup_printf("%s%s dB %s the law", sample->is_heard ? "" : "at least ",
                                       off, sample->above_db > 0.0 ? "above" : "below"));
    spate_columns_end_line(columns);
}

static void
append_wild(GString *text, const SpateFit *fit)
{
    g_autoptr(SpateColumns) columns = spate_columns_new(1);
    size_t n_shown = 0;
    if (fit->n_wild == 0)
        return;
    g_string_append_printf(text,
                           "\n%zu wild sample%s, more than 3 sigma off what most of them follow: "
                           "look at %s before you use the fit\n",
                           fit->n_wild, fit->n_wild == 1 ? "" : "s",
                           fit->n_wild == 1 ? "it" : "them");
    for (guint i = 0; i < fit->samples->len && n_shown < MOST_WILD; i++) {
        const SpateFitSample *sample = &g_array_index(fit->samples, SpateFitSample, i);
        if (!sample->is_wild)
            continue;
        append_wild_sample(columns, sample);
        n_shown++;
    }
    spate_columns_append(text, columns, 2);
    if (fit->n_wild > n_shown)
        g_string_append_printf(text, "  and %zu more\n", fit->n_wild - n_shown);
    if (!fit->has_other) {
        g_string_append(text, "without them too little is left to fit\n");
        return;
    }
    g_string_append(text,
                    fit->leaves_out_wild ? "with them:\n" : "without them (--without-wild):\n");
    append_law(text, &fit->other, 2);
}

/* ---- several models -------------------------------------------------------------------------- */

/* Once for all kinds of one model, which come one after the other. */
static void
append_left_out(GString *text, const SpateLossModel *models)
{
    for (size_t i = 0; i < SPATE_N_LOSS_MODELS; i++) {
        const char *why = models[i].left_out;
        if (why == NULL || (i > 0 && models[i - 1].left_out == why))
            continue;
        g_string_append_printf(text, "%.*s is not compared: %s\n",
                               (int)strcspn(models[i].name, ","), models[i].name, why);
    }
}

static void
append_models(GString *text, const SpateFit *fit)
{
    static const char *const HEADS[] = {"model", "parameters",     "sigma, dB",
                                        "AIC",   "above the best", NULL};
    g_autoptr(SpateColumns) columns = spate_columns_new(1);
    double best = INFINITY;
    for (size_t i = 0; i < SPATE_N_LOSS_MODELS; i++)
        best = fmin(best, fit->models[i].aic);
    spate_columns_add_heads(columns, HEADS);
    for (size_t i = 0; i < SPATE_N_LOSS_MODELS; i++) {
        const SpateLossModel *model = &fit->models[i];
        if (model->left_out != NULL)
            continue;
        spate_columns_add(columns, model->name);
        spate_columns_take(columns, g_strdup_printf("%u", model->n_parameters));
        spate_columns_take(columns, fixed_text(model->sigma_db, DB_DECIMALS));
        spate_columns_take(columns, fixed_text(model->aic, 1));
        spate_columns_take(columns, fixed_text(model->aic - best, 1));
        spate_columns_end_line(columns);
    }
    g_string_append_c(text, '\n');
    spate_columns_append(text, columns, 0);
    g_string_append_printf(text,
                           "the smallest AIC is the best; less than %.0f above it cannot be told "
                           "from it\n",
                           AIC_TIE);
    append_left_out(text, fit->models);
}

/* ---- to paste -------------------------------------------------------------------------------- */

static double
rounded(double value, int decimals)
{
    double scale = pow(10.0, decimals);
    return rint(value * scale) / scale;
}

/* A line of `doubt:`; none where both bounds are the same. */
static void
append_doubt(GString *text, const char *bearer, const char *path, SpateInterval interval,
             int decimals, const char *unit)
{
    if (!(rounded(interval.low, decimals) < rounded(interval.high, decimals)))
        return;
    g_autofree char *low = fixed_text(interval.low, decimals);
    g_autofree char *high = fixed_text(interval.high, decimals);
    g_string_append_printf(text, "  bearers.%s.propagation.%s: [%s%s, %s%s]\n", bearer, path, low,
                           unit, high, unit);
}

/* As keys of a scenario name a bearer; what a table names otherwise is no such name. */
static const char *
name_to_paste(const SpateFit *fit)
{
    static const char LETTERS[] =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
    bool is_name = fit->bearer != NULL && fit->bearer[0] != '\0' &&
                   fit->bearer[strspn(fit->bearer, LETTERS)] == '\0';
    return is_name ? fit->bearer : "NAME";
}

static bool
is_takeable(const SpateLossFit *fit)
{
    return fit->exponent.value >= LEAST_EXPONENT && fit->exponent.value <= MOST_EXPONENT &&
           fit->intercept_db.value >= 0.0 && fit->intercept_db.value <= MOST_LOSS_DB &&
           fit->sigma_db.value <= MOST_SIGMA_DB;
}

/* The head of `doubt:`; what follows is cut off again where nothing was added. */
static gsize
begin_doubt(GString *text)
{
    g_string_append(text, "# at the top: each replication draws from these intervals\ndoubt:\n");
    return text->len;
}

static void
end_doubt(GString *text, gsize begin)
{
    if (text->len > begin)
        return;
    g_string_truncate(text, begin - strlen("doubt:\n"));
    g_string_append(text, "# nothing: the samples lie exactly on the law\n");
}

static void
append_sigma_doubt(GString *text, const char *bearer, SpateInterval ci95)
{
    append_doubt(text, bearer, "shadowing", spate_interval_clip(ci95, 0.0, MOST_SIGMA_DB),
                 DB_DECIMALS, " dB");
}

static void
append_terrain_paste(GString *text, const SpateFit *fit)
{
    double extra_db = fit->terrain_extra_db.value;
    if (!(extra_db >= LEAST_EXTRA_DB && extra_db <= MOST_EXTRA_DB &&
          fit->terrain_sigma_db.value <= MOST_SIGMA_DB)) {
        g_string_append(text, "\nno scenario takes this (extra-loss -100 to 300 dB, shadowing 0 to "
                              "40 dB): nothing to paste\n");
        return;
    }
    const char *bearer = name_to_paste(fit);
    g_autofree char *extra = fixed_text(extra_db, DB_DECIMALS);
    g_autofree char *sigma = fixed_text(fit->terrain_sigma_db.value, DB_DECIMALS);
    g_string_append_printf(text,
                           "\n# in bearers, %s\n"
                           "    propagation:\n"
                           "      model: terrain\n"
                           "      extra-loss: %s dB\n"
                           "      shadowing: %s dB\n",
                           bearer, extra, sigma);
    gsize begin = begin_doubt(text);
    append_doubt(text, bearer, "extra-loss",
                 spate_interval_clip(fit->terrain_extra_db.ci95, LEAST_EXTRA_DB, MOST_EXTRA_DB),
                 DB_DECIMALS, " dB");
    append_sigma_doubt(text, bearer, fit->terrain_sigma_db.ci95);
    end_doubt(text, begin);
}

static void
append_paste(GString *text, const SpateFit *fit)
{
    const SpateLossFit *law = &fit->fit;
    if (fit->ground == SPATE_FIT_KNOWN) {
        append_terrain_paste(text, fit);
        return;
    }
    if (!is_takeable(law)) {
        g_string_append(text, "\nno scenario takes this law (exponent 1 to 10, loss 0 to 300 dB, "
                              "shadowing 0 to 40 dB): nothing to paste\n");
        return;
    }
    const char *bearer = name_to_paste(fit);
    g_autofree char *exponent = fixed_text(law->exponent.value, EXPONENT_DECIMALS);
    g_autofree char *at = spate_quantity_text(law->at_m, SPATE_DIM_LENGTH);
    g_autofree char *loss = fixed_text(law->intercept_db.value, DB_DECIMALS);
    g_autofree char *sigma = fixed_text(law->sigma_db.value, DB_DECIMALS);
    g_string_append_printf(text,
                           "\n# in bearers, %s\n"
                           "    propagation:\n"
                           "      model: log-distance\n"
                           "      exponent: %s\n"
                           "      intercept: {at: %s, loss: %s dB}\n"
                           "      shadowing: %s dB\n",
                           bearer, exponent, at, loss, sigma);
    gsize begin = begin_doubt(text);
    append_doubt(text, bearer, "exponent",
                 spate_interval_clip(law->exponent.ci95, LEAST_EXPONENT, MOST_EXPONENT),
                 EXPONENT_DECIMALS, "");
    append_doubt(text, bearer, "intercept.loss",
                 spate_interval_clip(law->intercept_db.ci95, 0.0, MOST_LOSS_DB), DB_DECIMALS,
                 " dB");
    append_sigma_doubt(text, bearer, law->sigma_db.ci95);
    end_doubt(text, begin);
}

void
spate_fit_append_table(GString *text, const SpateFit *fit)
{
    append_head(text, fit);
    g_string_append_c(text, '\n');
    append_law(text, &fit->fit, 0);
    append_terrain(text, fit);
    g_string_append_c(text, '\n');
    append_range(text, &fit->fit);
    append_free_space(text, fit);
    append_alike(text, fit);
    append_wild(text, fit);
    if (fit->has_models)
        append_models(text, fit);
    append_paste(text, fit);
}
