/* csv-table.c - a table of values separated by commas or semicolons, every cell with its place */
#include "scenario/text/csv-table.h"

#include <string.h>

#define BYTE_ORDER_MARK "\xEF\xBB\xBF"

/* Where reading is.  Places are counted from one token to the next. */
typedef struct {
    const char *at, *end;
    SpatePlace place;
    SpateFaults *faults;
    GPtrArray *units; /* char *, of the columns; NULL: its cells bear their own */
    char separator;
    char mark; /* of decimals, by the first number that has one; 0 before */
} Reader;

void
spate_csv_free(SpateCsvTable *table)
{
    if (table == NULL)
        return;
    spate_yaml_free(table->columns);
    spate_yaml_free(table->rows);
    g_free(table);
}

/* Goes on to `to`, which must not part a CR from its LF. */
static void
go_to(Reader *reader, const char *to)
{
    SpatePlace step = spate_place_of_byte(reader->at, (size_t)(to - reader->at), 0);
    reader->place.line += step.line - 1;
    reader->place.column = step.line > 1 ? step.column : reader->place.column + step.column - 1;
    reader->at = to;
}

/* The bytes of the line end here, 0 if there is none. */
static size_t
line_end(const Reader *reader, const char *at)
{
    if (at < reader->end && *at == '\n')
        return 1;
    return reader->end - at >= 2 && at[0] == '\r' && at[1] == '\n' ? 2 : 0;
}

static bool
ends_cell(const Reader *reader, const char *at)
{
    return at == reader->end || *at == reader->separator || line_end(reader, at) > 0;
}

static void
note(Reader *reader, const char *at, const char *hint, const char *what)
{
    Reader there = *reader;
    go_to(&there, at);
    spate_faults_note(reader->faults, there.place, hint, "%s", what);
}

/* After the opening quote.  What is wrong is noted, and reading goes on after the cell. */
static char *
read_quoted(Reader *reader)
{
    GString *text = g_string_new(NULL);
    const char *c = reader->at + 1;
    for (; c < reader->end; c++) {
        if (*c == '"' && (c + 1 == reader->end || c[1] != '"'))
            break;
        c += *c == '"';
        g_string_append_c(text, *c);
    }
    if (c == reader->end) {
        note(reader, reader->at, "end the cell with a quote", "this quote is not closed");
        go_to(reader, c);
        return g_string_free(text, FALSE);
    }
    c++;
    if (!ends_cell(reader, c))
        note(reader, c, "write a quote within quotes twice: \"\"",
             "there is text after the closing quote");
    while (!ends_cell(reader, c))
        c++;
    go_to(reader, c);
    return g_string_free(text, FALSE);
}

static bool
is_blank(char c)
{
    return c == ' ' || c == '\t';
}

/* Stands at the cell's first letter. */
static char *
read_plain(Reader *reader)
{
    const char *start = reader->at, *c = start, *bad = NULL;
    for (; !ends_cell(reader, c); c++)
        if (bad == NULL && (*c == '"' || *c == '\r'))
            bad = c;
    if (bad != NULL && *bad == '"')
        note(reader, bad, "put the whole cell in quotes, and write this one twice: \"\"",
             "there is a quote inside the cell");
    else if (bad != NULL)
        note(reader, bad, "lines end with LF or CR LF", "there is a lone carriage return");
    const char *last = c;
    while (last > start && is_blank(last[-1]))
        last--;
    go_to(reader, c);
    return g_strndup(start, (gsize)(last - start));
}

/* Stops at what ends it. */
static SpateYaml *
read_cell(Reader *reader)
{
    const char *first = reader->at;
    while (first < reader->end && is_blank(*first))
        first++;
    go_to(reader, first);
    SpateYaml *cell = spate_yaml_new(SPATE_YAML_SCALAR, reader->place);
    cell->quoted = first < reader->end && *first == '"';
    cell->text = cell->quoted ? read_quoted(reader) : read_plain(reader);
    return cell;
}

/* Room for one more in a line?  Else it was the last that is read. */
static bool
has_column(Reader *reader, guint n_cells)
{
    if (n_cells < SPATE_CSV_MAX_COLUMNS)
        return true;
    spate_faults_note(reader->faults, reader->place, "at most " G_STRINGIFY(SPATE_CSV_MAX_COLUMNS),
                      "this line has too many cells");
    reader->at = reader->end;
    return false;
}

/* The cells of a line; NULL at the end of the text. */
static GPtrArray *
read_line(Reader *reader)
{
    while (line_end(reader, reader->at) > 0)
        go_to(reader, reader->at + line_end(reader, reader->at));
    if (reader->at == reader->end)
        return NULL;
    GPtrArray *cells = g_ptr_array_new_with_free_func((GDestroyNotify)spate_yaml_free);
    for (;;) {
        g_ptr_array_add(cells, read_cell(reader));
        if (reader->at == reader->end || *reader->at != reader->separator ||
            !has_column(reader, cells->len))
            break;
        go_to(reader, reader->at + 1);
    }
    if (reader->at < reader->end)
        go_to(reader, reader->at + line_end(reader, reader->at));
    return cells;
}

char *
spate_csv_cut_unit(char *name)
{
    size_t length = strlen(name);
    char *open = strrchr(name, '(');
    if (open == NULL || open == name || length == 0 || name[length - 1] != ')')
        return NULL;
    char *unit = g_strndup(open + 1, (gsize)(name + length - 1 - (open + 1)));
    *open = '\0';
    g_strchomp(name);
    g_strstrip(unit);
    return unit;
}

/* Takes the name over. */
static void
add_column(Reader *reader, SpateYaml *columns, SpateYaml *name)
{
    g_ptr_array_add(reader->units, spate_csv_cut_unit(name->text));
    if (name->text[0] == '\0')
        spate_faults_note(reader->faults, name->place, "the first line names the columns",
                          "this column has no name");
    else if (spate_yaml_get(columns, name->text) != NULL)
        spate_faults_note(reader->faults, name->place, NULL, "column '%s' is given twice",
                          name->text);
    SpateYamlPair pair = {g_strdup(name->text), name->place, name};
    g_array_append_val(columns->pairs, pair);
}

/* Sets the separator by the first line that is not empty; false with a fault. */
static bool
find_separator(Reader *reader)
{
    const char *comma = NULL, *semicolon = NULL, *c = reader->at;
    bool is_quoted = false;
    while (line_end(reader, c) > 0)
        c += line_end(reader, c);
    for (; c < reader->end && (is_quoted || line_end(reader, c) == 0); c++) {
        is_quoted ^= *c == '"';
        if (*c == ',' && !is_quoted)
            comma = comma != NULL ? comma : c;
        if (*c == ';' && !is_quoted)
            semicolon = semicolon != NULL ? semicolon : c;
    }
    reader->separator = semicolon != NULL ? ';' : ',';
    if (comma == NULL || semicolon == NULL)
        return true;
    note(reader, MAX(comma, semicolon),
         "use one of them as separator; put names with the other in double quotes",
         "the first line has both commas and semicolons");
    return false;
}

static SpateYaml *
read_columns(Reader *reader)
{
    if (!find_separator(reader))
        return NULL;
    g_autoptr(GPtrArray) names = read_line(reader);
    if (names == NULL) {
        spate_faults_note(reader->faults, reader->place, "the first line names the columns",
                          "the table is empty");
        return NULL;
    }
    const SpateYaml *first = g_ptr_array_index(names, 0);
    if (names->len == 1 && strchr(first->text, '\t') != NULL) {
        spate_faults_note(reader->faults, first->place, "name,x,y or name;x;y",
                          "tabs do not separate cells");
        return NULL;
    }
    SpateYaml *columns = spate_yaml_new(SPATE_YAML_MAP, (SpatePlace){reader->place.origin, 1, 1});
    while (names->len > 0)
        add_column(reader, columns, g_ptr_array_steal_index(names, 0));
    return columns;
}

/* The decimal mark of "12,5", "12.5 m" or "0,5 per min"; NULL if the text is no such number. */
static char *
find_mark(char *text)
{
    static const char DIGITS[] = "0123456789";
    char *mark = text + strspn(text, "+-");
    size_t n_before = strspn(mark, DIGITS);
    mark += n_before;
    if (n_before == 0 || (*mark != ',' && *mark != '.') || !g_ascii_isdigit(mark[1]))
        return NULL;
    const char *unit = mark + 1 + strspn(mark + 1, DIGITS);
    unit += strspn(unit, " ");
    unit += g_str_has_prefix(unit, "per ") ? 4 : 0;
    for (; *unit != '\0'; unit++)
        if (!g_ascii_isalpha(*unit) && *unit != '%' && *unit != '/')
            return NULL;
    return mark;
}

/* Where semicolons separate, a decimal comma becomes a point.  A table that has both marks may mean
 * thousands by one of them: that is a fault. */
static void
settle_mark(Reader *reader, SpateYaml *cell)
{
    char *mark = reader->separator == ';' ? find_mark(cell->text) : NULL;
    if (mark == NULL)
        return;
    if (reader->mark == 0)
        reader->mark = *mark;
    else if (reader->mark != *mark)
        spate_faults_note(reader->faults, cell->place, "use the same in all numbers of a table",
                          "'%s' has a decimal %s, an earlier number a %s", cell->text,
                          *mark == ',' ? "comma" : "point", *mark == ',' ? "point" : "comma");
    *mark = '.';
}

/* Takes the cell over. */
static void
add_cell(Reader *reader, const SpateYaml *columns, guint number, SpateYaml *row, SpateYaml *cell)
{
    const SpateYamlPair *column = &g_array_index(columns->pairs, SpateYamlPair, number);
    const char *unit = g_ptr_array_index(reader->units, number);
    if (cell->text[0] == '\0') {
        spate_yaml_free(cell);
        return;
    }
    settle_mark(reader, cell);
    cell->is_cell = unit == NULL;
    if (unit != NULL) {
        g_autofree char *bare = cell->text;
        cell->text = g_strdup_printf("%s %s", bare, unit);
    }
    SpateYamlPair pair = {g_strdup(column->key), column->key_place, cell};
    g_array_append_val(row->pairs, pair);
}

/* Takes the cells over; what is more than a row stays in their list. */
static SpateYaml *
new_row(Reader *reader, const SpateYaml *columns, SpatePlace place, GPtrArray *cells)
{
    guint n_columns = columns->pairs->len;
    SpateYaml *row = spate_yaml_new(SPATE_YAML_MAP, place);
    if (cells->len != n_columns)
        spate_faults_note(reader->faults, place, "one for each column of the first line",
                          "this row has %u cell%s, not %u", cells->len, cells->len == 1 ? "" : "s",
                          n_columns);
    for (guint i = 0; i < n_columns && cells->len > 0; i++)
        add_cell(reader, columns, i, row, g_ptr_array_steal_index(cells, 0));
    return row;
}

static void
read_rows(Reader *reader, SpateCsvTable *table)
{
    size_t n_cells = 0;
    for (;;) {
        g_autoptr(GPtrArray) cells = read_line(reader);
        if (cells == NULL)
            return;
        SpatePlace place = ((const SpateYaml *)g_ptr_array_index(cells, 0))->place;
        place.column = 1;
        n_cells += cells->len;
        if (n_cells > SPATE_CSV_MAX_CELLS) {
            spate_faults_note(reader->faults, place, "at most " G_STRINGIFY(SPATE_CSV_MAX_CELLS),
                              "the table has too many cells");
            return;
        }
        g_ptr_array_add(table->rows->items, new_row(reader, table->columns, place, cells));
    }
}

/* What is no text is not read at all. */
static bool
is_text(const char *text, size_t length, int origin, SpateFaults *faults)
{
    const char *bad;
    if (g_utf8_validate_len(text, length, &bad))
        return true;
    bool is_nul = bad < text + length && *bad == '\0';
    spate_faults_note(faults, spate_place_of_byte(text, (size_t)(bad - text), origin),
                      "save the table as UTF-8 text",
                      is_nul ? "the table contains a NUL character" : "this is not UTF-8");
    return false;
}

SpateCsvTable *
spate_csv_parse(const char *text, size_t length, int origin, SpateFaults *faults)
{
    size_t before = spate_faults_noted(faults);
    size_t mark = length >= 3 && memcmp(text, BYTE_ORDER_MARK, 3) == 0 ? 3 : 0;
    if (!is_text(text + mark, length - mark, origin, faults))
        return NULL;
    g_autoptr(GPtrArray) units = g_ptr_array_new_with_free_func(g_free);
    Reader reader = {text + mark, text + length, {origin, 1, 1}, faults, units, ',', 0};
    g_autoptr(SpateCsvTable) table = g_new0(SpateCsvTable, 1);
    table->columns = read_columns(&reader);
    if (table->columns == NULL)
        return NULL;
    table->rows = spate_yaml_new(SPATE_YAML_LIST, (SpatePlace){origin, 1, 1});
    read_rows(&reader, table);
    return spate_faults_noted(faults) == before ? g_steal_pointer(&table) : NULL;
}

/* No first line is longer. */
#define LONGEST_HEAD 65536

bool
spate_csv_names_any(const char *text, size_t length, SpateCsvNameTest test, gconstpointer user)
{
    size_t mark = length >= 3 && memcmp(text, BYTE_ORDER_MARK, 3) == 0 ? 3 : 0;
    g_autofree char *head = g_strndup(text + mark, MIN(length - mark, LONGEST_HEAD));
    char *line = head + strspn(head, "\r\n");
    line[strcspn(line, "\r\n")] = '\0';
    g_auto(GStrv) names = g_strsplit_set(line, ",;\t", -1);
    for (size_t i = 0; names[i] != NULL; i++) {
        g_strdelimit(names[i], "\"", ' ');
        g_strstrip(names[i]);
        g_free(spate_csv_cut_unit(names[i]));
        if (test(names[i], user))
            return true;
    }
    return line[0] == '\0';
}
