/* read-sweep.c - `size:` and `sweep:`: what is to be varied
 *
 * Whether the paths lead somewhere, and whether the values fit there, shows when they are set
 * (scenario/file/scenario-check.c).
 */
#include "scenario/read/read-fields.h"
#include "scenario/read/read-sections.h"
#include "scenario/text/yaml-flow.h"

#include <math.h>
#include <string.h>

bool
spate_path_is_free(const char *path)
{
    static const char *const fixed[] = {"spate", "variants", "size", "sweep", "doubt", NULL};
    const char *start = path[0] == '"' ? path + 1 : path;
    g_autofree char *top = g_strndup(start, strcspn(start, ".\""));
    return top[0] != '\0' && !g_strv_contains(fixed, top);
}

#define MAX_STEPS 10000
#define MAX_SIZES 100000

typedef struct {
    const SpateYamlPair *vary, *values, *from_pair, *to_pair, *step;
} Draft;

static void
check_vary(SpateReader *reader, const SpateYamlPair *vary)
{
    if (vary == NULL || !spate_is_kind(reader, vary->value, SPATE_YAML_SCALAR, vary->key))
        return;
    if (!spate_path_is_free(vary->value->text))
        spate_faults_note(reader->faults, vary->value->place, "as in nodes.soil.count",
                          "'%s' cannot be varied", vary->value->text);
}

/* Either values, or from, to and step. */
enum { BY_VALUES, BY_STEPS };

static const SpateWord SORTS[] = {
    {"'values'", BY_VALUES}, {"'from', 'to' and 'step'", BY_STEPS}, {NULL}};

#define KEY(name, member, sort, needed)                                                            \
    {                                                                                              \
        SPATE_PAIR(name, Draft, member), .only = sort, .required = needed                          \
    }

static const SpateField SWEEP_FIELDS[] = {
    KEY("vary", vary, 0, true),
    KEY("values", values, 1u << BY_VALUES, true),
    KEY("from", from_pair, 1u << BY_STEPS, true),
    KEY("to", to_pair, 1u << BY_STEPS, true),
    KEY("step", step, 1u << BY_STEPS, true),
};
static const SpateTable SWEEP = SPATE_TABLE("a sweep", SWEEP_FIELDS, SORTS);

bool
spate_read_counted(SpateReader *reader, const SpateYaml *value, const char *key,
                   SpateCounted *counted)
{
    if (!spate_is_kind(reader, value, SPATE_YAML_SCALAR, key))
        return false;
    const char *text = value->text;
    size_t length = strspn(text, "+-.0123456789");
    g_autofree char *head = g_strndup(text, length);
    g_autofree char *wrong =
        spate_quantity_parse(head, SPATE_DIM_NUMBER, (SpateRange){-1e15, 1e15}, &counted->number);
    const char *point = strchr(head, '.');
    counted->decimals = point != NULL ? (int)strlen(point + 1) : 0;
    counted->unit = text + length + strspn(text + length, " ");
    if (wrong == NULL)
        return true;
    spate_faults_note(reader->faults, value->place, "such as 10, 2.5 km or 5 min",
                      "'%s' must begin with a number", text);
    return false;
}

static bool
read_step(SpateReader *reader, const SpateYamlPair *pair, SpateCounted *step)
{
    return spate_read_counted(reader, pair->value, pair->key, step);
}

/* False with a fault. */
static bool
read_steps(SpateReader *reader, const Draft *draft, SpateSweepAxis *axis)
{
    SpateCounted from, to, step;
    if (draft->from_pair == NULL || draft->to_pair == NULL || draft->step == NULL)
        return false;
    bool has_from = read_step(reader, draft->from_pair, &from);
    bool has_to = read_step(reader, draft->to_pair, &to);
    if (!read_step(reader, draft->step, &step) || !has_from || !has_to)
        return false;
    const char *hint = NULL, *wrong = NULL;
    if (strcmp(from.unit, to.unit) != 0 || strcmp(from.unit, step.unit) != 0) {
        hint = "give 'from', 'to' and 'step' the same unit";
        wrong = "the units differ";
    } else if (!(step.number > 0) || to.number < from.number) {
        hint = "from the smaller to the larger by a step above 0";
        wrong = "these steps never reach 'to'";
    } else if ((to.number - from.number) / step.number > MAX_STEPS) {
        hint = "at most 10000";
        wrong = "there are too many steps";
    }
    if (wrong != NULL) {
        spate_faults_note(reader->faults, draft->step->value->place, hint, "%s", wrong);
        return false;
    }
    /* The last one is `to`, or the last before it. */
    axis->n_values =
        (uint32_t)floor((to.number - from.number) / step.number * (1.0 + 1e-12) + 1e-9) + 1;
    axis->from = from.number;
    axis->step = step.number;
    axis->decimals = MAX(from.decimals, step.decimals);
    axis->unit = g_strdup(from.unit);
    return true;
}

/* False with a fault. */
static bool
read_values(SpateReader *reader, const SpateYaml *values, SpateSweepAxis *axis)
{
    if (!spate_is_kind(reader, values, SPATE_YAML_LIST, "values"))
        return false;
    if (values->items->len == 0 || values->items->len > MAX_STEPS) {
        spate_faults_note(reader->faults, values->place, "1 to 10000", "there are %u values",
                          values->items->len);
        return false;
    }
    axis->n_values = values->items->len;
    axis->values = g_new0(char *, axis->n_values);
    for (uint32_t i = 0; i < axis->n_values; i++)
        axis->values[i] = spate_yaml_text(g_ptr_array_index(values->items, i));
    return true;
}

static bool
is_varied_before(const GArray *axes, const char *path)
{
    for (guint i = 0; i < axes->len; i++)
        if (strcmp(g_array_index(axes, SpateSweepAxis, i).path, path) == 0)
            return true;
    return false;
}

/* 1.0 may be a share; 1 is a number of things. */
static bool
is_count(const SpateCounted *counted)
{
    return counted->unit[0] == '\0' && counted->decimals == 0;
}

static const SpateField SIZE_FIELDS[] = {
    {SPATE_PAIR("vary", Draft, vary), .required = true},
    {SPATE_PAIR("from", Draft, from_pair), .required = true},
    {SPATE_PAIR("to", Draft, to_pair), .required = true},
    {SPATE_PAIR("step", Draft, step)},
};
static const SpateTable SIZE = SPATE_TABLE("size", SIZE_FIELDS, NULL);

static void
read_range(SpateReader *reader, const Draft *draft, SpateScenarioSize *size)
{
    SpateCounted from, to, step;
    if (!read_step(reader, draft->from_pair, &from) || !read_step(reader, draft->to_pair, &to))
        return;
    bool are_counts = is_count(&from) && is_count(&to);
    /* A count goes up by one, another number by a fiftieth of its range, unless `step` says. */
    bool is_by_one = are_counts || to.number <= from.number;
    step = (SpateCounted){.number = is_by_one ? 1.0 : (to.number - from.number) / 50.0,
                          .unit = to.unit};
    if (draft->step != NULL && !read_step(reader, draft->step, &step))
        return;
    size->from = from.number;
    size->to = to.number;
    size->step = step.number;
    size->unit = g_strdup(to.unit);
    size->is_count = are_counts && is_count(&step);
    const SpateYamlPair *last = draft->step != NULL ? draft->step : draft->to_pair;
    if (strcmp(from.unit, to.unit) != 0 || strcmp(step.unit, to.unit) != 0)
        spate_faults_note(reader->faults, last->value->place, "give 'from' and 'to' the same unit",
                          "the units differ");
    else if (size->from > size->to)
        spate_faults_note(reader->faults, draft->to_pair->value->place,
                          "from the smaller to the larger", "'to' is less than 'from'");
    else if (!(size->step > 0) || (size->to - size->from) / size->step > MAX_SIZES)
        spate_faults_note(reader->faults, last->value->place, "at most 100000 steps above 0",
                          "these steps never reach 'to'");
}

void
spate_read_size(SpateReader *reader, const SpateYamlPair *pair)
{
    size_t before = spate_faults_noted(reader->faults);
    SpateScenarioSize *size = &reader->scenario->size;
    Draft draft = {0};
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_MAP, pair->key))
        return;
    spate_read_map(reader, &SIZE, 0, pair->key_place, pair->value, &draft);
    check_vary(reader, draft.vary);
    if (draft.from_pair != NULL && draft.to_pair != NULL)
        read_range(reader, &draft, size);
    size->place = pair->key_place;
    size->is_given = !spate_faults_since(reader, before);
    if (size->is_given)
        size->vary = g_strdup(draft.vary->value->text);
}

static void
read_sweep(SpateReader *reader, const SpateYaml *item, GArray *axes)
{
    Draft draft = {0};
    bool has_values = spate_yaml_pair(item, "values") != NULL;
    unsigned sort = 1u << (has_values ? BY_VALUES : BY_STEPS);
    if (!spate_read_map(reader, &SWEEP, sort, item->place, item, &draft))
        return;
    check_vary(reader, draft.vary);
    if (draft.vary == NULL || draft.vary->value->kind != SPATE_YAML_SCALAR)
        return;
    SpateSweepAxis axis = {.path = g_strdup(draft.vary->value->text)};
    bool is_read = has_values ? read_values(reader, draft.values->value, &axis)
                              : read_steps(reader, &draft, &axis);
    if (is_read && is_varied_before(axes, axis.path)) {
        spate_faults_note(reader->faults, draft.vary->value->place, "one entry with all its values",
                          "'%s' is varied twice", axis.path);
        is_read = false;
    }
    if (is_read)
        g_array_append_val(axes, axis);
    else
        spate_sweep_axis_clear(&axis);
}

void
spate_read_sweep(SpateReader *reader, const SpateYamlPair *pair)
{
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_LIST, pair->key))
        return;
    const GPtrArray *items = pair->value->items;
    if (items->len > SPATE_SWEEP_MAX_AXES) {
        spate_faults_note(reader->faults, pair->value->place,
                          "at most " G_STRINGIFY(SPATE_SWEEP_MAX_AXES),
                          "there are too many things to vary");
        return;
    }
    g_autoptr(GArray) axes = g_array_new(FALSE, FALSE, sizeof(SpateSweepAxis));
    for (guint i = 0; i < items->len; i++)
        read_sweep(reader, g_ptr_array_index(items, i), axes);
    gsize n_axes = 0;
    reader->scenario->sweep = g_array_steal(axes, &n_axes);
    reader->scenario->n_sweep = (uint32_t)n_axes;
}
