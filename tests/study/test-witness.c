/* test-witness.c - claims about messages, on histories told by hand */
#include "measure/small-plan.h"
#include "study/watch/witness.h"
#include "support/check-main.h"

#define S SPATE_NS_PER_S

static SpateWitness *witness;
static SpateObserver observer;
static SpateClaim claim;

static void
set_up(void)
{
    claim = (SpateClaim){.traffic = TALK, .node = TOWER, .bearer = YARD, .within_ns = 5 * S};
}

/* The warm-up ends after 10 s, the run after 100 s. */
static void
listen_for(SpateExpectKind kind)
{
    claim.kind = kind;
    witness = spate_witness_new(&SMALL_PLAN, &claim, 1, 10 * S, 100 * S);
    observer = spate_witness_observer(witness);
}

static SpateClaimResult
claim_result(void)
{
    g_autofree SpateClaimResult *claim_results = spate_witness_results(witness);
    spate_witness_free(witness);
    return claim_results[0];
}

static void
tell(SpateEvent event)
{
    observer.see(observer.self, &event);
}

static void
offer(uint32_t number, uint32_t traffic, uint32_t origin, int64_t now_ns)
{
    const SpateMessageFacts message = {
        .number = number, .traffic = traffic, .origin = origin, .offered_ns = now_ns};
    tell((SpateEvent){.kind = SPATE_EVENT_OFFERED, .at_ns = now_ns, .message = &message});
}

static void
arrive(uint32_t number, uint32_t receiver, int64_t now_ns)
{
    const SpateMessageFacts message = {.number = number};
    tell((SpateEvent){.kind = SPATE_EVENT_ARRIVED,
                      .at_ns = now_ns,
                      .node = RADIOS[receiver].node,
                      .message = &message});
}

static void
start(uint32_t number, uint32_t radio, int64_t now_ns)
{
    const SpateMessageFacts message = {.number = number};
    tell((SpateEvent){
        .kind = SPATE_EVENT_STARTED, .at_ns = now_ns, .radio = radio, .message = &message});
}

static void
digest(uint32_t number, uint32_t a, uint32_t b, int64_t now_ns)
{
    const SpateMessageFacts made = {.number = number, .traffic = TALK, .origin = GATE};
    const uint32_t carried[] = {a, b};
    tell((SpateEvent){.kind = SPATE_EVENT_DIGESTED,
                      .at_ns = now_ns,
                      .message = &made,
                      .carried = carried,
                      .n_carried = 2});
}

START_TEST(a_message_in_time_holds_the_claim)
{
    listen_for(SPATE_EXPECT_REACHES);
    offer(0, TALK, HUT, 20 * S);
    arrive(0, TOWER_VALLEY, 25 * S);
    SpateClaimResult told = claim_result();
    ck_assert_uint_eq(told.n_messages, 1);
    ck_assert_uint_eq(told.n_broken, 0);
}
END_TEST

START_TEST(a_late_one_breaks_it_and_so_does_one_that_never_comes)
{
    listen_for(SPATE_EXPECT_REACHES);
    offer(0, TALK, HUT, 5 * S); /* warm-up: not judged, but counted as the first of its source */
    offer(1, TALK, GATE, 20 * S);
    offer(2, READINGS, HUT, 20 * S);
    offer(3, TALK, HUT, 21 * S);
    offer(4, TALK, HUT, 30 * S);
    arrive(1, TOWER_VALLEY, 22 * S);
    arrive(3, TOWER_VALLEY, 26 * S + 1);
    arrive(4, GATE_VALLEY, 31 * S);
    SpateClaimResult told = claim_result();
    ck_assert_uint_eq(told.n_messages, 3);
    ck_assert_uint_eq(told.n_broken, 2);
    ck_assert_uint_eq(told.first.traffic, TALK);
    ck_assert_uint_eq(told.first.origin, HUT);
    ck_assert_uint_eq(told.first.offer, 1);
    ck_assert_uint_eq(told.first_number, 3);
    ck_assert_int_eq(told.offered_ns, 21 * S);
    ck_assert_int_eq(told.at_ns, 26 * S + 1);
}
END_TEST

START_TEST(a_copy_that_comes_later_does_not_count)
{
    listen_for(SPATE_EXPECT_REACHES);
    offer(0, TALK, HUT, 20 * S);
    arrive(0, TOWER_VALLEY, 22 * S);
    arrive(0, TOWER_VALLEY, 60 * S);
    ck_assert_uint_eq(claim_result().n_broken, 0);
}
END_TEST

/* It would raise the share that arrives. */
START_TEST(ones_own_message_is_not_judged)
{
    listen_for(SPATE_EXPECT_REACHES);
    offer(0, TALK, TOWER, 20 * S);
    SpateClaimResult told = claim_result();
    ck_assert_uint_eq(told.n_messages, 0);
    ck_assert_uint_eq(told.n_too_late, 0);
}
END_TEST

/* Message 2 arrives, but its time is not over: nor was that of message 1, which may yet come. */
START_TEST(the_end_of_the_run_neither_breaks_nor_keeps_a_claim)
{
    listen_for(SPATE_EXPECT_REACHES);
    offer(0, TALK, HUT, 95 * S);
    offer(1, TALK, HUT, 95 * S + 1);
    offer(2, TALK, HUT, 97 * S);
    arrive(2, TOWER_VALLEY, 98 * S);
    SpateClaimResult told = claim_result();
    ck_assert_uint_eq(told.n_messages, 1);
    ck_assert_uint_eq(told.n_broken, 1);
    ck_assert_uint_eq(told.n_too_late, 2);
    ck_assert_uint_eq(told.first_number, 0);
    ck_assert_int_eq(told.at_ns, -1);
}
END_TEST

START_TEST(from_narrows_the_sources)
{
    const uint32_t sources[] = {GATE, HUT};
    claim.from = sources;
    claim.n_from = 2;
    listen_for(SPATE_EXPECT_REACHES);
    offer(0, TALK, HUT, 20 * S);
    offer(1, TALK, SHED, 20 * S);
    ck_assert_uint_eq(claim_result().n_messages, 1);
}
END_TEST

START_TEST(what_arrives_should_never_have)
{
    listen_for(SPATE_EXPECT_NEVER_REACHES);
    offer(0, TALK, TOWER, 20 * S); /* its own */
    offer(1, TALK, HUT, 20 * S);
    offer(2, TALK, HUT, 21 * S);
    arrive(2, TOWER_VALLEY, 40 * S);
    SpateClaimResult told = claim_result();
    ck_assert_uint_eq(told.n_messages, 2);
    ck_assert_uint_eq(told.n_broken, 1);
    ck_assert_uint_eq(told.first_number, 2);
    ck_assert_int_eq(told.at_ns, 40 * S);
}
END_TEST

START_TEST(a_frame_on_the_bearer_breaks_never_on)
{
    listen_for(SPATE_EXPECT_NEVER_ON);
    offer(0, TALK, HUT, 20 * S);
    start(0, HUT_VALLEY, 20 * S);
    offer(1, READINGS, SHED, 21 * S);
    start(1, SHED_YARD, 21 * S);
    offer(2, TALK, HUT, 22 * S);
    start(2, GATE_YARD, 23 * S);
    SpateClaimResult told = claim_result();
    ck_assert_uint_eq(told.n_messages, 2);
    ck_assert_uint_eq(told.n_broken, 1);
    ck_assert_uint_eq(told.first.offer, 1);
    ck_assert_int_eq(told.at_ns, 23 * S);
}
END_TEST

/* Also in a digest that another digest carries. */
START_TEST(a_message_is_where_its_digest_is)
{
    listen_for(SPATE_EXPECT_REACHES);
    offer(0, TALK, HUT, 20 * S);
    offer(1, TALK, HUT, 20 * S);
    offer(2, TALK, HUT, 20 * S);
    digest(3, 0, 1, 21 * S);
    digest(4, 3, 2, 22 * S);
    arrive(4, TOWER_VALLEY, 24 * S);
    SpateClaimResult told = claim_result();
    ck_assert_uint_eq(told.n_messages, 3);
    ck_assert_uint_eq(told.n_broken, 0);
}
END_TEST

static void
tell_about(SpateEventKind kind, uint32_t number, uint32_t about, int64_t now_ns)
{
    const SpateMessageFacts message = {.number = number, .traffic = TALK, .about = about};
    tell((SpateEvent){.kind = kind, .at_ns = now_ns, .message = &message});
}

/* Also in a digest that carries a try. */
START_TEST(a_message_is_where_its_tries_are)
{
    listen_for(SPATE_EXPECT_REACHES);
    offer(0, TALK, HUT, 20 * S);
    offer(1, TALK, HUT, 20 * S);
    tell_about(SPATE_EVENT_TRIED, 2, 0, 22 * S);
    tell_about(SPATE_EVENT_TRIED, 3, 1, 22 * S);
    digest(4, 3, 9, 23 * S);
    arrive(2, TOWER_VALLEY, 24 * S);
    arrive(4, TOWER_VALLEY, 25 * S);
    SpateClaimResult told = claim_result();
    ck_assert_uint_eq(told.n_messages, 2);
    ck_assert_uint_eq(told.n_broken, 0);
}
END_TEST

START_TEST(an_acknowledgement_brings_no_message)
{
    listen_for(SPATE_EXPECT_NEVER_REACHES);
    offer(0, TALK, HUT, 20 * S);
    tell_about(SPATE_EVENT_ANSWERED, 1, 0, 22 * S);
    arrive(1, TOWER_VALLEY, 24 * S);
    SpateClaimResult told = claim_result();
    ck_assert_uint_eq(told.n_broken, 0);
}
END_TEST

/* By itself, or in a digest. */
START_TEST(an_acknowledgement_on_the_bearer_breaks_never_on)
{
    listen_for(SPATE_EXPECT_NEVER_ON);
    for (uint32_t i = 0; i < 3; i++) {
        offer(3 * i, TALK, HUT, 20 * S);
        tell_about(SPATE_EVENT_ANSWERED, 3 * i + 1, 3 * i, 22 * S);
        if (i == 1)
            digest(3 * i + 2, 3 * i + 1, 99, 23 * S);
        start(i == 0 ? 1 : 3 * i + 2, i == 2 ? HUT_VALLEY : GATE_YARD, 24 * S);
    }
    SpateClaimResult told = claim_result();
    ck_assert_uint_eq(told.n_messages, 3);
    ck_assert_uint_eq(told.n_broken, 2);
}
END_TEST

START_TEST(what_is_not_acknowledged_breaks_the_claim)
{
    listen_for(SPATE_EXPECT_VALUE);
    offer(0, TALK, HUT, 20 * S);
    offer(1, TALK, HUT, 21 * S);
    arrive(1, TOWER_VALLEY, 22 * S);
    tell_about(SPATE_EVENT_ACKNOWLEDGED, 0, 0, 24 * S);
    SpateClaimResult told = claim_result();
    ck_assert_uint_eq(told.n_messages, 2);
    ck_assert_uint_eq(told.n_broken, 1);
    ck_assert_uint_eq(told.first_number, 1);
}
END_TEST

int
main(void)
{
    const TTest *const tests[] = {a_message_in_time_holds_the_claim,
                                  a_late_one_breaks_it_and_so_does_one_that_never_comes,
                                  a_copy_that_comes_later_does_not_count,
                                  ones_own_message_is_not_judged,
                                  the_end_of_the_run_neither_breaks_nor_keeps_a_claim,
                                  from_narrows_the_sources,
                                  what_arrives_should_never_have,
                                  a_frame_on_the_bearer_breaks_never_on,
                                  a_message_is_where_its_digest_is,
                                  a_message_is_where_its_tries_are,
                                  an_acknowledgement_brings_no_message,
                                  an_acknowledgement_on_the_bearer_breaks_never_on,
                                  what_is_not_acknowledged_breaks_the_claim};
    TCase *cases = tcase_create("witness");
    tcase_add_checked_fixture(cases, set_up, NULL);
    for (size_t i = 0; i < G_N_ELEMENTS(tests); i++)
        tcase_add_test(cases, tests[i]);
    Suite *suite = suite_create("witness");
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
