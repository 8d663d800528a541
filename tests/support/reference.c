/* reference.c - rows of tests/reference/ */
#include "support/reference.h"

#include <math.h>
#include <string.h>

static void
strings_free(gpointer strings)
{
    g_ptr_array_unref(strings);
}

/* One record of a CSV file; *text moves behind it. */
static GPtrArray *
read_record(const char **text)
{
    GPtrArray *fields = g_ptr_array_new_with_free_func(g_free);
    g_autoptr(GString) field = g_string_new(NULL);
    bool quoted = false;
    const char *c = *text;
    for (; *c != '\0' && (quoted || *c != '\n'); c++) {
        if (quoted && *c == '"' && c[1] == '"')
            g_string_append_c(field, *c++);
        else if (*c == '"')
            quoted = !quoted;
        else if (*c == ',' && !quoted) {
            g_ptr_array_add(fields, g_strdup(field->str));
            g_string_truncate(field, 0);
        } else if (*c != '\r')
            g_string_append_c(field, *c);
    }
    g_ptr_array_add(fields, g_strdup(field->str));
    *text = *c == '\n' ? c + 1 : c;
    return fields;
}

Reference *
reference_read(const char *file)
{
    g_autofree char *path = g_build_filename(REFERENCE_DIR, file, NULL);
    g_autofree char *text = NULL;
    g_autoptr(GError) error = NULL;
    if (!g_file_get_contents(path, &text, NULL, &error))
        g_error("%s", error->message);
    Reference *reference = g_new0(Reference, 1);
    const char *c = text;
    reference->columns = read_record(&c);
    reference->rows = g_ptr_array_new_with_free_func(strings_free);
    while (*c != '\0')
        g_ptr_array_add(reference->rows, read_record(&c));
    return reference;
}

void
reference_free(Reference *reference)
{
    if (reference == NULL)
        return;
    g_ptr_array_unref(reference->columns);
    g_ptr_array_unref(reference->rows);
    g_free(reference);
}

const char *
reference_text(const Reference *reference, guint row, const char *column)
{
    const GPtrArray *fields = g_ptr_array_index(reference->rows, row);
    for (guint i = 0; i < reference->columns->len && i < fields->len; i++)
        if (strcmp(g_ptr_array_index(reference->columns, i), column) == 0)
            return g_ptr_array_index(fields, i);
    return "";
}

double
reference_number(const Reference *reference, guint row, const char *column)
{
    return g_ascii_strtod(reference_text(reference, row, column), NULL);
}

char *
reference_input_text(const Reference *reference, guint row, const char *name)
{
    g_auto(GStrv) inputs = g_strsplit(reference_text(reference, row, "inputs"), ";", -1);
    for (size_t i = 0; inputs[i] != NULL; i++) {
        size_t length = strlen(name);
        if (strncmp(inputs[i], name, length) == 0 && inputs[i][length] == '=')
            return g_strdup(inputs[i] + length + 1);
    }
    return g_strdup("");
}

double
reference_input(const Reference *reference, guint row, const char *name)
{
    g_autofree char *text = reference_input_text(reference, row, name);
    return text[0] != '\0' ? g_ascii_strtod(text, NULL) : NAN;
}

double
reference_tolerance(const Reference *reference, guint row)
{
    const char *text = reference_text(reference, row, "tolerance");
    char *end = NULL;
    double tolerance = g_ascii_strtod(text, &end);
    if (strstr(end, "%") != NULL)
        tolerance /= 100.0;
    if (strstr(end, "relative") != NULL || strstr(end, "%") != NULL)
        tolerance *= fabs(reference_number(reference, row, "value"));
    return tolerance;
}
