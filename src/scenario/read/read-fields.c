/* read-fields.c - maps of a scenario file, read by tables */
#include "scenario/read/read-fields.h"

#include <string.h>

bool
spate_reader_spend(SpateReader *reader, SpatePlace place, uint64_t n)
{
    reader->spent = n > SPATE_MAX_REFERENCES ? SPATE_MAX_REFERENCES + 1 : reader->spent + n;
    if (reader->spent <= SPATE_MAX_REFERENCES)
        return true;
    if (!reader->overspent)
        spate_faults_note(
            reader->faults, place, "fewer or smaller groups",
            "groups are named so often that they add up to more than %" G_GUINT64_FORMAT " nodes",
            SPATE_MAX_REFERENCES);
    reader->overspent = true;
    return false;
}

static const struct {
    const char *words, *hint;
} KINDS[] = {
    [SPATE_YAML_SCALAR] = {"a single value", "write it as one value, without brackets"},
    [SPATE_YAML_LIST] = {"a list", "write it as [a, b], or one '- entry' a line"},
    [SPATE_YAML_MAP] = {"a map", "write it as {key: value}, or one 'key: value' a line"},
};

bool
spate_is_kind(SpateReader *reader, const SpateYaml *value, SpateYamlKind kind, const char *key)
{
    if (value->kind == kind)
        return true;
    bool nothing = value->kind == SPATE_YAML_SCALAR && value->text[0] == '\0' && !value->quoted;
    spate_faults_note(reader->faults, value->place, KINDS[kind].hint, "'%s' must be %s, not %s",
                      key, KINDS[kind].words, nothing ? "nothing" : KINDS[value->kind].words);
    return false;
}

bool
spate_is_word(const SpateYaml *value, const char *word)
{
    return value->kind == SPATE_YAML_SCALAR && strcmp(value->text, word) == 0;
}

const SpateYamlPair *
spate_only_one(SpateReader *reader, const SpateYaml *map, const char *const *keys)
{
    const SpateYamlPair *first = NULL;
    for (guint i = 0; map->kind == SPATE_YAML_MAP && i < map->pairs->len; i++) {
        const SpateYamlPair *pair = &g_array_index(map->pairs, SpateYamlPair, i);
        if (!g_strv_contains(keys, pair->key))
            continue;
        if (first != NULL)
            spate_faults_note(reader->faults, pair->key_place, "keep one of them",
                              "'%s' cannot be combined with '%s'", pair->key, first->key);
        else
            first = pair;
    }
    return first;
}

/* Hints are shown for the first faults only, so that a large bad file is not compared word by
 * word to no end. */
char *
spate_hint_nearest(const SpateReader *reader, const char *word, const char *const *candidates,
                   const char *otherwise)
{
    const char *near = NULL;
    if (spate_faults_noted(reader->faults) < 100 && strlen(word) <= 200)
        near = spate_nearest_word(word, candidates);
    return near != NULL ? g_strdup_printf("did you mean '%s'?", near) : g_strdup(otherwise);
}

/* "a, b or c" of the keys, or words, in the order of their table; `last` is " or " or " and ". */
static char *
join_words(const char *const *words, const char *last)
{
    GString *text = g_string_new(NULL);
    for (size_t i = 0; words[i] != NULL; i++) {
        if (i > 0)
            g_string_append(text, words[i + 1] == NULL ? last : ", ");
        g_string_append(text, words[i]);
    }
    return g_string_free(text, FALSE);
}

static bool
applies(const SpateField *field, unsigned sort)
{
    return field->only == 0 || (field->only & sort) != 0;
}

/* The field of a key: one that this sort of map has before one that it has not. */
static const SpateField *
find_field(const SpateTable *table, unsigned sort, const char *key)
{
    const SpateField *found = NULL;
    for (size_t i = 0; i < table->n_fields; i++) {
        const SpateField *field = &table->fields[i];
        if (strcmp(field->key, key) != 0)
            continue;
        if (found == NULL || applies(field, sort))
            found = field;
    }
    return found;
}

/* Those that can be used, each once; ends with NULL. */
static GPtrArray *
list_keys(const SpateTable *table, unsigned sort)
{
    GPtrArray *keys = g_ptr_array_new();
    for (size_t i = 0; i < table->n_fields; i++) {
        const SpateField *field = &table->fields[i];
        if (field->read != NULL && (sort == 0 || applies(field, sort)) &&
            !g_ptr_array_find_with_equal_func(keys, field->key, g_str_equal, NULL))
            g_ptr_array_add(keys, (gpointer)field->key);
    }
    g_ptr_array_add(keys, NULL);
    return keys;
}

static void
note_unknown_key(SpateReader *reader, const SpateTable *table, unsigned sort,
                 const SpateYamlPair *pair)
{
    g_autoptr(GPtrArray) keys = list_keys(table, sort);
    const char *const *words = (const char *const *)keys->pdata;
    g_autofree char *list = join_words(words, " and ");
    g_autofree char *all = g_strdup_printf("%s has %s", table->what, list);
    g_autofree char *hint = spate_hint_nearest(reader, pair->key, words, all);
    spate_faults_note(reader->faults, pair->key_place, hint, "unknown key '%s'", pair->key);
}

static void
note_misplaced_key(SpateReader *reader, const SpateTable *table, const SpateField *field,
                   SpatePlace place)
{
    g_autoptr(GPtrArray) sorts = g_ptr_array_new();
    for (const SpateWord *word = table->sorts; word->word != NULL; word++)
        if ((field->only & (1u << word->value)) != 0)
            g_ptr_array_add(sorts, (gpointer)word->word);
    g_ptr_array_add(sorts, NULL);
    g_autofree char *list = join_words((const char *const *)sorts->pdata, " or ");
    g_autofree char *hint = g_strdup_printf("it applies to %s", list);
    spate_faults_note(reader->faults, place, hint, "'%s' does not apply here", field->key);
}

static void
note_missing_keys(SpateReader *reader, const SpateTable *table, unsigned sort, SpatePlace owner,
                  const SpateYaml *map)
{
    for (size_t i = 0; i < table->n_fields; i++) {
        const SpateField *field = &table->fields[i];
        if (!field->required || !applies(field, sort) || spate_yaml_pair(map, field->key) != NULL)
            continue;
        g_autofree char *hint = g_strdup_printf("%s needs '%s'", table->what, field->key);
        spate_faults_note(reader->faults, owner, hint, "'%s' is missing", field->key);
    }
}

bool
spate_read_map(SpateReader *reader, const SpateTable *table, unsigned sort, SpatePlace owner,
               const SpateYaml *map, void *into)
{
    if (map->kind != SPATE_YAML_MAP) {
        spate_faults_note(reader->faults, map->place, KINDS[SPATE_YAML_MAP].hint,
                          "%s must be a map, not %s", table->what, KINDS[map->kind].words);
        return false;
    }
    for (guint i = 0; i < map->pairs->len; i++) {
        const SpateYamlPair *pair = &g_array_index(map->pairs, SpateYamlPair, i);
        const SpateField *field = find_field(table, sort, pair->key);
        if (field == NULL && table->of_columns)
            continue;
        if (field == NULL)
            note_unknown_key(reader, table, sort, pair);
        else if (applies(field, sort))
            field->read(reader, field, pair, into);
        else if (sort != 0)
            note_misplaced_key(reader, table, field, pair->key_place);
    }
    note_missing_keys(reader, table, sort, owner, map);
    return true;
}

/* An unknown column is ignored, unless it is likely a misspelling of a known one. */
void
spate_check_columns(SpateReader *reader, const SpateTable *columns, const SpateCsvTable *table)
{
    g_autoptr(GPtrArray) keys = list_keys(columns, 0);
    for (guint i = 0; i < table->columns->pairs->len; i++) {
        const SpateYamlPair *column = &g_array_index(table->columns->pairs, SpateYamlPair, i);
        if (find_field(columns, 0, column->key) != NULL)
            continue;
        if (spate_nearest_word(column->key, (const char *const *)keys->pdata) != NULL)
            note_unknown_key(reader, columns, 0, column);
        else
            spate_faults_warn(reader->faults, column->key_place, NULL, "column '%s' is ignored",
                              column->key);
    }
    note_missing_keys(reader, columns, 0, table->columns->place, table->columns);
}

const SpateCsvTable *
spate_open_table(SpateReader *reader, const SpateTable *columns, const SpateYamlPair *pair)
{
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_SCALAR, pair->key))
        return NULL;
    size_t before = spate_faults_noted(reader->faults);
    g_autoptr(GPtrArray) keys = list_keys(columns, 0);
    const SpateTableKind kind = {columns->what, (const char *const *)keys->pdata};
    const SpateCsvTable *table = spate_tables_find(reader->tables, pair->value->text, &kind,
                                                   pair->value->place, reader->faults);
    if (table == NULL)
        return NULL;
    spate_check_columns(reader, columns, table);
    if (spate_faults_since(reader, before))
        return NULL;
    reader->n_rows += table->rows->items->len;
    if (table->rows->items->len == 0)
        g_array_append_val(reader->scenario->empty_tables, pair->value->place);
    return table;
}

void *
spate_member(const SpateField *field, void *into)
{
    return (char *)into + field->at;
}

static bool
is_words_instead(const SpateField *field, const SpateYamlPair *pair)
{
    return field->word != NULL && spate_is_word(pair->value, field->word);
}

void
spate_read_number(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair,
                  void *into)
{
    double *value = spate_member(field, into);
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_SCALAR, pair->key))
        return;
    if (is_words_instead(field, pair))
        *value = field->word_value;
    else
        spate_quantity_read(pair->value, field->dimension, (SpateRange){field->least, field->most},
                            value, reader->faults);
}

void
spate_read_time(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair, void *into)
{
    int64_t *value = spate_member(field, into);
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_SCALAR, pair->key))
        return;
    if (is_words_instead(field, pair))
        *value = (int64_t)field->word_value;
    else
        spate_quantity_read_ns(pair->value, (int64_t)field->least, (int64_t)field->most, value,
                               reader->faults);
}

void
spate_read_whole(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair,
                 void *into)
{
    uint32_t *value = spate_member(field, into);
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_SCALAR, pair->key))
        return;
    if (is_words_instead(field, pair)) {
        *value = (uint32_t)field->word_value;
        return;
    }
    int64_t whole = 0;
    if (spate_quantity_read_int(pair->value, field->dimension, (int64_t)field->least,
                                (int64_t)field->most, &whole, reader->faults))
        *value = (uint32_t)whole;
}

void
spate_read_flag(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair, void *into)
{
    static const char *const yes[] = {"yes", "true", "on", NULL};
    static const char *const no[] = {"no", "false", "off", NULL};
    bool *value = spate_member(field, into);
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_SCALAR, pair->key))
        return;
    if (g_strv_contains(yes, pair->value->text))
        *value = true;
    else if (g_strv_contains(no, pair->value->text))
        *value = false;
    else
        spate_faults_note(reader->faults, pair->value->place, "yes or no (true, false, on, off)",
                          "'%s' is neither yes nor no", pair->value->text);
}

unsigned
spate_sort_of(const SpateYaml *map, const char *key, const SpateWord *words, int absent)
{
    const SpateYamlPair *pair = spate_yaml_pair(map, key);
    int sort = pair == NULL ? absent : -1;
    for (const SpateWord *word = words; pair != NULL && word->word != NULL; word++)
        if (spate_is_word(pair->value, word->word))
            sort = word->value;
    return sort < 0 ? 0 : 1u << sort;
}

bool
spate_faults_since(const SpateReader *reader, size_t before)
{
    return spate_faults_noted(reader->faults) > before;
}

bool
spate_find_word(SpateReader *reader, const SpateYaml *scalar, const SpateWord *words,
                const char *what, int *value)
{
    g_autoptr(GPtrArray) candidates = g_ptr_array_new();
    for (const SpateWord *word = words; word->word != NULL; word++) {
        g_ptr_array_add(candidates, (gpointer)word->word);
        if (strcmp(word->word, scalar->text) != 0)
            continue;
        *value = word->value;
        return true;
    }
    g_ptr_array_add(candidates, NULL);
    const char *const *all = (const char *const *)candidates->pdata;
    g_autofree char *list = join_words(all, " or ");
    g_autofree char *hint = spate_hint_nearest(reader, scalar->text, all, list);
    spate_faults_note(reader->faults, scalar->place, hint, "'%s' is not a valid value for '%s'",
                      scalar->text, what);
    return false;
}

void
spate_read_word(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair, void *into)
{
    if (spate_is_kind(reader, pair->value, SPATE_YAML_SCALAR, pair->key))
        spate_find_word(reader, pair->value, field->words, pair->key, spate_member(field, into));
}

void
spate_read_either(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair,
                  void *into)
{
    int value;
    if (spate_is_kind(reader, pair->value, SPATE_YAML_SCALAR, pair->key) &&
        spate_find_word(reader, pair->value, field->words, pair->key, &value))
        *(bool *)spate_member(field, into) = value != 0;
}

void
spate_read_text(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair, void *into)
{
    char **value = spate_member(field, into);
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_SCALAR, pair->key))
        return;
    g_free(*value);
    *value = g_strdup(pair->value->text);
}

void
spate_read_inner(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair,
                 void *into)
{
    if (spate_is_kind(reader, pair->value, SPATE_YAML_MAP, pair->key))
        spate_read_map(reader, field->table, 0, pair->key_place, pair->value,
                       spate_member(field, into));
}

void
spate_read_pair(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair, void *into)
{
    const SpateYamlPair **value = spate_member(field, into);
    *value = pair;
}

void
spate_read_elsewhere(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair,
                     void *into)
{
}
