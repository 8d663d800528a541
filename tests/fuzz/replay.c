/* replay.c - takes files, or all files of folders, through a target once
 *
 * Without the fuzzer's library: what it found stays found by every compiler.
 */
#include "fuzz.h"

#include <glib.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int
take_file(const char *path)
{
    g_autofree char *bytes = NULL;
    gsize length = 0;
    g_autoptr(GError) error = NULL;
    if (!g_file_get_contents(path, &bytes, &length, &error)) {
        fprintf(stderr, "%s\n", error->message);
        exit(EXIT_FAILURE);
    }
    /* An exact block, so that a byte too far is seen; never NULL, as with the library. */
    g_autofree uint8_t *exact = g_malloc(MAX(length, 1));
    memcpy(exact, bytes, length);
    LLVMFuzzerTestOneInput(exact, length);
    return 1;
}

static int
take(const char *path)
{
    g_autoptr(GDir) folder = g_dir_open(path, 0, NULL);
    if (folder == NULL)
        return take_file(path);
    int n = 0;
    for (const char *name = g_dir_read_name(folder); name != NULL; name = g_dir_read_name(folder)) {
        g_autofree char *file = g_build_filename(path, name, NULL);
        n += take(file);
    }
    return n;
}

int
main(int argc, char **argv)
{
    int n = 0;
    LLVMFuzzerInitialize(&argc, &argv);
    for (int i = 1; i < argc; i++)
        n += take(argv[i]);
    printf("%d inputs\n", n);
    return n > 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
