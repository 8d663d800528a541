/* form-read.c - JSON as structs, or only whether it could be read so */
#include "document/form-private.h"

#include "core/statistics.h"
#include "core/time.h"
#include <math.h>
#include <string.h>

#define LARGEST_WHOLE 9007199254740992.0 /* 2^53: held exactly by every reader */
#define LONGEST_S     1e9

typedef struct {
    GString *where; /* "variant 0, measure 3" */
    char *fault;    /* the first */
    const SpateForm *form;
    const void *root;              /* of the document; NULL: it is only checked */
    uint64_t n_of[SPATE_N_THINGS]; /* in the lists around */
} Reader;

/* Returns false. */
static bool complain(Reader *reader, const char *format, ...) G_GNUC_PRINTF(2, 3);

static bool
complain(Reader *reader, const char *format, ...)
{
    va_list arguments;
    if (reader->fault != NULL)
        return false;
    va_start(arguments, format);
    g_autofree char *what = g_strdup_vprintf(format, arguments);
    va_end(arguments);
    reader->fault = g_strconcat(reader->where->str, reader->where->len > 0 ? ": " : "", what, NULL);
    return false;
}

/* NULL where it is only checked. */
static void *
place_of(const SpateMember *member, void *into)
{
    return into != NULL ? (char *)into + member->at : NULL;
}

/* ---- single values --------------------------------------------------------------------------- */

static bool
take_text(Reader *reader, const char *key, JsonNode *node, const char **text)
{
    *text = JSON_NODE_HOLDS_VALUE(node) ? json_node_get_string(node) : NULL;
    if (*text == NULL)
        return complain(reader, "'%s' must be a string", key);
    return g_utf8_validate(*text, -1, NULL) ||
           complain(reader, "'%s' contains an unpaired surrogate", key);
}

static bool
read_text(Reader *reader, const SpateMember *member, JsonNode *node, char **into)
{
    const char *text;
    if (!take_text(reader, member->key, node, &text))
        return false;
    if (into != NULL)
        *into = g_strdup(text);
    return true;
}

/* The number of the word; -1 with a complaint. */
static int
take_word(Reader *reader, const SpateMember *member, JsonNode *node)
{
    const char *text;
    if (!take_text(reader, member->key, node, &text))
        return -1;
    for (int i = 0; i < member->n_words; i++) {
        if (g_strcmp0(spate_member_word(member, i), text) == 0)
            return i;
    }
    complain(reader, "unknown %s '%s'", member->key, text);
    return -1;
}

static bool
read_word(Reader *reader, const SpateMember *member, JsonNode *node, int *into)
{
    if (member->derived) {
        const char *text, *word = into != NULL ? spate_member_word(member, *into) : NULL;
        return take_text(reader, member->key, node, &text) &&
               (word == NULL || strcmp(text, word) == 0 ||
                complain(reader, "'%s' must be '%s', not '%s'", member->key, word, text));
    }
    int number = take_word(reader, member, node);
    if (number >= 0 && into != NULL)
        *into = number;
    return number >= 0;
}

static bool
read_flag(Reader *reader, const SpateMember *member, JsonNode *node, bool *into)
{
    bool flag = false;
    if (member->words != NULL) {
        int number = take_word(reader, member, node);
        flag = number > 0;
        if (number < 0)
            return false;
    } else if (!JSON_NODE_HOLDS_VALUE(node) || json_node_get_value_type(node) != G_TYPE_BOOLEAN) {
        return complain(reader, "'%s' must be true or false", member->key);
    } else {
        flag = json_node_get_boolean(node);
    }
    if (into != NULL)
        *into = flag;
    return true;
}

/* A finite number, or NAN for null. */
static bool
take_number(Reader *reader, const char *key, JsonNode *node, double *number)
{
    *number = NAN;
    if (JSON_NODE_HOLDS_NULL(node))
        return true;
    GType type = JSON_NODE_HOLDS_VALUE(node) ? json_node_get_value_type(node) : G_TYPE_INVALID;
    if (type != G_TYPE_INT64 && type != G_TYPE_DOUBLE)
        return complain(reader, "'%s' must be a number", key);
    *number = json_node_get_double(node);
    return isfinite(*number) || complain(reader, "'%s' is too large", key);
}

/* Whole nanoseconds that are written as this number of seconds: of those about the product the one
 * that gives it back. */
static int64_t
nanoseconds_of(double seconds)
{
    double product = rint(seconds * (double)SPATE_NS_PER_S);
    double step = fmax(1.0, nextafter(product, INFINITY) - product);
    for (int i = 0; i <= 4; i++) {
        /* 0, 1, -1, 2, -2 */
        double ns = product + step * (double)(i % 2 == 1 ? (i + 1) / 2 : -(i / 2));
        if (ns / (double)SPATE_NS_PER_S == seconds)
            return (int64_t)ns;
    }
    return (int64_t)product;
}

/* What each kind of number may be; a member may have narrower bounds.  What numbers a thing is
 * below how many there are. */
static const struct {
    double least, most;
    bool is_whole, is_index;
} NUMBERS[] = {
    [SPATE_CELL_WHOLE] = {0.0, UINT32_MAX, true, true},
    [SPATE_CELL_WHOLES] = {0.0, UINT32_MAX, true, true},
    [SPATE_CELL_INDEX] = {0.0, UINT32_MAX, true, true},
    [SPATE_CELL_LARGE] = {0.0, LARGEST_WHOLE, true, false},
    [SPATE_CELL_SINCE] = {-LARGEST_WHOLE, LARGEST_WHOLE, true, false},
    [SPATE_CELL_NUMBER] = {-G_MAXDOUBLE, G_MAXDOUBLE, false, false},
    [SPATE_CELL_SECONDS] = {0.0, LONGEST_S, false, false},
};

/* Not null. */
static bool
read_number(Reader *reader, const SpateMember *member, JsonNode *node, void *into)
{
    double number, least = NUMBERS[member->cell].least, most = NUMBERS[member->cell].most;
    if (member->most > 0.0) {
        least = member->least;
        most = fmin(member->most, most);
    }
    if (!take_number(reader, member->key, node, &number))
        return false;
    if (!(number >= least && number <= most))
        return complain(reader, "'%s' is out of range", member->key);
    if (NUMBERS[member->cell].is_whole && number != floor(number))
        return complain(reader, "'%s' must be a whole number", member->key);
    bool is_free = member->of == SPATE_THING_NONE || member->of == SPATE_THING_ELSE;
    if (NUMBERS[member->cell].is_index && !is_free && number >= (double)reader->n_of[member->of])
        return complain(reader, "'%s' is an index out of range", member->key);
    if (into == NULL || member->cell == SPATE_CELL_INDEX)
        return true;
    if (NUMBERS[member->cell].is_index)
        *(uint32_t *)into = (uint32_t)number;
    else if (member->cell == SPATE_CELL_LARGE)
        *(uint64_t *)into = (uint64_t)number;
    else if (member->cell == SPATE_CELL_NUMBER)
        *(double *)into = number;
    else
        *(int64_t *)into =
            member->cell == SPATE_CELL_SECONDS ? nanoseconds_of(number) : (int64_t)number;
    return true;
}

static bool
read_interval(Reader *reader, const char *key, JsonNode *node, SpateInterval *into)
{
    SpateInterval interval = {NAN, NAN};
    JsonArray *ends = JSON_NODE_HOLDS_ARRAY(node) ? json_node_get_array(node) : NULL;
    if (!JSON_NODE_HOLDS_NULL(node)) {
        if (ends == NULL || json_array_get_length(ends) != 2)
            return complain(reader, "'%s' must be a pair of numbers", key);
        if (!take_number(reader, key, json_array_get_element(ends, 0), &interval.low) ||
            !take_number(reader, key, json_array_get_element(ends, 1), &interval.high))
            return false;
        if (!(interval.low <= interval.high))
            return complain(reader, "'%s' must be a pair of numbers, lower one first", key);
    }
    if (into != NULL)
        *into = interval;
    return true;
}

/* ---- lists ----------------------------------------------------------------------------------- */

static bool read_members(Reader *reader, const SpateForm *form, JsonObject *object, void *into);
static bool read_cell(Reader *reader, const SpateMember *member, JsonNode *node, void *into);

static bool
read_object(Reader *reader, const SpateForm *form, JsonNode *node, void *into)
{
    if (!JSON_NODE_HOLDS_OBJECT(node))
        return complain(reader, "this must be an object");
    return read_members(reader, form, json_node_get_object(node), into);
}

static bool
read_row(Reader *reader, const SpateForm *form, JsonNode *node, void *into)
{
    if (!JSON_NODE_HOLDS_ARRAY(node))
        return complain(reader, "this must be a list");
    JsonArray *row = json_node_get_array(node);
    if (json_array_get_length(row) != form->n_members)
        return complain(reader, "this row has %u cells instead of %zu", json_array_get_length(row),
                        form->n_members);
    for (size_t i = 0; i < form->n_members; i++)
        if (!read_cell(reader, &form->members[i], json_array_get_element(row, (guint)i), into))
            return false;
    return true;
}

static size_t
size_of_element(const SpateMember *member)
{
    if (member->cell == SPATE_CELL_TEXTS)
        return sizeof(char *);
    if (member->cell == SPATE_CELL_WHOLES)
        return sizeof(uint32_t);
    return member->cell == SPATE_CELL_NUMBERS ? sizeof(double) : member->form->size;
}

static bool
read_element(Reader *reader, const SpateMember *member, JsonNode *node, void *into)
{
    double ignored;
    if (member->cell == SPATE_CELL_TEXTS)
        return read_text(reader, member, node, into);
    if (member->cell == SPATE_CELL_WHOLES)
        return read_number(reader, member, node, into);
    if (member->cell == SPATE_CELL_NUMBERS)
        return take_number(reader, member->key, node, into != NULL ? into : &ignored);
    if (member->holes && JSON_NODE_HOLDS_NULL(node))
        return true;
    return member->cell == SPATE_CELL_LIST ? read_object(reader, member->form, node, into)
                                           : read_row(reader, member->form, node, into);
}

/* A list that has no count of its own has that of the document. */
static bool
set_count(Reader *reader, const SpateMember *member, guint n, void *into)
{
    if (member->n_size == 0 && member->cell != SPATE_CELL_TEXTS && reader->root != NULL) {
        const void *at = (const char *)reader->root + reader->form->n_at;
        uint32_t wanted = *(const uint32_t *)at;
        return n == wanted ||
               complain(reader, "there are %u '%s' instead of %u", n, member->key, wanted);
    }
    if (into != NULL && member->n_size == sizeof(uint32_t))
        *(uint32_t *)(void *)((char *)into + member->n_at) = n;
    else if (into != NULL && member->n_size > 0)
        *(uint64_t *)(void *)((char *)into + member->n_at) = n;
    return true;
}

static bool
read_list(Reader *reader, const SpateMember *member, JsonNode *node, void *into)
{
    gsize here = reader->where->len;
    if (!JSON_NODE_HOLDS_ARRAY(node))
        return complain(reader, "'%s' must be a list", member->key);
    JsonArray *array = json_node_get_array(node);
    guint n = json_array_get_length(array);
    uint64_t wanted = member->of != SPATE_THING_NONE ? reader->n_of[member->of] : n;
    if (member->form != NULL && n != wanted)
        return complain(reader, "there are %u '%s' instead of %" G_GUINT64_FORMAT, n, member->key,
                        (guint64)wanted);
    if (!set_count(reader, member, n, into))
        return false;
    size_t size = size_of_element(member);
    char *items = into != NULL ? g_malloc0_n(n + 1u, size) : NULL;
    if (into != NULL)
        *(void **)place_of(member, into) = items;
    for (guint i = 0; i < n; i++) {
        if (member->item != NULL)
            g_string_append_printf(reader->where, "%s%s %u", here > 0 ? ", " : "", member->item, i);
        if (!read_element(reader, member, json_array_get_element(array, i),
                          items != NULL ? items + i * size : NULL))
            return false;
        g_string_truncate(reader->where, here);
    }
    return true;
}

static bool
read_rows(Reader *reader, const SpateMember *member, JsonNode *node, void *into)
{
    if (!JSON_NODE_HOLDS_OBJECT(node))
        return complain(reader, "'%s' must be an object", member->key);
    JsonObject *object = json_node_get_object(node);
    JsonNode *rows = json_object_get_member(object, "rows");
    JsonNode *columns = json_object_get_member(object, "columns");
    JsonArray *names =
        columns != NULL && JSON_NODE_HOLDS_ARRAY(columns) ? json_node_get_array(columns) : NULL;
    bool is_known = names != NULL && json_array_get_length(names) == member->form->n_members;
    for (size_t i = 0; is_known && i < member->form->n_members; i++) {
        JsonNode *name = json_array_get_element(names, (guint)i);
        is_known = JSON_NODE_HOLDS_VALUE(name) &&
                   g_strcmp0(json_node_get_string(name), member->form->members[i].key) == 0;
    }
    if (!is_known)
        return complain(reader, "'%s' does not have the expected columns", member->key);
    if (rows == NULL)
        return complain(reader, "'rows' is missing");
    return read_list(reader, member, rows, into) &&
           (member->rest == NULL || read_members(reader, member->rest, object, into));
}

static bool
read_some(Reader *reader, const SpateMember *member, JsonNode *node, void *into)
{
    void *at = place_of(member, into);
    gsize here = reader->where->len;
    switch (member->cell) {
    case SPATE_CELL_TEXT:
        return read_text(reader, member, node, at);
    case SPATE_CELL_FIXED: {
        const char *text;
        return take_text(reader, member->key, node, &text) &&
               (strcmp(text, member->fixed) == 0 ||
                complain(reader, "its %s is '%.80s'; this program reads '%s'", member->key, text,
                         member->fixed));
    }
    case SPATE_CELL_WORD:
        return read_word(reader, member, node, at);
    case SPATE_CELL_WHOLE:
    case SPATE_CELL_INDEX:
    case SPATE_CELL_LARGE:
    case SPATE_CELL_SINCE:
    case SPATE_CELL_NUMBER:
    case SPATE_CELL_SECONDS:
        return read_number(reader, member, node, at);
    case SPATE_CELL_FLAG:
        return read_flag(reader, member, node, at);
    case SPATE_CELL_INTERVAL:
        return read_interval(reader, member->key, node, at);
    case SPATE_CELL_TEXTS:
    case SPATE_CELL_WHOLES:
    case SPATE_CELL_NUMBERS:
    case SPATE_CELL_LIST:
    case SPATE_CELL_LINES:
        return read_list(reader, member, node, into);
    case SPATE_CELL_ROWS:
        return read_rows(reader, member, node, into);
    case SPATE_CELL_OBJECT:
        if (member->item != NULL)
            g_string_append_printf(reader->where, "%s%s", here > 0 ? ", " : "", member->item);
        if (!read_object(reader, member->form, node, at))
            return false;
        g_string_truncate(reader->where, here);
        return true;
    case SPATE_CELL_POINTED:
        if (at != NULL)
            at = *(void **)at = g_malloc0(member->form->size);
        return read_object(reader, member->form, node, at);
    case SPATE_CELL_PARTS:
    case SPATE_CELL_JOINED:
    case SPATE_CELL_OTHER:
        break;
    }
    g_assert_not_reached();
}

/* How the struct says that there is none. */
static void
set_none(const SpateMember *member, void *into)
{
    void *at = place_of(member, into);
    if (at == NULL)
        return;
    if (member->cell == SPATE_CELL_NUMBER)
        *(double *)at = NAN;
    else if (member->cell == SPATE_CELL_INTERVAL)
        *(SpateInterval *)at = (SpateInterval){NAN, NAN};
    else if (member->cell == SPATE_CELL_SECONDS)
        *(int64_t *)at = -1;
    else if (member->cell == SPATE_CELL_WHOLE && member->of != SPATE_THING_NONE)
        *(uint32_t *)at = SPATE_NO_THING;
}

static bool
read_cell(Reader *reader, const SpateMember *member, JsonNode *node, void *into)
{
    bool is_none = member->absence == SPATE_OR_NULL && JSON_NODE_HOLDS_NULL(node);
    if (is_none)
        set_none(member, into);
    else if (!read_some(reader, member, node, into))
        return false;
    if (into != NULL && member->given != 0)
        *((bool *)into + member->given - 1) = !is_none;
    return true;
}

/* How many of each thing there are, before something is said to be one of them. */
static void
count_things(Reader *reader, const SpateForm *form, JsonObject *object)
{
    for (size_t i = 0; i < form->n_members; i++) {
        const SpateMember *member = &form->members[i];
        if (member->lists == SPATE_THING_NONE)
            continue;
        JsonNode *node = json_object_get_member(object, member->key);
        if (node != NULL && JSON_NODE_HOLDS_OBJECT(node))
            node = json_object_get_member(json_node_get_object(node), "rows");
        reader->n_of[member->lists] = node != NULL && JSON_NODE_HOLDS_ARRAY(node)
                                          ? json_array_get_length(json_node_get_array(node))
                                          : 0;
    }
}

static bool
read_members(Reader *reader, const SpateForm *form, JsonObject *object, void *into)
{
    count_things(reader, form, object);
    for (size_t i = 0; i < form->n_members; i++) {
        const SpateMember *member = &form->members[i];
        if (member->unread)
            continue;
        if (member->cell == SPATE_CELL_PARTS) {
            if (!read_members(reader, member->form, object, place_of(member, into)))
                return false;
            continue;
        }
        JsonNode *node = json_object_get_member(object, member->key);
        if (node == NULL && member->absence != SPATE_OR_ABSENT)
            return complain(reader, "'%s' is missing", member->key);
        if (node == NULL)
            set_none(member, into);
        else if (!read_cell(reader, member, node, into))
            return false;
    }
    return true;
}

char *
spate_form_read(const SpateForm *form, JsonNode *node, void *into)
{
    g_autoptr(GString) where = g_string_new(NULL);
    Reader reader = {.where = where, .form = form, .root = into};
    read_object(&reader, form, node, into);
    return reader.fault;
}
