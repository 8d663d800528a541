/* store-file.c - what lies at the place of a store, before SQLite opens it
 *
 * SQLite keeps what undoes a batch in a journal beside the store.  If the store is removed and the
 * journal is not, the next store of that name would get pages of the old one, or lose them; SQLite
 * removes such a journal without a word, though the store may only have been moved away.
 */
#include "study/sweep/store-private.h"

#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* A journal's head: magic, records, nonce, pages of the store before (SQLite, file format, 3). */
#define HEAD_BYTES   20
#define PAGES_OFFSET 16
static const unsigned char MAGIC[] = {0xd9, 0xd5, 0x05, 0xf9, 0x20, 0xa1, 0x63, 0xd7};

static bool
check_alone(const char *path, const char *suffix, const char *name, GError **error)
{
    static const unsigned char NO_PAGES[4] = {0};
    g_autofree char *beside = g_strconcat(path, suffix, NULL);
    int file = open(beside, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (file < 0)
        return true;
    unsigned char head[HEAD_BYTES];
    ssize_t n_read = read(file, head, sizeof head);
    close(file);
    /* One that would undo nothing: of a batch that had ended, or of the first one. */
    if (n_read <= 0 || head[0] == 0 ||
        (n_read == HEAD_BYTES && memcmp(head, MAGIC, sizeof MAGIC) == 0 &&
         memcmp(head + PAGES_OFFSET, NO_PAGES, sizeof NO_PAGES) == 0))
        return true;
    g_set_error(error, SPATE_STORE_ERROR, SPATE_STORE_ERROR_FOREIGN,
                "%s%s belongs to a missing store: put that store back next to it, or remove "
                "%s%s",
                name, suffix, name, suffix);
    return false;
}

static const char *
journal_of(const SpateStore *store)
{
    const char *file = sqlite3_db_filename(store->sql.handle, "main");
    return store->is_file && file != NULL ? sqlite3_filename_journal(file) : NULL;
}

bool
spate_store_has_journal(const SpateStore *store)
{
    const char *journal = journal_of(store);
    return journal != NULL && access(journal, F_OK) == 0;
}

void
spate_store_remove(SpateStore *store)
{
    const char *journal = journal_of(store);
    if (journal == NULL)
        return;
    unlink(sqlite3_db_filename(store->sql.handle, "main"));
    unlink(journal);
}

bool
spate_store_check_file(const char *path, const char *name, int64_t *bytes, GError **error)
{
    struct stat facts;
    bool is_there = stat(path, &facts) == 0;
    *bytes = is_there ? facts.st_size : 0;
    if (is_there && !S_ISREG(facts.st_mode)) {
        g_set_error(error, SPATE_STORE_ERROR, SPATE_STORE_ERROR_FOREIGN,
                    "%s: it is not a regular file", name);
        return false;
    }
    if (*bytes > 0)
        return true;
    char *resolved = realpath(path, NULL);
    const char *place = resolved != NULL ? resolved : path;
    bool is_alone =
        check_alone(place, "-journal", name, error) && check_alone(place, "-wal", name, error);
    free(resolved);
    return is_alone;
}
