/* read-link-table.c - measured links: `links: [{table: heard.csv}]`
 *
 * A row is one way of one pair: the sender, the receiver, and the loss between them or the level
 * that was measured.  A level is turned into the loss that explains it, by power, antennas and
 * feeders as the base of the file says: so a variant that changes them changes what is received, as
 * it would on the hill.
 */
#include "scenario/read/read-sections.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MOST_LOSS_DB 500

typedef struct {
    const SpateYamlPair *sender, *receiver, *bearer, *level;
    double loss_db; /* NAN: not given */
} Row;

static const SpateField ROW_FIELDS[] = {
    {SPATE_PAIR("sender", Row, sender), .required = true},
    {SPATE_PAIR("receiver", Row, receiver), .required = true},
    {SPATE_PAIR("bearer", Row, bearer)},
    {SPATE_PAIR("received-power", Row, level)},
    {SPATE_NUMBER("loss", Row, loss_db, RATIO_DB, 0, MOST_LOSS_DB)},
};
static const SpateTable ROW = SPATE_TABLE_OF_COLUMNS("a table of links", ROW_FIELDS);

/* One end of a measurement. */
typedef struct {
    const SpateScenarioNode *node;
    const SpateScenarioRadio *radio;
} End;

/* False if the scenario has no such node, or the node no radio on the bearer. */
static bool
find_end(const SpateScenario *scenario, const char *name, const char *bearer, End *end)
{
    uint32_t number = scenario != NULL ? spate_scenario_find_node(scenario, name) : UINT32_MAX;
    if (number == UINT32_MAX)
        return false;
    end->node = &scenario->nodes[number];
    for (uint32_t i = 0; i < end->node->n_radios; i++) {
        end->radio = &end->node->radios[i];
        if (strcmp(scenario->bearers[end->radio->bearer].name, bearer) == 0)
            return true;
    }
    return false;
}

/* As the base has it, which was measured; what a variant adds, as it is there. */
static bool
find_measured_end(SpateReader *reader, const SpateYamlPair *name, const SpateYamlPair *bearer,
                  End *end)
{
    if (find_end(reader->base, name->value->text, bearer->value->text, end) ||
        find_end(reader->scenario, name->value->text, bearer->value->text, end))
        return true;
    spate_faults_note(reader->faults, name->value->place, "a level needs a radio at both ends",
                      "node '%s' has no radio on '%s'", name->value->text, bearer->value->text);
    return false;
}

static bool
is_given_place(const SpateScenarioNode *node)
{
    return node->placement != NULL && node->placement->kind == SPATE_PLACE_POINTS;
}

/* The gain of a sector depends on where the other end is.  False with a fault. */
static bool
have_bearings(SpateReader *reader, const Row *row, const End *from, const End *to)
{
    bool has_sector =
        from->radio->antenna.beamwidth_deg > 0 || to->radio->antenna.beamwidth_deg > 0;
    if (!has_sector || (is_given_place(from->node) && is_given_place(to->node)))
        return true;
    spate_faults_note(reader->faults, row->level->value->place,
                      "give the loss instead, or fixed places",
                      "a level through a sector antenna needs the places of both nodes");
    return false;
}

static SpatePosition
position_of(const SpateScenarioNode *node)
{
    return is_given_place(node) ? spate_placement_at(node->placement, node->placement_index, 0, 0)
                                : (SpatePosition){0};
}

/* The loss that explains the level of the row; false with a fault. */
static bool
explain_level(SpateReader *reader, const Row *row, double *loss_db)
{
    double level_dbm;
    End from, to;
    if (row->bearer == NULL) {
        spate_faults_note(reader->faults, row->level->value->place, "a level belongs to one bearer",
                          "'bearer' is missing");
        return false;
    }
    bool has_from = find_measured_end(reader, row->sender, row->bearer, &from);
    bool has_to = find_measured_end(reader, row->receiver, row->bearer, &to);
    bool is_read = spate_quantity_read(row->level->value, SPATE_DIM_LEVEL, (SpateRange){-250, 100},
                                       &level_dbm, reader->faults);
    if (!has_from || !has_to || !is_read || !have_bearings(reader, row, &from, &to))
        return false;
    SpatePosition here = position_of(from.node), there = position_of(to.node);
    /* What is left of the power where nothing is lost between the antennas. */
    double highest_dbm =
        from.radio->power_dbm +
        spate_end_gain_db(&from.radio->antenna, from.radio->feeder_loss_db, here, there) +
        spate_end_gain_db(&to.radio->antenna, to.radio->feeder_loss_db, there, here);
    *loss_db = highest_dbm - level_dbm;
    if (*loss_db >= 0 && *loss_db <= MOST_LOSS_DB)
        return true;
    g_autofree char *highest = spate_quantity_text(highest_dbm, SPATE_DIM_LEVEL);
    g_autofree char *hint =
        g_strdup_printf("without path loss it would be %s (power, antennas, feeders)", highest);
    spate_faults_note(reader->faults, row->level->value->place, hint,
                      *loss_db < 0 ? "this level is higher than what was sent"
                                   : "this level would need an impossible loss");
    return false;
}

/* False with a fault. */
static bool
read_ends(SpateReader *reader, const SpateYaml *map, const Row *row, SpateGivenLoss *loss)
{
    uint32_t bearer;
    bool has_from = spate_find_named(reader, &reader->nodes, row->sender, &loss->from_node);
    bool has_to = spate_find_named(reader, &reader->nodes, row->receiver, &loss->to_node);
    bool has_bearer = spate_find_named(reader, &reader->bearers, row->bearer, &bearer);
    bool is_built = loss->from_node < SPATE_FIRST_SITE && loss->to_node < SPATE_FIRST_SITE;
    bool is_known = has_from && has_to && is_built && (has_bearer || row->bearer == NULL);
    if (has_bearer)
        loss->bearer = (int32_t)bearer;
    if (is_known && loss->from_node == loss->to_node) {
        spate_faults_note(reader->faults, map->place,
                          "'isolation' sets the loss between radios of one node",
                          "a link joins two nodes");
        return false;
    }
    return is_known;
}

static void
read_row(SpateReader *reader, const SpateYaml *map, GArray *losses, GArray *links)
{
    size_t before = spate_faults_noted(reader->faults);
    Row row = {.loss_db = NAN};
    SpateGivenLoss loss = {.bearer = -1};
    spate_read_map(reader, &ROW, 0, map->place, map, &row);
    bool has_loss = spate_yaml_pair(map, "loss") != NULL;
    if (has_loss == (row.level != NULL))
        spate_faults_note(reader->faults, map->place, "one of the two",
                          has_loss ? "this row has both 'received-power' and 'loss'"
                                   : "this row has neither 'received-power' nor 'loss'");
    bool is_known = read_ends(reader, map, &row, &loss);
    if (is_known && row.level != NULL && explain_level(reader, &row, &row.loss_db))
        reader->scenario->has_measured_levels = true;
    if (!is_known || spate_faults_since(reader, before) ||
        !spate_reader_spend(reader, map->place, 2) ||
        !spate_have_room_for_losses(reader, map->place, losses, 1))
        return;
    loss.loss_db = row.loss_db;
    const SpateScenarioLink link = {map->place, losses->len, 1};
    g_array_append_val(links, link);
    g_array_append_val(losses, loss);
}

void
spate_read_link_table(SpateReader *reader, const SpateYamlPair *pair, GArray *losses, GArray *links)
{
    const SpateCsvTable *table = spate_open_table(reader, &ROW, pair);
    if (table == NULL)
        return;
    if (spate_yaml_pair(table->columns, "received-power") == NULL &&
        spate_yaml_pair(table->columns, "loss") == NULL) {
        spate_faults_note(reader->faults, table->columns->place,
                          "a table of links needs 'received-power' or 'loss'",
                          "'received-power' is missing");
        return;
    }
    for (guint i = 0; i < table->rows->items->len; i++)
        read_row(reader, g_ptr_array_index(table->rows->items, i), losses, links);
}
