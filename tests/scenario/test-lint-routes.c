/* test-lint-routes.c - given routes, answers and what follows, of which nothing can come */
#include "lint-cases.h"
#include "support/check-main.h"

#define ASKED "from: [ridge, gate], to: [ridge, gate], payload: 20 bytes, every: 5 min"
#define PROBE "from: ridge, to: gate, payload: 20 bytes, every: 5 min, route: {along: [gate]"

START_TEST(routes_that_hold_are_silent)
{
    assert_silent(ASKED, PROBE ", back: yes}");
    assert_silent(ASKED, "from: soil-2, to: ridge, payload: 20 bytes, every: 5 min, "
                         "route: {along: [gate, ridge]}");
    /* The list says where a probe is sent, whatever `on` says. */
    assert_silent(ASKED, PROBE "}, on: yard");
}
END_TEST

START_TEST(a_route_that_ends_at_a_bridge_is_told)
{
    assert_warns(ASKED,
                 "from: soil-2, to: ridge, payload: 20 bytes, every: 5 min, "
                 "route: {along: [gate, ridge], back: yes}",
                 "36:3",
                 "the route of 'talk' ends at 'gate': nothing leads from 'valley' to 'yard' there");
}
END_TEST

START_TEST(a_hop_out_of_reach_is_told)
{
    g_autofree char *probe = replaced(CLEAN, ASKED, PROBE "}");
    g_autofree char *far =
        replaced(probe, "nodes:\n", "links: [{from: ridge, to: gate, loss: 200 dB}]\nnodes:\n");
    g_autofree char *warnings = lint(far);
    ck_assert_msg(strstr(warnings, "the route of 'talk' cannot get from 'ridge' to 'gate' on "
                                   "'valley'") != NULL,
                  "%s", warnings);
}
END_TEST

/* A frame on 'valley' has 255 bytes. */
START_TEST(a_list_that_does_not_fit_is_told)
{
    static const char *const along = "from: soil-2, to: ridge, payload: 20 bytes, every: 5 min, "
                                     "route: {along: [gate, ridge]}";
    g_autofree char *probe = replaced(CLEAN, ASKED, along);
    g_autofree char *listed =
        replaced(probe, "    at: {x: 500 m, y: 0 m}\n",
                 "    at: {x: 500 m, y: 0 m}\n    flooding: {route-record: 118 bytes}\n");
    g_autofree char *warnings = lint(listed);
    ck_assert_msg(strstr(warnings, "'gate' cannot send 'talk' along its route: 20 bytes of "
                                   "payload, 0 of overhead and 236 of route record are more than "
                                   "the largest frame of 'valley', 255 bytes") != NULL,
                  "%s", warnings);
    assert_warns(ASKED,
                 "from: ridge, to: gate, payload: 256 bytes, every: 5 min, route: {along: [gate]}",
                 "36:3", "frames of 'talk' are never sent on 'valley': 256 bytes");
}
END_TEST

START_TEST(an_acknowledgement_that_is_too_long_is_told)
{
    assert_warns(ASKED, ASKED ", on: valley, acknowledge: {within: 5 s, payload: 252 bytes}",
                 "36:3",
                 "acknowledgements of 'talk' are never sent on 'yard': 295 bytes, its largest "
                 "frame has 293");
    assert_silent(ASKED, ASKED ", on: valley, acknowledge: {within: 15 s, payload: 250 bytes}");
}
END_TEST

START_TEST(a_circle_that_nothing_starts_is_told)
{
    assert_warns(ASKED,
                 "from: [ridge, gate], to: [ridge, gate], payload: 20 bytes, follows: {traffic: "
                 "talk, share: 20 %}",
                 "36:3",
                 "'talk' is never offered: it follows itself, and nothing starts the circle");
    g_autofree char *answer = replaced(
        CLEAN, ASKED,
        "from: gate, to: soil, payload: 20 bytes, follows: {traffic: moisture, share: 20 %}");
    assert_silent(ASKED, "from: gate, to: ridge, payload: 20 bytes, follows: {traffic: moisture}");
    g_autofree char *circle =
        replaced(answer, "from: soil, to: [gate, ridge], payload: 20 bytes, every: 5 min",
                 "from: soil, to: [gate, ridge], payload: 20 bytes, follows: {traffic: talk}");
    g_autofree char *warnings = lint(circle);
    ck_assert_msg(strstr(warnings, "f.yaml:37:3: warning: 'moisture' is never offered: it follows "
                                   "itself, and nothing starts the circle") != NULL,
                  "%s", warnings);
    ck_assert_msg(strstr(warnings, "'talk' is never offered") == NULL, "%s", warnings);
}
END_TEST

START_TEST(who_follows_what_it_is_never_sent_is_told)
{
    assert_warns(ASKED, "from: soil-1, to: gate, payload: 20 bytes, follows: {traffic: moisture}",
                 "36:3",
                 "'talk' is never offered: no node of its 'from' is a recipient of 'moisture'");
}
END_TEST

CHECK_MAIN("lint-routes", routes_that_hold_are_silent, a_route_that_ends_at_a_bridge_is_told,
           a_hop_out_of_reach_is_told, a_list_that_does_not_fit_is_told,
           an_acknowledgement_that_is_too_long_is_told, a_circle_that_nothing_starts_is_told,
           who_follows_what_it_is_never_sent_is_told)
