/* fit.c - path loss fitted to the samples of a walk test */
#include "study/fit/fit.h"

#include "scenario/text/quantity.h"
#include "study/fit/fit-ground.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* As of links in a scenario. */
#define MOST_LOSS_DB 500.0

typedef struct {
    const SpateWalk *walk;
    const SpateScenario *scenario;
    const SpateFitQuestion *question;
    SpateFaults *faults;
    SpateFit *fit;
    const SpateScenarioBearer *bearer; /* NULL: none of a scenario */
    double frequency_hz;               /* NAN: not known */
    const SpateTerrain *terrain;       /* NULL: there is none, or it says nothing of the samples */
    SpateLossSample *losses;           /* by sample of the fit */
    size_t n;
} Fitting;

/* ---- which bearer ---------------------------------------------------------------------------- */

static void
note_choice(Fitting *fitting, SpatePlace place, const char *wrong)
{
    spate_faults_note(fitting->faults, place, "choose one with --bearer", "%s", wrong);
}

/* The bearer that all rows name, the only one of the scenario, or none; false with a fault where
 * there is a choice. */
static bool
choose_bearer(Fitting *fitting, const char **name)
{
    const GArray *samples = fitting->walk->samples;
    *name = fitting->question->bearer;
    if (*name != NULL)
        return true;
    for (guint i = 0; i < samples->len; i++) {
        const SpateWalkSample *sample = &g_array_index(samples, SpateWalkSample, i);
        if (sample->bearer == NULL)
            continue;
        if (*name != NULL && strcmp(*name, sample->bearer) != 0) {
            note_choice(fitting, sample->place, "the rows are of several bearers");
            return false;
        }
        *name = sample->bearer;
    }
    if (*name != NULL || fitting->scenario == NULL)
        return true;
    if (fitting->scenario->n_bearers == 1) {
        *name = fitting->scenario->bearers[0].name;
        return true;
    }
    note_choice(fitting, fitting->walk->head, "the scenario has several bearers");
    return false;
}

static const SpateScenarioBearer *
bearer_of(const SpateScenario *scenario, const char *name)
{
    uint32_t number = scenario != NULL ? spate_scenario_find_bearer(scenario, name) : UINT32_MAX;
    return number != UINT32_MAX ? &scenario->bearers[number] : NULL;
}

/* ---- from levels to losses ------------------------------------------------------------------- */

static const SpateScenarioRadio *
radio_of(const Fitting *fitting, uint32_t node)
{
    if (node == UINT32_MAX || fitting->bearer == NULL)
        return NULL;
    uint32_t bearer = (uint32_t)(fitting->bearer - fitting->scenario->bearers);
    return spate_scenario_radio(&fitting->scenario->nodes[node], bearer);
}

/* What would be received if nothing were lost between the antennas; false with a fault. */
static bool
find_power(Fitting *fitting, const SpateWalkSample *sample, double *power_dbm)
{
    *power_dbm = fitting->question->power_dbm;
    if (!isnan(*power_dbm))
        return true;
    const SpateScenarioRadio *from = radio_of(fitting, sample->from_node);
    const SpateScenarioRadio *to = radio_of(fitting, sample->to_node);
    if (from == NULL || to == NULL) {
        spate_faults_note(fitting->faults, sample->place,
                          "give --power: power and gains less feeder losses of both ends, as in "
                          "--power \"14 dBm\"; or name nodes of a --scenario with radios on the "
                          "bearer",
                          "the power of this sample is not known");
        return false;
    }
    *power_dbm = from->power_dbm +
                 spate_end_gain_db(&from->antenna, from->feeder_loss_db, sample->from, sample->to) +
                 spate_end_gain_db(&to->antenna, to->feeder_loss_db, sample->to, sample->from) -
                 fitting->scenario->nodes[sample->from_node].site_loss_db -
                 fitting->scenario->nodes[sample->to_node].site_loss_db;
    bool is_turned = from->antenna.beamwidth_deg > 0 || to->antenna.beamwidth_deg > 0;
    if (!is_turned || !sample->is_apart)
        return true;
    spate_faults_note(fitting->faults, sample->place, "give places, or --power",
                      "a level through a sector antenna needs the places of both nodes");
    return false;
}

/* False with a fault. */
static bool
find_sensitivity(Fitting *fitting, const SpateWalkSample *sample, double *sensitivity_dbm)
{
    const SpateScenarioRadio *to = radio_of(fitting, sample->to_node);
    *sensitivity_dbm = fitting->question->sensitivity_dbm;
    if (isnan(*sensitivity_dbm) && fitting->bearer != NULL)
        *sensitivity_dbm = spate_bearer_sensitivity_dbm(&fitting->bearer->radio) +
                           (to != NULL ? to->noise_rise_db : 0.0);
    if (!isnan(*sensitivity_dbm))
        return true;
    if (isnan(sample->received_dbm))
        spate_faults_note(fitting->faults, sample->place,
                          "give --sensitivity, as in --sensitivity \"-129 dBm\", or a --scenario",
                          "nothing was heard here, and how weak a level could be heard is not "
                          "known");
    return !isnan(sample->received_dbm);
}

static void
note_impossible(Fitting *fitting, const SpateWalkSample *sample, double power_dbm, double loss_db)
{
    bool is_heard = !isnan(sample->received_dbm);
    g_autofree char *power = spate_quantity_text(power_dbm, SPATE_DIM_LEVEL);
    g_autofree char *hint = g_strdup_printf(
        "without path loss it would be %s (power and gains less feeder losses)", power);
    spate_faults_note(fitting->faults, sample->level_place, hint,
                      loss_db > MOST_LOSS_DB ? "this level would need an impossible loss"
                      : is_heard             ? "this level is higher than what was sent"
                                             : "the sensitivity is higher than what was sent");
}

static void
add_sample(Fitting *fitting, const SpateWalkSample *sample)
{
    double power_dbm, sensitivity_dbm;
    bool is_heard = !isnan(sample->received_dbm);
    bool has_power = find_power(fitting, sample, &power_dbm);
    if (!find_sensitivity(fitting, sample, &sensitivity_dbm) || !has_power)
        return;
    double level_dbm = is_heard ? sample->received_dbm : sensitivity_dbm;
    double loss_db = power_dbm - level_dbm;
    SpateLossSample loss = {sample->from, sample->to, is_heard, loss_db, 0.0, NAN};
    if (loss_db < 0.0 || loss_db > MOST_LOSS_DB) {
        note_impossible(fitting, sample, power_dbm, loss_db);
        return;
    }
    SpateFit *fit = fitting->fit;
    if (fitting->terrain != NULL && !spate_fit_settle(fitting->terrain, fitting->frequency_hz,
                                                      sample->place, &loss, fitting->faults))
        return;
    if (fit->ground == SPATE_FIT_KNOWN)
        loss.known_db = loss.diffraction_db;
    fit->n_below += is_heard && sample->received_dbm < sensitivity_dbm;
    if (!is_heard)
        fit->sensitivity_dbm = fmin(fit->sensitivity_dbm, sensitivity_dbm);
    fitting->losses[fitting->n++] = loss;
    const SpateFitSample shown = {
        .line = (uint32_t)sample->place.line,
        .distance_m = spate_distance_m(loss.from, loss.to),
        .is_heard = is_heard,
        .received_dbm = level_dbm,
        .diffraction_db = loss.diffraction_db,
    };
    g_array_append_val(fit->samples, shown);
}

/* All that count: those of other bearers do not. */
static void
add_samples(Fitting *fitting, const char *bearer)
{
    const GArray *samples = fitting->walk->samples;
    fitting->losses = g_new(SpateLossSample, MAX(samples->len, 1));
    fitting->fit->sensitivity_dbm = INFINITY;
    for (guint i = 0; i < samples->len; i++) {
        const SpateWalkSample *sample = &g_array_index(samples, SpateWalkSample, i);
        if (bearer != NULL && sample->bearer != NULL && strcmp(sample->bearer, bearer) != 0)
            fitting->fit->n_elsewhere++;
        else
            add_sample(fitting, sample);
    }
    if (isinf(fitting->fit->sensitivity_dbm))
        fitting->fit->sensitivity_dbm = NAN;
}

/* ---- the fit --------------------------------------------------------------------------------- */

static void
note_too_little(Fitting *fitting, const SpateLossFit *seen)
{
    const char *also = fitting->fit->leaves_out_wild ? " beside the wild ones" : "";
    g_autofree char *heard =
        seen->n_heard < SPATE_LOSS_FIT_LEAST
            ? g_strdup_printf("%zu of %zu samples%s were heard", seen->n_heard, seen->n, also)
            : g_strdup_printf("all samples%s that were heard are of one distance, within 1 %%",
                              also);
    spate_faults_note(fitting->faults, fitting->walk->head,
                      "a fit needs three that were heard, at two distances; an interval of use, a "
                      "few dozen",
                      "%s", heard);
}

/* The samples that are not wild; free with g_free(). */
static SpateLossSample *
tame_of(const Fitting *fitting, const bool *is_wild, size_t *n)
{
    SpateLossSample *tame = g_new(SpateLossSample, MAX(fitting->n, 1));
    *n = 0;
    for (size_t i = 0; i < fitting->n; i++)
        if (!is_wild[i])
            tame[(*n)++] = fitting->losses[i];
    return tame;
}

static int
compare_samples(const void *a, const void *b)
{
    const SpateFitSample *first = a, *second = b;
    if (first->distance_m != second->distance_m)
        return first->distance_m < second->distance_m ? -1 : 1;
    return (first->line > second->line) - (first->line < second->line);
}

static void
describe_samples(Fitting *fitting, const bool *is_wild)
{
    SpateFit *fit = fitting->fit;
    for (size_t i = 0; i < fitting->n; i++) {
        SpateFitSample *sample = &g_array_index(fit->samples, SpateFitSample, i);
        sample->is_wild = is_wild[i];
        sample->above_db = spate_loss_fit_law_db(&fit->fit, sample->distance_m) +
                           fitting->losses[i].known_db - fitting->losses[i].loss_db;
    }
    qsort(fit->samples->data, fit->samples->len, sizeof(SpateFitSample), compare_samples);
}

static double
free_space_db(double frequency_hz, double distance_m)
{
    const SpatePathModel model = {.kind = SPATE_PATH_FREE_SPACE};
    return spate_path_loss_db(&model, frequency_hz, (SpatePosition){0},
                              (SpatePosition){.x_m = distance_m}, NULL);
}

/* The least and the most. */
static SpateInterval
diffraction_of(const SpateLossSample *samples, size_t n)
{
    SpateInterval range = {INFINITY, 0.0};
    for (size_t i = 0; i < n; i++) {
        range.low = fmin(range.low, samples[i].diffraction_db);
        range.high = fmax(range.high, samples[i].diffraction_db);
    }
    return range;
}

static void
fit_losses(Fitting *fitting)
{
    SpateFit *fit = fitting->fit;
    size_t n_tame;
    g_autofree bool *is_wild = g_new0(bool, MAX(fitting->n, 1));
    fit->n_wild = spate_loss_fit_mark_wild(fitting->losses, fitting->n, is_wild);
    g_autofree SpateLossSample *tame = tame_of(fitting, is_wild, &n_tame);
    bool leaves_out = fit->leaves_out_wild && fit->n_wild > 0;
    const SpateLossSample *counted = leaves_out ? tame : fitting->losses;
    size_t n_counted = leaves_out ? n_tame : fitting->n;
    if (!spate_loss_fit(counted, n_counted, &fit->fit)) {
        note_too_little(fitting, &fit->fit);
        return;
    }
    fit->has_other =
        fit->n_wild > 0 && spate_loss_fit(leaves_out ? fitting->losses : tame,
                                          leaves_out ? fitting->n : n_tame, &fit->other);
    fit->alike_p = spate_loss_fit_alike_p(counted, n_counted);
    fit->free_space_db = free_space_db(fitting->frequency_hz, fit->fit.at_m);
    fit->has_models = fitting->question->wants_models;
    if (fit->has_models)
        spate_loss_fit_compare(counted, n_counted, fitting->frequency_hz, fit->models);
    if (fit->ground == SPATE_FIT_KNOWN) {
        fit->diffraction_db = diffraction_of(counted, n_counted);
        /* One coefficient less than the law, which was found. */
        bool is_found = spate_loss_fit_terrain(counted, n_counted, fitting->frequency_hz,
                                               &fit->terrain_extra_db, &fit->terrain_sigma_db);
        g_assert(is_found);
    }
    describe_samples(fitting, is_wild);
}

/* ---- the ground and the frequency ------------------------------------------------------------ */

/* False with a fault where one is needed. */
static bool
find_frequency(Fitting *fitting)
{
    double *frequency_hz = &fitting->frequency_hz;
    bool wants_models = fitting->question->wants_models;
    *frequency_hz = fitting->question->frequency_hz;
    if (isnan(*frequency_hz) && fitting->bearer != NULL)
        *frequency_hz = (double)fitting->bearer->radio.modulation.centre_hz;
    if (!isnan(*frequency_hz) || (!wants_models && fitting->terrain == NULL))
        return true;
    spate_faults_note(fitting->faults, fitting->walk->head,
                      "give --frequency, as in --frequency \"869.5 MHz\", or a --scenario", "%s",
                      wants_models ? "models are compared at a frequency, which is not known"
                                   : "what the ground takes depends on the frequency, which is not "
                                     "known");
    return false;
}

/* False with a fault where it was given for nothing. */
static bool
find_terrain(Fitting *fitting)
{
    const SpateFitQuestion *question = fitting->question;
    const SpateTerrain *terrain = question->terrain;
    if (terrain == NULL && fitting->scenario != NULL)
        terrain = fitting->scenario->terrain;
    if (terrain == NULL)
        return true;
    if (spate_fit_has_only_distances(fitting->walk)) {
        fitting->fit->ground = SPATE_FIT_NO_PLACES;
        if (question->terrain == NULL)
            return true;
        spate_faults_note(fitting->faults, fitting->walk->head,
                          "give the places of both ends, or leave out --elevation",
                          "the table has distances: where on the ground these are, it does not "
                          "say");
        return false;
    }
    fitting->terrain = terrain;
    fitting->fit->ground = question->leaves_diffraction ? SPATE_FIT_LEFT : SPATE_FIT_KNOWN;
    return spate_fit_takes_places(terrain, fitting->walk, fitting->faults);
}

SpateFit *
spate_fit_new(const char *name, const SpateWalk *walk, const SpateScenario *scenario,
              const SpateFitQuestion *question, GError **error)
{
    g_autoptr(SpateFit) fit = g_new0(SpateFit, 1);
    g_autoptr(SpateFaults) faults = spate_faults_new_like(walk->faults);
    const char *bearer;
    fit->samples = g_array_new(FALSE, FALSE, sizeof(SpateFitSample));
    fit->name = g_strdup(name);
    fit->leaves_out_wild = question->leaves_out_wild;
    Fitting fitting = {
        .walk = walk, .scenario = scenario, .question = question, .faults = faults, .fit = fit};
    if (choose_bearer(&fitting, &bearer)) {
        fitting.bearer = bearer_of(scenario, bearer);
        fit->bearer = g_strdup(bearer);
        fit->is_of_scenario = fitting.bearer != NULL;
        if (find_terrain(&fitting) && find_frequency(&fitting))
            add_samples(&fitting, bearer);
    }
    if (spate_faults_count(faults) == 0)
        fit_losses(&fitting);
    g_free(fitting.losses);
    return spate_faults_raise(faults, error) ? NULL : g_steal_pointer(&fit);
}

void
spate_fit_free(SpateFit *fit)
{
    if (fit == NULL)
        return;
    g_free(fit->name);
    g_free(fit->bearer);
    g_array_unref(fit->samples);
    g_free(fit);
}
