/* test-tally.c - events fed by hand, values worked out by hand
 *
 * The run lasts 1000 s, of which the first 100 are warm-up: 900 s count.
 */
#include "measure/tally.h"
#include "small-plan.h"
#include "support/check-main.h"

#include <string.h>

#define WARM_UP_NS (100 * SPATE_NS_PER_S)
#define END_NS     (1000 * SPATE_NS_PER_S)

static const SpatePlan *measured;
static SpateTally *tally;
static SpateObserver observer;
static uint32_t n_messages;

static void
set_up_plan(const SpatePlan *of)
{
    static const double EXPECTED[N_TRAFFICS] = {10.0, 10.0};
    measured = of;
    tally = spate_tally_new(measured, WARM_UP_NS, END_NS, EXPECTED);
    observer = spate_tally_observer(tally);
    n_messages = 0;
}

static void
set_up(void)
{
    set_up_plan(&SMALL_PLAN);
}

/* hut's radio sleeps, and draws 1 mW then. */
static SpateRadio sleepy_radios[N_RADIOS];
static SpatePlan sleepy_plan;

static void
set_up_sleepy(void)
{
    memcpy(sleepy_radios, RADIOS, sizeof RADIOS);
    sleepy_radios[HUT_VALLEY].listening =
        (SpateListening){.every_ns = 10 * SPATE_NS_PER_S, .for_ns = SPATE_NS_PER_S};
    sleepy_radios[HUT_VALLEY].supply_asleep_w = 0.001;
    sleepy_plan = SMALL_PLAN;
    sleepy_plan.radios = sleepy_radios;
    set_up_plan(&sleepy_plan);
}

static void
tear_down(void)
{
    spate_tally_free(tally);
}

static void
tell(SpateEvent event)
{
    observer.see(observer.self, &event);
}

static SpateMessageFacts
offer(double at_s, uint32_t traffic, uint32_t origin)
{
    int64_t at_ns = (int64_t)(at_s * 1e9);
    SpateMessageFacts message = {
        .number = n_messages++, .traffic = traffic, .origin = origin, .offered_ns = at_ns};
    tell((SpateEvent){.kind = SPATE_EVENT_OFFERED, .at_ns = at_ns, .message = &message});
    return message;
}

static void
deliver(double at_s, const SpateMessageFacts *message, uint32_t node, uint32_t hops)
{
    tell((SpateEvent){.kind = SPATE_EVENT_DELIVERED,
                      .at_ns = (int64_t)(at_s * 1e9),
                      .message = message,
                      .node = node,
                      .hops = hops});
}

/* What a source tells of its message: a further try, or that the answer came. */
static void
tell_of(SpateEventKind kind, double at_s, const SpateMessageFacts *message)
{
    tell((SpateEvent){.kind = kind, .at_ns = (int64_t)(at_s * 1e9), .message = message});
}

#define MOST_HEARD 4000

/* A frame of one message on a radio; `heard` are its outcomes, ended with -1. */
static void
send(double start_s, double airtime_s, uint32_t traffic, uint32_t radio, const int *heard)
{
    uint32_t n_by_outcome[SPATE_N_OUTCOMES] = {0};
    for (; *heard >= 0; heard++)
        n_by_outcome[*heard]++;
    int64_t start_ns = (int64_t)(start_s * 1e9);
    SpateFrameFacts frame = {.message = {.traffic = traffic},
                             .radio = radio,
                             .hops = 1,
                             .airtime_ns = (int64_t)(airtime_s * 1e9),
                             .started_ns = start_ns,
                             .waited_duty_ns = 3 * SPATE_NS_PER_S,
                             .waited_access_ns = SPATE_NS_PER_S / 2};
    SpateEvent event = {.kind = SPATE_EVENT_STARTED,
                        .at_ns = start_ns,
                        .radio = radio,
                        .message = &frame.message,
                        .frame = &frame};
    tell(event);
    event.kind = SPATE_EVENT_ENDED;
    event.at_ns += frame.airtime_ns;
    event.n_by_outcome = n_by_outcome;
    if (event.at_ns <= END_NS)
        tell(event);
}

static void
drop(int64_t at_ns, uint32_t radio, SpateDropCause cause)
{
    const SpateFrameFacts frame = {.radio = radio};
    tell(
        (SpateEvent){.kind = SPATE_EVENT_DROPPED, .at_ns = at_ns, .frame = &frame, .cause = cause});
}

/* A node gets a message that it does not know. */
static void
arrive(uint32_t radio, int64_t started_ns)
{
    const SpateFrameFacts frame = {.radio = radio, .started_ns = started_ns};
    tell((SpateEvent){.kind = SPATE_EVENT_ARRIVED, .frame = &frame, .n_receptions = 1});
}

static void
decide(const SpateMessageFacts *message, SpateDecision decision, uint32_t crossing)
{
    tell((SpateEvent){.kind = SPATE_EVENT_DECIDED,
                      .message = message,
                      .decision = decision,
                      .crossing = crossing,
                      .rule = SPATE_NO_RULE});
}

static const int UNHEARD[] = {-1};

/* Ends the run. */
static SpateMeasureValue
finish_and_find(SpateMeasure measure, int32_t traffic, int32_t bearer, int32_t node, int32_t bridge)
{
    size_t n_rows = 0;
    g_autofree SpateMeasureRow *rows = spate_measure_rows(measured, &n_rows);
    const SpateMeasureValue *values = spate_tally_finish(tally);
    spate_tally_check(tally);
    for (size_t i = 0; i < n_rows; i++)
        if (rows[i].measure == measure && rows[i].traffic == traffic && rows[i].bearer == bearer &&
            rows[i].node == node && rows[i].bridge == bridge)
            return values[i];
    ck_abort_msg("no such row");
    return (SpateMeasureValue){0};
}

static double
of_traffic(SpateMeasure measure, int32_t traffic)
{
    return finish_and_find(measure, traffic, -1, -1, -1).value;
}

static double
of_bearer(SpateMeasure measure, int32_t bearer)
{
    return finish_and_find(measure, -1, bearer, -1, -1).value;
}

START_TEST(messages_of_the_warm_up_do_not_count_wherever_they_arrive)
{
    SpateMessageFacts early = offer(99.9, READINGS, SHED);
    SpateMessageFacts on_time = offer(100.0, READINGS, SHED);
    deliver(101.0, &early, GATE, 1);
    deliver(104.0, &on_time, GATE, 1);
    ck_assert_double_eq(of_traffic(SPATE_MEASURE_MESSAGES, READINGS), 1.0);
    ck_assert_double_eq(of_traffic(SPATE_MEASURE_DELIVERY, READINGS), 1.0);
    ck_assert_double_eq_tol(of_traffic(SPATE_MEASURE_LATENCY_MEAN, READINGS), 4.0, 1e-12);
}
END_TEST

/* Talk from hut is meant for gate and tower; from shed for gate, hut and tower: 5 pairs. */
START_TEST(a_source_is_none_of_its_own_recipients)
{
    SpateMessageFacts a = offer(200.0, TALK, HUT);
    SpateMessageFacts b = offer(300.0, TALK, SHED);
    deliver(201.0, &a, GATE, 1);
    deliver(202.0, &a, TOWER, 2);
    deliver(301.0, &b, HUT, 2);
    SpateMeasureValue delivery = finish_and_find(SPATE_MEASURE_DELIVERY, TALK, -1, -1, -1);
    ck_assert_double_eq(delivery.count, 3.0);
    ck_assert_double_eq(delivery.of, 5.0);
    ck_assert_double_eq_tol(delivery.value, 0.6, 1e-12);
}
END_TEST

START_TEST(a_frame_that_thousands_hear_counts_at_each_of_them)
{
    int heard[MOST_HEARD] = {0};
    for (int i = 0; i < MOST_HEARD - 1; i++)
        heard[i] = i < 2500 ? SPATE_OUTCOME_LOST_ASLEEP
                            : (i < 2600 ? SPATE_OUTCOME_LOST_BUSY : SPATE_OUTCOME_RECEIVED);
    heard[MOST_HEARD - 1] = -1;
    send(200, 1, TALK, HUT_VALLEY, heard);

    ck_assert_double_eq(of_bearer(SPATE_MEASURE_AUDIBLE, VALLEY), 3999);
    ck_assert_double_eq(of_bearer(SPATE_MEASURE_RECEIVED, VALLEY), 1399.0 / 3999.0);
    ck_assert_double_eq(of_bearer(SPATE_MEASURE_LOST_BUSY, VALLEY), 100.0 / 3999.0);
}
END_TEST

START_TEST(a_delivery_at_the_deadline_is_in_time)
{
    SpateMessageFacts message = offer(200.0, TALK, HUT);
    deliver(210.0, &message, GATE, 1);
    deliver(210.000000001, &message, TOWER, 1);
    SpateMeasureValue in_time = finish_and_find(SPATE_MEASURE_DELIVERY_IN_TIME, TALK, -1, -1, -1);
    ck_assert_double_eq(in_time.count, 1.0);
    ck_assert_double_eq(in_time.of, 2.0);
}
END_TEST

START_TEST(tries_and_answers_count_for_the_message)
{
    SpateMessageFacts early = offer(99.9, READINGS, SHED);
    SpateMessageFacts answered = offer(200.0, READINGS, SHED);
    SpateMessageFacts lost = offer(300.0, READINGS, SHED);
    deliver(101.0, &early, GATE, 1);
    deliver(203.0, &answered, GATE, 1);
    tell_of(SPATE_EVENT_TRIED, 101.0, &early);
    tell_of(SPATE_EVENT_ACKNOWLEDGED, 102.0, &early);
    tell_of(SPATE_EVENT_TRIED, 201.0, &answered);
    tell_of(SPATE_EVENT_ACKNOWLEDGED, 204.0, &answered);
    tell_of(SPATE_EVENT_TRIED, 301.0, &lost);
    tell_of(SPATE_EVENT_TRIED, 302.0, &lost);
    SpateMeasureValue acknowledged =
        finish_and_find(SPATE_MEASURE_ACKNOWLEDGED, READINGS, -1, -1, -1);
    ck_assert_double_eq(acknowledged.count, 1.0);
    ck_assert_double_eq(acknowledged.of, 2.0);
    ck_assert_double_eq(of_traffic(SPATE_MEASURE_TRIES_MEAN, READINGS), 2.5);
    ck_assert_double_eq(of_traffic(SPATE_MEASURE_MESSAGES, READINGS), 2.0);
}
END_TEST

/* Gate gets 2 of 2, tower 1 of 2, hut (source of the first) 1 of 1: the worst share is tower's. */
START_TEST(the_worst_recipient_is_judged_by_its_own_pairs)
{
    SpateMessageFacts a = offer(200.0, TALK, HUT);
    SpateMessageFacts b = offer(300.0, TALK, SHED);
    deliver(201.0, &a, GATE, 1);
    deliver(301.0, &b, GATE, 1);
    deliver(301.0, &b, HUT, 1);
    deliver(301.0, &b, TOWER, 1);
    ck_assert_double_eq_tol(of_traffic(SPATE_MEASURE_DELIVERY_WORST, TALK), 0.5, 1e-12);
}
END_TEST

/* Hut offers one of two, so it can get but one, and does. */
START_TEST(a_source_is_not_the_worst_for_what_it_sent_itself)
{
    SpateMessageFacts a = offer(200.0, TALK, HUT);
    SpateMessageFacts b = offer(300.0, TALK, SHED);
    for (uint32_t i = 0; i < 2; i++) {
        deliver(201.0, &a, i == 0 ? GATE : TOWER, 1);
        deliver(301.0, &b, i == 0 ? GATE : TOWER, 1);
    }
    deliver(301.0, &b, HUT, 1);
    ck_assert_double_eq(of_traffic(SPATE_MEASURE_DELIVERY_WORST, TALK), 1.0);
}
END_TEST

/* Latencies 1, 2, ... 20 s.  Nearest rank: the 10th, 19th, 20th and 20th. */
/* The small plan, with shed (no recipient) and tower measured apart. */
static const SpatePlan *
plan_of_single_recipients(void)
{
    static const uint32_t MEASURED[] = {SHED, TOWER};
    static SpateTrafficKind kinds[N_TRAFFICS];
    static SpatePlan plan;
    plan = SMALL_PLAN;
    memcpy(kinds, TRAFFICS, sizeof kinds);
    kinds[TALK].measured_recipients = MEASURED;
    kinds[TALK].n_measured = G_N_ELEMENTS(MEASURED);
    plan.traffics = kinds;
    return &plan;
}

/* Talk of shed comes to tower twice, once late; that of tower is no pair with tower. */
START_TEST(a_recipient_may_be_measured_by_itself)
{
    static const double EXPECTED[N_TRAFFICS] = {10.0, 10.0};
    const SpatePlan *plan = plan_of_single_recipients();
    spate_tally_free(tally);
    tally = spate_tally_new(plan, WARM_UP_NS, END_NS, EXPECTED);
    observer = spate_tally_observer(tally);
    SpateMessageFacts a = offer(200.0, TALK, SHED), b = offer(300.0, TALK, TOWER);
    SpateMessageFacts c = offer(400.0, TALK, SHED);
    deliver(201.0, &a, GATE, 1);
    deliver(211.0, &a, TOWER, 2);
    deliver(301.0, &b, GATE, 1);
    deliver(401.0, &c, TOWER, 1);

    const SpateMeasureValue *values = spate_tally_finish(tally);

    size_t n_rows = 0, n_found = 0;
    g_autofree SpateMeasureRow *rows = spate_measure_rows(plan, &n_rows);
    for (size_t i = 0; i < n_rows; i++) {
        if (rows[i].to < 0)
            continue;
        n_found++;
        bool in_time = rows[i].measure == SPATE_MEASURE_DELIVERY_IN_TIME;
        ck_assert_int_eq(rows[i].traffic, TALK);
        ck_assert_double_eq(values[i].of, rows[i].to == TOWER ? 2.0 : 0.0);
        ck_assert_double_eq(values[i].count, rows[i].to != TOWER ? 0.0 : in_time ? 1.0 : 2.0);
        ck_assert_int_eq(!isnan(values[i].value), rows[i].to == TOWER);
    }
    ck_assert_uint_eq(n_found, 4);
}
END_TEST

START_TEST(percentiles_are_by_nearest_rank)
{
    for (int i = 20; i >= 1; i--) {
        SpateMessageFacts message = offer(200.0, READINGS, SHED);
        deliver(200.0 + i, &message, GATE, (uint32_t)(i % 2 + 1));
    }
    ck_assert_double_eq_tol(of_traffic(SPATE_MEASURE_LATENCY_MEAN, READINGS), 10.5, 1e-12);
    ck_assert_double_eq_tol(of_traffic(SPATE_MEASURE_LATENCY_P50, READINGS), 10.0, 1e-12);
    ck_assert_double_eq_tol(of_traffic(SPATE_MEASURE_LATENCY_P95, READINGS), 19.0, 1e-12);
    ck_assert_double_eq_tol(of_traffic(SPATE_MEASURE_LATENCY_P99, READINGS), 20.0, 1e-12);
    ck_assert_double_eq_tol(of_traffic(SPATE_MEASURE_LATENCY_MAX, READINGS), 20.0, 1e-12);
    ck_assert_double_eq_tol(of_traffic(SPATE_MEASURE_HOPS_MEAN, READINGS), 1.5, 1e-12);
}
END_TEST

START_TEST(what_has_no_value_is_nan)
{
    offer(200.0, READINGS, SHED);
    ck_assert_double_eq(of_traffic(SPATE_MEASURE_DELIVERY, READINGS), 0.0);
    ck_assert_double_nan(of_traffic(SPATE_MEASURE_DELIVERY, TALK));
    ck_assert_double_nan(of_traffic(SPATE_MEASURE_DELIVERY_WORST, TALK));
    ck_assert_double_nan(of_traffic(SPATE_MEASURE_LATENCY_MEAN, READINGS));
    ck_assert_double_nan(of_traffic(SPATE_MEASURE_LATENCY_P95, READINGS));
    ck_assert_double_nan(of_traffic(SPATE_MEASURE_HOPS_MEAN, READINGS));
    ck_assert_double_nan(of_bearer(SPATE_MEASURE_RECEIVED, VALLEY));
    ck_assert_double_nan(of_bearer(SPATE_MEASURE_REDUNDANT, VALLEY));
    ck_assert_double_nan(of_bearer(SPATE_MEASURE_WAITED_DUTY, VALLEY));
    ck_assert_double_eq(of_bearer(SPATE_MEASURE_TRANSMISSIONS, VALLEY), 0.0);
}
END_TEST

/* Valley: 9 s of readings and 18 s of talk; yard: 4.5 s of readings; in 900 s. */
START_TEST(load_by_traffic_adds_up_to_load_by_bearer)
{
    send(99.0, 2.0, TALK, HUT_VALLEY, UNHEARD); /* began in the warm-up */
    send(200.0, 9.0, READINGS, GATE_VALLEY, UNHEARD);
    send(300.0, 18.0, TALK, HUT_VALLEY, UNHEARD);
    send(400.0, 4.5, READINGS, SHED_YARD, UNHEARD);
    ck_assert_double_eq_tol(of_bearer(SPATE_MEASURE_LOAD, VALLEY), 0.030, 1e-15);
    ck_assert_double_eq_tol(of_bearer(SPATE_MEASURE_LOAD, YARD), 0.005, 1e-15);
    ck_assert_double_eq_tol(of_traffic(SPATE_MEASURE_LOAD, READINGS), 0.015, 1e-15);
    ck_assert_double_eq_tol(of_traffic(SPATE_MEASURE_LOAD, TALK), 0.020, 1e-15);
    SpateMeasureValue both = finish_and_find(SPATE_MEASURE_LOAD, READINGS, VALLEY, -1, -1);
    ck_assert_double_eq_tol(both.value, 0.010, 1e-15);
    ck_assert_double_eq(of_bearer(SPATE_MEASURE_TRANSMISSIONS, VALLEY), 2.0);
    ck_assert_double_eq(of_traffic(SPATE_MEASURE_TRANSMISSIONS, READINGS), 2.0);
}
END_TEST

START_TEST(outcomes_are_shares_of_what_was_audible)
{
    static const int FIRST[] = {SPATE_OUTCOME_RECEIVED, SPATE_OUTCOME_LOST_COLLISION,
                                SPATE_OUTCOME_LOST_BUSY, SPATE_OUTCOME_RECEIVED, -1};
    static const int SECOND[] = {SPATE_OUTCOME_LOST_SENDING, SPATE_OUTCOME_LOST_BLOCKED,
                                 SPATE_OUTCOME_RECEIVED, SPATE_OUTCOME_RECEIVED, -1};
    send(50.0, 1.0, READINGS, GATE_VALLEY, FIRST); /* in the warm-up */
    send(99.5, 1.0, READINGS, GATE_VALLEY, FIRST); /* ends after it, but began in it */
    send(200.0, 1.0, READINGS, GATE_VALLEY, FIRST);
    send(300.0, 1.0, READINGS, TOWER_VALLEY, SECOND);
    for (int i = 0; i < 3; i++)
        arrive(TOWER_VALLEY, 300 * SPATE_NS_PER_S);
    arrive(TOWER_VALLEY, 99 * SPATE_NS_PER_S);
    ck_assert_double_eq(of_bearer(SPATE_MEASURE_AUDIBLE, VALLEY), 8.0);
    ck_assert_double_eq(of_bearer(SPATE_MEASURE_AUDIBLE, YARD), 0.0);
    ck_assert_double_eq(of_bearer(SPATE_MEASURE_RECEIVED, VALLEY), 0.5);
    ck_assert_double_eq(of_bearer(SPATE_MEASURE_LOST_COLLISION, VALLEY), 0.125);
    ck_assert_double_eq(of_bearer(SPATE_MEASURE_LOST_BUSY, VALLEY), 0.125);
    ck_assert_double_eq(of_bearer(SPATE_MEASURE_LOST_SENDING, VALLEY), 0.125);
    ck_assert_double_eq(of_bearer(SPATE_MEASURE_LOST_BLOCKED, VALLEY), 0.125);
    SpateMeasureValue redundant = finish_and_find(SPATE_MEASURE_REDUNDANT, -1, VALLEY, -1, -1);
    ck_assert_double_eq(redundant.count, 1.0);
    ck_assert_double_eq(redundant.of, 4.0);
}
END_TEST

START_TEST(a_frame_on_the_air_at_the_end_is_sent_but_not_heard)
{
    static const int HEARD[] = {SPATE_OUTCOME_RECEIVED, -1};
    send(998.0, 9.0, READINGS, GATE_VALLEY, HEARD);
    ck_assert_double_eq(of_bearer(SPATE_MEASURE_TRANSMISSIONS, VALLEY), 1.0);
    ck_assert_double_eq_tol(of_bearer(SPATE_MEASURE_LOAD, VALLEY), 0.01, 1e-15);
    ck_assert_double_eq(of_bearer(SPATE_MEASURE_AUDIBLE, VALLEY), 0.0);
    ck_assert_double_eq_tol(of_bearer(SPATE_MEASURE_DUTY_MAX, VALLEY), 2.0 / 900.0, 1e-15);
}
END_TEST

/* 72 s of the 900 s that count, which are less than an hour. */
START_TEST(the_largest_duty_is_that_of_one_radio)
{
    send(200.0, 36.0, READINGS, GATE_VALLEY, UNHEARD);
    send(300.0, 72.0, READINGS, HUT_VALLEY, UNHEARD);
    send(400.0, 18.0, READINGS, GATE_VALLEY, UNHEARD);
    ck_assert_double_eq_tol(of_bearer(SPATE_MEASURE_DUTY_MAX, VALLEY), 0.08, 1e-15);
    ck_assert_double_eq(of_bearer(SPATE_MEASURE_DUTY_MAX, YARD), 0.0);
}
END_TEST

START_TEST(waits_are_means_over_frames)
{
    send(200.0, 1.0, READINGS, GATE_VALLEY, UNHEARD);
    send(300.0, 1.0, READINGS, HUT_VALLEY, UNHEARD);
    ck_assert_double_eq_tol(of_bearer(SPATE_MEASURE_WAITED_DUTY, VALLEY), 3.0, 1e-12);
    ck_assert_double_eq_tol(of_bearer(SPATE_MEASURE_WAITED_ACCESS, VALLEY), 0.5, 1e-12);
}
END_TEST

/* Busy within the 900 s: gate 90, hut 180, tower 0 s. */
START_TEST(occupancy_is_that_of_the_time_after_the_warm_up)
{
    spate_tally_note_at_warm_up(tally, GATE_VALLEY,
                                (SpateRadioTimes){.busy_ns = 50 * SPATE_NS_PER_S});
    spate_tally_note_at_end(tally, GATE_VALLEY, (SpateRadioTimes){.busy_ns = 140 * SPATE_NS_PER_S});
    spate_tally_note_at_end(tally, HUT_VALLEY, (SpateRadioTimes){.busy_ns = 180 * SPATE_NS_PER_S});
    ck_assert_double_eq_tol(of_bearer(SPATE_MEASURE_OCCUPANCY, VALLEY), 0.1, 1e-15);
    ck_assert_double_eq_tol(of_bearer(SPATE_MEASURE_OCCUPANCY_MAX, VALLEY), 0.2, 1e-15);
}
END_TEST

START_TEST(dropped_frames_count_by_cause)
{
    drop(WARM_UP_NS - 1, GATE_YARD, SPATE_DROP_QUEUE);
    drop(WARM_UP_NS, GATE_YARD, SPATE_DROP_QUEUE);
    drop(WARM_UP_NS, GATE_YARD, SPATE_DROP_EXPIRED);
    drop(WARM_UP_NS, GATE_YARD, SPATE_DROP_EXPIRED);
    drop(WARM_UP_NS, GATE_YARD, SPATE_DROP_SIZE);
    drop(WARM_UP_NS, GATE_YARD, SPATE_DROP_CANCELLED);
    ck_assert_double_eq(of_bearer(SPATE_MEASURE_DROPPED_QUEUE, YARD), 1.0);
    ck_assert_double_eq(of_bearer(SPATE_MEASURE_DROPPED_EXPIRED, YARD), 2.0);
    ck_assert_double_eq(of_bearer(SPATE_MEASURE_DROPPED_SIZE, YARD), 1.0);
    ck_assert_double_eq(of_bearer(SPATE_MEASURE_DROPPED_QUEUE, VALLEY), 0.0);
}
END_TEST

/* What was offered in the warm-up is not counted, whenever it is refused. */
START_TEST(refusals_count_by_bridge_and_by_traffic)
{
    SpateMessageFacts early = offer(50.0, READINGS, SHED);
    decide(&early, SPATE_DECISION_HELD_BACK, 0);
    SpateMessageFacts talk = offer(200.0, TALK, SHED);
    decide(&talk, SPATE_DECISION_SEND, 0);
    decide(&talk, SPATE_DECISION_HELD_BACK, 0);
    decide(&talk, SPATE_DECISION_HELD_BACK, SPATE_NO_CROSSING); /* a relay */
    ck_assert_double_eq(finish_and_find(SPATE_MEASURE_HELD_BACK, -1, -1, -1, 0).value, 1.0);
    ck_assert_double_eq(of_traffic(SPATE_MEASURE_HELD_BACK, READINGS), 0.0);
    ck_assert_double_eq(of_traffic(SPATE_MEASURE_HELD_BACK, TALK), 1.0);
}
END_TEST

START_TEST(what_begins_just_as_the_warm_up_ends_counts)
{
    static const int HEARD[] = {SPATE_OUTCOME_RECEIVED, SPATE_OUTCOME_RECEIVED, -1};
    SpateMessageFacts message = offer(100.0, READINGS, SHED);
    send(100.0, 9.0, READINGS, GATE_VALLEY, HEARD);
    arrive(GATE_VALLEY, WARM_UP_NS);
    decide(&message, SPATE_DECISION_HELD_BACK, 0);
    ck_assert_double_eq(of_bearer(SPATE_MEASURE_TRANSMISSIONS, VALLEY), 1.0);
    ck_assert_double_eq_tol(of_bearer(SPATE_MEASURE_LOAD, VALLEY), 0.01, 1e-15);
    ck_assert_double_eq_tol(of_bearer(SPATE_MEASURE_DUTY_MAX, VALLEY), 0.01, 1e-15);
    ck_assert_double_eq(of_bearer(SPATE_MEASURE_AUDIBLE, VALLEY), 2.0);
    ck_assert_double_eq(of_bearer(SPATE_MEASURE_REDUNDANT, VALLEY), 0.5);
    ck_assert_double_eq(of_traffic(SPATE_MEASURE_HELD_BACK, READINGS), 1.0);
}
END_TEST

/* Of 900 s, hut sends 1 s of the frame that spans the end of the warm-up, 7 s of one within, and 1
 * s of the one that the end cuts off: 1 %.  0.01 x 500 mW + 0.99 x 100 mW = 104 mW; 24 h of that
 * are 2496 mWh. */
START_TEST(energy_is_scaled_to_a_day)
{
    send(98.0, 3.0, TALK, HUT_VALLEY, UNHEARD);
    send(200.0, 7.0, TALK, HUT_VALLEY, UNHEARD);
    send(999.0, 5.0, TALK, HUT_VALLEY, UNHEARD);
    ck_assert_double_eq_tol(finish_and_find(SPATE_MEASURE_RADIO_ENERGY, -1, -1, HUT, -1).value,
                            2496.0, 1e-9);
}
END_TEST

/* Of 900 s, hut sends for 9 s and is awake for 90 s in all: 0.01 x 500 mW + 0.09 x 100 mW + 0.9 x 1
 * mW = 14.9 mW; 24 h of that are 357.6 mWh.  What was before the warm-up does not count. */
START_TEST(a_radio_that_sleeps_saves_what_it_draws_less)
{
    send(200.0, 9.0, TALK, HUT_VALLEY, UNHEARD);
    spate_tally_note_at_warm_up(tally, HUT_VALLEY,
                                (SpateRadioTimes){.awake_ns = 20 * SPATE_NS_PER_S});
    spate_tally_note_at_end(tally, HUT_VALLEY, (SpateRadioTimes){.awake_ns = 110 * SPATE_NS_PER_S});
    ck_assert_double_eq_tol(finish_and_find(SPATE_MEASURE_RADIO_ENERGY, -1, -1, HUT, -1).value,
                            357.6, 1e-9);
}
END_TEST

START_TEST(a_message_lost_at_its_offer_has_no_try)
{
    offer(200.0, READINGS, SHED);
    SpateMessageFacts lost = {
        .traffic = READINGS, .origin = SHED, .offered_ns = 300 * SPATE_NS_PER_S};
    tell((SpateEvent){.kind = SPATE_EVENT_OFFERED, .message = &lost, .is_lost = true});
    ck_assert_double_eq(of_traffic(SPATE_MEASURE_MESSAGES, READINGS), 2.0);
    ck_assert_double_eq(of_traffic(SPATE_MEASURE_TRIES_MEAN, READINGS), 0.5);
}
END_TEST

/* Down for 450 s of the 900 s, hut uses half of what it would: without sending 0.1 W, 1200 mWh. */
START_TEST(a_radio_that_is_off_uses_nothing)
{
    spate_tally_note_at_warm_up(tally, HUT_VALLEY,
                                (SpateRadioTimes){.off_ns = 20 * SPATE_NS_PER_S});
    spate_tally_note_at_end(tally, HUT_VALLEY, (SpateRadioTimes){.off_ns = 470 * SPATE_NS_PER_S});
    ck_assert_double_eq_tol(finish_and_find(SPATE_MEASURE_RADIO_ENERGY, -1, -1, HUT, -1).value,
                            1200.0, 1e-9);
}
END_TEST

START_TEST(what_was_lost_asleep_is_a_share_of_what_was_audible)
{
    static const int HEARD[] = {SPATE_OUTCOME_LOST_ASLEEP, SPATE_OUTCOME_RECEIVED,
                                SPATE_OUTCOME_LOST_ASLEEP, SPATE_OUTCOME_LOST_BUSY, -1};
    send(200.0, 1.0, TALK, GATE_VALLEY, HEARD);
    ck_assert_double_eq(of_bearer(SPATE_MEASURE_LOST_ASLEEP, VALLEY), 0.5);
}
END_TEST

START_TEST(only_bearers_with_radios_that_sleep_lose_frames_asleep)
{
    for (int sleepy = 0; sleepy <= 1; sleepy++) {
        size_t n_rows = 0, n = 0;
        g_autofree SpateMeasureRow *rows =
            spate_measure_rows(sleepy ? &sleepy_plan : &SMALL_PLAN, &n_rows);
        for (size_t i = 0; i < n_rows; i++) {
            n += rows[i].measure == SPATE_MEASURE_LOST_ASLEEP;
            ck_assert(rows[i].measure != SPATE_MEASURE_LOST_ASLEEP || rows[i].bearer == VALLEY);
        }
        ck_assert_uint_eq(n, (size_t)sleepy);
    }
}
END_TEST

/* --- rows --- */

static size_t
count_rows(SpateMeasure measure)
{
    size_t n_rows = 0, n = 0;
    g_autofree SpateMeasureRow *rows = spate_measure_rows(&SMALL_PLAN, &n_rows);
    for (size_t i = 0; i < n_rows; i++)
        n += rows[i].measure == measure;
    return n;
}

START_TEST(rows_follow_the_plan)
{
    ck_assert_uint_eq(count_rows(SPATE_MEASURE_DELIVERY), 2);
    ck_assert_uint_eq(count_rows(SPATE_MEASURE_DELIVERY_IN_TIME), 1); /* only talk has a deadline */
    ck_assert_uint_eq(count_rows(SPATE_MEASURE_TRIES_MEAN), 1); /* only readings are answered */
    ck_assert_uint_eq(count_rows(SPATE_MEASURE_TRANSMISSIONS), 4);
    ck_assert_uint_eq(count_rows(SPATE_MEASURE_LOAD), 8);
    ck_assert_uint_eq(count_rows(SPATE_MEASURE_HELD_BACK), 3);
    ck_assert_uint_eq(count_rows(SPATE_MEASURE_RADIO_ENERGY),
                      1); /* tower tells half of its supply */
}
END_TEST

START_TEST(rows_are_in_the_order_of_the_measures)
{
    size_t n_rows = 0;
    g_autofree SpateMeasureRow *rows = spate_measure_rows(&SMALL_PLAN, &n_rows);
    for (size_t i = 1; i < n_rows; i++)
        ck_assert_int_le(rows[i - 1].measure, rows[i].measure);
}
END_TEST

START_TEST(every_measure_has_a_name_of_its_own)
{
    for (int i = 0; i < SPATE_N_MEASURES; i++) {
        const char *name = spate_measure_info((SpateMeasure)i)->name;
        ck_assert_ptr_nonnull(name);
        for (int k = 0; k < i; k++)
            ck_assert_str_ne(name, spate_measure_info((SpateMeasure)k)->name);
    }
}
END_TEST

int
main(void)
{
    TCase *fed = tcase_create("fed by hand");
    tcase_add_checked_fixture(fed, set_up, tear_down);
    tcase_add_test(fed, messages_of_the_warm_up_do_not_count_wherever_they_arrive);
    tcase_add_test(fed, a_source_is_none_of_its_own_recipients);
    tcase_add_test(fed, a_frame_that_thousands_hear_counts_at_each_of_them);
    tcase_add_test(fed, a_delivery_at_the_deadline_is_in_time);
    tcase_add_test(fed, tries_and_answers_count_for_the_message);
    tcase_add_test(fed, the_worst_recipient_is_judged_by_its_own_pairs);
    tcase_add_test(fed, a_source_is_not_the_worst_for_what_it_sent_itself);
    tcase_add_test(fed, a_recipient_may_be_measured_by_itself);
    tcase_add_test(fed, percentiles_are_by_nearest_rank);
    tcase_add_test(fed, what_has_no_value_is_nan);
    tcase_add_test(fed, load_by_traffic_adds_up_to_load_by_bearer);
    tcase_add_test(fed, outcomes_are_shares_of_what_was_audible);
    tcase_add_test(fed, a_frame_on_the_air_at_the_end_is_sent_but_not_heard);
    tcase_add_test(fed, the_largest_duty_is_that_of_one_radio);
    tcase_add_test(fed, waits_are_means_over_frames);
    tcase_add_test(fed, occupancy_is_that_of_the_time_after_the_warm_up);
    tcase_add_test(fed, dropped_frames_count_by_cause);
    tcase_add_test(fed, refusals_count_by_bridge_and_by_traffic);
    tcase_add_test(fed, what_begins_just_as_the_warm_up_ends_counts);
    tcase_add_test(fed, energy_is_scaled_to_a_day);
    tcase_add_test(fed, a_radio_that_is_off_uses_nothing);
    tcase_add_test(fed, a_message_lost_at_its_offer_has_no_try);
    TCase *sleepy = tcase_create("with a radio that sleeps");
    tcase_add_checked_fixture(sleepy, set_up_sleepy, tear_down);
    tcase_add_test(sleepy, a_radio_that_sleeps_saves_what_it_draws_less);
    tcase_add_test(sleepy, what_was_lost_asleep_is_a_share_of_what_was_audible);
    tcase_add_test(sleepy, only_bearers_with_radios_that_sleep_lose_frames_asleep);
    TCase *rows = tcase_create("rows");
    tcase_add_test(rows, rows_follow_the_plan);
    tcase_add_test(rows, rows_are_in_the_order_of_the_measures);
    tcase_add_test(rows, every_measure_has_a_name_of_its_own);
    Suite *suite = suite_create("tally");
    suite_add_tcase(suite, fed);
    suite_add_tcase(suite, sleepy);
    suite_add_tcase(suite, rows);
    return run_suite(suite);
}
