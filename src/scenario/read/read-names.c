/* read-names.c - what names stand for */
#include "scenario/read/read-names.h"

#include <string.h>

void
spate_names_init(SpateNames *names, const char *what)
{
    names->what = what;
    names->numbers = g_hash_table_new(g_str_hash, g_str_equal);
    names->words = g_ptr_array_new_null_terminated(16, NULL, TRUE);
}

void
spate_names_clear(SpateNames *names)
{
    g_clear_pointer(&names->numbers, g_hash_table_unref);
    g_clear_pointer(&names->words, g_ptr_array_unref);
}

void
spate_names_add(SpateNames *names, const char *name, uint32_t number, bool suggest)
{
    g_hash_table_insert(names->numbers, (gpointer)name, GSIZE_TO_POINTER((gsize)number + 1));
    if (suggest)
        g_ptr_array_add(names->words, (gpointer)name);
}

bool
spate_names_has(const SpateNames *names, const char *name, uint32_t *number)
{
    gsize found = GPOINTER_TO_SIZE(g_hash_table_lookup(names->numbers, name));
    if (found != 0 && number != NULL)
        *number = (uint32_t)(found - 1);
    return found != 0;
}

bool
spate_is_name(SpateReader *reader, const char *name, SpatePlace place)
{
    static const char letters[] =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
    size_t length = strlen(name);
    if (length > 0 && length <= 64 && strspn(name, letters) == length)
        return true;
    spate_faults_note(reader->faults, place, "a name has 1 to 64 letters A to z, digits, - and _",
                      "'%.80s' is not a valid name", name);
    return false;
}

/* "soil-61" is better answered by what soil has than by a near name. */
static char *
hint_numbered(const SpateReader *reader, const char *word)
{
    const char *dash = strrchr(word, '-');
    if (dash == NULL || dash[1] == '\0' || strspn(dash + 1, "0123456789") != strlen(dash + 1))
        return NULL;
    g_autofree char *group = g_strndup(word, (gsize)(dash - word));
    g_autofree char *first = g_strdup_printf("%s-1", group);
    uint32_t number;
    if (reader->scenario->n_groups == 0 || !spate_names_has(&reader->groups, group, &number) ||
        !spate_names_has(&reader->nodes, first, NULL))
        return NULL;
    return g_strdup_printf("'%s' has %s-1 to %s-%" G_GUINT32_FORMAT, group, group, group,
                           reader->scenario->groups[number].n_members +
                               reader->scenario->groups[number].n_sites);
}

/* Whether the name may be one of those that could not be read: their fault is the one to show. */
static bool
may_be_unread(const SpateReader *reader, const SpateNames *names, const char *word)
{
    if (names->is_partial)
        return true;
    bool is_of_nodes = names == &reader->nodes || names == &reader->groups;
    for (guint i = 0; is_of_nodes && i < reader->unread->len; i++) {
        const char *entry = g_ptr_array_index(reader->unread, i);
        size_t length = strlen(entry);
        if (strncmp(word, entry, length) == 0 && (word[length] == '\0' || word[length] == '-'))
            return true;
    }
    return false;
}

#define MOST_LISTED 8

/* "known: gate, ridge, soil and 4 more"; NULL without any.  Nodes of groups are counted only. */
static char *
list_known(const SpateNames *names)
{
    guint n_listed = MIN(names->words->len, MOST_LISTED);
    guint n = g_hash_table_size(names->numbers);
    if (n_listed == 0)
        return NULL;
    GString *text = g_string_new("known: ");
    for (guint i = 0; i < n_listed; i++) {
        if (i > 0)
            g_string_append(text, i + 1 == n ? " and " : ", ");
        g_string_append(text, g_ptr_array_index(names->words, i));
    }
    if (n > n_listed)
        g_string_append_printf(text, " and %u more", n - n_listed);
    return g_string_free(text, FALSE);
}

/* `also` are words that may stand there instead; ends with NULL. */
static char *
hint_for(SpateReader *reader, const SpateNames *names, const char *text, const char *const *also)
{
    if (names == &reader->nodes || names == &reader->groups) {
        char *numbered = hint_numbered(reader, text);
        if (numbered != NULL)
            return numbered;
    }
    char *near = spate_hint_nearest(reader, text, (const char *const *)names->words->pdata, NULL);
    if (near != NULL)
        return near;
    g_autofree char *known = list_known(names);
    return spate_hint_nearest(reader, text, also, known);
}

static bool
find_name(SpateReader *reader, const SpateNames *names, const SpateYaml *scalar,
          const char *const *also, uint32_t *number)
{
    if (spate_names_has(names, scalar->text, number))
        return true;
    if (may_be_unread(reader, names, scalar->text))
        return false;
    g_autofree char *hint = hint_for(reader, names, scalar->text, also);
    spate_faults_note(reader->faults, scalar->place, hint, "there is no %s '%s'", names->what,
                      scalar->text);
    return false;
}

bool
spate_find_name(SpateReader *reader, const SpateNames *names, const SpateYaml *scalar,
                uint32_t *number)
{
    static const char *const NONE[] = {NULL};
    return find_name(reader, names, scalar, NONE, number);
}

bool
spate_find_named(SpateReader *reader, const SpateNames *names, const SpateYamlPair *pair,
                 uint32_t *number)
{
    return pair != NULL && spate_is_kind(reader, pair->value, SPATE_YAML_SCALAR, pair->key) &&
           spate_find_name(reader, names, pair->value, number);
}

int
spate_compare_names(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

bool
spate_each_scalar(SpateReader *reader, const SpateYaml *value, const char *key,
                  SpateScalarFunc each, gpointer user)
{
    switch (value->kind) {
    case SPATE_YAML_SCALAR:
        return each(reader, value, user);
    case SPATE_YAML_MAP:
        return spate_is_kind(reader, value, SPATE_YAML_LIST, key);
    case SPATE_YAML_LIST:
        break;
    }
    bool good = true;
    for (guint i = 0; i < value->items->len; i++) {
        const SpateYaml *item = g_ptr_array_index(value->items, i);
        if (!spate_is_kind(reader, item, SPATE_YAML_SCALAR, key) || !each(reader, item, user))
            good = false;
    }
    return good;
}

typedef struct {
    GArray *into;
    SpateMemberWords words;
    const SpateNames *names;
} Collection;

static bool
add_members(SpateReader *reader, const SpateYaml *scalar, gpointer user)
{
    Collection *collection = user;
    const SpateScenario *scenario = reader->scenario;
    uint32_t number = 0;
    if ((collection->words & SPATE_MEMBERS_OR_NOBODY) != 0 && spate_is_word(scalar, "nobody"))
        return true;
    if ((collection->words & SPATE_MEMBERS_OR_EVERYONE) != 0 && spate_is_word(scalar, "everyone")) {
        if (!spate_reader_spend(reader, scalar->place, scenario->n_nodes))
            return false;
        for (uint32_t i = 0; i < scenario->n_nodes; i++)
            g_array_append_val(collection->into, i);
        return true;
    }
    const char *also[] = {NULL, NULL, NULL};
    size_t n_also = 0;
    if ((collection->words & SPATE_MEMBERS_OR_EVERYONE) != 0)
        also[n_also++] = "everyone";
    if ((collection->words & SPATE_MEMBERS_OR_NOBODY) != 0)
        also[n_also] = "nobody";
    if (!find_name(reader, &reader->groups, scalar, also, &number))
        return false;
    const SpateScenarioGroup *group = &scenario->groups[number];
    if (!spate_reader_spend(reader, scalar->place, group->n_members))
        return false;
    if (group->n_members > 0)
        g_array_append_vals(collection->into, group->members, group->n_members);
    return true;
}

static int
compare_numbers(gconstpointer a, gconstpointer b)
{
    uint32_t first = *(const uint32_t *)a, second = *(const uint32_t *)b;
    return (first > second) - (first < second);
}

void
spate_keep_each_once(GArray *numbers)
{
    bool is_ascending = true;
    for (guint i = 1; i < numbers->len && is_ascending; i++)
        is_ascending =
            g_array_index(numbers, uint32_t, i - 1) <= g_array_index(numbers, uint32_t, i);
    /* Most lists are in order already. */
    if (!is_ascending)
        g_array_sort(numbers, compare_numbers);
    guint kept = 0;
    for (guint i = 0; i < numbers->len; i++) {
        uint32_t number = g_array_index(numbers, uint32_t, i);
        if (kept == 0 || g_array_index(numbers, uint32_t, kept - 1) != number)
            g_array_index(numbers, uint32_t, kept++) = number;
    }
    g_array_set_size(numbers, kept);
}

GArray *
spate_read_members(SpateReader *reader, const SpateYaml *value, const char *key,
                   SpateMemberWords words)
{
    g_autoptr(GArray) members = g_array_new(FALSE, FALSE, sizeof(uint32_t));
    Collection collection = {members, words, NULL};
    if (!spate_each_scalar(reader, value, key, add_members, &collection))
        return NULL;
    spate_keep_each_once(members);
    return g_steal_pointer(&members);
}

bool *
spate_read_member_set(SpateReader *reader, const SpateYaml *value, const char *key,
                      SpateMemberWords words)
{
    uint32_t n_nodes = reader->scenario->n_nodes;
    g_autoptr(GArray) members = spate_read_members(reader, value, key, words);
    if (members == NULL || !spate_reader_spend(reader, value->place, n_nodes))
        return NULL;
    bool *set = g_new0(bool, n_nodes + 1u);
    for (guint i = 0; i < members->len; i++)
        set[g_array_index(members, uint32_t, i)] = true;
    return set;
}

static bool
add_number(SpateReader *reader, const SpateYaml *scalar, gpointer user)
{
    Collection *collection = user;
    uint32_t number;
    if (!spate_find_name(reader, collection->names, scalar, &number))
        return false;
    g_array_append_val(collection->into, number);
    return true;
}

GArray *
spate_read_numbers(SpateReader *reader, const SpateNames *names, const SpateYaml *value,
                   const char *key)
{
    g_autoptr(GArray) numbers = g_array_new(FALSE, FALSE, sizeof(uint32_t));
    Collection collection = {numbers, SPATE_MEMBERS_NAMED, names};
    if (!spate_each_scalar(reader, value, key, add_number, &collection))
        return NULL;
    return g_steal_pointer(&numbers);
}

bool
spate_is_built(SpateReader *reader, const SpateYaml *scalar)
{
    uint32_t number;
    if (!spate_names_has(&reader->nodes, scalar->text, &number) || number < SPATE_FIRST_SITE)
        return true;
    spate_faults_note(
        reader->faults, scalar->place, "'candidate: no' builds it; a group may name it before",
        "'%s' is a candidate that is not built: nothing goes from, to or through it", scalar->text);
    return false;
}

void
spate_note_name_taken(SpateReader *reader, const char *name, SpatePlace place)
{
    spate_faults_note(
        reader->faults, place,
        "names of nodes, of groups and of their nodes (NAME-1, NAME-2 ...) must differ",
        "the name '%s' is taken", name);
}

bool
spate_is_free_name(SpateReader *reader, const char *name, SpatePlace place)
{
    if (strcmp(name, "everyone") != 0 && strcmp(name, "nobody") != 0)
        return true;
    spate_faults_note(reader->faults, place, "choose another name", "'%s' is a reserved word",
                      name);
    return false;
}
