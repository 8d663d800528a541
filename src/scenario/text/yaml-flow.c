/* yaml-flow.c - a tree back to YAML, on a single line */
#include "scenario/text/yaml-flow.h"

#include "core/shown-text.h"
#include <string.h>

/* Plain scalars of flow style may hold more than this; what holds it needs no thought. */
static bool
is_plain(const char *scalar)
{
    static const char INSIDE[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                 "0123456789._/+-% ";
    size_t length = strlen(scalar);
    if (length == 0 || strspn(scalar, INSIDE) != length || scalar[length - 1] == ' ')
        return false;
    bool has_sign = scalar[0] == '-' || scalar[0] == '+';
    return g_ascii_isalnum(scalar[has_sign ? 1 : 0]);
}

void
spate_yaml_append_scalar(GString *text, const char *scalar, bool quoted)
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

void
spate_yaml_append_flow(GString *text, const SpateYaml *node)
{
    switch (node->kind) {
    case SPATE_YAML_SCALAR:
        spate_yaml_append_scalar(text, node->text, node->quoted);
        break;
    case SPATE_YAML_LIST:
        g_string_append_c(text, '[');
        for (guint i = 0; i < node->items->len; i++) {
            g_string_append(text, i > 0 ? ", " : "");
            spate_yaml_append_flow(text, g_ptr_array_index(node->items, i));
        }
        g_string_append_c(text, ']');
        break;
    case SPATE_YAML_MAP:
        g_string_append_c(text, '{');
        for (guint i = 0; i < node->pairs->len; i++) {
            const SpateYamlPair *pair = &g_array_index(node->pairs, SpateYamlPair, i);
            g_string_append(text, i > 0 ? ", " : "");
            spate_yaml_append_scalar(text, pair->key, false);
            g_string_append(text, ": ");
            spate_yaml_append_flow(text, pair->value);
        }
        g_string_append_c(text, '}');
        break;
    }
}
