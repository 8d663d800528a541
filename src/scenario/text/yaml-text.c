/* yaml-text.c - a value of a tree as one line */
#include "scenario/text/yaml-text.h"

#include "scenario/text/yaml-flow.h"
#include <string.h>

/* Whether a scalar means the same without quotes, wherever it is. */
static bool
can_be_plain(const char *text)
{
    size_t length = strlen(text);
    if (length == 0 || g_ascii_isspace(text[0]) || g_ascii_isspace(text[length - 1]) ||
        strchr("!&*|>@`\"'%#?:", text[0]) != NULL || (text[0] == '-' && !g_ascii_isdigit(text[1])))
        return false;
    for (const char *c = text; *c != '\0'; c++)
        if (strchr(",[]{}:#", *c) != NULL || (unsigned char)*c < 0x20 || (unsigned char)*c >= 0x7f)
            return false;
    return true;
}

static void
append_scalar(GString *line, const char *text, bool quoted)
{
    if (!quoted && can_be_plain(text))
        g_string_append(line, text);
    else
        spate_yaml_append_scalar(line, text, true);
}

static void
append_node(GString *line, const SpateYaml *node)
{
    switch (node->kind) {
    case SPATE_YAML_SCALAR:
        append_scalar(line, node->text, node->quoted);
        return;
    case SPATE_YAML_LIST:
        g_string_append_c(line, '[');
        for (guint i = 0; i < node->items->len; i++) {
            g_string_append(line, i > 0 ? ", " : "");
            append_node(line, g_ptr_array_index(node->items, i));
        }
        g_string_append_c(line, ']');
        return;
    case SPATE_YAML_MAP:
        g_string_append_c(line, '{');
        for (guint i = 0; i < node->pairs->len; i++) {
            const SpateYamlPair *pair = &g_array_index(node->pairs, SpateYamlPair, i);
            g_string_append(line, i > 0 ? ", " : "");
            append_scalar(line, pair->key, false);
            g_string_append(line, ": ");
            append_node(line, pair->value);
        }
        g_string_append_c(line, '}');
        return;
    }
    g_assert_not_reached();
}

char *
spate_yaml_text(const SpateYaml *node)
{
    GString *line = g_string_new(NULL);
    append_node(line, node);
    return g_string_free(line, FALSE);
}
