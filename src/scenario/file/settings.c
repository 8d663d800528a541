/* settings.c - values that are set from outside of the file */
#include "scenario/file/settings.h"

#include "scenario/read/read-sections.h"
#include <string.h>

void
spate_settings_init(SpateSettings *settings, const SpateSetting *given, size_t n, const char *name,
                    bool are_lines)
{
    *settings = (SpateSettings){.name = name, .are_lines = are_lines, .n = n};
    settings->all = g_new0(SpateGivenSetting, n + 1);
    for (size_t i = 0; i < n; i++) {
        settings->all[i].path = g_strdup(given[i].path);
        settings->all[i].text = g_strdup_printf("%s=%s", given[i].path, given[i].value);
    }
}

void
spate_settings_clear(SpateSettings *settings)
{
    for (size_t i = 0; i < settings->n; i++) {
        g_free(settings->all[i].path);
        g_free(settings->all[i].text);
        spate_yaml_free(settings->all[i].value);
    }
    g_free(settings->all);
}

int
spate_settings_add_texts(const SpateSettings *settings, SpateFaults *faults)
{
    int first = (int)spate_faults_n_texts(faults);
    g_autoptr(GString) lines = g_string_new(NULL);
    for (size_t i = 0; i < settings->n; i++) {
        if (settings->are_lines)
            g_string_append_printf(lines, "%s\n", settings->all[i].text);
        else
            spate_faults_add_text(faults, settings->name, settings->all[i].text);
    }
    if (settings->are_lines)
        spate_faults_add_text(faults, settings->name, lines->str);
    return first;
}

/* The value is read after as many line ends and spaces as precede it, so that places fit the whole.
 */
static SpateYaml *
parse_value(const SpateGivenSetting *setting, const char *value, SpateFaults *faults)
{
    GString *text = g_string_new(NULL);
    glong n_characters = g_utf8_validate(setting->path, -1, NULL) ? g_utf8_strlen(setting->path, -1)
                                                                  : (glong)strlen(setting->path);
    for (int i = 1; i < setting->place.line; i++)
        g_string_append_c(text, '\n');
    for (glong i = 0; i <= n_characters; i++)
        g_string_append_c(text, ' ');
    g_string_append(text, value);
    SpateYaml *tree = spate_yaml_parse(text->str, text->len, setting->place.origin, faults);
    g_string_free(text, TRUE);
    return tree;
}

void
spate_settings_read(SpateSettings *settings, int origin, SpateFaults *faults)
{
    for (size_t i = 0; i < settings->n; i++) {
        SpateGivenSetting *setting = &settings->all[i];
        const char *value = setting->text + strlen(setting->path) + 1;
        setting->place = settings->are_lines ? (SpatePlace){origin, (int)i + 1, 1}
                                             : (SpatePlace){origin + (int)i, 1, 1};
        /* What is set for the whole command may also say what `size` varies; a point of a sweep may
         * not. */
        bool is_size = !settings->are_lines && (strcmp(setting->path, "size") == 0 ||
                                                g_str_has_prefix(setting->path, "size."));
        if (!is_size && !spate_path_is_free(setting->path))
            spate_faults_note(faults, setting->place, "as in nodes.soil.count=80",
                              "'%s' cannot be set", setting->path);
        else if (value[strspn(value, " \t")] == '\0')
            spate_faults_note(faults, setting->place, "as in nodes.soil.count=80",
                              "'%s' is set to an empty value", setting->path);
        else
            setting->value = parse_value(setting, value, faults);
    }
}
