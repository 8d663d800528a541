/* lint-figures.c - figures of radios and propagation that hardly any radio or place has
 *
 * The bounds are wide: what lies beyond them is more often a slip (a sign, a unit, a zero) than a
 * fact.  Common practice, no source, unless one is named.
 */
#include "scenario/lint/lint.h"
#include "scenario/text/quantity.h"

#include <math.h>

/* What a path may lose less than free space: a street or corridor guides waves, an antenna or a
 * meter is off by some dB. */
#define GUIDED_DB 10.0

/* ---- radios and nodes ------------------------------------------------------------------------ */

typedef struct {
    const char *name;
    size_t at; /* a double, in SpateScenarioRadio or SpateScenarioNode */
    bool is_of_node;
    double low, high;
    SpateDimension dimension;
    const char *hint;
} Figure;

static const Figure FIGURES[] = {
    {"power", offsetof(SpateScenarioRadio, power_dbm), false, -30, 70, SPATE_DIM_LEVEL,
     "radios send at about -10 to 30 dBm; 0 dBm is 1 mW"},
    {"gain", offsetof(SpateScenarioRadio, antenna.gain_dbi), false, -20, 40, SPATE_DIM_GAIN,
     "a rod antenna has 2 to 9 dBi, a 1 m dish at 2.4 GHz 25 dBi"},
    {"feeder loss", offsetof(SpateScenarioRadio, feeder_loss_db), false, 0, 30, SPATE_DIM_RATIO_DB,
     "in dB for the whole length: 10 m of thin coaxial cable loses about 5 dB"},
    {"noise rise", offsetof(SpateScenarioRadio, noise_rise_db), false, 0, 50, SPATE_DIM_RATIO_DB,
     "in dB above the receiver's own noise: man-made noise adds up to about 20 dB (Rec. ITU-R "
     "P.372)"},
    {"site loss", offsetof(SpateScenarioNode, site_loss_db), true, 0, 60, SPATE_DIM_RATIO_DB,
     "in dB: walls lose 5 to 20 dB, a cellar 30 dB"},
};

/* Once for each bearer, whoever else has it. */
static void
check_figure(SpateLint *lint, const Figure *figure, uint32_t bearer)
{
    const SpateScenario *scenario = lint->scenario;
    const SpateScenarioNode *first = NULL;
    const SpateScenarioRadio *first_radio = NULL;
    double first_value = 0;
    uint32_t n = 0;
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        const SpateScenarioNode *node = &scenario->nodes[i];
        const SpateScenarioRadio *radio = spate_scenario_radio(node, bearer);
        if (radio == NULL)
            continue;
        const char *of = figure->is_of_node ? (const char *)node : (const char *)radio;
        double value = *(const double *)(const void *)(of + figure->at);
        bool is_usual = value >= figure->low && value <= figure->high;
        if (is_usual || n++ > 0)
            continue;
        first = node;
        first_radio = radio;
        first_value = value;
    }
    if (n == 0)
        return;
    g_autofree char *value = spate_quantity_text(first_value, figure->dimension);
    g_autofree char *others =
        n > 1 ? g_strdup_printf(" (and %u more node%s)", n - 1, n == 2 ? "" : "s") : g_strdup("");
    if (figure->is_of_node)
        spate_faults_warn(lint->faults, first->place, figure->hint, "'%s' has a %s of %s%s",
                          first->name, figure->name, value, others);
    else
        spate_faults_warn(lint->faults, first_radio->place, figure->hint,
                          "'%s' has a %s of %s on '%s'%s", first->name, figure->name, value,
                          scenario->bearers[bearer].name, others);
}

/* ---- bearers --------------------------------------------------------------------------------- */

/* A sensitivity that is given, against the noise of a receiver and what the modulation needs. */
static void
check_sensitivity(SpateLint *lint, const SpateScenarioBearer *bearer)
{
    if (isnan(bearer->radio.sensitivity_dbm))
        return;
    SpateBearer plain = bearer->radio;
    plain.sensitivity_dbm = NAN;
    double usual_dbm = spate_bearer_sensitivity_dbm(&plain);
    double limit_dbm = usual_dbm - plain.noise_figure_db;
    double given_dbm = bearer->radio.sensitivity_dbm;
    g_autofree char *hint = g_strdup_printf(
        "such receivers decode down to about %.0f dBm; without 'sensitivity' it is computed",
        usual_dbm);
    if (given_dbm > usual_dbm + 30)
        spate_faults_warn(lint->faults, bearer->place, hint,
                          "the sensitivity of '%s' is %.4g dBm, %.0f dB above what its frames need",
                          bearer->name, given_dbm, given_dbm - usual_dbm);
    else if (given_dbm < limit_dbm - 3)
        spate_faults_warn(
            lint->faults, bearer->place, hint,
            "the sensitivity of '%s' is %.4g dBm, below the %.1f dBm of a noiseless receiver",
            bearer->name, given_dbm, limit_dbm);
}

static void
check_model(SpateLint *lint, const SpateScenarioBearer *bearer, const SpatePathModel *model)
{
    static const SpatePathModel FREE_SPACE = {.kind = SPATE_PATH_FREE_SPACE};
    if (model->kind == SPATE_PATH_TERRAIN) /* it never loses less, and is asked for real places */
        return;
    /* High enough for two-ray to be free space there; Hata begins at 1 km. */
    SpatePosition here = {.height_m = 30}, there = {.x_m = 100, .height_m = 30};
    double frequency_hz = (double)bearer->radio.modulation.centre_hz;
    if (model->kind == SPATE_PATH_HATA)
        there = (SpatePosition){.x_m = 1000, .height_m = 1.5};
    double free_db = spate_path_loss_db(&FREE_SPACE, frequency_hz, here, there, NULL);
    double loss_db = spate_path_loss_db(model, frequency_hz, here, there, NULL);
    if (isnan(loss_db) || loss_db >= free_db - GUIDED_DB)
        return;
    spate_faults_warn(lint->faults, bearer->propagation_place,
                      "no path loses much less than free space: check exponent, intercept and "
                      "extra-loss",
                      "the propagation of '%s' loses %.1f dB over %.0f m, free space loses %.1f dB",
                      bearer->name, loss_db, spate_distance_m(here, there), free_db);
}

static void
check_shape(SpateLint *lint, const SpateScenarioBearer *bearer, const SpatePathModel *model,
            const SpateShadowing *shadowing)
{
    check_model(lint, bearer, model);
    if (model->kind == SPATE_PATH_LOG_DISTANCE && (model->exponent < 1.5 || model->exponent > 6))
        spate_faults_warn(lint->faults, bearer->propagation_place,
                          "2 is free space, 3 to 4 a town, 6 the worst of buildings (Rappaport, "
                          "2nd ed., table 4.2)",
                          "the exponent of '%s' is %.4g", bearer->name, model->exponent);
    if (shadowing->sigma_db > 20)
        spate_faults_warn(lint->faults, bearer->propagation_place, "4 to 10 dB are usual",
                          "the shadowing of '%s' has a standard deviation of %.4g dB", bearer->name,
                          shadowing->sigma_db);
}

/* ---- streets --------------------------------------------------------------------------------- */

/* What goes beyond is not looked at. */
#define MOST_STREET_PAIRS 1000000

static bool
is_in_street(const SpatePropagation *propagation, uint32_t a, uint32_t b)
{
    const SpateBetween *between = spate_propagation_between(propagation, a, b);
    const SpatePathModel *model = between != NULL ? &between->model : &propagation->model;
    return model->kind == SPATE_PATH_STREET_LEVEL;
}

/* The first pair of nodes that is too far apart. */
static void
check_street_length(SpateLint *lint, uint32_t bearer)
{
    const SpateScenario *scenario = lint->scenario;
    const SpateScenarioBearer *here = &scenario->bearers[bearer];
    uint32_t n_pairs = 0;
    for (uint32_t a = 0; a < scenario->n_nodes; a++)
        for (uint32_t b = 0; b < a && n_pairs < MOST_STREET_PAIRS; b++, n_pairs++) {
            if (spate_scenario_radio(&scenario->nodes[a], bearer) == NULL ||
                spate_scenario_radio(&scenario->nodes[b], bearer) == NULL ||
                !is_in_street(&here->propagation, a, b))
                continue;
            double distance_m = spate_distance_m(spate_world_position(lint->world, a, 0),
                                                 spate_world_position(lint->world, b, 0));
            if (distance_m <= SPATE_STREET_LONGEST_M)
                continue;
            g_autofree char *text = spate_quantity_text(rint(distance_m), SPATE_DIM_LENGTH);
            spate_faults_warn(lint->faults, here->propagation_place,
                              "'street-level' is made for up to 3 km (Rec. ITU-R P.1411)",
                              "'%s' and '%s' are %s apart on '%s'", scenario->nodes[b].name,
                              scenario->nodes[a].name, text, here->name);
            return;
        }
}

static void
check_streets(SpateLint *lint, uint32_t bearer)
{
    const SpateScenarioBearer *here = &lint->scenario->bearers[bearer];
    bool has_streets = here->propagation.model.kind == SPATE_PATH_STREET_LEVEL;
    for (size_t i = 0; i < here->propagation.n_between; i++)
        has_streets |= here->propagation.between[i].model.kind == SPATE_PATH_STREET_LEVEL;
    if (!has_streets)
        return;
    double frequency_hz = (double)here->radio.modulation.centre_hz;
    if (!spate_street_level_is_made_for(frequency_hz, 0.0)) {
        g_autofree char *text = spate_quantity_text(frequency_hz, SPATE_DIM_FREQUENCY);
        spate_faults_warn(lint->faults, here->propagation_place,
                          "'street-level' is made for 300 to 3000 MHz (Rec. ITU-R P.1411)",
                          "'%s' is at %s", here->name, text);
    }
    check_street_length(lint, bearer);
}

/* ---- links ----------------------------------------------------------------------------------- */

/* Below free space at the lowest frequency that it holds for. */
static double
free_space_of(const SpateLint *lint, const SpateGivenLoss *loss)
{
    const SpateScenario *scenario = lint->scenario;
    double frequency_hz = INFINITY;
    for (uint32_t b = 0; b < scenario->n_bearers; b++)
        if (loss->bearer < 0 || (uint32_t)loss->bearer == b)
            frequency_hz =
                fmin(frequency_hz, (double)scenario->bearers[b].radio.modulation.centre_hz);
    return spate_path_loss_db(&(SpatePathModel){.kind = SPATE_PATH_FREE_SPACE}, frequency_hz,
                              spate_world_position(lint->world, loss->from_node, 0),
                              spate_world_position(lint->world, loss->to_node, 0), NULL);
}

/* Each entry once, by its first loss that is too low. */
static void
check_links(SpateLint *lint)
{
    const SpateScenario *scenario = lint->scenario;
    for (uint32_t i = 0; i < scenario->n_links; i++) {
        uint32_t end = i + 1 < scenario->n_links ? scenario->links[i + 1].first_loss
                                                 : scenario->n_given_losses;
        for (uint32_t k = scenario->links[i].first_loss; k < end; k++) {
            const SpateGivenLoss *loss = &scenario->given_losses[k];
            double free_db = free_space_of(lint, loss);
            if (loss->loss_db >= free_db - GUIDED_DB)
                continue;
            spate_faults_warn(lint->faults, scenario->links[i].place,
                              "check the loss, and the places of both",
                              "the loss from '%s' to '%s' is %.4g dB, free space loses %.1f dB "
                              "between them",
                              scenario->nodes[loss->from_node].name,
                              scenario->nodes[loss->to_node].name, loss->loss_db, free_db);
            break;
        }
    }
}

void
spate_lint_figures(SpateLint *lint)
{
    for (uint32_t b = 0; b < lint->scenario->n_bearers; b++) {
        const SpateScenarioBearer *bearer = &lint->scenario->bearers[b];
        const SpatePropagation *propagation = &bearer->propagation;
        check_sensitivity(lint, bearer);
        if (bearer->radio.noise_figure_db > 20)
            spate_faults_warn(lint->faults, bearer->place, "receivers have 3 to 10 dB",
                              "the noise figure of '%s' is %.4g dB", bearer->name,
                              bearer->radio.noise_figure_db);
        check_shape(lint, bearer, &propagation->model, &propagation->shadowing);
        for (size_t i = 0; i < propagation->n_between; i++)
            check_shape(lint, bearer, &propagation->between[i].model,
                        &propagation->between[i].shadowing);
        check_streets(lint, b);
        for (size_t i = 0; i < G_N_ELEMENTS(FIGURES); i++)
            check_figure(lint, &FIGURES[i], b);
    }
    check_links(lint);
}
