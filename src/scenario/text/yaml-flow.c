/* yaml-flow.c - a tree back to YAML, on a single line */
#include "scenario/text/yaml-flow.h"

#include "core/shown-text.h"
#include <string.h>

/* Whether a scalar means the same without quotes, wherever it is. */
typedef bool (*PlainFunc)(const char *scalar);

/* Plain scalars of flow style may hold more than this; what holds it needs no thought. */
static bool
is_surely_plain(const char *scalar)
{
    static const char INSIDE[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                 "0123456789._/+-% ";
    size_t length = strlen(scalar);
    if (length == 0 || strspn(scalar, INSIDE) != length || scalar[length - 1] == ' ')
        return false;
    bool has_sign = scalar[0] == '-' || scalar[0] == '+';
    return g_ascii_isalnum(scalar[has_sign ? 1 : 0]);
}

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
append_scalar(GString *text, const char *scalar, bool quoted, PlainFunc is_plain)
{
    if (!quoted && is_plain(scalar)) {
        g_string_append(text, scalar);
        return;
    }
    g_string_append_c(text, '"');
    for (const char *c = scalar; *c != '\0'; c = g_utf8_next_char(c)) {
        gunichar character = g_utf8_get_char(c);
        if (*c == '"' || *c == '\\')
            g_string_append_printf(text, "\\%c", *c);
        else if (spate_is_unsafe_character(character))
            g_string_append_printf(text, character < 0x100 ? "\\x%02x" : "\\u%04x", character);
        else
            g_string_append_unichar(text, character);
    }
    g_string_append_c(text, '"');
}

static void
append_node(GString *text, const SpateYaml *node, PlainFunc is_plain)
{
    switch (node->kind) {
    case SPATE_YAML_SCALAR:
        append_scalar(text, node->text, node->quoted, is_plain);
        break;
    case SPATE_YAML_LIST:
        g_string_append_c(text, '[');
        for (guint i = 0; i < node->items->len; i++) {
            g_string_append(text, i > 0 ? ", " : "");
            append_node(text, g_ptr_array_index(node->items, i), is_plain);
        }
        g_string_append_c(text, ']');
        break;
    case SPATE_YAML_MAP:
        g_string_append_c(text, '{');
        for (guint i = 0; i < node->pairs->len; i++) {
            const SpateYamlPair *pair = &g_array_index(node->pairs, SpateYamlPair, i);
            g_string_append(text, i > 0 ? ", " : "");
            append_scalar(text, pair->key, false, is_plain);
            g_string_append(text, ": ");
            append_node(text, pair->value, is_plain);
        }
        g_string_append_c(text, '}');
        break;
    }
}

void
spate_yaml_append_scalar(GString *text, const char *scalar, bool quoted)
{
    append_scalar(text, scalar, quoted, is_surely_plain);
}

void
spate_yaml_append_flow(GString *text, const SpateYaml *node)
{
    append_node(text, node, is_surely_plain);
}

char *
spate_yaml_text(const SpateYaml *node)
{
    GString *line = g_string_new(NULL);
    append_node(line, node, can_be_plain);
    return g_string_free(line, FALSE);
}
