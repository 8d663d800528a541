/* lint-cases.h - a scenario that lint has nothing to say of, and what a change of it brings about
 */
#pragma once

#include "scenario/world/world.h"
#include <check.h>
#include <string.h>

/* A file that lint has nothing to say of. */
static const char CLEAN[] =
    "spate: 1\n"
    "run: {duration: 1 h}\n"
    "bearers:\n"
    "  valley:\n"
    "    kind: lora\n"
    "    frequency: 869.5 MHz\n"
    "    bandwidth: 125 kHz\n"
    "    spreading-factor: 10\n"
    "    duty-cycle: 10 %\n"
    "    propagation: {model: log-distance, exponent: 3}\n"
    "  yard:\n"
    "    kind: dsss\n"
    "    frequency: 2437 MHz\n"
    "    propagation: {model: log-distance, exponent: 3}\n"
    "nodes:\n"
    "  ridge:\n"
    "    at: {x: 0 m, y: 0 m}\n"
    "    radios: {valley: {power: 14 dBm}}\n"
    "    relay: [valley]\n"
    "  gate:\n"
    "    at: {x: 500 m, y: 0 m}\n"
    "    radios: {valley: {power: 14 dBm}, yard: {power: 14 dBm}}\n"
    "  soil:\n"
    "    count: 4\n"
    "    place: {circle: {centre: {x: 500 m, y: 0 m}, radius: 50 m}}\n"
    "    radios: {yard: {power: 14 dBm}}\n"
    "bridges:\n"
    "  gate:\n"
    "    up:\n"
    "      from: yard\n"
    "      to: valley\n"
    "      rules:\n"
    "        - {when: {from: soil-1}, do: hold-back}\n"
    "        - {do: pass}\n"
    "traffic:\n"
    "  talk: {from: [ridge, gate], to: [ridge, gate], payload: 20 bytes, every: 5 min}\n"
    "  moisture: {from: soil, to: [gate, ridge], payload: 20 bytes, every: 5 min}\n";

static inline char *
replaced(const char *text, const char *old, const char *new)
{
    const char *at = strstr(text, old);
    ck_assert_msg(at != NULL, "'%s' is not in the text", old);
    return g_strdup_printf("%.*s%s%s", (int)(at - text), text, new, at + strlen(old));
}

static inline char *
lint(const char *text)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("f.yaml", text, strlen(text), NULL, 0, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    g_autoptr(SpateScenario) scenario = spate_scenario_new(file, NULL, &error);
    ck_assert_ptr_nonnull(scenario);
    g_autoptr(SpateWorld) world = spate_world_new(scenario, &error);
    ck_assert_msg(world != NULL, "%s", error != NULL ? error->message : "");
    return spate_world_lint(world, file);
}

/* Exactly one warning, with these words, at that line and column. */
static inline void
assert_warns(const char *old, const char *new, const char *place, const char *words)
{
    g_autofree char *text = replaced(CLEAN, old, new);
    g_autofree char *warnings = lint(text);
    g_autofree char *head = g_strdup_printf("f.yaml:%s: ", place);
    ck_assert_msg(strstr(warnings, words) != NULL, "'%s' not in:\n%s", words, warnings);
    ck_assert_msg(strstr(warnings, head) != NULL, "'%s' not in:\n%s", head, warnings);
    const char *first = strstr(warnings, "f.yaml:");
    ck_assert_msg(strstr(first + 1, "f.yaml:") == NULL, "more than one:\n%s", warnings);
}

/* Nothing is said. */
static inline void
assert_silent(const char *old, const char *new)
{
    g_autofree char *text = replaced(CLEAN, old, new);
    g_autofree char *warnings = lint(text);
    ck_assert_str_eq(warnings, "");
}
