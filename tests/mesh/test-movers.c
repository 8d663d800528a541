/* test-movers.c - nodes that move: when, in which order, and what that does to a mesh */
#include "town.h"

#include "support/check-main.h"

#include <math.h>

#define S  SPATE_NS_PER_S
#define MS SPATE_NS_PER_MS

/* On free space at 2437 MHz, 40.2 dB + 20 log10 of the distance in metres; 20 dBm, decoded from
 * -102 dBm or so: with this on top a frame reaches some 350 m. */
#define EXTRA_DB 31.0

static const SpatePosition EAST = {.x_m = 1000.0}, NEAR = {.x_m = 25.0}, WEST = {.x_m = -2000.0};

/* n00 and n01 stand 100 m apart; n02 at 200 m moves as it is told. */
static Town *
small_town(void)
{
    Town *town = town_new();
    for (uint32_t i = 0; i < 3; i++)
        town_add_node(town, ON_FAST);
    town_add_traffic(town, "talk");
    town->extra_loss_db = EXTRA_DB;
    return town;
}

START_TEST(a_node_moves_step_by_step_and_stays_at_the_end)
{
    g_autoptr(Town) town = town_new_line(2);
    town_add_move(town, 0, &NEAR, 2.0, S);
    town_start(town);
    town_run(town, 100 * S);

    ck_assert_uint_eq(town_count(town, HAPPENED_MOVED), 3);
    static const double X_M[] = {10.0, 20.0, 25.0};
    for (uint32_t i = 0; i < 3; i++) {
        const TownEntry *moved = town_find_at(town, HAPPENED_MOVED, 0, i);
        ck_assert_int_eq(moved->at_ns, S + (int64_t)(X_M[i] / 2.0 * 1e9));
        ck_assert_double_eq(moved->x_m, X_M[i]);
    }
}
END_TEST

START_TEST(nodes_that_move_at_one_instant_do_so_in_the_order_of_their_names)
{
    g_autoptr(Town) town = town_new_line(4);
    /* The last begins first: its events are older. */
    town_add_move(town, 3, &WEST, 5.0, 0);
    town_add_move(town, 1, &WEST, 10.0, S);
    town_add_move(town, 0, &WEST, 5.0, 0);
    town_start(town);
    town_run(town, 2 * S);

    static const uint32_t NODES[] = {0, 1, 3};
    ck_assert_uint_eq(town_count(town, HAPPENED_MOVED), 3);
    for (uint32_t i = 0; i < 3; i++) {
        ck_assert_uint_eq(town_find(town, HAPPENED_MOVED, i)->node, NODES[i]);
        ck_assert_int_eq(town_find(town, HAPPENED_MOVED, i)->at_ns, 2 * S);
    }
}
END_TEST

START_TEST(who_walks_away_is_heard_no_more_and_the_others_still_are)
{
    g_autoptr(Town) town = small_town();
    town_add_move(town, 2, &EAST, 10.0, S);
    town_start(town);
    town_offer_at(town, 0, 0, 0);
    town_offer_at(town, 90 * S, 0, 0);
    town_offer_at(town, 100 * S, 0, 2);
    town_run(town, 110 * S);

    ck_assert_uint_eq(town_count(town, HAPPENED_MOVED), 80);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, 2), 1);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, 1), 2);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, 0), 0);
}
END_TEST

/* n02 is a step further at 1 s, out of reach or back in it: what starts then has the new losses,
 * what started before the old ones. */
START_TEST(a_step_comes_before_what_starts_at_its_instant)
{
    for (int is_before = 0; is_before <= 1; is_before++) {
        g_autoptr(Town) town = small_town();
        town->move_step_m = 600.0;
        town_add_move(town, 2, &EAST, 600.0, 0);
        town_start(town);
        town_offer_at(town, S - is_before, 0, 0);
        town_run(town, 2 * S);

        ck_assert_int_eq(town_find(town, HAPPENED_MOVED, 0)->at_ns, S);
        ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, 2), is_before ? 1 : 0);
        ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, 1), 1);
    }
}
END_TEST

START_TEST(a_node_that_is_down_moves_on)
{
    g_autoptr(Town) town = small_town();
    town_add_move(town, 2, &EAST, 10.0, 0);
    town_add_outage(town, 2, 5 * S, 50 * S);
    town_start(town);
    town_offer_at(town, 60 * S, 0, 0);
    town_run(town, 100 * S);

    ck_assert_uint_eq(town_count(town, HAPPENED_MOVED), 80);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, 1), 1);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, 2), 0);
    /* At one instant first the outage. */
    guint went_down = 0, moved = 0;
    for (guint i = 0; i < town->log->len; i++) {
        const TownEntry *entry = town_entry(town, i);
        if (entry->at_ns == 5 * S && entry->happening == HAPPENED_WENT_DOWN)
            went_down = i;
        if (entry->at_ns == 5 * S && entry->happening == HAPPENED_MOVED)
            moved = i;
    }
    ck_assert_uint_lt(went_down, moved);
}
END_TEST

START_TEST(losses_that_are_given_stay_so_wherever_a_node_goes)
{
    g_autoptr(Town) town = small_town();
    town_link(town, 0, 2, FAST, 80.0);
    town_add_move(town, 2, &WEST, 100.0, 0);
    town_start(town);
    town_offer_at(town, 60 * S, 0, 0);
    town_run(town, 100 * S);

    ck_assert_double_eq(town_find(town, HAPPENED_MOVED, 219)->x_m, -2000.0);
    ck_assert_uint_eq(town_count_at(town, HAPPENED_DELIVERED, 2), 1);
}
END_TEST

START_TEST(a_route_that_a_move_has_broken_is_learned_anew)
{
    g_autoptr(Town) town = small_town();
    static const uint32_t FIRST[] = {0};
    static const SpatePosition BEYOND = {.x_m = 400.0};
    town_add_move(town, 2, &BEYOND, 100.0, S);
    town_start(town);
    town->traffics[0].recipients = FIRST;
    town->traffics[0].n_recipients = 1;
    town->traffics[0].acknowledgement = (SpateAcknowledgement){3, S, 8};
    town->traffics[0].routing = (SpateRouting){.kind = SPATE_ROUTE_SOURCE};
    town_offer_at(town, 0, 0, 2);
    town_offer_at(town, 10 * S, 0, 2);
    town_offer_at(town, 20 * S, 0, 2);
    town_run(town, 30 * S);

    ck_assert_uint_eq(town_count(town, HAPPENED_ACKNOWLEDGED), 3);
    ck_assert_uint_eq(town_find(town, HAPPENED_LEARNED, 0)->hops, 1);
    ck_assert_uint_eq(town_count(town, HAPPENED_UNLEARNED), 1);
    ck_assert_uint_eq(town_find(town, HAPPENED_LEARNED, 1)->hops, 2);
}
END_TEST

CHECK_MAIN("movers", a_node_moves_step_by_step_and_stays_at_the_end,
           nodes_that_move_at_one_instant_do_so_in_the_order_of_their_names,
           who_walks_away_is_heard_no_more_and_the_others_still_are,
           a_step_comes_before_what_starts_at_its_instant, a_node_that_is_down_moves_on,
           losses_that_are_given_stay_so_wherever_a_node_goes,
           a_route_that_a_move_has_broken_is_learned_anew)
