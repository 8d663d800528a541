/* fit-json.c - a fit to a walk test, for programs */
#include "report/fit/fit-report.h"

#include "document/form.h"

/* Machines differ behind the digits that a measurement has. */
#define DIGITS .digits = 6

static const SpateMember ESTIMATE[] = {
    {"value", SPATE_CELL_NUMBER, offsetof(SpateLossEstimate, value), DIGITS},
    {"ci95", SPATE_CELL_INTERVAL, offsetof(SpateLossEstimate, ci95), DIGITS},
};
static const SpateForm ESTIMATE_FORM = SPATE_FORM(SpateLossEstimate, ESTIMATE);

static const SpateMember INTERCEPT[] = {
    {"at_m", SPATE_CELL_NUMBER, offsetof(SpateLossFit, at_m), DIGITS},
    {"loss_db", SPATE_CELL_NUMBER, offsetof(SpateLossFit, intercept_db.value), DIGITS},
    {"ci95", SPATE_CELL_INTERVAL, offsetof(SpateLossFit, intercept_db.ci95), DIGITS},
};
static const SpateForm INTERCEPT_FORM = SPATE_FORM(SpateLossFit, INTERCEPT);

static const SpateMember LAW[] = {
    {"exponent", SPATE_CELL_OBJECT, offsetof(SpateLossFit, exponent), .form = &ESTIMATE_FORM},
    {"intercept", SPATE_CELL_OBJECT, 0, .form = &INTERCEPT_FORM},
    {"sigma_db", SPATE_CELL_OBJECT, offsetof(SpateLossFit, sigma_db), .form = &ESTIMATE_FORM},
    {"heard", SPATE_CELL_LARGE, offsetof(SpateLossFit, n_heard)},
    {"n", SPATE_CELL_LARGE, offsetof(SpateLossFit, n)},
    {"heard_m", SPATE_CELL_INTERVAL, offsetof(SpateLossFit, heard_m), DIGITS},
    {"all_m", SPATE_CELL_INTERVAL, offsetof(SpateLossFit, all_m), DIGITS},
};
static const SpateForm LAW_FORM = SPATE_FORM(SpateLossFit, LAW);

static const SpateMember MODEL[] = {
    {"model", SPATE_CELL_TEXT, offsetof(SpateLossModel, name)},
    {"parameters", SPATE_CELL_WHOLE, offsetof(SpateLossModel, n_parameters)},
    {"sigma_db", SPATE_CELL_NUMBER, offsetof(SpateLossModel, sigma_db), SPATE_OR_NULL, DIGITS},
    {"aic", SPATE_CELL_NUMBER, offsetof(SpateLossModel, aic), SPATE_OR_NULL, DIGITS},
    {"left_out", SPATE_CELL_TEXT, offsetof(SpateLossModel, left_out), SPATE_OR_NULL},
};
static const SpateForm MODEL_FORM = SPATE_FORM(SpateLossModel, MODEL);

static const SpateMember SAMPLE[] = {
    {"line", SPATE_CELL_WHOLE, offsetof(SpateFitSample, line)},
    {"distance_m", SPATE_CELL_NUMBER, offsetof(SpateFitSample, distance_m), DIGITS},
    {"heard", SPATE_CELL_FLAG, offsetof(SpateFitSample, is_heard)},
    {"wild", SPATE_CELL_FLAG, offsetof(SpateFitSample, is_wild)},
    {"received_dbm", SPATE_CELL_NUMBER, offsetof(SpateFitSample, received_dbm), DIGITS},
    {"above_db", SPATE_CELL_NUMBER, offsetof(SpateFitSample, above_db), DIGITS},
    {"diffraction_db", SPATE_CELL_NUMBER, offsetof(SpateFitSample, diffraction_db), SPATE_OR_NULL,
     DIGITS},
};
static const SpateForm SAMPLE_FORM = SPATE_FORM(SpateFitSample, SAMPLE);

/* `model: terrain` by the same samples. */
static const SpateMember TERRAIN[] = {
    {"extra_loss_db", SPATE_CELL_OBJECT, offsetof(SpateFit, terrain_extra_db),
     .form = &ESTIMATE_FORM},
    {"sigma_db", SPATE_CELL_OBJECT, offsetof(SpateFit, terrain_sigma_db), .form = &ESTIMATE_FORM},
    {"diffraction_db", SPATE_CELL_INTERVAL, offsetof(SpateFit, diffraction_db), DIGITS},
};
static const SpateForm TERRAIN_FORM = SPATE_FORM(SpateFit, TERRAIN);

static const char *const GROUNDS[SPATE_N_FIT_GROUNDS] = {
    [SPATE_FIT_FLAT] = "flat",
    [SPATE_FIT_KNOWN] = "known",
    [SPATE_FIT_LEFT] = "left-in-the-law",
    [SPATE_FIT_NO_PLACES] = "no-places",
};

typedef struct {
    SpateLossFit fit;
    SpateFitGround ground;
    const SpateFit *terrain; /* NULL: not known */
    const char *bearer;
    const SpateLossFit *without_wild, *with_wild;
    double free_space_db, alike_p;
    const SpateLossModel *models;
    size_t n_models;
    const SpateFitSample *samples;
    size_t n_samples;
} Document;

static const SpateMember DOCUMENT[] = {
    {"fit", SPATE_CELL_OBJECT, offsetof(Document, fit), .form = &LAW_FORM},
    {"ground", SPATE_CELL_WORD, offsetof(Document, ground), SPATE_WORDS(GROUNDS), .line = "\n"},
    {"terrain", SPATE_CELL_POINTED, offsetof(Document, terrain), SPATE_OR_ABSENT,
     .form = &TERRAIN_FORM},
    {"bearer", SPATE_CELL_TEXT, offsetof(Document, bearer), SPATE_OR_NULL, .line = "\n"},
    {"without_wild", SPATE_CELL_POINTED, offsetof(Document, without_wild), SPATE_OR_ABSENT,
     .form = &LAW_FORM, .line = "\n"},
    {"with_wild", SPATE_CELL_POINTED, offsetof(Document, with_wild), SPATE_OR_ABSENT,
     .form = &LAW_FORM, .line = "\n"},
    {"free_space_db", SPATE_CELL_NUMBER, offsetof(Document, free_space_db), SPATE_OR_NULL, DIGITS,
     .line = "\n"},
    {"alike_p", SPATE_CELL_NUMBER, offsetof(Document, alike_p), SPATE_OR_NULL, DIGITS},
    {"models", SPATE_CELL_LIST, SPATE_LIST(Document, models, n_models), .absence = SPATE_OR_ABSENT,
     .form = &MODEL_FORM, .line = "\n", .each = "\n"},
    {"samples", SPATE_CELL_LIST, SPATE_LIST(Document, samples, n_samples), .form = &SAMPLE_FORM,
     .line = "\n", .each = "\n"},
};
static const SpateForm DOCUMENT_FORM = SPATE_FORM(Document, DOCUMENT);

void
spate_fit_append_json(GString *text, const SpateFit *fit)
{
    const SpateLossFit *other = fit->has_other ? &fit->other : NULL;
    const Document document = {
        .fit = fit->fit,
        .ground = fit->ground,
        .terrain = fit->ground == SPATE_FIT_KNOWN ? fit : NULL,
        .bearer = fit->bearer,
        .without_wild = fit->leaves_out_wild ? NULL : other,
        .with_wild = fit->leaves_out_wild ? other : NULL,
        .free_space_db = fit->free_space_db,
        .alike_p = fit->alike_p,
        .models = fit->has_models ? fit->models : NULL,
        .n_models = fit->has_models ? SPATE_N_LOSS_MODELS : 0,
        .samples = spate_elements(fit->samples),
        .n_samples = fit->samples->len,
    };
    spate_form_append(text, &DOCUMENT_FORM, &document);
    g_string_append_c(text, '\n');
}
