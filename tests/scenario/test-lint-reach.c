/* test-lint-reach.c - messages that can never get where they should
 *
 * Levels by hand: free space at 1 m and 869.5 MHz is 31.23 dB (Rec. ITU-R P.525); SF10 at 125 kHz
 * with a noise figure of 6 dB needs -174 + 50.97 + 6 - 15 = -132.03 dBm (AN1200.13 for the -15 dB).
 */
#include "lint-cases.h"
#include "support/check-main.h"

/* Huts in a line.  With 14 dBm and exponent 3 a hut is heard over 10^((146.03 - 31.23) / 30) m =
 * 6.71 km. */
static const char CHAIN[] =
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
    "flooding: {hop-limit: 3}\n"
    "nodes:\n"
    "  east: {at: {x: 0 km, y: 0 m}, radios: {valley: {power: 14 dBm}}}\n"
    "  hill: {at: {x: 5 km, y: 0 m}, radios: {valley: {power: 14 dBm}}, relay: valley}\n"
    "  west: {at: {x: 10 km, y: 0 m}, radios: {valley: {power: 14 dBm}}}\n"
    "traffic:\n"
    "  talk: {from: east, to: west, payload: 20 bytes, every: 5 min}\n";

#define NO_PATH "17:3: warning: 'talk' cannot get from 'east' to 'west': no path of links and "

/* Changes in pairs of old and new, NULL at the end; what lint says of the result. */
static char *
lint_chain(const char *const *changes)
{
    g_autofree char *text = g_strdup(CHAIN);
    for (size_t i = 0; changes[i] != NULL; i += 2) {
        char *changed = replaced(text, changes[i], changes[i + 1]);
        g_free(text);
        text = changed;
    }
    return lint(text);
}
#define LINT(...) lint_chain((const char *const[]){__VA_ARGS__ __VA_OPT__(, ) NULL})

static void
assert_says(char *warnings, const char *words)
{
    if (words == NULL)
        ck_assert_str_eq(warnings, "");
    else
        ck_assert_msg(strstr(warnings, words) != NULL, "'%s' not in:\n%s", words, warnings);
    g_free(warnings);
}

START_TEST(a_chain_that_holds_is_silent)
{
    assert_says(LINT(), NULL);
}
END_TEST

/* At 500 km the loss is 31.23 + 30 log10(495000) = 202.07 dB: 56.0 dB more than 146.03. */
START_TEST(a_mistyped_place_cuts_a_node_off)
{
    assert_says(LINT("x: 10 km", "x: 500 km"),
                NO_PATH "crossings leads there (1 of 1 pair of source and recipient)");
    assert_says(LINT("x: 10 km", "x: 500 km"),
                "the best missing link, from 'hill' on 'valley' over 495 km, is 56.0 dB "
                "too weak even if shadowing (3 sigma) and fading (10 dB) help");
}
END_TEST

START_TEST(pairs_are_counted_and_told_once)
{
    g_autofree char *warnings = LINT("x: 10 km", "x: 500 km", "from: east, to: west",
                                     "from: [east, hill, west], to: everyone");

    ck_assert_ptr_nonnull(
        strstr(warnings, "'talk' cannot get from 'east' to 'west': no path of links and crossings "
                         "leads there (4 of 6 pairs of source and recipient)"));
    ck_assert_ptr_null(strstr(strstr(warnings, "cannot get") + 1, "cannot get"));
}
END_TEST

/* 11.6 and 11.8 km from the hill's neighbour: 6.71 km is the most. */
START_TEST(the_last_link_counts_to_the_metre)
{
    assert_says(LINT("x: 10 km", "x: 11.6 km"), NULL);
    assert_says(LINT("x: 10 km", "x: 11.8 km"), NO_PATH);
}
END_TEST

/* 20 km: 31.23 + 129.03 dB, 14.2 dB too many.  3 sigma of 5 dB are enough, of 4.5 dB are not; nor
 * are the 10 dB of Rayleigh fading, but with 2 dB of shadowing. */
START_TEST(shadowing_and_fading_may_help)
{
    const char *far = "x: 25 km", *last = "exponent: 3}";
    assert_says(LINT("x: 10 km", far), NO_PATH);
    assert_says(LINT("x: 10 km", far, last, "exponent: 3, shadowing: 4.5 dB}"), NO_PATH);
    assert_says(LINT("x: 10 km", far, last, "exponent: 3, shadowing: 5 dB}"), NULL);
    assert_says(LINT("x: 10 km", far, last, "exponent: 3}\n    fading: rayleigh"), "no path");
    assert_says(LINT("x: 10 km", far, last, "exponent: 3, shadowing: 2 dB}\n    fading: rayleigh"),
                NULL);
}
END_TEST

START_TEST(a_link_that_holds_one_way_only_is_no_path_back)
{
    const char *weak = "west: {at: {x: 10 km, y: 0 m}, radios: {valley: {power: -15 dBm}}}";
    const char *west = "west: {at: {x: 10 km, y: 0 m}, radios: {valley: {power: 14 dBm}}}";
    assert_says(LINT(west, weak), NULL);
    assert_says(LINT(west, weak, "from: east, to: west", "from: west, to: east"),
                "'talk' cannot get from 'west' to 'east'");
}
END_TEST

START_TEST(who_does_not_relay_is_no_path)
{
    assert_says(LINT(", relay: valley", ""), NO_PATH);
    assert_says(LINT("hop-limit: 3}", "hop-limit: 3, policy: none}"), NO_PATH);
    /* What rules hold back is meant so. */
    assert_says(LINT("hop-limit: 3}", "hop-limit: 3, rules: [{do: hold-back}]}"), NULL);
}
END_TEST

START_TEST(losses_that_are_given_make_paths_and_end_them)
{
    assert_says(LINT("x: 10 km", "x: 90 km",
                     "traffic:", "links: [{between: [hill, west], loss: 140 dB}]\ntraffic:"),
                NULL);
    assert_says(LINT("traffic:", "links: [{between: [hill, west], loss: 150 dB}]\ntraffic:"),
                "no path of links");
}
END_TEST

/* Two transmissions are needed. */
START_TEST(a_way_beyond_the_hop_limit_is_told)
{
    assert_says(LINT("hop-limit: 3", "hop-limit: 2"), NULL);
    assert_says(LINT("hop-limit: 3", "hop-limit: 1", "every: 5 min", "every: 5 min, hop-limit: 2"),
                NULL);
    assert_says(LINT("hop-limit: 3", "hop-limit: 1"),
                "17:3: warning: 'talk' cannot get from 'east' to 'west' within the hop limit: the "
                "path takes at least 2 transmissions (1 of 1 pair of source and recipient)");
    /* To the neighbours only, and meant so. */
    assert_says(LINT("every: 5 min", "every: 5 min, hop-limit: 1"), NULL);
}
END_TEST

START_TEST(what_is_expected_never_to_arrive_is_not_missed)
{
    assert_says(LINT("x: 10 km", "x: 90 km", "every: 5 min}\n",
                     "every: 5 min}\nexpect: [{traffic: talk, never-reaches: west}]\n"),
                NULL);
    assert_says(LINT("x: 10 km", "x: 90 km", "every: 5 min}\n",
                     "every: 5 min}\nexpect: [{traffic: talk, never-reaches: hill}]\n"),
                NO_PATH);
}
END_TEST

/* A crossing that is there, but not where the message comes by. */
START_TEST(a_crossing_out_of_reach_is_no_path)
{
    const char *moisture = "from: soil, to: [gate, ridge], payload: 20 bytes, every: 5 min}\n";
    const char *away = "from: soil, to: [gate, ridge], payload: 20 bytes, every: 5 min}\n"
                       "links: [{between: [soil, gate], bearer: yard, loss: 200 dB}]\n";
    assert_warns(moisture, away, "37:3",
                 "'moisture' cannot get from 'soil-1' to 'gate': no path of links and crossings "
                 "leads there (8 of 8 pairs of source and recipient");
    assert_silent("        - {do: pass}\n", "        - {do: hold-back}\n");
}
END_TEST

START_TEST(a_digest_counts_its_hops_anew)
{
    const char *relay = "relay: valley}", *digests = "relay: valley, flooding: {rules: "
                                                     "[{do: {digest: {every: 5 min}}}]}}";
    assert_says(LINT("hop-limit: 3", "hop-limit: 1"), "within the hop limit");
    assert_says(LINT(relay, digests, "every: 5 min}\n", "every: 5 min, hop-limit: 2}\n"), NULL);
}
END_TEST

START_TEST(a_random_layout_is_named)
{
    const char *west = "west: {at: {x: 10 km, y: 0 m}";
    assert_says(LINT(west,
                     "west: {count: 2, place: {circle: {centre: {x: 500 km, y: 0 m}, radius: 9 m}, "
                     "redraw: each-replication}"),
                "(2 of 2 pairs of source and recipient, in the layout of the first replication)");
}
END_TEST

/* The two ends stand still, but not who might be between them. */
START_TEST(a_random_layout_between_two_places_is_named)
{
    const char *west = "west: {at: {x: 10 km, y: 0 m}";
    assert_says(
        LINT(west,
             "lost: {count: 1, place: {circle: {centre: {x: 900 km, y: 0 m}, radius: 9 m}}, "
             "radios: {valley: {power: 14 dBm}}, relay: valley}\n  west: {at: {x: 500 km, y: 0 m}"),
        "(1 of 1 pair of source and recipient, in the layout of the first replication)");
}
END_TEST

/* ---- candidates ------------------------------------------------------------------------------ */

START_TEST(a_candidate_that_carries_nothing_is_told)
{
#define CANDIDATE(more)                                                                            \
    "  hill: {at: {x: 9 km, y: 0 m}, radios: {valley: {power: 14 dBm}, yard: {power: 14 dBm}}, "   \
    "candidate: yes" more "}\n"
    assert_warns("  gate:\n", CANDIDATE(", count: 2") "  gate:\n", "20:3",
                 "the candidate 'hill-1' carries nothing for others: building it wins nothing");
    /* Where it would be is nobody's concern yet. */
    assert_silent("  gate:\n", CANDIDATE(", relay: valley") "  gate:\n");
}
END_TEST

START_TEST(a_candidate_that_bridges_carries_something)
{
    g_autofree char *with = replaced(CLEAN, "  gate:\n", CANDIDATE("") "  gate:\n");
    g_autofree char *bridged =
        replaced(with, "bridges:\n",
                 "groups: {high: [hill]}\nbridges:\n  high: {up: {from: yard, to: valley}}\n");
    g_autofree char *warnings = lint(bridged);
    ck_assert_str_eq(warnings, "");
}
END_TEST

/* ---- relays ---------------------------------------------------------------------------------- */

/* A node is heard over 6.71 km. */
#define EASTERN "  east: {at: {x: 0 km, y: 0 m}"
#define LOST(at, power)                                                                            \
    "  lost: {at: {x: " at ", y: 0 m}, radios: {valley: {power: " power "}}, relay: valley}\n"

START_TEST(a_relay_that_nobody_hears_is_told)
{
    assert_says(LINT(EASTERN, LOST("-6.7 km", "14 dBm") EASTERN), NULL);
    assert_says(LINT(EASTERN, LOST("-6.8 km", "14 dBm") EASTERN),
                "13:3: warning: the relay 'lost' is out of everyone's reach: no node can hear it, "
                "even if shadowing (3 sigma) and fading (10 dB) help\n");
    assert_says(LINT(EASTERN, LOST("-6.7 km", "13 dBm") EASTERN), "no node can hear it");
    /* Who does not relay is not missed. */
    assert_says(LINT(EASTERN, LOST("-6.8 km", "14 dBm") EASTERN, "relay: valley}\n", "}\n"), NULL);
}
END_TEST

/* 20 dB more, and it is heard over 31 km. */
START_TEST(a_relay_that_hears_nobody_is_told)
{
    assert_says(LINT(EASTERN, LOST("-6.8 km", "34 dBm") EASTERN),
                "13:3: warning: the relay 'lost' is out of reach of all others: it can hear no "
                "node, even");
}
END_TEST

START_TEST(lost_relays_are_counted)
{
    const char *three = "  lost: {count: 3, place: {circle: {centre: {x: 60 km, y: 0 m}, radius: "
                        "30 km}}, radios: {valley: {power: -20 dBm}}, relay: valley}\n" EASTERN;
    assert_says(LINT(EASTERN, three), "the relay 'lost-1' is out of everyone's reach");
    assert_says(LINT(EASTERN, three),
                "(and so are 2 more), in the layout of the first replication\n");
}
END_TEST

/* ---- in time --------------------------------------------------------------------------------- */

#define OFFER    "every: 5 min}\n"
#define EXPECT   "every: 5 min}\nexpect: [{traffic: talk, reaches: west, within: "
#define TOO_LATE "'talk' cannot get from 'east' to 'west' within "

/* 20 bytes at SF10 are 370.688 ms on the air (AN1200.13): 741.376 ms over the hill. */
START_TEST(a_deadline_that_an_empty_channel_misses_is_told)
{
    assert_says(
        LINT(OFFER, "every: 5 min, deadline: 700 ms}\n"),
        "17:3: warning: " TOO_LATE
        "its deadline of 700 ms: even if nothing else is on the air, 2 transmissions take 741 "
        "ms (1 of 1 pair of source and recipient)");
    assert_says(LINT(OFFER, "every: 5 min, deadline: 742 ms}\n"), NULL);
    /* Who is late is named; who hears it at once is not. */
    assert_says(LINT("to: west", "to: everyone", OFFER, "every: 5 min, deadline: 700 ms}\n"),
                "(1 of 2 pairs of source and recipient)");
    /* Of neighbours alone nobody is late. */
    assert_says(
        LINT("to: west", "to: everyone", OFFER, "every: 5 min, hop-limit: 1, deadline: 700 ms}\n"),
        NULL);
}
END_TEST

/* Two symbols of 8.192 ms at each sender, and 100 ms at the one that has just heard. */
START_TEST(looks_and_turnarounds_take_time)
{
    const char *cad = "duty-cycle: 10 %\n    access: {method: cad}\n";
    const char *slow = "duty-cycle: 10 %\n    turnaround: 100 ms\n";
    assert_says(LINT("duty-cycle: 10 %\n", cad, OFFER, "every: 5 min, deadline: 760 ms}\n"),
                "2 transmissions take 774 ms");
    assert_says(LINT("duty-cycle: 10 %\n", slow, OFFER, "every: 5 min, deadline: 760 ms}\n"),
                "2 transmissions take 841 ms");
    assert_says(LINT("duty-cycle: 10 %\n", slow, OFFER, "every: 5 min, deadline: 842 ms}\n"), NULL);
}
END_TEST

START_TEST(an_expectation_that_an_empty_channel_misses_is_told)
{
    assert_says(LINT(OFFER, EXPECT "700 ms}]\n"),
                "18:49: warning: " TOO_LATE "700 ms: even if nothing else is on the "
                "air, 2 transmissions take 741 ms");
    assert_says(LINT(OFFER, EXPECT "742 ms}]\n"), NULL);
    /* The hill is heard at once: half of the messages. */
    assert_says(
        LINT("from: east", "from: [east, hill]", OFFER, EXPECT "700 ms, at-least: 50 %}]\n"), NULL);
    assert_says(
        LINT("from: east", "from: [east, hill]", OFFER, EXPECT "700 ms, at-least: 60 %}]\n"),
        TOO_LATE);
    assert_says(LINT("from: east", "from: [east, hill]", OFFER, EXPECT "700 ms, from: hill}]\n"),
                NULL);
    /* What is expected of a variant is not expected of the base. */
    assert_says(LINT(OFFER, EXPECT "700 ms, variant: short}]\nvariants: {short: {set: "
                                   "{bearers.valley.spreading-factor: 9}}}\n"),
                NULL);
}
END_TEST

/* 2.208 ms in the yard (63 bytes at 250 kbit/s and 192 us) after a DIFS of 50 us, and 370.688 ms.
 */
START_TEST(a_crossing_adds_the_time_of_its_own_bearer)
{
    const char *moisture = "from: soil, to: [gate, ridge], payload: 20 bytes, every: 5 min}\n";
    const char *hurried =
        "from: soil, to: [gate, ridge], payload: 20 bytes, every: 5 min, deadline: 372 ms}\n";
    const char *fitting =
        "from: soil, to: [gate, ridge], payload: 20 bytes, every: 5 min, deadline: 373 ms}\n";
    assert_warns(
        moisture, hurried, "37:3",
        "'moisture' cannot get from 'soil-1' to 'ridge' within its deadline of 372 ms: even "
        "if nothing else is on the air, 2 transmissions take 373 ms (4 of 8 pairs");
    assert_silent(moisture, fitting);
}
END_TEST

/* What lint says of a file and its variants, by `lint` as the program does it. */
static void
assert_file_is_silent(const char *path, const char *const *meant)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) file = spate_scenario_file_read(path, NULL, 0, &error);
    ck_assert_msg(file != NULL, "%s", error != NULL ? error->message : "");
    const char *const *variants = spate_scenario_file_variants(file);
    for (int i = -1; i < 0 || variants[i] != NULL; i++) {
        const char *variant = i < 0 ? "base" : variants[i];
        g_autoptr(SpateScenario) scenario = spate_scenario_new(file, variant, &error);
        g_autoptr(SpateWorld) world = spate_world_new(scenario, &error);
        g_autofree char *warnings = spate_world_lint(world, file);
        ck_assert_msg(warnings[0] == '\0' || g_strv_contains(meant, variant), "%s, %s:\n%s", path,
                      variant, warnings);
    }
}

/* Some variants mean what lint says of them: one has no use for two bearers, one shows what a rule
 * in the wrong place does, one what a radio that sleeps does not hear. */
/* A height model takes GDAL. */
static bool
is_readable(const char *name)
{
#ifdef SPATE_HAS_GDAL
    (void)name;
    return true;
#else
    return strcmp(name, "tarn-hollow-ground.yaml") != 0;
#endif
}

START_TEST(our_own_scenarios_are_silent)
{
    static const char *const FOLDERS[] = {"/../../scenarios", "/../../scenarios/rules"};
    static const char *const MEANT[] = {"one-sf", "swapped", "short-preamble", NULL};
    int n = 0;
    for (size_t i = 0; i < G_N_ELEMENTS(FOLDERS); i++) {
        g_autofree char *folder = g_strconcat(SCENARIO_DIR, FOLDERS[i], NULL);
        g_autoptr(GDir) directory = g_dir_open(folder, 0, NULL);
        ck_assert_ptr_nonnull(directory);
        for (const char *name; (name = g_dir_read_name(directory)) != NULL;) {
            g_autofree char *path = g_build_filename(folder, name, NULL);
            if (!g_str_has_suffix(name, ".yaml") || !is_readable(name))
                continue;
            assert_file_is_silent(path, MEANT);
            n++;
        }
    }
    ck_assert_int_ge(n, 25);
}
END_TEST

CHECK_MAIN("lint-reach", a_chain_that_holds_is_silent, a_mistyped_place_cuts_a_node_off,
           pairs_are_counted_and_told_once, the_last_link_counts_to_the_metre,
           shadowing_and_fading_may_help, a_link_that_holds_one_way_only_is_no_path_back,
           who_does_not_relay_is_no_path, losses_that_are_given_make_paths_and_end_them,
           a_way_beyond_the_hop_limit_is_told, what_is_expected_never_to_arrive_is_not_missed,
           a_crossing_out_of_reach_is_no_path, a_digest_counts_its_hops_anew,
           a_random_layout_is_named, a_random_layout_between_two_places_is_named,
           a_relay_that_nobody_hears_is_told, a_relay_that_hears_nobody_is_told,
           lost_relays_are_counted, a_candidate_that_carries_nothing_is_told,
           a_candidate_that_bridges_carries_something,
           a_deadline_that_an_empty_channel_misses_is_told, looks_and_turnarounds_take_time,
           an_expectation_that_an_empty_channel_misses_is_told,
           a_crossing_adds_the_time_of_its_own_bearer, our_own_scenarios_are_silent)
