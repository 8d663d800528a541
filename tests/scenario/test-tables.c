/* test-tables.c - nodes and links by CSV tables
 *
 * Each class of fault of a table has a file in bad-tables/, named after it; the first word of its
 * name says what it is a table of.
 */
#include "scenario/read/tables.h"
#include "scenario/world/world.h"
#include "support/check-main.h"

#include <glib/gstdio.h>
#include <string.h>

typedef struct {
    const char *file;
    int line, column;
    const char *message, *hint;
    bool has_others; /* faults that follow from it */
} Row;

static const Row ROWS[] = {
    {"nodes-empty", 1, 1, "the table is empty", "names the columns", false},
    {"nodes-without-names", 1, 1, "'name' is missing", "a table of nodes needs 'name'", false},
    {"nodes-unknown-column", 1, 10, "unknown key 'hight'", "did you mean 'height'?", false},
    {"nodes-column-twice", 1, 10, "column 'x' is given twice", NULL, false},
    {"nodes-column-without-name", 1, 8, "this column has no name", "names the columns", false},
    {"nodes-without-places", 1, 1, "a place needs x and y, or lat and lon", "{x: 0 m", false},
    {"nodes-in-another-form", 1, 1, "this place is in lat and lon, others in x and y", "one form",
     false},
    {"nodes-unit-twice", 3, 3, "'m m' is not a unit of a length", "m or km", false},
    {"nodes-too-few-cells", 3, 1, "this row has 3 cells, not 4", "one for each column", false},
    {"nodes-too-many-cells", 2, 1, "this row has 4 cells, not 3", "one for each column", false},
    {"nodes-name-twice", 3, 1, "the name 'a' is taken", "must differ", false},
    {"nodes-name-missing", 2, 1, "'name' is missing", "a table of nodes needs 'name'", false},
    {"nodes-bad-name", 2, 1, "'old barn' is not a valid name", "letters", false},
    {"nodes-reserved-name", 2, 1, "'everyone' is a reserved word", "another name", false},
    {"nodes-half-a-place", 2, 1, "a place needs x and y, or lat and lon", "{x: 0 m", false},
    {"nodes-out-of-range", 2, 11, "'99 dBm' is out of range", "-100 dBm to 70 dBm", false},
    {"nodes-relay-without-radio", 2, 11, "this node has no radio on 'valley'", "'radios'", false},
    {"nodes-open-quote", 2, 1, "this quote is not closed", "end the cell with a quote", true},
    {"nodes-quote-within", 2, 2, "there is a quote inside the cell", "the whole cell", false},
    {"nodes-behind-quote", 2, 4, "there is text after the closing quote", "twice", false},
    {"nodes-carriage-return", 2, 2, "there is a lone carriage return", "LF or CR LF", false},
    {"nodes-invalid-utf8", 2, 2, "this is not UTF-8", "as UTF-8 text", false},
    {"nodes-nul-byte", 2, 2, "the table contains a NUL character", "as UTF-8 text", false},
    {"nodes-commas-and-semicolons", 1, 11, "the first line has both commas and semicolons",
     "use one of them as separator", false},
    {"nodes-two-decimal-marks", 3, 6, "'1.5' has a decimal point, an earlier number a comma",
     "use the same in all numbers", false},
    {"nodes-tabs", 1, 1, "tabs do not separate cells", "name;x;y", false},
    {"nodes-crlf-and-quoted-lines", 4, 1, "this row has 4 cells, not 3", "one for each", false},
    {"links-without-level", 1, 1, "'received-power' is missing", "or 'loss'", false},
    {"links-unknown-sender", 2, 1, "there is no node 'ridje'", "did you mean 'ridge'?", false},
    {"links-of-a-group", 3, 7, "there is no node 'people'", "known: gate, ridge", false},
    {"links-unknown-bearer", 2, 12, "there is no bearer 'valey'", "did you mean 'valley'?", false},
    {"links-to-itself", 2, 1, "a link joins two nodes", "'isolation'", false},
    {"links-level-and-loss", 2, 1, "this row has both 'received-power' and 'loss'",
     "one of the two", false},
    {"links-neither", 2, 1, "this row has neither 'received-power' nor 'loss'", "one of the two",
     false},
    {"links-level-without-bearer", 2, 12, "'bearer' is missing", "to one bearer", false},
    {"links-level-without-radio", 2, 1, "node 'ridge' has no radio on 'yard'", "radio at both ends",
     false},
    {"links-more-than-sent", 2, 19, "this level is higher than what was sent",
     "without path loss it would be 18.5 dBm", false},
};

/* %s: the places of the group, its losses. */
#define SCENE                                                                                      \
    "spate: 1\n"                                                                                   \
    "run: {duration: 1 h}\n"                                                                       \
    "bearers:\n"                                                                                   \
    "  valley: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 9,\n"      \
    "    propagation: {model: log-distance, exponent: 3, shadowing: 6 dB}}\n"                      \
    "  yard: {kind: dsss, frequency: 2437 MHz}\n"                                                  \
    "nodes:\n"                                                                                     \
    "  gate: {at: {x: 9 m, y: 0 m}, site-loss: 4 dB,\n"                                            \
    "    radios: {valley: {power: 14 dBm, antenna: {gain: 3 dBi}}, yard: {power: 9 dBm}}}\n"       \
    "  ridge: {at: {x: 900 m, y: 0 m}, radios: {valley: {power: 14 dBm, antenna: {gain: 2 dBi},\n" \
    "    feeder-loss: 0.5 dB}}}\n"                                                                 \
    "  soil:\n"                                                                                    \
    "    place: %s\n"                                                                              \
    "    radios: {yard: {power: 18 dBm, antenna: {gain: 1 dBi}}}\n"                                \
    "groups: {people: [gate, ridge]}\n"                                                            \
    "links: %s\n"                                                                                  \
    "variants:\n"                                                                                  \
    "  quiet: {set: {nodes.ridge.radios.valley.power: 4 dBm}}\n"

#define NOWHERE "{points: [{x: 1 m, y: 1 m}]}"

static SpateScenarioFile *
parse(const char *place, const char *links, GError **error)
{
    g_autofree char *text = g_strdup_printf(SCENE, place, links);
    return spate_scenario_file_parse("f.yaml", text, strlen(text), NULL, 0, error);
}

static void
write_text(const char *path, const char *text)
{
    ck_assert(g_file_set_contents(path, text, -1, NULL));
}

/* A folder of its own, gone with its files at the end. */
typedef struct {
    char *folder, *table;
} Desk;

static Desk
lay_out(const char *csv)
{
    Desk desk = {.folder = g_dir_make_tmp("spate-tables-XXXXXX", NULL)};
    desk.table = g_build_filename(desk.folder, "t.csv", NULL);
    write_text(desk.table, csv);
    return desk;
}

static void
desk_clear(Desk *desk)
{
    g_unlink(desk->table);
    g_autofree char *scenario = g_build_filename(desk->folder, "s.yaml", NULL);
    g_unlink(scenario);
    g_rmdir(desk->folder);
    g_free(desk->folder);
    g_free(desk->table);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC(Desk, desk_clear)

static SpateScenarioFile *
parse_table(const Desk *desk, bool of_links, GError **error)
{
    g_autofree char *map = g_strdup_printf("{table: %s}", desk->table);
    return of_links ? parse(NOWHERE, map, error) : parse(map, "[]", error);
}

static int
count_of(const char *text, const char *part)
{
    int n = 0;
    for (const char *at = text; (at = strstr(at, part)) != NULL; at++)
        n++;
    return n;
}

START_TEST(the_fault_is_shown_at_its_place_with_a_hint)
{
    const Row *row = &ROWS[_i];
    g_autoptr(GError) error = NULL;
    g_autofree char *map = g_strdup_printf("{table: %s/%s.csv}", TABLES_DIR, row->file);
    bool of_links = g_str_has_prefix(row->file, "links");
    g_autoptr(SpateScenarioFile) file =
        of_links ? parse(NOWHERE, map, &error) : parse(map, "[]", &error);

    ck_assert_msg(file == NULL, "%s reads well", row->file);
    g_autofree char *expected =
        g_strdup_printf("%s.csv:%d:%d: %s", row->file, row->line, row->column, row->message);
    const char *at = strstr(error->message, expected);
    ck_assert_msg(at != NULL, "no '%s' in:\n%s", expected, error->message);
    if (row->hint != NULL)
        ck_assert_msg(strstr(at, row->hint) != NULL, "no '%s' in:\n%s", row->hint, error->message);
    if (!row->has_others)
        ck_assert_msg(count_of(error->message, ".csv:") == 1, "%s", error->message);
    ck_assert_msg(strstr(error->message, "f.yaml:") == NULL, "%s", error->message);
}
END_TEST

static const struct {
    const char *file, *what;
    bool of_links;
} NO_TABLES[] = {
    {"nodes-not-a-table", "nodes-not-a-table.csv' is not a table of nodes\n", false},
    {"nodes-not-a-text", "nodes-not-a-text.csv' is not a table of nodes\n", false},
    {"links-not-a-table", "links-not-a-table.csv' is not a table of links\n", true},
};

/* Of another file nothing is shown but its name. */
START_TEST(a_file_that_is_no_table_is_not_quoted)
{
    for (size_t i = 0; i < G_N_ELEMENTS(NO_TABLES); i++) {
        g_autoptr(GError) error = NULL;
        Desk desk = {.table = g_strdup_printf("%s/%s.csv", TABLES_DIR, NO_TABLES[i].file)};
        g_autoptr(SpateScenarioFile) file = parse_table(&desk, NO_TABLES[i].of_links, &error);
        g_free(desk.table);
        ck_assert_ptr_null(file);
        ck_assert_msg(strstr(error->message, NO_TABLES[i].what) != NULL, "%s", error->message);
        ck_assert_msg(strstr(error->message, "its first line names columns: ") != NULL, "%s",
                      error->message);
        ck_assert_msg(strstr(error->message, "secret") == NULL, "%s", error->message);
    }
}
END_TEST

START_TEST(no_bad_table_is_forgotten)
{
    g_autoptr(GDir) folder = g_dir_open(TABLES_DIR, 0, NULL);
    size_t n_files = 0;
    while (g_dir_read_name(folder) != NULL)
        n_files++;

    ck_assert_uint_eq(n_files, G_N_ELEMENTS(ROWS) + G_N_ELEMENTS(NO_TABLES));
}
END_TEST

START_TEST(all_faults_of_a_table_are_shown)
{
    g_autoptr(GError) error = NULL;
    g_auto(Desk) desk = lay_out("name,x,y\na,1 m,2\nb,x,3 m\n\nc,1 m\n");
    g_autoptr(SpateScenarioFile) cells = parse_table(&desk, false, &error);
    ck_assert_ptr_null(cells);
    /* What is no table is told before what its cells mean. */
    ck_assert_int_eq(count_of(error->message, "t.csv:"), 1);
    ck_assert_ptr_nonnull(strstr(error->message, "t.csv:5:1: this row has 2 cells"));

    g_clear_error(&error);
    write_text(desk.table, "name,x,y\na,1 m,2 s\nb,x,3\n\nc,1 m,1 m\n");
    g_autoptr(SpateScenarioFile) values = parse_table(&desk, false, &error);
    ck_assert_ptr_null(values);
    ck_assert_int_eq(count_of(error->message, "t.csv:"), 2);
    ck_assert_ptr_nonnull(strstr(error->message, "t.csv:2:7: 's' is not a unit of a length"));
    ck_assert_ptr_nonnull(strstr(error->message, "t.csv:3:3: 'x' is not a length"));
}
END_TEST

/* Someone counted heights downwards. */
START_TEST(numbers_that_are_wrong_alike_are_told_once)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(GString) csv = g_string_new("name,x,y,height\n");
    for (int i = 0; i < 48; i++)
        g_string_append_printf(csv, "plum-%c%c,%d m,%d m,-%d.5\n", 'a' + i / 26, 'a' + i % 26, i, i,
                               i + 3);
    g_string_append(csv, "pear,1 km,2 km,7 s\n");
    g_auto(Desk) desk = lay_out(csv->str);
    g_autoptr(SpateScenarioFile) file = parse_table(&desk, false, &error);
    ck_assert_ptr_null(file);
    ck_assert_msg(strstr(error->message, "t.csv:2:17: '-3.5' is out of range\n") != NULL, "%s",
                  error->message);
    ck_assert_ptr_nonnull(
        strstr(error->message, "and 47 more like it: lines 3, 4, 5, 6, 7, ...\n"));
    ck_assert_int_eq(count_of(error->message, "is out of range"), 1);
    /* Another thing is wrong there. */
    ck_assert_ptr_nonnull(strstr(error->message, "t.csv:50:16: 's' is not a unit of a length"));
}
END_TEST

START_TEST(a_node_is_named_like_its_group_in_vain)
{
    g_autoptr(GError) error = NULL;
    g_auto(Desk) desk = lay_out("name,x,y\nsoil,1 m,2 m\n");
    g_autoptr(SpateScenarioFile) file = parse_table(&desk, false, &error);
    ck_assert_ptr_null(file);

    ck_assert_ptr_nonnull(strstr(error->message, "f.yaml:12:3: the name 'soil' is taken"));
}
END_TEST

START_TEST(count_must_agree_with_the_rows)
{
    g_autoptr(GError) error = NULL;
    g_auto(Desk) desk = lay_out("name,x,y\na,1 m,2 m\n");
    g_autofree char *place = g_strdup_printf("{table: %s}\n    count: 2", desk.table);
    g_autoptr(SpateScenarioFile) file = parse(place, "[]", &error);
    ck_assert_ptr_null(file);

    ck_assert_ptr_nonnull(strstr(error->message, "f.yaml:13:13: there are 1 rows for 2 nodes"));
}
END_TEST

/* ---- what a table means ---------------------------------------------------------------------- */

static const SpateScenarioNode *
node_named(const SpateScenario *scenario, const char *name)
{
    for (uint32_t i = 0; i < scenario->n_nodes; i++)
        if (strcmp(scenario->nodes[i].name, name) == 0)
            return &scenario->nodes[i];
    ck_abort_msg("no node %s", name);
}

static SpateScenario *
scenario_of(const SpateScenarioFile *file, const char *variant)
{
    g_autoptr(GError) error = NULL;
    SpateScenario *scenario = spate_scenario_new(file, variant, &error);
    ck_assert_msg(scenario != NULL, "%s", error != NULL ? error->message : "");
    return scenario;
}

static SpateScenarioFile *
good_table(const Desk *desk, bool of_links)
{
    g_autoptr(GError) error = NULL;
    SpateScenarioFile *file = parse_table(desk, of_links, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    return file;
}

static SpatePosition
position_of(const SpateScenario *scenario, const char *name)
{
    const SpateScenarioNode *node = node_named(scenario, name);
    return spate_placement_at(node->placement, node->placement_index, 1, 0);
}

/* A file keeps its base for the levels that were measured there, and a scenario in doubt keeps its
 * file: both have to come to an end (the sanitizers tell). */
START_TEST(measured_levels_go_with_doubt)
{
    g_auto(Desk) desk =
        lay_out("sender,receiver,bearer,received-power\nridge,gate,valley,-100 dBm\n");
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) file = good_table(&desk, true);
    g_autofree char *text =
        g_strconcat(spate_scenario_file_text(file),
                    "doubt: {bearers.valley.noise-figure: [4 dB, 9 dB]}\n", NULL);
    g_autoptr(SpateScenarioFile) doubtful =
        spate_scenario_file_parse("f.yaml", text, strlen(text), NULL, 0, &error);
    ck_assert_msg(doubtful != NULL, "%s", error != NULL ? error->message : "");
    g_autoptr(SpateScenario) scenario = scenario_of(doubtful, "quiet");
    g_autoptr(SpateScenario) drawn = spate_scenario_redraw(scenario, 0, &error);
    ck_assert_msg(drawn != NULL, "%s", error != NULL ? error->message : "");
    /* what the ridge's loss is follows from the power of the base, not from that of the variant */
    ck_assert_double_eq(drawn->given_losses[0].loss_db, scenario->given_losses[0].loss_db);
}
END_TEST

static SpateScenario *
scenario_of_table(const char *csv)
{
    g_autoptr(GError) error = NULL;
    g_auto(Desk) desk = lay_out(csv);
    g_autoptr(SpateScenarioFile) file = parse_table(&desk, false, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    return scenario_of(file, NULL);
}

/* Nodes are sorted by name: plum is the second after gate. */
static SpatePosition
place_of_plum(const SpateScenario *scenario)
{
    ck_assert_str_eq(scenario->nodes[1].name, "plum");
    return spate_placement_at(scenario->nodes[1].placement, scenario->nodes[1].placement_index, 1,
                              0);
}

/* As spreadsheets write it where the comma is the decimal mark, labels and all. */
START_TEST(semicolons_go_with_decimal_commas)
{
    static const char *const tables[] = {
        "\xEF\xBB\xBFname;x (m);y (m);height;label\r\nplum;12,5;-0,25;3,5 m;\"M\xC3\xBChle, "
        "S\xC3\xBC"
        "d 2\"\r\n",
        "name;x (m);y (m);height\nplum;12.5;-0.25;3.5 m\n",
        "name,x (m),y (m),height\nplum,12.5,-0.25,3.5 m\n",
    };
    for (size_t i = 0; i < G_N_ELEMENTS(tables); i++) {
        g_autoptr(SpateScenario) scenario = scenario_of_table(tables[i]);
        SpatePosition place = place_of_plum(scenario);
        ck_assert_double_eq(place.x_m, 12.5);
        ck_assert_double_eq(place.y_m, -0.25);
        ck_assert_double_eq(place.height_m, 3.5);
    }
}
END_TEST

START_TEST(columns_that_are_not_known_are_told_of)
{
    g_autoptr(SpateScenario) scenario =
        scenario_of_table("name,owner,x (m),y (m),built\nplum,someone,1,2,\"last, year\"\n");
    g_autofree char *said = spate_faults_warnings_text(scenario->later);
    ck_assert_double_eq(place_of_plum(scenario).y_m, 2);
    ck_assert_msg(strstr(said, "t.csv:1:6: warning: column 'owner' is ignored") != NULL, "%s",
                  said);
    ck_assert_msg(strstr(said, "t.csv:1:24: warning: column 'built' is ignored") != NULL, "%s",
                  said);
}
END_TEST

START_TEST(a_row_is_a_node_of_its_group)
{
    g_auto(Desk) desk = lay_out("name,y,x,height,power,gain,feeder-loss,site-loss,relay\n"
                                "plum,2 m,1 m,,,,,,\n"
                                "apple,20 m,0.01 km,3 m,100 mW,4 dBi,1.5 dB,7 dB,yard\n");
    g_autoptr(SpateScenarioFile) file = good_table(&desk, false);
    g_autoptr(SpateScenario) scenario = scenario_of(file, NULL);

    const SpateScenarioNode *plum = node_named(scenario, "plum");
    ck_assert_double_eq(plum->radios[0].power_dbm, 18);
    ck_assert_double_eq(plum->radios[0].antenna.gain_dbi, 1);
    ck_assert_double_eq(plum->site_loss_db, 0);
    ck_assert(!plum->radios[0].relays);
    ck_assert_double_eq(position_of(scenario, "plum").x_m, 1);
    ck_assert_double_eq(position_of(scenario, "plum").y_m, 2);
    ck_assert_double_eq(position_of(scenario, "plum").height_m, 1);
    const SpateScenarioNode *apple = node_named(scenario, "apple");
    ck_assert_double_eq_tol(apple->radios[0].power_dbm, 20, 1e-9);
    ck_assert_double_eq(apple->radios[0].antenna.gain_dbi, 4);
    ck_assert_double_eq(apple->radios[0].feeder_loss_db, 1.5);
    ck_assert_double_eq(apple->site_loss_db, 7);
    ck_assert(apple->radios[0].relays);
    ck_assert_double_eq(position_of(scenario, "apple").x_m, 10);
    ck_assert_double_eq(position_of(scenario, "apple").height_m, 3);
}
END_TEST

START_TEST(bare_numbers_are_meant_as_their_column_usually_is)
{
    g_autoptr(SpateScenario) scenario =
        scenario_of_table("name,x,y,height (km),power,gain,feeder-loss,site-loss\n"
                          "plum,950,-210.5,0.002,100 mW,2.5,1,3\n"
                          "sloe,0.3 km,7,0.001,-4,0,0.5,0 dB\n");
    SpatePosition plum = position_of(scenario, "plum"), sloe = position_of(scenario, "sloe");
    ck_assert(plum.x_m == 950.0 && plum.y_m == -210.5 && plum.height_m == 2.0);
    ck_assert(sloe.x_m == 300.0 && sloe.y_m == 7.0);
    const SpateScenarioNode *node = node_named(scenario, "plum");
    ck_assert(node->radios[0].power_dbm == 20.0 && node->radios[0].antenna.gain_dbi == 2.5);
    ck_assert(node->radios[0].feeder_loss_db == 1.0 && node->site_loss_db == 3.0);
    ck_assert(node_named(scenario, "sloe")->radios[0].power_dbm == -4.0);
}
END_TEST

START_TEST(the_group_stands_for_all_rows)
{
    g_auto(Desk) desk = lay_out("name,x,y\nplum,1 m,2 m\napple,1 m,3 m\n");
    g_autoptr(SpateScenarioFile) file = good_table(&desk, false);
    g_autoptr(SpateScenario) scenario = scenario_of(file, NULL);

    for (uint32_t i = 0; i < scenario->n_groups; i++)
        if (strcmp(scenario->groups[i].name, "soil") == 0)
            ck_assert_uint_eq(scenario->groups[i].n_members, 2);
    ck_assert_uint_eq(scenario->n_nodes, 4);
}
END_TEST

static void
check_two_places(const char *csv)
{
    g_auto(Desk) desk = lay_out(csv);
    g_autoptr(SpateScenarioFile) file = good_table(&desk, false);
    g_autoptr(SpateScenario) scenario = scenario_of(file, NULL);
    ck_assert_uint_eq(scenario->n_nodes, 4);
    ck_assert_double_eq(position_of(scenario, "plum").x_m, 1);
    ck_assert_double_eq(position_of(scenario, "apple").y_m, 40);
    ck_assert_double_eq(position_of(scenario, "apple").height_m, 2.5);
}

/* RFC 4180, 2: the last line may end or not (2), spaces belong to a cell in quotes (4), quotes (5
 * to 7); the byte order mark is common practice, no source. */
START_TEST(the_form_does_not_matter)
{
    check_two_places("name,x,y,height\nplum,1 m,2 m,1 m\napple,3 m,40 m,2.5 m\n");
    check_two_places("\xEF\xBB\xBFname,x,y,height\r\nplum,1 m,2 m,\r\napple,3 m,40 m,2.5 m");
    check_two_places("\nname , x,y,height\n\n plum,1 m ,2 m,1 m\n\napple,3 m,\t40 m,2.5 m\n\n");
    check_two_places(
        "\"name\",\"x\",\"y\",height\n\"plum\",\"1 m\",2 m,\"\"\napple,3 m,40 m,2.5 m");
    check_two_places("name,x (m),y (m),height ( m )\nplum,1,2,1\napple,3,40,2.5\n");
}
END_TEST

START_TEST(cells_keep_what_is_quoted)
{
    g_autoptr(SpateFaults) faults = spate_faults_new();
    const char text[] = "a,b\n\"x, \"\"y\"\"\r\nz\",2\n";
    spate_faults_add_text(faults, "t.csv", text);
    g_autoptr(SpateCsvTable) table = spate_csv_parse(text, strlen(text), 0, faults);

    const SpateYaml *row = g_ptr_array_index(table->rows->items, 0);
    ck_assert_str_eq(spate_yaml_get(row, "a")->text, "x, \"y\"\r\nz");
    const SpateYaml *second = spate_yaml_get(row, "b");
    ck_assert_int_eq(second->place.line, 3);
    ck_assert_int_eq(second->place.column, 4);
}
END_TEST

static bool
relays_by(const char *cell, const char *bearer)
{
    g_autoptr(GError) error = NULL;
    g_autofree char *csv = g_strdup_printf("name,x,y,relay\nplum,1 m,2 m,%s\n", cell);
    g_auto(Desk) desk = lay_out(csv);
    g_autofree char *text = g_strdup_printf(
        "spate: 1\nrun: {duration: 1 h}\nbearers:\n  yard: {kind: dsss, frequency: 2437 MHz}\n"
        "  walk: {kind: dsss, frequency: 2412 MHz}\nnodes:\n  g:\n    place: {table: %s}\n"
        "    radios: {yard: {power: 1 dBm}, walk: {power: 1 dBm}}\n    relay: yard\n",
        desk.table);
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("f.yaml", text, strlen(text), NULL, 0, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    g_autoptr(SpateScenario) scenario = scenario_of(file, NULL);
    /* Sorted by name: walk is 0, yard 1. */
    return node_named(scenario, "plum")->radios[strcmp(bearer, "yard") == 0].relays;
}

START_TEST(a_row_says_on_which_bearers_it_relays)
{
    ck_assert(relays_by("", "yard") && !relays_by("", "walk"));
    ck_assert(!relays_by("walk", "yard") && relays_by("walk", "walk"));
    ck_assert(relays_by("walk yard", "yard") && relays_by("walk yard", "walk"));
    ck_assert(relays_by("yes", "yard") && relays_by("yes", "walk"));
    ck_assert(!relays_by("none", "yard") && !relays_by("no", "yard"));
}
END_TEST

/* ---- links ----------------------------------------------------------------------------------- */

static SpateLink
link_on_valley(const SpateScenario *scenario, const char *from, const char *to)
{
    g_autoptr(SpateWorld) world = spate_world_new(scenario, NULL);
    const SpatePlan *plan = spate_world_plan(world);
    g_autoptr(SpateLinks) links = spate_world_links(world, 0);
    uint32_t sender = UINT32_MAX, receiver = UINT32_MAX;
    for (uint32_t r = 0; r < plan->n_radios; r++) {
        const char *name = plan->nodes[plan->radios[r].node].name;
        if (strcmp(plan->bearer_names[plan->radios[r].bearer], "valley") != 0)
            continue;
        if (strcmp(name, from) == 0)
            sender = r;
        if (strcmp(name, to) == 0)
            receiver = r;
    }
    SpateLink link;
    ck_assert(spate_links_budget(links, sender, receiver, &link, NULL));
    return link;
}

START_TEST(a_measured_level_is_what_is_received)
{
    g_auto(Desk) desk = lay_out("sender,receiver,bearer,received-power,loss\n"
                                "ridge,gate,valley,-101.5 dBm,\ngate,ridge,valley,,130 dB\n");
    g_autoptr(SpateScenarioFile) file = good_table(&desk, true);
    g_autoptr(SpateScenario) scenario = scenario_of(file, NULL);

    SpateLink down = link_on_valley(scenario, "ridge", "gate");
    ck_assert_double_eq_tol(down.received_dbm, -101.5, 1e-9);
    /* 14 dBm - 0.5 dB + 2 dBi + 3 dBi + 101.5 dBm; no shadowing beside what was measured */
    ck_assert_double_eq_tol(down.loss_db, 120, 1e-9);
    ck_assert_double_eq(down.shadowing_sigma_db, 0);
    SpateLink up = link_on_valley(scenario, "gate", "ridge");
    ck_assert_double_eq_tol(up.received_dbm, 14 + 3 - 130 + 2 - 0.5, 1e-9);
}
END_TEST

/* Measured with 14 dBm; the variant sends 4 dBm. */
START_TEST(a_variant_changes_what_was_measured)
{
    g_auto(Desk) desk =
        lay_out("sender,receiver,bearer,received-power\nridge,gate,valley,-101.5 dBm\n");
    g_autoptr(SpateScenarioFile) file = good_table(&desk, true);
    g_autoptr(SpateScenario) quiet = scenario_of(file, "quiet");

    ck_assert_double_eq_tol(link_on_valley(quiet, "ridge", "gate").received_dbm, -111.5, 1e-9);
}
END_TEST

START_TEST(a_sector_is_reckoned_with)
{
    static const SpateSetting away = {"nodes.ridge.radios.valley.antenna",
                                      "{gain: 12 dBi, azimuth: 90 deg, beamwidth: 60 deg, "
                                      "front-to-back: 20 dB}"};
    g_autoptr(GError) error = NULL;
    g_auto(Desk) desk =
        lay_out("sender,receiver,bearer,received-power\nridge,gate,valley,-101.5 dBm\n");
    g_autofree char *links = g_strdup_printf("{table: %s}", desk.table);
    g_autofree char *text = g_strdup_printf(SCENE, NOWHERE, links);
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("f.yaml", text, strlen(text), &away, 1, &error);
    ck_assert_ptr_nonnull(file);
    g_autoptr(SpateScenario) turned = scenario_of(file, NULL);

    /* Its back is towards the gate: 12 - 20 dBi for 2 dBi. */
    ck_assert_double_eq_tol(link_on_valley(turned, "ridge", "gate").received_dbm, -111.5, 1e-9);
}
END_TEST

START_TEST(a_table_may_stand_among_links)
{
    g_auto(Desk) desk = lay_out("sender,receiver,bearer,loss\nridge,gate,,100 dB\n");
    g_autoptr(GError) error = NULL;
    g_autofree char *links =
        g_strdup_printf("[{table: %s}, {from: ridge, to: gate, loss: 90 dB}]", desk.table);
    g_autoptr(SpateScenarioFile) file = parse(NOWHERE, links, &error);
    g_autoptr(SpateScenario) scenario = scenario_of(file, NULL);
    g_autoptr(SpateWorld) world = spate_world_new(scenario, &error);
    ck_assert_ptr_nonnull(world);
    g_autofree char *warnings = spate_world_lint(world, file);

    ck_assert_double_eq(link_on_valley(scenario, "ridge", "gate").loss_db, 90);
    ck_assert_msg(strstr(warnings, "an earlier setting or table gave 100 dB") != NULL, "%s",
                  warnings);
}
END_TEST

/* ---- files ----------------------------------------------------------------------------------- */

START_TEST(tables_lie_beside_the_scenario)
{
    g_auto(Desk) desk = lay_out("name,x,y\nplum,1 m,2 m\n");
    g_autofree char *path = g_build_filename(desk.folder, "s.yaml", NULL);
    g_autofree char *text = g_strdup_printf(SCENE, "{table: t.csv}", "[]");
    write_text(path, text);
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) file = spate_scenario_file_read(path, NULL, 0, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    g_autoptr(SpateScenario) scenario = scenario_of(file, NULL);

    ck_assert_double_eq(position_of(scenario, "plum").y_m, 2);
}
END_TEST

/* printf 'a\nb\n' ... | sha256sum, as docs/result-format.md says. */
START_TEST(the_sum_covers_the_tables)
{
    g_auto(Desk) desk = lay_out("name,x,y\nplum,1 m,2 m\n");
    g_autofree char *path = g_build_filename(desk.folder, "s.yaml", NULL);
    g_autofree char *text = g_strdup_printf(SCENE, "{table: t.csv}", "[]");
    write_text(path, text);
    g_autofree char *command = g_strdup_printf(
        "cd '%s' && { sha256sum <s.yaml; sha256sum <t.csv; } | cut -c1-64 | sha256sum",
        desk.folder);
    const char *argv[] = {"/bin/sh", "-c", command, NULL};
    g_autofree char *output = NULL;
    ck_assert(g_spawn_sync(NULL, (char **)argv, NULL, G_SPAWN_DEFAULT, NULL, NULL, &output, NULL,
                           NULL, NULL));
    g_autoptr(SpateScenarioFile) file = spate_scenario_file_read(path, NULL, 0, NULL);
    g_autoptr(SpateScenario) scenario = scenario_of(file, NULL);

    output[64] = '\0';
    ck_assert_str_eq(scenario->sha256, output);
}
END_TEST

/* Not only when it is met first. */
START_TEST(a_bad_table_of_a_setting_stays_bad)
{
    g_auto(Desk) desk = lay_out("name,x,y\nplum,1 s,2 m\n");
    g_autofree char *path = g_strdup(desk.table);
    const SpateSetting setting = {"nodes.soil.place.table", path};
    g_autofree char *text = g_strdup_printf(SCENE, "{table: TABLE}", "[]");
    g_autofree char *good = g_build_filename(desk.folder, "s.yaml", NULL);
    write_text(good, "name,x,y\nplum,1 m,2 m\n");
    g_auto(GStrv) halves = g_strsplit(text, "TABLE", 2);
    g_autofree char *whole = g_strconcat(halves[0], good, halves[1], NULL);
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("f.yaml", whole, strlen(whole), &setting, 1, NULL);
    ck_assert_ptr_nonnull(file);

    for (int i = 0; i < 2; i++) {
        g_autoptr(GError) error = NULL;
        g_autoptr(SpateScenario) scenario = spate_scenario_new(file, NULL, &error);
        ck_assert_ptr_null(scenario);
        ck_assert_ptr_nonnull(strstr(error->message, "t.csv:2:6: 's' is not a unit of a length"));
    }
}
END_TEST

START_TEST(tables_are_bounded)
{
    g_autoptr(GError) error = NULL;
    g_autofree char *commas = g_strnfill(1000000, ',');
    g_autofree char *wide_row = g_strconcat("name,x,y\n", commas, NULL);
    g_auto(Desk) desk = lay_out(wide_row);
    g_autoptr(SpateScenarioFile) wide = parse_table(&desk, false, &error);
    ck_assert_ptr_null(wide);
    ck_assert_ptr_nonnull(strstr(error->message, "t.csv:2:100: this line has too many cells"));

    g_clear_error(&error);
    GString *rows = g_string_new("name,x,y\n");
    for (int i = 0; i <= SPATE_CSV_MAX_CELLS / 3; i++)
        g_string_append(rows, "a,,\n");
    write_text(desk.table, rows->str);
    g_string_free(rows, TRUE);
    g_autoptr(SpateScenarioFile) long_one = parse_table(&desk, false, &error);
    ck_assert_ptr_null(long_one);
    ck_assert_ptr_nonnull(strstr(error->message, "t.csv:333335:1: the table has too many cells"));

    g_clear_error(&error);
    g_autofree char *large = g_strnfill(SPATE_TABLES_MAX_BYTES + 1, 'x');
    write_text(desk.table, large);
    g_autoptr(SpateScenarioFile) heavy = parse_table(&desk, false, &error);
    ck_assert_ptr_null(heavy);
    ck_assert_ptr_nonnull(strstr(error->message, "f.yaml:13:20: the tables are too large"));
}
END_TEST

/* A line that asks for all pairs of 1001 nodes, both ways, in two entries: 2,002,000. */
START_TEST(losses_are_bounded)
{
    g_autoptr(GError) error = NULL;
    const char place[] = "{circle: {centre: {x: 0 m, y: 0 m}, radius: 9 m}}\n    count: 1001";
    g_autoptr(SpateScenarioFile) file = parse(
        place, "\n  - {from: soil, to: soil, loss: 9 dB}\n  - {from: soil, to: soil, loss: 9 dB}",
        &error);

    ck_assert_ptr_null(file);
    ck_assert_ptr_nonnull(strstr(error->message, "f.yaml:19:5: too many pairs have losses"));
    ck_assert_int_eq(count_of(error->message, "f.yaml:"), 1);
}
END_TEST

/* Other faults of the file are shown all the same, but none that follows from it. */
START_TEST(no_fault_follows_from_a_table_that_cannot_be_read)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) file =
        parse("{table: no/such.csv}", "[{from: plum, to: gate, loss: 3}]", &error);
    ck_assert_ptr_null(file);

    ck_assert_ptr_nonnull(strstr(error->message, "'no/such.csv' cannot be read"));
    ck_assert_ptr_nonnull(strstr(error->message, "'3' has no unit"));
    ck_assert_ptr_null(strstr(error->message, "plum'"));
}
END_TEST

int
main(void)
{
    const TTest *const sentences[] = {
        no_bad_table_is_forgotten,
        a_file_that_is_no_table_is_not_quoted,
        semicolons_go_with_decimal_commas,
        columns_that_are_not_known_are_told_of,
        all_faults_of_a_table_are_shown,
        numbers_that_are_wrong_alike_are_told_once,
        a_node_is_named_like_its_group_in_vain,
        count_must_agree_with_the_rows,
        measured_levels_go_with_doubt,
        a_row_is_a_node_of_its_group,
        bare_numbers_are_meant_as_their_column_usually_is,
        the_group_stands_for_all_rows,
        the_form_does_not_matter,
        cells_keep_what_is_quoted,
        a_row_says_on_which_bearers_it_relays,
        a_measured_level_is_what_is_received,
        a_variant_changes_what_was_measured,
        a_sector_is_reckoned_with,
        a_table_may_stand_among_links,
        tables_lie_beside_the_scenario,
        the_sum_covers_the_tables,
        a_bad_table_of_a_setting_stays_bad,
        tables_are_bounded,
        losses_are_bounded,
        no_fault_follows_from_a_table_that_cannot_be_read,
    };
    Suite *suite = suite_create("tables");
    TCase *tables = tcase_create("tables");
    tcase_set_timeout(tables, 120);
    tcase_add_loop_test(tables, the_fault_is_shown_at_its_place_with_a_hint, 0,
                        (int)G_N_ELEMENTS(ROWS));
    for (size_t i = 0; i < G_N_ELEMENTS(sentences); i++)
        tcase_add_test(tables, sentences[i]);
    suite_add_tcase(suite, tables);
    return run_suite(suite);
}
