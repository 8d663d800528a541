/* tables.c - the tables and the height models that a scenario names */
#include "scenario/read/tables.h"

#include "scenario/read/read-bytes.h"
#include "scenario/text/map-points.h"
#include <errno.h>
#include <fcntl.h>
#include <stdint.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

typedef struct {
    char *path, *text, *sha256;
    size_t length;
    int origin;
    SpateCsvTable *table; /* NULL: it has faults, which each reading notes anew */
} Table;

struct SpateTables {
    GMutex mutex; /* a draw looks for its tables while another thread reads those of a point */
    char *folder; /* NULL: the current one */
    int first_origin;
    GPtrArray *tables;   /* Table, in the order of their origins */
    GHashTable *by_path; /* path -> Table, borrowed */
    GHashTable *rasters; /* path -> SpateRaster */
    size_t n_bytes;
};

static SpateTableWatch on_open;

void
spate_tables_set_watch(SpateTableWatch watch)
{
    g_atomic_pointer_set(&on_open, watch);
}

static void
free_table(gpointer user)
{
    Table *table = user;
    g_free(table->path);
    g_free(table->text);
    g_free(table->sha256);
    spate_csv_free(table->table);
    g_free(table);
}

SpateTables *
spate_tables_new(const char *folder, int first_origin)
{
    SpateTables *tables = g_new0(SpateTables, 1);
    g_mutex_init(&tables->mutex);
    tables->folder = g_strdup(folder);
    tables->first_origin = first_origin;
    tables->tables = g_ptr_array_new_with_free_func(free_table);
    tables->by_path = g_hash_table_new(g_str_hash, g_str_equal);
    tables->rasters =
        g_hash_table_new_full(g_str_hash, g_str_equal, g_free, (GDestroyNotify)spate_raster_unref);
    return tables;
}

void
spate_tables_free(SpateTables *tables)
{
    if (tables == NULL)
        return;
    g_mutex_clear(&tables->mutex);
    g_hash_table_unref(tables->by_path);
    g_hash_table_unref(tables->rasters);
    g_ptr_array_unref(tables->tables);
    g_free(tables->folder);
    g_free(tables);
}

/* Free with g_free(). */
static char *
path_of(const SpateTables *tables, const char *name)
{
    return tables->folder == NULL || g_path_is_absolute(name)
               ? g_strdup(name)
               : g_build_filename(tables->folder, name, NULL);
}

static void
tell_watch(const char *path)
{
    SpateTableWatch watch = g_atomic_pointer_get(&on_open);
    if (watch != NULL)
        watch(path);
}

/* What a device or a pipe gives would be endless, or different each time.  NULL, or why it cannot
 * be read. */
static const char *
read_plain_file(const char *path, size_t most, GByteArray *into)
{
    struct stat status;
    tell_watch(path);
    int fd = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    if (fd < 0)
        return g_strerror(errno);
    bool is_known = fstat(fd, &status) == 0;
    bool is_plain = is_known && S_ISREG(status.st_mode);
    bool is_read = is_plain && spate_read_bytes(fd, most, into);
    int why = errno;
    close(fd);
    if (is_known && !is_plain)
        return "it is not a plain file";
    return is_read ? NULL : g_strerror(why);
}

static int
add_text(SpateFaults *faults, const Table *table)
{
    return spate_map_format(table->path) != NULL
               ? spate_faults_add_map(faults, table->path)
               : spate_faults_add_table(faults, table->path, table->text);
}

/* NULL with a fault. */
static Table *
load(SpateTables *tables, const char *path, SpatePlace place, SpateFaults *faults)
{
    g_autoptr(GByteArray) bytes = g_byte_array_new();
    size_t left = SPATE_TABLES_MAX_BYTES - tables->n_bytes;
    const char *why = read_plain_file(path, left, bytes);
    if (why != NULL) {
        spate_faults_note(faults, place, "a path is relative to the folder of the scenario",
                          "'%s' cannot be read: %s", path, why);
        return NULL;
    }
    if (bytes->len > left) {
        spate_faults_note(faults, place, "at most 16 MiB in all", "the tables are too large");
        return NULL;
    }
    Table *table = g_new0(Table, 1);
    table->path = g_strdup(path);
    table->length = bytes->len;
    table->sha256 = g_compute_checksum_for_data(G_CHECKSUM_SHA256, bytes->data, bytes->len);
    g_byte_array_append(bytes, (const guint8 *)"", 1);
    table->text = (char *)g_byte_array_free(g_steal_pointer(&bytes), FALSE);
    return table;
}

static Table *
find_or_load(SpateTables *tables, const char *path, SpatePlace place, SpateFaults *faults)
{
    Table *table = g_hash_table_lookup(tables->by_path, path);
    if (table != NULL)
        return table;
    table = load(tables, path, place, faults);
    if (table == NULL)
        return NULL;
    table->origin = add_text(faults, table);
    g_assert(table->origin == tables->first_origin + (int)tables->tables->len);
    g_ptr_array_add(tables->tables, table);
    g_hash_table_insert(tables->by_path, table->path, table);
    tables->n_bytes += table->length;
    return table;
}

static bool
is_column_of(const char *name, gconstpointer kind)
{
    return g_strv_contains(((const SpateTableKind *)kind)->columns, name);
}

/* False with a fault. */
static bool
is_of_kind(const Table *table, const SpateTableKind *kind, SpatePlace place, SpateFaults *faults)
{
    if (spate_csv_names_any(table->text, table->length, is_column_of, kind))
        return true;
    g_autofree char *columns = g_strjoinv(", ", (char **)(uintptr_t)kind->columns);
    g_autofree char *hint = g_strdup_printf("its first line names columns: %s", columns);
    spate_faults_note(faults, place, hint, "'%s' is not %s", table->path, kind->what);
    return false;
}

const SpateCsvTable *
spate_tables_find(SpateTables *tables, const char *name, const SpateTableKind *kind,
                  SpatePlace place, SpateFaults *faults)
{
    g_autofree char *path = path_of(tables, name);
    g_autoptr(GMutexLocker) locker G_GNUC_UNUSED = g_mutex_locker_new(&tables->mutex);
    Table *table = find_or_load(tables, path, place, faults);
    bool is_map = table != NULL && spate_map_format(table->path) != NULL;
    if (table == NULL || (!is_map && !is_of_kind(table, kind, place, faults)))
        return NULL;
    if (table->table == NULL && is_map)
        table->table = spate_map_points_parse(table->path, table->text, table->length,
                                              table->origin, place, faults);
    else if (table->table == NULL)
        table->table = spate_csv_parse(table->text, table->length, table->origin, faults);
    return table->table;
}

SpateRaster *
spate_tables_find_raster(SpateTables *tables, const char *name, SpatePlace place,
                         SpateFaults *faults)
{
    g_autofree char *path = path_of(tables, name);
    g_autoptr(GMutexLocker) locker G_GNUC_UNUSED = g_mutex_locker_new(&tables->mutex);
    SpateRaster *raster = g_hash_table_lookup(tables->rasters, path);
    if (raster != NULL)
        return raster;
    g_autoptr(GError) error = NULL;
    tell_watch(path);
    raster = spate_raster_open(path, &error);
    if (raster == NULL) {
        spate_faults_note(faults, place,
                          "a height model that GDAL reads, as GeoTIFF or ASCII grid; a path is "
                          "relative to the folder of the scenario",
                          "'%s' cannot be read: %s", path, error->message);
        return NULL;
    }
    g_hash_table_insert(tables->rasters, g_steal_pointer(&path), raster);
    return raster;
}

void
spate_tables_add_texts(const SpateTables *tables, SpateFaults *faults)
{
    for (guint i = 0; i < tables->tables->len; i++) {
        const Table *table = g_ptr_array_index(tables->tables, i);
        int origin = add_text(faults, table);
        g_assert(origin == table->origin);
    }
}

static int
compare_sums(gconstpointer a, gconstpointer b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

char *
spate_tables_sha256(const SpateTables *tables, const char *text_sha256)
{
    g_autoptr(GPtrArray) sums = g_ptr_array_new(); /* borrowed */
    for (guint i = 0; i < tables->tables->len; i++)
        g_ptr_array_add(sums, ((const Table *)g_ptr_array_index(tables->tables, i))->sha256);
    GHashTableIter iter;
    gpointer raster;
    g_hash_table_iter_init(&iter, tables->rasters);
    while (g_hash_table_iter_next(&iter, NULL, &raster))
        g_ptr_array_add(sums, (gpointer)(uintptr_t)spate_raster_sha256(raster));
    if (sums->len == 0)
        return g_strdup(text_sha256);
    g_ptr_array_sort(sums, compare_sums);
    GString *lines = g_string_new(text_sha256);
    g_string_append_c(lines, '\n');
    for (guint i = 0; i < sums->len; i++)
        g_string_append_printf(lines, "%s\n", (const char *)g_ptr_array_index(sums, i));
    char *sum = g_compute_checksum_for_string(G_CHECKSUM_SHA256, lines->str, (gssize)lines->len);
    g_string_free(lines, TRUE);
    return sum;
}
