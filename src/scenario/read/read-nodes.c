/* read-nodes.c - `nodes:` and what their names stand for */
#include "scenario/read/read-fields.h"
#include "scenario/read/read-names.h"
#include "scenario/read/read-place.h"
#include "scenario/read/read-sections.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MAX_NODES 100000u
#define NO_COUNT  UINT32_MAX
/* 3GPP TR 36.942, 4.2.1: the floor of its sector antenna. */
#define DEFAULT_FRONT_TO_BACK_DB 20.0

static const SpateField ANTENNA_FIELDS[] = {
    {SPATE_NUMBER("gain", SpateAntenna, gain_dbi, GAIN, -SPATE_MOST_GAIN_DBI, SPATE_MOST_GAIN_DBI)},
    {SPATE_NUMBER("azimuth", SpateAntenna, azimuth_deg, ANGLE, -360, 360)},
    {SPATE_NUMBER("beamwidth", SpateAntenna, beamwidth_deg, ANGLE, 0.1, 360)},
    {SPATE_NUMBER("front-to-back", SpateAntenna, front_to_back_db, RATIO_DB, 0, 100)},
};
static const SpateTable ANTENNA = SPATE_TABLE("an antenna", ANTENNA_FIELDS, NULL);

/* What makes a sector is given together. */
static void
read_antenna(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair, void *into)
{
    SpateAntenna *antenna = spate_member(field, into);
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_MAP, pair->key))
        return;
    spate_read_map(reader, &ANTENNA, 0, pair->key_place, pair->value, antenna);
    const SpateYamlPair *azimuth = spate_yaml_pair(pair->value, "azimuth");
    const SpateYamlPair *width = spate_yaml_pair(pair->value, "beamwidth");
    const SpateYamlPair *back = spate_yaml_pair(pair->value, "front-to-back");
    const char *hint =
        "a sector needs azimuth and beamwidth; leave out both for an omnidirectional antenna";
    if (width != NULL && azimuth == NULL)
        spate_faults_note(reader->faults, width->key_place, hint, "'azimuth' is missing");
    if (width == NULL && (azimuth != NULL || back != NULL))
        spate_faults_note(reader->faults, azimuth != NULL ? azimuth->key_place : back->key_place,
                          hint, "'beamwidth' is missing");
}

static const SpateField SUPPLY_FIELDS[] = {
    {SPATE_NUMBER("sending", SpateScenarioRadio, supply_sending_w, POWER, 0, 10000),
     .required = true},
    {SPATE_NUMBER("receiving", SpateScenarioRadio, supply_receiving_w, POWER, 0, 10000),
     .required = true},
    {SPATE_NUMBER("asleep", SpateScenarioRadio, supply_asleep_w, POWER, 0, 10000)},
};
static const SpateTable SUPPLY = SPATE_TABLE("a supply", SUPPLY_FIELDS, NULL);

static const SpateField RADIO_FIELDS[] = {
    {SPATE_NUMBER("power", SpateScenarioRadio, power_dbm, LEVEL, SPATE_LEAST_POWER_DBM,
                  SPATE_MOST_POWER_DBM),
     .required = true},
    {SPATE_KEY("antenna", read_antenna, SpateScenarioRadio, antenna)},
    {SPATE_NUMBER("feeder-loss", SpateScenarioRadio, feeder_loss_db, RATIO_DB, 0,
                  SPATE_MOST_FEEDER_LOSS_DB)},
    {SPATE_NUMBER("noise-rise", SpateScenarioRadio, noise_rise_db, RATIO_DB, 0, 100)},
    {.key = "supply", .read = spate_read_inner, .at = 0, .table = &SUPPLY},
    {SPATE_KEY("listens", spate_read_listening, SpateScenarioRadio, listening)},
};
static const SpateTable RADIO = SPATE_TABLE("a radio", RADIO_FIELDS, NULL);

static const SpateWord ORDERS[] = {{"arrival", 0}, {"class", 1}, {NULL}};

static const SpateField QUEUE_FIELDS[] = {
    {SPATE_WHOLE("frames", SpateQueueSettings, frames, COUNT, 1, 100000)},
    {SPATE_EITHER("order", SpateQueueSettings, by_class, ORDERS)},
    {SPATE_TIME("expire", SpateQueueSettings, expire_ns, 1e6, 1e18), .word = "never",
     .word_value = 0},
};
static const SpateTable QUEUE = SPATE_TABLE("a queue", QUEUE_FIELDS, NULL);

/* An entry of `nodes:` on the way. */
typedef struct {
    SpateNodesWanted wanted; /* count: NO_COUNT if not given */
    const SpateYamlPair *at, *place, *moves_pair, *radios, *relay, *flooding_pair, *candidate;
    bool are_all_sites;
    GHashTable *sites; /* names of those of its nodes that are (borrowed) -> the scalar; NULL: all
                          or none */
    SpateFlooding flooding;
    SpateQueueSettings queue;
    double isolation_db, site_loss_db;
    GArray *radio_list; /* SpateScenarioRadio, by bearer */
    bool has_unread_radios;
    SpatePlacement *placement;
    SpateMoves moves;
} Entry;

static const SpateField NODE_FIELDS[] = {
    {SPATE_WHOLE("count", Entry, wanted.count, COUNT, 0, MAX_NODES)},
    {SPATE_PAIR("at", Entry, at)},
    {SPATE_PAIR("place", Entry, place)},
    {SPATE_PAIR("moves", Entry, moves_pair)},
    {SPATE_PAIR("candidate", Entry, candidate)},
    {SPATE_PAIR("radios", Entry, radios)},
    {SPATE_PAIR("relay", Entry, relay)},
    {SPATE_PAIR("flooding", Entry, flooding_pair)},
    {SPATE_INNER("queue", Entry, queue, &QUEUE)},
    {SPATE_NUMBER("isolation", Entry, isolation_db, RATIO_DB, 0, 200)},
    {SPATE_NUMBER("site-loss", Entry, site_loss_db, RATIO_DB, 0, SPATE_MOST_SITE_LOSS_DB)},
};
static const SpateTable NODE = SPATE_TABLE("a node", NODE_FIELDS, NULL);

static int
compare_radios(gconstpointer a, gconstpointer b)
{
    const SpateScenarioRadio *first = a, *second = b;
    return (first->bearer > second->bearer) - (first->bearer < second->bearer);
}

static void
read_radios(SpateReader *reader, const SpateYamlPair *pair, Entry *entry)
{
    entry->has_unread_radios = !spate_is_kind(reader, pair->value, SPATE_YAML_MAP, pair->key);
    if (entry->has_unread_radios)
        return;
    GArray *pairs = pair->value->pairs;
    for (guint i = 0; i < pairs->len; i++) {
        const SpateYamlPair *radio_pair = &g_array_index(pairs, SpateYamlPair, i);
        SpateScenarioRadio radio = {
            .place = radio_pair->key_place, .supply_sending_w = NAN, .supply_receiving_w = NAN};
        radio.antenna.front_to_back_db = DEFAULT_FRONT_TO_BACK_DB;
        SpateYaml key = {
            .kind = SPATE_YAML_SCALAR, .place = radio_pair->key_place, .text = radio_pair->key};
        bool is_known = spate_find_name(reader, &reader->bearers, &key, &radio.bearer);
        spate_read_map(reader, &RADIO, 0, radio_pair->key_place, radio_pair->value, &radio);
        if (is_known)
            g_array_append_val(entry->radio_list, radio);
        else
            entry->has_unread_radios = true;
    }
    g_array_sort(entry->radio_list, compare_radios);
}

/* Those of a node. */
typedef struct {
    SpateScenarioRadio *radios;
    uint32_t n;
    bool are_partial; /* not all could be read: who names another is not to blame */
} Radios;

static bool
mark_relay(SpateReader *reader, const SpateYaml *scalar, gpointer user)
{
    const Radios *radios = user;
    uint32_t bearer;
    if (!spate_find_name(reader, &reader->bearers, scalar, &bearer))
        return false;
    for (uint32_t i = 0; i < radios->n; i++) {
        if (radios->radios[i].bearer != bearer)
            continue;
        radios->radios[i].relays = true;
        return true;
    }
    if (radios->are_partial)
        return false;
    spate_faults_note(reader->faults, scalar->place,
                      "a node relays only on bearers of its 'radios'",
                      "this node has no radio on '%s'", scalar->text);
    return false;
}

static void
read_whereabouts(SpateReader *reader, const SpateYamlPair *pair, Entry *entry)
{
    static const char *const keys[] = {"at", "place", NULL};
    spate_only_one(reader, pair->value, keys);
    if (entry->at == NULL && entry->place == NULL)
        spate_faults_note(reader->faults, pair->key_place, "at: {x: 0 m, y: 0 m, height: 2 m}",
                          "'at' is missing");
    bool has_count = spate_yaml_pair(pair->value, "count") != NULL;
    bool has_points =
        entry->place != NULL && (spate_yaml_pair(entry->place->value, "points") != NULL ||
                                 spate_yaml_pair(entry->place->value, "table") != NULL);
    if (entry->place != NULL && !has_count && !has_points)
        spate_faults_note(reader->faults, pair->key_place, "such as count: 10",
                          "'place' needs 'count'");
    if (entry->place != NULL)
        entry->placement = spate_read_placement(reader, entry->place, pair->key, &entry->wanted);
    else if (entry->at != NULL)
        entry->placement =
            spate_read_standpoint(reader, entry->at, pair->key,
                                  entry->wanted.count == NO_COUNT ? 1 : entry->wanted.count);
}

static const SpateField CANDIDATE = {SPATE_FLAG("candidate", Entry, are_all_sites)};

static bool
add_candidate(SpateReader *reader, const SpateYaml *scalar, gpointer user)
{
    Entry *entry = user;
    if (g_hash_table_insert(entry->sites, scalar->text, (gpointer)scalar))
        return true;
    spate_faults_note(reader->faults, scalar->place, "each once", "'%s' is named twice",
                      scalar->text);
    return false;
}

/* yes, no, or those of its nodes that are. */
static void
read_candidate(SpateReader *reader, const SpateYamlPair *pair, Entry *entry)
{
    if (pair->value->kind != SPATE_YAML_LIST) {
        spate_read_flag(reader, &CANDIDATE, pair, entry);
        return;
    }
    entry->sites = g_hash_table_new(g_str_hash, g_str_equal);
    spate_each_scalar(reader, pair->value, pair->key, add_candidate, entry);
}

/* Whatever can be read of an entry. */
static void
read_entry(SpateReader *reader, const SpateYamlPair *pair, Entry *entry)
{
    *entry = (Entry){.wanted.count = NO_COUNT,
                     .flooding = reader->flooding,
                     .queue = {.frames = 32},
                     .isolation_db = 40,
                     .radio_list = g_array_new(FALSE, FALSE, sizeof(SpateScenarioRadio))};
    if (spate_is_name(reader, pair->key, pair->key_place))
        spate_is_free_name(reader, pair->key, pair->key_place);
    if (!spate_read_map(reader, &NODE, 0, pair->key_place, pair->value, entry))
        return;
    read_whereabouts(reader, pair, entry);
    if (entry->moves_pair != NULL)
        spate_read_moves(reader, entry->moves_pair, &entry->moves);
    if (entry->radios != NULL)
        read_radios(reader, entry->radios, entry);
    Radios radios = {(SpateScenarioRadio *)(void *)entry->radio_list->data, entry->radio_list->len,
                     entry->has_unread_radios};
    if (entry->relay != NULL && !spate_is_word(entry->relay->value, "none"))
        spate_each_scalar(reader, entry->relay->value, "relay", mark_relay, &radios);
    if (entry->candidate != NULL)
        read_candidate(reader, entry->candidate, entry);
    if (entry->flooding_pair != NULL)
        spate_read_flooding(reader, entry->flooding_pair, &entry->flooding);
}

/* Of all entries, on the way. */
typedef struct {
    GPtrArray *nodes; /* SpateScenarioNode, owned but for what they hold */
    GPtrArray *sites; /* likewise: SpateScenarioSite */
} Mesh;

static SpateScenarioNode *
new_node(SpateReader *reader, const Entry *entry, char *name, SpatePlace place)
{
    SpateScenarioNode *node = g_new0(SpateScenarioNode, 1);
    node->name = name;
    node->place = place;
    node->placement = entry->placement;
    node->n_radios = entry->radio_list->len;
    node->radios = g_memdup2(entry->radio_list->data, node->n_radios * sizeof *node->radios);
    node->has_unread_radios = entry->has_unread_radios;
    node->flooding = entry->flooding;
    node->queue = entry->queue;
    node->isolation_db = entry->isolation_db;
    node->site_loss_db = entry->site_loss_db;
    node->moves = entry->moves;
    if (spate_names_has(&reader->nodes, name, NULL))
        spate_note_name_taken(reader, name, place);
    else
        spate_names_add(&reader->nodes, name, 0, false);
    return node;
}

/* All that is left of a node that is not built; takes the node. */
static SpateScenarioSite *
site_of(SpateScenarioNode *node, const char *entry)
{
    SpateScenarioSite *site = g_new0(SpateScenarioSite, 1);
    *site = (SpateScenarioSite){.name = node->name, .entry = g_strdup(entry), .place = node->place};
    for (uint32_t i = 0; i < node->n_radios; i++)
        site->carries = site->carries || node->radios[i].relays;
    g_free(node->label);
    g_free(node->radios);
    g_free(node);
    return site;
}

/* Each name is looked up once: what remains of the list is no node's. */
static bool
is_candidate(const SpateReader *reader, const Entry *entry, const char *name)
{
    bool is_named = entry->sites != NULL && g_hash_table_remove(entry->sites, name);
    return (is_named || entry->are_all_sites) && !reader->builds_sites;
}

static void
add_node(const SpateReader *reader, const Mesh *mesh, const char *entry_name, const Entry *entry,
         SpateScenarioNode *node)
{
    if (is_candidate(reader, entry, node->name))
        g_ptr_array_add(mesh->sites, site_of(node, entry_name));
    else
        g_ptr_array_add(mesh->nodes, node);
}

static void
note_no_such_candidates(SpateReader *reader, const SpateYamlPair *pair, const Entry *entry)
{
    GHashTableIter iter;
    gpointer name, scalar;
    if (entry->sites == NULL)
        return;
    g_hash_table_iter_init(&iter, entry->sites);
    while (g_hash_table_iter_next(&iter, &name, &scalar))
        spate_faults_note(reader->faults, ((const SpateYaml *)scalar)->place,
                          "yes, no, or a list of nodes of this entry", "'%s' has no node '%s'",
                          pair->key, (const char *)name);
}

/* Whether it remains open which nodes the entry means. */
static bool
is_unread(const SpateYamlPair *pair, const Entry *entry)
{
    if (pair->value->kind != SPATE_YAML_MAP)
        return true;
    if (entry->place != NULL)
        return entry->wanted.count == NO_COUNT || entry->placement == NULL;
    return entry->wanted.count == NO_COUNT && spate_yaml_pair(pair->value, "count") != NULL;
}

/* "valley yard": bearers with blanks between them; or yes (all), no, none. */
static void
read_relay_cell(SpateReader *reader, const SpateYaml *cell, Radios *radios)
{
    static const char *const none[] = {"none", "no", NULL};
    bool is_yes = strcmp(cell->text, "yes") == 0;
    for (uint32_t i = 0; i < radios->n; i++)
        radios->radios[i].relays = is_yes;
    if (is_yes || g_strv_contains(none, cell->text))
        return;
    g_auto(GStrv) words = g_strsplit_set(cell->text, " \t", -1);
    for (size_t i = 0; words[i] != NULL; i++) {
        const SpateYaml word = {.kind = SPATE_YAML_SCALAR, .place = cell->place, .text = words[i]};
        if (words[i][0] != '\0')
            mark_relay(reader, &word, radios);
    }
}

/* What the row of a table says otherwise than the entry. */
static void
apply_row(SpateReader *reader, const SpateNodeRow *row, SpateScenarioNode *node)
{
    for (uint32_t i = 0; i < node->n_radios; i++) {
        SpateScenarioRadio *radio = &node->radios[i];
        if (!isnan(row->power_dbm))
            radio->power_dbm = row->power_dbm;
        if (!isnan(row->gain_dbi))
            radio->antenna.gain_dbi = row->gain_dbi;
        if (!isnan(row->feeder_loss_db))
            radio->feeder_loss_db = row->feeder_loss_db;
    }
    if (!isnan(row->site_loss_db))
        node->site_loss_db = row->site_loss_db;
    if (row->label != NULL)
        node->label = g_strdup(row->label->value->text);
    if (row->relay != NULL)
        read_relay_cell(reader, row->relay->value,
                        &(Radios){node->radios, node->n_radios, node->has_unread_radios});
}

static void
add_nodes(SpateReader *reader, const Mesh *mesh, const SpateYamlPair *pair, const Entry *entry,
          uint32_t number)
{
    bool is_group = entry->place != NULL || entry->wanted.count != NO_COUNT;
    uint32_t count = !is_group ? 1 : entry->wanted.count == NO_COUNT ? 0 : entry->wanted.count;
    bool fits = count <= MAX_NODES - mesh->nodes->len - mesh->sites->len;
    if (!fits && !reader->too_many_nodes)
        spate_faults_note(reader->faults, pair->key_place, "at most 100000",
                          "there are too many nodes");
    reader->too_many_nodes = reader->too_many_nodes || !fits;
    if (!fits || is_unread(pair, entry)) {
        g_ptr_array_add(reader->unread, pair->key);
        /* Any name may be one of the nodes of a table that cannot be read. */
        if (entry->place != NULL && spate_yaml_pair(entry->place->value, "table") != NULL)
            reader->nodes.is_partial = reader->groups.is_partial = true;
    }
    for (uint32_t i = 0; fits && i < count; i++) {
        const SpateNodeRow *row = NULL;
        if (entry->wanted.rows != NULL && i < entry->wanted.rows->len)
            row = &g_array_index(entry->wanted.rows, SpateNodeRow, i);
        char *name = row != NULL ? g_strdup(row->name->value->text)
                     : is_group  ? g_strdup_printf("%s-%" G_GUINT32_FORMAT, pair->key, i + 1)
                                 : g_strdup(pair->key);
        SpateScenarioNode *node =
            new_node(reader, entry, name, row != NULL ? row->place : pair->key_place);
        node->entry = number;
        node->placement_index = i;
        if (row != NULL)
            apply_row(reader, row, node);
        add_node(reader, mesh, pair->key, entry, node);
    }
    if (fits && !is_unread(pair, entry))
        note_no_such_candidates(reader, pair, entry);
}

static int
compare_pairs(gconstpointer a, gconstpointer b)
{
    const SpateYamlPair *const *first = a, *const *second = b;
    return strcmp((*first)->key, (*second)->key);
}

/* Entries are read in the order of their names, so that results do not depend on that of the
 * file. */
static void
read_entries(SpateReader *reader, const SpateYaml *map)
{
    SpateScenario *scenario = reader->scenario;
    const SpateYamlPair *pairs = (const SpateYamlPair *)(const void *)map->pairs->data;
    g_autoptr(GPtrArray) by_name = g_ptr_array_new();
    for (guint i = 0; i < map->pairs->len; i++)
        g_ptr_array_add(by_name, (gpointer)&pairs[i]);
    g_ptr_array_sort(by_name, compare_pairs);

    g_autoptr(GPtrArray) nodes = g_ptr_array_new_with_free_func(g_free);
    g_autoptr(GPtrArray) sites = g_ptr_array_new_with_free_func(g_free);
    const Mesh mesh = {nodes, sites};
    for (guint i = 0; i < by_name->len; i++) {
        const SpateYamlPair *pair = g_ptr_array_index(by_name, i);
        Entry entry;
        read_entry(reader, pair, &entry);
        if (entry.placement != NULL)
            g_ptr_array_add(scenario->placements, entry.placement);
        add_nodes(reader, &mesh, pair, &entry, (uint32_t)(pair - pairs));
        g_array_unref(entry.radio_list);
        g_clear_pointer(&entry.wanted.rows, g_array_unref);
        g_clear_pointer(&entry.sites, g_hash_table_unref);
    }
    scenario->nodes = g_new0(SpateScenarioNode, nodes->len + 1);
    scenario->n_nodes = nodes->len;
    for (guint i = 0; i < nodes->len; i++)
        scenario->nodes[i] = *(const SpateScenarioNode *)g_ptr_array_index(nodes, i);
    qsort(scenario->nodes, scenario->n_nodes, sizeof *scenario->nodes, spate_compare_names);
    scenario->sites = g_new0(SpateScenarioSite, sites->len + 1);
    scenario->n_sites = sites->len;
    for (guint i = 0; i < sites->len; i++)
        scenario->sites[i] = *(const SpateScenarioSite *)g_ptr_array_index(sites, i);
    qsort(scenario->sites, scenario->n_sites, sizeof *scenario->sites, spate_compare_names);
}

void
spate_read_nodes(SpateReader *reader, const SpateYamlPair *pair)
{
    const SpateScenario *scenario = reader->scenario;
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_MAP, pair->key))
        return;
    size_t before = spate_faults_noted(reader->faults);
    read_entries(reader, pair->value);
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        const SpatePlacement *placement = scenario->nodes[i].placement;
        bool is_single =
            placement != NULL && placement->kind == SPATE_PLACE_POINTS && placement->n_points == 1;
        spate_names_add(&reader->nodes, scenario->nodes[i].name, i, is_single);
    }
    for (uint32_t i = 0; i < scenario->n_sites; i++)
        spate_names_add(&reader->nodes, scenario->sites[i].name, SPATE_FIRST_SITE + i, false);
    /* Where entries could not be read, they are the fault. */
    if (scenario->n_nodes == 0 && !spate_faults_since(reader, before))
        spate_faults_note(reader->faults, pair->key_place, "a mesh needs at least one node",
                          scenario->n_sites == 0 ? "there are no nodes"
                                                 : "there are no nodes: all are candidates");
}
