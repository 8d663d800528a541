/* read-sweep.c - `size:` and `sweep:`: checked, for those who run them
 *
 * Whether the paths lead somewhere, and whether the values fit there, shows when they are set
 * (scenario-file.c).
 */
#include "scenario/read-fields.h"
#include "scenario/read-sections.h"

#include <math.h>
#include <string.h>

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
        .key = name, .read = spate_read_pair, .at = offsetof(Draft, member), .only = sort,         \
        .required = needed                                                                         \
    }

static const SpateField SWEEP_FIELDS[] = {
    KEY("vary", vary, 0, true),
    KEY("values", values, 1u << BY_VALUES, true),
    KEY("from", from_pair, 1u << BY_STEPS, true),
    KEY("to", to_pair, 1u << BY_STEPS, true),
    KEY("step", step, 1u << BY_STEPS, true),
};
static const SpateTable SWEEP = SPATE_TABLE("a sweep", SWEEP_FIELDS, SORTS);

/* "2.5 km" as 2.5 and "km". */
static bool
read_step(SpateReader *reader, const SpateYamlPair *pair, double *number, const char **unit)
{
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_SCALAR, pair->key))
        return false;
    const char *text = pair->value->text;
    size_t length = strspn(text, "+-.0123456789");
    g_autofree char *head = g_strndup(text, length);
    g_autofree char *wrong =
        spate_quantity_parse(head, SPATE_DIM_NUMBER, (SpateRange){-1e15, 1e15}, number);
    *unit = text + length + strspn(text + length, " ");
    if (wrong == NULL)
        return true;
    spate_faults_note(reader->faults, pair->value->place, "such as 10, 2.5 km or 5 min",
                      "'%s' is no number to count by", text);
    return false;
}

static void
check_steps(SpateReader *reader, const Draft *draft)
{
    double from = 0, to = 0, step = 0;
    const char *from_unit = "", *to_unit = "", *step_unit = "";
    if (draft->from_pair == NULL || draft->to_pair == NULL || draft->step == NULL)
        return;
    bool has_from = read_step(reader, draft->from_pair, &from, &from_unit);
    bool has_to = read_step(reader, draft->to_pair, &to, &to_unit);
    if (!read_step(reader, draft->step, &step, &step_unit) || !has_from || !has_to)
        return;
    if (strcmp(from_unit, to_unit) != 0 || strcmp(from_unit, step_unit) != 0)
        spate_faults_note(reader->faults, draft->step->value->place,
                          "'from', 'to' and 'step' bear one unit", "these units differ");
    else if (!(step > 0) || to < from)
        spate_faults_note(reader->faults, draft->step->value->place,
                          "from the smaller to the larger by a step above 0",
                          "these steps lead nowhere");
    else if ((to - from) / step > MAX_STEPS)
        spate_faults_note(reader->faults, draft->step->value->place, "at most 10000",
                          "these are too many steps");
}

/* A count goes up by one, another number by a fiftieth of its range, unless `step` says. */
static double
usual_step(double from, double to, const char *unit)
{
    bool is_count = unit[0] == '\0' && from == floor(from) && to == floor(to);
    return is_count || to <= from ? 1.0 : (to - from) / 50.0;
}

static const SpateField SIZE_FIELDS[] = {
    {.key = "vary", .read = spate_read_pair, .at = offsetof(Draft, vary), .required = true},
    {.key = "from", .read = spate_read_pair, .at = offsetof(Draft, from_pair), .required = true},
    {.key = "to", .read = spate_read_pair, .at = offsetof(Draft, to_pair), .required = true},
    {.key = "step", .read = spate_read_pair, .at = offsetof(Draft, step)},
};
static const SpateTable SIZE = SPATE_TABLE("size", SIZE_FIELDS, NULL);

static bool
read_range(SpateReader *reader, const Draft *draft, SpateScenarioSize *size)
{
    const char *from_unit = "", *to_unit = "", *step_unit = "";
    if (!read_step(reader, draft->from_pair, &size->from, &from_unit) ||
        !read_step(reader, draft->to_pair, &size->to, &to_unit))
        return false;
    size->step = usual_step(size->from, size->to, to_unit);
    if (draft->step == NULL)
        step_unit = to_unit;
    else if (!read_step(reader, draft->step, &size->step, &step_unit))
        return false;
    size->unit = g_strdup(to_unit);
    const SpateYamlPair *last = draft->step != NULL ? draft->step : draft->to_pair;
    if (strcmp(from_unit, to_unit) != 0 || strcmp(step_unit, to_unit) != 0)
        spate_faults_note(reader->faults, last->value->place, "'from' and 'to' bear one unit",
                          "these units differ");
    else if (size->from > size->to)
        spate_faults_note(reader->faults, draft->to_pair->value->place,
                          "from the smaller to the larger", "'to' is less than 'from'");
    else if (!(size->step > 0) || (size->to - size->from) / size->step > MAX_SIZES)
        spate_faults_note(reader->faults, last->value->place, "at most 100000 steps above 0",
                          "these steps lead nowhere");
    return true;
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
read_sweep(SpateReader *reader, const SpateYaml *item)
{
    Draft draft = {0};
    bool has_values = spate_find_pair(item, "values") != NULL;
    unsigned sort = 1u << (has_values ? BY_VALUES : BY_STEPS);
    if (!spate_read_map(reader, &SWEEP, sort, item->place, item, &draft))
        return;
    check_vary(reader, draft.vary);
    if (!has_values)
        check_steps(reader, &draft);
    else if (spate_is_kind(reader, draft.values->value, SPATE_YAML_LIST, "values") &&
             (draft.values->value->items->len == 0 || draft.values->value->items->len > MAX_STEPS))
        spate_faults_note(reader->faults, draft.values->value->place, "1 to 10000",
                          "there are %u values", draft.values->value->items->len);
}

void
spate_read_sweep(SpateReader *reader, const SpateYamlPair *pair)
{
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_LIST, pair->key))
        return;
    for (guint i = 0; i < pair->value->items->len; i++)
        read_sweep(reader, g_ptr_array_index(pair->value->items, i));
}
