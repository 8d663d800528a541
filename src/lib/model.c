/* model.c - scenario files and models, as programs see them */
#include "private.h"

#include "study/run/run.h"
#include "study/study.h"

G_DEFINE_QUARK(spate - error, spate_error)

const char *
spate_version(void)
{
    return SPATE_VERSION;
}

/* Whatever is not of the file system or the caller's wish lies in the scenario: a path loss model
 * outside its range, say. */
void
spate_error_propagate(GError **error, GError *inside)
{
    SpateError code = SPATE_ERROR_BAD_SCENARIO;
    if (g_error_matches(inside, SPATE_SCENARIO_ERROR, SPATE_SCENARIO_ERROR_UNREADABLE))
        code = SPATE_ERROR_UNREADABLE;
    else if (g_error_matches(inside, SPATE_STUDY_ERROR, SPATE_STUDY_ERROR_INTERRUPTED))
        code = SPATE_ERROR_STOPPED;
    else if (inside->domain == SPATE_RUN_ERROR)
        code = SPATE_ERROR_OVERLOADED;
    g_set_error_literal(error, SPATE_ERROR, (gint)code, inside->message);
    g_error_free(inside);
}

static void
clear_setting(gpointer setting)
{
    g_free((char *)((SpateSetting *)setting)->path);
    g_free((char *)((SpateSetting *)setting)->value);
}

/* SpateSetting; NULL with an error if one is not PATH=VALUE. */
static GArray *
split_settings(const char *const *settings, GError **error)
{
    g_autoptr(GArray) split = g_array_new(FALSE, FALSE, sizeof(SpateSetting));
    g_array_set_clear_func(split, clear_setting);
    for (; settings != NULL && *settings != NULL; settings++) {
        const char *equals = strchr(*settings, '=');
        if (equals == NULL || equals == *settings) {
            g_set_error(error, SPATE_ERROR, SPATE_ERROR_BAD_SCENARIO,
                        "'%s' is not of the form PATH=VALUE", *settings);
            return NULL;
        }
        SpateSetting setting = {
            .path = g_strndup(*settings, (gsize)(equals - *settings)),
            .value = g_strdup(equals + 1),
        };
        g_array_append_val(split, setting);
    }
    return g_steal_pointer(&split);
}

/* `text` NULL: of the file of that name. */
static SpateFile *
read_file(const char *name, const char *text, const char *const *settings, GError **error)
{
    g_autoptr(GArray) split = split_settings(settings, error);
    if (split == NULL)
        return NULL;
    GError *problem = NULL;
    const SpateSetting *first = (const SpateSetting *)(const void *)split->data;
    SpateScenarioFile *inside =
        text != NULL
            ? spate_scenario_file_parse(name, text, strlen(text), first, split->len, &problem)
            : spate_scenario_file_read(name, first, split->len, &problem);
    if (inside == NULL) {
        spate_error_propagate(error, problem);
        return NULL;
    }
    SpateFile *file = g_new0(SpateFile, 1);
    file->inside = inside;
    return file;
}

SpateFile *
spate_file_load(const char *path, const char *const *settings, GError **error)
{
    return read_file(path, NULL, settings, error);
}

SpateFile *
spate_file_parse(const char *name, const char *text, const char *const *settings, GError **error)
{
    return read_file(name, text, settings, error);
}

void
spate_file_free(SpateFile *file)
{
    if (file == NULL)
        return;
    spate_scenario_file_free(file->inside);
    g_free(file);
}

const char *const *
spate_file_variants(const SpateFile *file)
{
    return spate_scenario_file_variants(file->inside);
}

SpateModel *
spate_model_new(const SpateFile *file, const char *variant, GError **error)
{
    GError *problem = NULL;
    g_autoptr(SpateModel) model = g_new0(SpateModel, 1);
    model->scenario = spate_scenario_new(file->inside, variant, &problem);
    if (model->scenario != NULL)
        model->world = spate_world_new(model->scenario, &problem);
    if (model->world == NULL) {
        spate_error_propagate(error, problem);
        return NULL;
    }
    model->rows = spate_measure_rows(spate_world_plan(model->world), &model->n_rows);
    return g_steal_pointer(&model);
}

void
spate_model_free(SpateModel *model)
{
    if (model == NULL)
        return;
    g_free(model->rows);
    spate_world_free(model->world);
    spate_scenario_free(model->scenario);
    g_free(model);
}

int64_t
spate_model_duration_ns(const SpateModel *model)
{
    return model->scenario->duration_ns;
}

int64_t
spate_model_warm_up_ns(const SpateModel *model)
{
    return model->scenario->warm_up_ns;
}

uint32_t
spate_model_replications(const SpateModel *model)
{
    return model->scenario->replications;
}

uint32_t
spate_model_count(const SpateModel *model, SpateNamed what)
{
    const SpatePlan *plan = spate_world_plan(model->world);
    switch (what) {
    case SPATE_NAMED_NODE:
        return plan->n_nodes;
    case SPATE_NAMED_BEARER:
        return plan->n_bearers;
    case SPATE_NAMED_TRAFFIC:
        return plan->n_traffics;
    case SPATE_NAMED_BRIDGE:
        return plan->n_bridges;
    case SPATE_NAMED_CROSSING:
        return plan->n_crossings;
    }
    g_return_val_if_reached(0);
}

const char *
spate_model_name(const SpateModel *model, SpateNamed what, uint32_t number)
{
    g_return_val_if_fail(number < spate_model_count(model, what), NULL);
    const SpatePlan *plan = spate_world_plan(model->world);
    switch (what) {
    case SPATE_NAMED_NODE:
        return plan->nodes[number].name;
    case SPATE_NAMED_BEARER:
        return plan->bearer_names[number];
    case SPATE_NAMED_TRAFFIC:
        return plan->traffics[number].name;
    case SPATE_NAMED_BRIDGE:
        return plan->bridge_names[number];
    case SPATE_NAMED_CROSSING:
        return plan->crossings[number].name;
    }
    g_return_val_if_reached(NULL);
}

uint32_t
spate_model_n_radios(const SpateModel *model)
{
    return spate_world_plan(model->world)->n_radios;
}

uint32_t
spate_model_node_of(const SpateModel *model, uint32_t radio)
{
    g_return_val_if_fail(radio < spate_model_n_radios(model), 0);
    return spate_world_plan(model->world)->radios[radio].node;
}

uint32_t
spate_model_bearer_of(const SpateModel *model, uint32_t radio)
{
    g_return_val_if_fail(radio < spate_model_n_radios(model), 0);
    return spate_world_plan(model->world)->radios[radio].bearer;
}

uint32_t
spate_model_bridge_of(const SpateModel *model, uint32_t crossing)
{
    g_return_val_if_fail(crossing < spate_model_count(model, SPATE_NAMED_CROSSING), 0);
    return spate_world_plan(model->world)->crossings[crossing].bridge;
}

size_t
spate_model_n_rows(const SpateModel *model)
{
    return model->n_rows;
}

static const char *
name_or_null(const SpateModel *model, SpateNamed what, int32_t number)
{
    return number >= 0 ? spate_model_name(model, what, (uint32_t)number) : NULL;
}

SpateRowNames
spate_model_row(const SpateModel *model, size_t row)
{
    SpateRowNames none = {0};
    g_return_val_if_fail(row < model->n_rows, none);
    const SpateMeasureRow *of = &model->rows[row];
    const SpateMeasureInfo *info = spate_measure_info(of->measure);
    return (SpateRowNames){
        .measure = info->name,
        .unit = spate_unit_name(info->unit),
        .traffic = name_or_null(model, SPATE_NAMED_TRAFFIC, of->traffic),
        .bearer = name_or_null(model, SPATE_NAMED_BEARER, of->bearer),
        .node = name_or_null(model, SPATE_NAMED_NODE, of->node),
        .bridge = name_or_null(model, SPATE_NAMED_BRIDGE, of->bridge),
        .to = name_or_null(model, SPATE_NAMED_NODE, of->to),
    };
}

bool
spate_model_find_row(const SpateModel *model, const SpateRowNames *names, size_t *row)
{
    for (size_t i = 0; i < model->n_rows; i++) {
        SpateRowNames candidate = spate_model_row(model, i);
        if (g_strcmp0(candidate.measure, names->measure) == 0 &&
            g_strcmp0(candidate.traffic, names->traffic) == 0 &&
            g_strcmp0(candidate.bearer, names->bearer) == 0 &&
            g_strcmp0(candidate.node, names->node) == 0 &&
            g_strcmp0(candidate.bridge, names->bridge) == 0 &&
            g_strcmp0(candidate.to, names->to) == 0) {
            *row = i;
            return true;
        }
    }
    return false;
}
