/* read-node-table.c - nodes by a table: `place: {table: FILE.csv}` */
#include "scenario/read/read-place.h"

#include "scenario/read/read-names.h"
#include "scenario/read/read-sections.h"
#include <math.h>

static const SpateField ROW_FIELDS[] = {
    {SPATE_PAIR("name", SpateNodeRow, name), .required = true},
    SPATE_SPOT_FIELDS,
    SPATE_HEIGHT_FIELD(SpateNodeRow, spot.height_m),
    {SPATE_NUMBER("power", SpateNodeRow, power_dbm, LEVEL, SPATE_LEAST_POWER_DBM,
                  SPATE_MOST_POWER_DBM)},
    {SPATE_NUMBER("gain", SpateNodeRow, gain_dbi, GAIN, -SPATE_MOST_GAIN_DBI, SPATE_MOST_GAIN_DBI)},
    {SPATE_NUMBER("feeder-loss", SpateNodeRow, feeder_loss_db, RATIO_DB, 0,
                  SPATE_MOST_FEEDER_LOSS_DB)},
    {SPATE_NUMBER("site-loss", SpateNodeRow, site_loss_db, RATIO_DB, 0, SPATE_MOST_SITE_LOSS_DB)},
    {SPATE_PAIR("relay", SpateNodeRow, relay)},
    {SPATE_PAIR("label", SpateNodeRow, label)},
};
static const SpateTable ROW = SPATE_TABLE_OF_COLUMNS("a table of nodes", ROW_FIELDS);

static void
read_row(SpateReader *reader, const SpateYaml *map, double height_m, SpateNodeRow *row)
{
    size_t before = spate_faults_noted(reader->faults);
    *row = (SpateNodeRow){.spot.height_m = height_m,
                          .place = map->place,
                          .power_dbm = NAN,
                          .gain_dbi = NAN,
                          .feeder_loss_db = NAN,
                          .site_loss_db = NAN};
    spate_read_map(reader, &ROW, 0, map->place, map, row);
    if (row->name != NULL && spate_is_name(reader, row->name->value->text, row->name->value->place))
        spate_is_free_name(reader, row->name->value->text, row->name->value->place);
    SpateGeo form = spate_geo_form(reader, map->place, map);
    if (!spate_faults_since(reader, before))
        row->position = spate_settle_spot(reader, form, &row->spot);
}

GArray *
spate_read_node_table(SpateReader *reader, const SpateYamlPair *pair, double height_m)
{
    size_t before = spate_faults_noted(reader->faults);
    const SpateCsvTable *table = spate_open_table(reader, &ROW, pair);
    if (table == NULL)
        return NULL;
    spate_geo_form(reader, table->columns->place, table->columns);
    if (spate_faults_since(reader, before))
        return NULL;
    guint n = table->rows->items->len;
    g_autoptr(GArray) rows = g_array_sized_new(FALSE, FALSE, sizeof(SpateNodeRow), n);
    for (guint i = 0; i < n; i++) {
        SpateNodeRow row;
        read_row(reader, g_ptr_array_index(table->rows->items, i), height_m, &row);
        g_array_append_val(rows, row);
    }
    return spate_faults_since(reader, before) ? NULL : g_steal_pointer(&rows);
}
