/* yaml-read.c - from libyaml's events to a tree
 *
 * Events, not documents: they carry positions, and let bounds be kept while reading.
 */
#include "scenario/text/yaml-tree.h"

#include <string.h>
#include <yaml.h>

typedef struct {
    yaml_parser_t parser;
    int origin;
    const char *text;
    size_t length;
    SpateFaults *faults;
    GHashTable *anchors; /* name -> SpateYaml, borrowed from the tree */
    size_t n_nodes, n_copied, n_copied_bytes;
    bool failed; /* cannot go on; a fault says why */
} Reader;

static SpatePlace
place_of(const Reader *reader, yaml_mark_t mark)
{
    return (SpatePlace){
        .origin = reader->origin,
        .line = (int)MIN(mark.line, (size_t)G_MAXINT - 1) + 1,
        .column = (int)MIN(mark.column, (size_t)G_MAXINT - 1) + 1,
    };
}

static void
fail(Reader *reader, SpatePlace place, const char *hint, const char *what)
{
    if (!reader->failed)
        spate_faults_note(reader->faults, place, hint, "%s", what);
    reader->failed = true;
}

/* What helps where libyaml's own words do not. */
static const struct {
    const char *problem, *hint;
} PARSER_HINTS[] = {
    {"mapping values are not allowed in this context",
     "quote a text that contains ': '; otherwise check the indentation"},
    {"found character that cannot start any token",
     "indent with spaces, not tabs; quote a text that begins with @, ` or %"},
    {"found a tab character that violates indentation", "indent with spaces, not tabs"},
    {"control characters are not allowed", "a scenario is plain text"},
};

static char *
parser_hint(const yaml_parser_t *parser, const char *problem)
{
    for (size_t i = 0; i < G_N_ELEMENTS(PARSER_HINTS); i++)
        if (strcmp(problem, PARSER_HINTS[i].problem) == 0)
            return g_strdup(PARSER_HINTS[i].hint);
    if (parser->context == NULL || parser->context_mark.line > (size_t)G_MAXINT - 1)
        return NULL;
    return g_strdup_printf("%s that begins in line %zu", parser->context,
                           parser->context_mark.line + 1);
}

/* What ends too early is found after the last line: its end is shown instead. */
static SpatePlace
within_text(const Reader *reader, SpatePlace place)
{
    size_t length = reader->length;
    while (length > 0 && (reader->text[length - 1] == '\n' || reader->text[length - 1] == '\r'))
        length--;
    SpatePlace end = spate_place_of_byte(reader->text, length, reader->origin);
    return place.line > end.line ? end : place;
}

/* libyaml's own words.  Its reader runs ahead of its marks, but counts bytes. */
static void
fail_in_parser(Reader *reader)
{
    const yaml_parser_t *parser = &reader->parser;
    if (parser->error == YAML_MEMORY_ERROR)
        g_error("no memory is left for libyaml");
    const char *problem = parser->problem != NULL ? parser->problem : "it ends unexpectedly";
    SpatePlace place =
        parser->error == YAML_READER_ERROR
            ? spate_place_of_byte(reader->text, MIN(parser->problem_offset, reader->length),
                                  reader->origin)
            : within_text(reader, place_of(reader, parser->problem_mark));
    g_autofree char *what = g_strdup_printf("this is not YAML: %s", problem);
    bool has_begun = parser->context_mark.line < (size_t)place.line;
    g_autofree char *hint = has_begun ? parser_hint(parser, problem) : NULL;
    fail(reader, place, hint, what);
}

/* False once reading cannot go on.  The caller frees the event. */
static bool
next_event(Reader *reader, yaml_event_t *event)
{
    memset(event, 0, sizeof *event);
    if (reader->failed)
        return false;
    if (yaml_parser_parse(&reader->parser, event))
        return true;
    fail_in_parser(reader);
    return false;
}

static bool
count_nodes(Reader *reader, SpatePlace place, size_t n)
{
    reader->n_nodes += n;
    if (reader->n_nodes <= SPATE_YAML_MAX_NODES)
        return true;
    fail(reader, place,
         "at most " G_STRINGIFY(SPATE_YAML_MAX_NODES) " values, those of aliases each time",
         "the file has too many values");
    return false;
}

static bool
check_depth(Reader *reader, SpatePlace place, size_t depth)
{
    if (depth <= SPATE_YAML_MAX_DEPTH)
        return true;
    fail(reader, place, "at most " G_STRINGIFY(SPATE_YAML_MAX_DEPTH) " levels",
         "the nesting is too deep");
    return false;
}

static SpateYaml *read_node(Reader *reader, const yaml_event_t *event, size_t depth);

static void
remember(Reader *reader, const yaml_char_t *anchor, SpateYaml *node)
{
    if (anchor != NULL)
        g_hash_table_insert(reader->anchors, g_strdup((const char *)anchor), node);
}

static SpateYaml *
read_scalar(Reader *reader, const yaml_event_t *event, SpatePlace place)
{
    const char *value = (const char *)event->data.scalar.value;
    if (strlen(value) != event->data.scalar.length)
        spate_faults_note(reader->faults, place, NULL, "this text contains a NUL character");
    SpateYaml *node = spate_yaml_new(SPATE_YAML_SCALAR, place);
    node->text = g_strdup(value);
    node->quoted = event->data.scalar.style != YAML_PLAIN_SCALAR_STYLE;
    remember(reader, event->data.scalar.anchor, node);
    return node;
}

static SpateYaml *
read_list(Reader *reader, const yaml_event_t *start, SpatePlace place, size_t depth)
{
    g_autoptr(SpateYaml) list = spate_yaml_new(SPATE_YAML_LIST, place);
    yaml_event_t event;
    while (next_event(reader, &event)) {
        if (event.type == YAML_SEQUENCE_END_EVENT) {
            yaml_event_delete(&event);
            remember(reader, start->data.sequence_start.anchor, list);
            return g_steal_pointer(&list);
        }
        SpateYaml *item = read_node(reader, &event, depth + 1);
        yaml_event_delete(&event);
        if (item == NULL)
            return NULL;
        g_ptr_array_add(list->items, item);
    }
    return NULL;
}

/* A key that nobody can ask for: what is given under it goes at the end, see drop_hidden(). */
#define HIDDEN_KEY ""

/* The key of a pair: a plain text. */
static char *
read_key(Reader *reader, const yaml_event_t *event, SpatePlace place)
{
    if (event->type != YAML_SCALAR_EVENT) {
        fail(reader, place, NULL, "a key must be a word");
        return NULL;
    }
    const char *key = (const char *)event->data.scalar.value;
    if (strcmp(key, "<<") == 0 && event->data.scalar.style == YAML_PLAIN_SCALAR_STYLE) {
        fail(reader, place, "write the keys out, or use an alias for the whole value",
             "merge keys are not part of a scenario");
        return NULL;
    }
    if (event->data.scalar.anchor != NULL || event->data.scalar.tag != NULL)
        spate_faults_note(reader->faults, place, NULL, "a key cannot have an anchor or a tag");
    if (strlen(key) != event->data.scalar.length) {
        spate_faults_note(reader->faults, place, NULL, "this key contains a NUL character");
        return g_strdup(HIDDEN_KEY);
    }
    if (key[0] == '\0')
        spate_faults_note(reader->faults, place, NULL, "this key is empty");
    return g_strdup(key);
}

/* Takes key and value over.  A value that is given twice is hidden, not dropped, as an alias may
 * name what is inside. */
static void
add_pair(Reader *reader, SpateYaml *map, GHashTable *lines, SpateYamlPair pair)
{
    int first_line = GPOINTER_TO_INT(g_hash_table_lookup(lines, pair.key));
    if (first_line != 0) {
        g_autofree char *hint = g_strdup_printf("first given in line %d", first_line);
        spate_faults_note(reader->faults, pair.key_place, hint, "'%s' is given twice", pair.key);
        g_free(pair.key);
        pair.key = g_strdup(HIDDEN_KEY);
    } else if (strcmp(pair.key, HIDDEN_KEY) != 0) {
        g_hash_table_insert(lines, g_strdup(pair.key), GINT_TO_POINTER(pair.key_place.line));
    }
    g_array_append_val(map->pairs, pair);
}

static SpateYaml *
read_map(Reader *reader, const yaml_event_t *start, SpatePlace place, size_t depth)
{
    g_autoptr(SpateYaml) map = spate_yaml_new(SPATE_YAML_MAP, place);
    g_autoptr(GHashTable) lines = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    yaml_event_t event;
    while (next_event(reader, &event)) {
        if (event.type == YAML_MAPPING_END_EVENT) {
            yaml_event_delete(&event);
            remember(reader, start->data.mapping_start.anchor, map);
            return g_steal_pointer(&map);
        }
        SpatePlace key_place = place_of(reader, event.start_mark);
        g_autofree char *key = read_key(reader, &event, key_place);
        yaml_event_delete(&event);
        if (key == NULL || !next_event(reader, &event))
            return NULL;
        SpateYaml *value = read_node(reader, &event, depth + 1);
        yaml_event_delete(&event);
        if (value == NULL)
            return NULL;
        add_pair(reader, map, lines, (SpateYamlPair){g_steal_pointer(&key), key_place, value});
    }
    return NULL;
}

static SpateYaml *
read_alias(Reader *reader, const yaml_event_t *event, SpatePlace place, size_t depth)
{
    const char *name = (const char *)event->data.alias.anchor;
    const SpateYaml *named = g_hash_table_lookup(reader->anchors, name);
    if (named == NULL) {
        g_autofree char *what = g_strdup_printf(
            "the alias *%s has no anchor &%s before it, or is inside it", name, name);
        fail(reader, place, NULL, what);
        return NULL;
    }
    SpateYamlExtent extent = spate_yaml_extent(named);
    if (!count_nodes(reader, place, extent.n_nodes) ||
        !check_depth(reader, place, depth + extent.depth - 1))
        return NULL;
    reader->n_copied += extent.n_nodes;
    if (reader->n_copied > SPATE_YAML_MAX_COPIED) {
        fail(reader, place, "at most " G_STRINGIFY(SPATE_YAML_MAX_COPIED) " values by aliases",
             "aliases expand to too many values");
        return NULL;
    }
    reader->n_copied_bytes += extent.n_bytes;
    if (reader->n_copied_bytes > SPATE_YAML_MAX_BYTES) {
        fail(reader, place, "at most 64 MiB of text by aliases",
             "the file is too large with aliases expanded");
        return NULL;
    }
    return spate_yaml_copy(named);
}

static SpateYaml *
read_node(Reader *reader, const yaml_event_t *event, size_t depth)
{
    SpatePlace place = place_of(reader, event->start_mark);
    if (!check_depth(reader, place, depth))
        return NULL;
    const yaml_char_t *tag =
        event->type == YAML_SCALAR_EVENT           ? event->data.scalar.tag
        : event->type == YAML_SEQUENCE_START_EVENT ? event->data.sequence_start.tag
        : event->type == YAML_MAPPING_START_EVENT  ? event->data.mapping_start.tag
                                                   : NULL;
    if (tag != NULL)
        spate_faults_note(reader->faults, place, NULL, "tags (!...) are not part of a scenario");
    if (event->type == YAML_ALIAS_EVENT)
        return read_alias(reader, event, place, depth);
    if (!count_nodes(reader, place, 1))
        return NULL;
    if (event->type == YAML_SCALAR_EVENT)
        return read_scalar(reader, event, place);
    if (event->type == YAML_SEQUENCE_START_EVENT)
        return read_list(reader, event, place, depth);
    if (event->type == YAML_MAPPING_START_EVENT)
        return read_map(reader, event, place, depth);
    fail(reader, place, NULL, "a value is missing here");
    return NULL;
}

/* Leaves out what is under hidden keys; the rest moves up, once each. */
static void
drop_hidden(SpateYaml *node)
{
    for (guint i = 0; node->items != NULL && i < node->items->len; i++)
        drop_hidden(g_ptr_array_index(node->items, i));
    guint n_kept = 0;
    for (guint i = 0; node->pairs != NULL && i < node->pairs->len; i++) {
        SpateYamlPair *pair = &g_array_index(node->pairs, SpateYamlPair, i);
        SpateYamlPair taken = *pair;
        *pair = (SpateYamlPair){0};
        if (strcmp(taken.key, HIDDEN_KEY) == 0) {
            g_free(taken.key);
            spate_yaml_free(taken.value);
            continue;
        }
        drop_hidden(taken.value);
        g_array_index(node->pairs, SpateYamlPair, n_kept++) = taken;
    }
    if (node->pairs != NULL)
        g_array_set_size(node->pairs, n_kept);
}

static SpateYaml *
read_document(Reader *reader)
{
    yaml_event_t event;
    g_autoptr(SpateYaml) root = NULL;
    SpatePlace start = {reader->origin, 1, 1};
    for (bool ended = false; !ended && next_event(reader, &event);) {
        switch (event.type) {
        case YAML_STREAM_START_EVENT:
        case YAML_DOCUMENT_END_EVENT:
        case YAML_NO_EVENT:
            break;
        case YAML_DOCUMENT_START_EVENT:
            if (root != NULL)
                fail(reader, place_of(reader, event.start_mark), NULL,
                     "a second document begins here; a scenario has only one");
            break;
        case YAML_STREAM_END_EVENT:
            ended = true;
            break;
        case YAML_ALIAS_EVENT:
        case YAML_SCALAR_EVENT:
        case YAML_SEQUENCE_START_EVENT:
        case YAML_SEQUENCE_END_EVENT:
        case YAML_MAPPING_START_EVENT:
        case YAML_MAPPING_END_EVENT:
            root = read_node(reader, &event, 1);
            break;
        }
        yaml_event_delete(&event);
    }
    if (root == NULL)
        fail(reader, start, "spate new prints a scenario to start from", "the file is empty");
    if (reader->failed)
        return NULL;
    drop_hidden(root);
    return g_steal_pointer(&root);
}

/* What libyaml would not refuse, or not in words that help; false if one was found. */
static bool
check_text(const char *text, size_t length, int origin, SpateFaults *faults)
{
    if (length > SPATE_YAML_MAX_BYTES) {
        spate_faults_note(faults, (SpatePlace){origin, 1, 1}, "at most 64 MiB",
                          "the file is too large");
        return false;
    }
    const char *end = NULL;
    if (g_utf8_validate_len(text, length, &end))
        return true;
    bool is_nul = end < text + length && *end == '\0';
    spate_faults_note(faults, spate_place_of_byte(text, (size_t)(end - text), origin),
                      "save the scenario as UTF-8 text",
                      is_nul ? "there is a NUL byte here" : "this is not UTF-8");
    return false;
}

SpateYaml *
spate_yaml_parse(const char *text, size_t length, int origin, SpateFaults *faults)
{
    if (length >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0) { /* a byte order mark */
        text += 3;
        length -= 3;
    }
    if (!check_text(text, length, origin, faults))
        return NULL;
    Reader reader = {.origin = origin, .text = text, .length = length, .faults = faults};
    if (!yaml_parser_initialize(&reader.parser))
        g_error("libyaml could not be initialised");
    yaml_parser_set_encoding(&reader.parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_string(&reader.parser, (const unsigned char *)text, length);
    reader.anchors = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    SpateYaml *root = read_document(&reader);
    g_hash_table_unref(reader.anchors);
    yaml_parser_delete(&reader.parser);
    return root;
}
