/* read-json.c - prints what a JSONPath finds in the JSON on standard input
 *
 * For the tests of the commands: read-json '$.airtime_us'.  Ends with 1 if the input is no JSON.
 * With --number the one number found is printed in %.6f.
 */
#include <json-glib/json-glib.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

static char *
read_all(FILE *from, gsize *length)
{
    GString *text = g_string_new(NULL);
    char block[4096];
    size_t n;
    while ((n = fread(block, 1, sizeof block, from)) > 0)
        g_string_append_len(text, block, (gssize)n);
    *length = text->len;
    return g_string_free(text, FALSE);
}

int
main(int argc, char **argv)
{
    bool as_number = argc == 3 && strcmp(argv[1], "--number") == 0;
    gsize length;
    g_autofree char *text = read_all(stdin, &length);
    g_autoptr(JsonParser) parser = json_parser_new();
    g_autoptr(GError) error = NULL;
    if (!json_parser_load_from_data(parser, text, (gssize)length, &error)) {
        fprintf(stderr, "%s\n", error->message);
        return 1;
    }
    g_autoptr(JsonNode) found =
        json_path_query(argv[argc - 1], json_parser_get_root(parser), &error);
    if (found == NULL) {
        fprintf(stderr, "%s\n", error->message);
        return 1;
    }
    if (!as_number) {
        g_autofree char *out = json_to_string(found, FALSE);
        printf("%s\n", out);
        return 0;
    }
    JsonArray *array = json_node_get_array(found);
    if (json_array_get_length(array) != 1)
        return 1;
    printf("%.6f\n", json_array_get_double_element(array, 0));
    return 0;
}
