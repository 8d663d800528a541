/* tally.c - the observer that feeds the counts */
#include "measure/tally-private.h"

#include "core/time.h"
#include "mesh/observers.h"
#include <math.h>

/* Frames of the last hour for which room is made before the run, see tally-traffic.c. */
#define FRAMES_RESERVED_MOST 1000000.0

SpateTally *
spate_tally_new(const SpatePlan *plan, int64_t warm_up_ns, int64_t end_ns,
                const double *expected_offers)
{
    g_assert(warm_up_ns >= 0 && warm_up_ns < end_ns);
    int64_t span_ns = end_ns - warm_up_ns;
    double hours = fmax((double)span_ns / (double)SPATE_NS_PER_HOUR, 1.0), offers = 0.0;
    SpateTally *tally = g_new0(SpateTally, 1);
    tally->plan = plan;
    tally->warm_up_ns = warm_up_ns;
    tally->end_ns = end_ns;
    tally->traffics = g_new0(SpateTrafficTally, plan->n_traffics);
    for (uint32_t i = 0; i < plan->n_traffics; i++) {
        spate_traffic_tally_init(&tally->traffics[i], &plan->traffics[i], expected_offers[i]);
        offers +=
            expected_offers[i] * spate_most_messages_of_offer(&plan->traffics[i].acknowledgement);
    }
    tally->bearers = g_new0(SpateBearerTally, plan->n_bearers);
    tally->cross = g_new0(SpateCrossTally, (size_t)plan->n_traffics * plan->n_bearers);
    tally->radios = g_new0(SpateRadioTally, plan->n_radios);
    for (uint32_t i = 0; i < plan->n_radios; i++)
        tally->radios[i].sending_since_ns = SPATE_NOT_SENDING;
    /* A radio sends a message once, unless its node has forgotten it: an hour brings each radio
     * about one frame for each message that is offered within it. */
    double frames = fmin(ceil(offers / hours) * plan->n_radios, FRAMES_RESERVED_MOST);
    tally->hour = spate_sliding_hour_new(plan->n_radios, span_ns, (size_t)frames);
    tally->held_back_by_bridge = g_new0(uint64_t, plan->n_bridges);
    tally->held_back_by_traffic = g_new0(uint64_t, plan->n_traffics);
    tally->rows = spate_measure_rows(plan, &tally->n_rows);
    tally->values = g_new0(SpateMeasureValue, tally->n_rows);
    return tally;
}

void
spate_tally_free(SpateTally *tally)
{
    if (tally == NULL)
        return;
    for (uint32_t i = 0; i < tally->plan->n_traffics; i++)
        spate_traffic_tally_clear(&tally->traffics[i]);
    g_free(tally->traffics);
    g_free(tally->bearers);
    g_free(tally->cross);
    g_free(tally->radios);
    spate_sliding_hour_free(tally->hour);
    g_free(tally->held_back_by_bridge);
    g_free(tally->held_back_by_traffic);
    g_free(tally->rows);
    g_free(tally->values);
    g_free(tally);
}

static bool
counts_message(const SpateTally *tally, const SpateMessageFacts *message)
{
    return message->offered_ns >= tally->warm_up_ns;
}

static SpateBearerTally *
bearer_of(const SpateTally *tally, const SpateFrameFacts *frame)
{
    return &tally->bearers[tally->plan->radios[frame->radio].bearer];
}

static void
note_started(const SpateTally *tally, const SpateFrameFacts *frame)
{
    SpateRadioTally *radio = &tally->radios[frame->radio];
    g_assert(radio->sending_since_ns == SPATE_NOT_SENDING);
    radio->sending_since_ns = frame->started_ns;
    if (frame->started_ns < tally->warm_up_ns)
        return;
    spate_sliding_hour_expect(tally->hour, frame->radio);
    uint32_t number = tally->plan->radios[frame->radio].bearer;
    SpateBearerTally *bearer = &tally->bearers[number];
    bearer->frames++;
    bearer->airtime_ns += frame->airtime_ns;
    bearer->waited_duty_ns += frame->waited_duty_ns;
    bearer->waited_access_ns += frame->waited_access_ns;
    SpateCrossTally *cross =
        &tally->cross[frame->message.traffic * tally->plan->n_bearers + number];
    cross->frames++;
    cross->airtime_ns += frame->airtime_ns;
}

/* The radio's frame is over, or cut off by the end of the run. */
static void
close_sending(const SpateTally *tally, uint32_t number, int64_t now_ns)
{
    SpateRadioTally *radio = &tally->radios[number];
    int64_t started_ns = radio->sending_since_ns;
    g_assert(started_ns != SPATE_NOT_SENDING);
    radio->sending_since_ns = SPATE_NOT_SENDING;
    radio->sending_ns += MAX(now_ns - MAX(started_ns, tally->warm_up_ns), 0);
    if (started_ns >= tally->warm_up_ns)
        spate_sliding_hour_add(tally->hour, number, started_ns, now_ns);
}

static void
note_ended(const SpateTally *tally, const SpateEvent *event)
{
    close_sending(tally, event->radio, event->at_ns);
    if (event->frame->started_ns < tally->warm_up_ns)
        return;
    SpateBearerTally *bearer = bearer_of(tally, event->frame);
    for (uint32_t k = 0; k < SPATE_N_OUTCOMES; k++) {
        bearer->outcomes[k] += event->n_by_outcome[k];
        bearer->audible += event->n_by_outcome[k];
    }
    /* Along a route nothing comes twice. */
    if (event->frame->message.route_length > 0)
        bearer->first_copies += event->n_by_outcome[SPATE_OUTCOME_RECEIVED];
}

static void
note_delivered(const SpateTally *tally, const SpateEvent *event)
{
    const SpateMessageFacts *message = event->message;
    if (counts_message(tally, message))
        spate_traffic_tally_delivered(&tally->traffics[message->traffic], event->node,
                                      event->at_ns - message->offered_ns, event->hops);
}

static void
note_try(const SpateTally *tally, const SpateMessageFacts *message)
{
    if (counts_message(tally, message))
        tally->traffics[message->traffic].tries++;
}

/* What a crossing holds back, not a relay. */
static void
note_decided(const SpateTally *tally, const SpateEvent *event)
{
    if (event->decision != SPATE_DECISION_HELD_BACK || event->crossing == SPATE_NO_CROSSING ||
        !counts_message(tally, event->message))
        return;
    tally->held_back_by_bridge[tally->plan->crossings[event->crossing].bridge]++;
    tally->held_back_by_traffic[event->message->traffic]++;
}

static void
note_arrived(const SpateTally *tally, const SpateEvent *event)
{
    if (event->frame->started_ns >= tally->warm_up_ns)
        bearer_of(tally, event->frame)->first_copies += event->n_receptions;
}

static void
see(gpointer self, const SpateEvent *event)
{
    const SpateTally *tally = self;
    switch (event->kind) {
    case SPATE_EVENT_OFFERED:
        if (counts_message(tally, event->message))
            spate_traffic_tally_offered(&tally->traffics[event->message->traffic],
                                        event->message->origin);
        if (!event->is_lost)
            note_try(tally, event->message);
        break;
    case SPATE_EVENT_TRIED:
        note_try(tally, event->message);
        break;
    case SPATE_EVENT_ACKNOWLEDGED:
        if (counts_message(tally, event->message))
            tally->traffics[event->message->traffic].acknowledged++;
        break;
    case SPATE_EVENT_DROPPED:
        if (event->at_ns >= tally->warm_up_ns)
            bearer_of(tally, event->frame)->dropped[event->cause]++;
        break;
    case SPATE_EVENT_STARTED:
        note_started(tally, event->frame);
        break;
    case SPATE_EVENT_ENDED:
        note_ended(tally, event);
        break;
    case SPATE_EVENT_DELIVERED:
        note_delivered(tally, event);
        break;
    case SPATE_EVENT_DECIDED:
        note_decided(tally, event);
        break;
    case SPATE_EVENT_ARRIVED:
        note_arrived(tally, event);
        break;
    case SPATE_EVENT_DIGESTED:
    case SPATE_EVENT_QUEUED:
    case SPATE_EVENT_REDUNDANT:
    case SPATE_EVENT_ANSWERED:
    case SPATE_EVENT_ROUTE_LEARNED:
    case SPATE_EVENT_ROUTE_DROPPED:
    case SPATE_EVENT_WENT_DOWN:
    case SPATE_EVENT_CAME_BACK:
    case SPATE_EVENT_MOVED:
        break;
    }
}

/* There are many redundant copies: they are those received but the first ones.  Of decisions only
 * those at crossings are of interest. */
SpateObserver
spate_tally_observer(SpateTally *tally)
{
    uint32_t kinds = SPATE_EVENT_OFFERED | SPATE_EVENT_DROPPED | SPATE_EVENT_STARTED |
                     SPATE_ENDED_IN_NUMBERS | SPATE_ARRIVED_IN_NUMBERS | SPATE_EVENT_DELIVERED |
                     SPATE_EVENT_TRIED | SPATE_EVENT_ACKNOWLEDGED | SPATE_DECIDED_AT_CROSSINGS;
    return (SpateObserver){kinds, see, tally};
}

void
spate_tally_note_at_warm_up(SpateTally *tally, uint32_t radio, SpateRadioTimes times)
{
    tally->radios[radio].at_warm_up = times;
}

void
spate_tally_note_at_end(SpateTally *tally, uint32_t radio, SpateRadioTimes times)
{
    tally->radios[radio].at_end = times;
}

const SpateMeasureValue *
spate_tally_finish(SpateTally *tally)
{
    for (uint32_t i = 0; i < tally->plan->n_radios; i++)
        if (tally->radios[i].sending_since_ns != SPATE_NOT_SENDING)
            close_sending(tally, i, tally->end_ns);
    for (size_t i = 0; i < tally->n_rows; i++)
        tally->values[i] = spate_tally_value(tally, &tally->rows[i]);
    return tally->values;
}

static void
check_traffic(const SpateTrafficTally *traffic)
{
    const SpateAcknowledgement *acknowledgement = &traffic->kind->acknowledgement;
    g_assert(traffic->delivered <= traffic->pairs);
    g_assert(traffic->acknowledged <= traffic->delivered);
    g_assert(traffic->tries <= traffic->messages * MAX(acknowledgement->tries, 1));
}

void
spate_tally_check(const SpateTally *tally)
{
    const SpatePlan *plan = tally->plan;
    for (uint32_t i = 0; i < plan->n_bearers; i++) {
        const SpateBearerTally *bearer = &tally->bearers[i];
        uint64_t outcomes = 0;
        for (int k = 0; k < SPATE_N_OUTCOMES; k++)
            outcomes += bearer->outcomes[k];
        g_assert(outcomes == bearer->audible);
        g_assert(bearer->first_copies <= bearer->outcomes[SPATE_OUTCOME_RECEIVED]);

        SpateCrossTally by_traffic = {0};
        for (uint32_t k = 0; k < plan->n_traffics; k++) {
            by_traffic.frames += tally->cross[k * plan->n_bearers + i].frames;
            by_traffic.airtime_ns += tally->cross[k * plan->n_bearers + i].airtime_ns;
        }
        g_assert(by_traffic.frames == bearer->frames);
        g_assert(by_traffic.airtime_ns == bearer->airtime_ns);
    }
    for (uint32_t i = 0; i < plan->n_traffics; i++)
        check_traffic(&tally->traffics[i]);
}
