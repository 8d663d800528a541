/* test-disturber-watch.c - receptions fed by hand, beside a plain table of all pairs */
#include "core/random.h"
#include "study/watch/disturber-watch.h"
#include "support/check-main.h"

#include <string.h>

enum { N_RADIOS = 50, N_SENDERS = N_RADIOS + 3, N_FRAMES = 4000, N_HEARD = 20 };

#define WARM_UP_NS 1000

static const SpatePlan PLAN = {.n_radios = N_RADIOS};

/* What is to come out. */
static uint64_t outcomes[N_RADIOS][SPATE_N_OUTCOMES];
static uint64_t blamed[N_RADIOS][N_SENDERS][SPATE_N_OUTCOMES];

static SpateReception
draw_reception(SpateRandom *random)
{
    return (SpateReception){
        .receiver = (uint32_t)spate_random_below(random, N_RADIOS),
        .outcome = (SpateOutcome)spate_random_below(random, SPATE_N_OUTCOMES),
        .disturber = spate_random_below(random, 8) == 0
                         ? SPATE_NO_DISTURBER
                         : (uint32_t)spate_random_below(random, N_SENDERS),
    };
}

static bool
has_someone_to_blame(const SpateReception *reception)
{
    return reception->disturber != SPATE_NO_DISTURBER &&
           (reception->outcome == SPATE_OUTCOME_LOST_COLLISION ||
            reception->outcome == SPATE_OUTCOME_LOST_BUSY ||
            reception->outcome == SPATE_OUTCOME_LOST_BLOCKED);
}

static void
feed(const SpateObserver *observer, SpateRandom *random, int64_t started_ns)
{
    SpateReception receptions[N_HEARD];
    for (int i = 0; i < N_HEARD; i++) {
        const SpateReception *reception = &receptions[i];
        receptions[i] = draw_reception(random);
        if (started_ns < WARM_UP_NS)
            continue;
        outcomes[reception->receiver][reception->outcome]++;
        if (has_someone_to_blame(reception))
            blamed[reception->receiver][reception->disturber][reception->outcome]++;
    }
    const SpateFrameFacts frame = {.started_ns = started_ns};
    const SpateEvent ended = {.kind = SPATE_EVENT_ENDED,
                              .frame = &frame,
                              .message = &frame.message,
                              .receptions = receptions,
                              .n_receptions = N_HEARD};
    observer->see(observer->self, &ended);
}

static SpateDisturberCounts
counts_of_random_frames(void)
{
    g_autoptr(SpateDisturberWatch) watch = spate_disturber_watch_new(&PLAN, WARM_UP_NS);
    const SpateObserver observer = spate_disturber_watch_observer(watch);
    SpateRandom random = spate_random_stream(1, 1);
    memset(outcomes, 0, sizeof outcomes);
    memset(blamed, 0, sizeof blamed);
    for (int i = 0; i < N_FRAMES; i++)
        feed(&observer, &random, i);
    return spate_disturber_watch_counts(watch);
}

START_TEST(each_pair_is_blamed_for_its_own)
{
    SpateDisturberCounts counts = counts_of_random_frames();
    const SpateDisturbance *pairs = (const SpateDisturbance *)(void *)counts.pairs->data;
    guint place = 0;
    for (uint32_t r = 0; r < N_RADIOS; r++) {
        for (uint32_t s = 0; s < N_SENDERS; s++, place++) {
            const uint64_t *its = blamed[r][s];
            ck_assert_uint_eq(pairs[place].receiver, r);
            ck_assert_uint_eq(pairs[place].sender, s);
            ck_assert_uint_eq(pairs[place].n_collision, its[SPATE_OUTCOME_LOST_COLLISION]);
            ck_assert_uint_eq(pairs[place].n_busy, its[SPATE_OUTCOME_LOST_BUSY]);
            ck_assert_uint_eq(pairs[place].n_blocked, its[SPATE_OUTCOME_LOST_BLOCKED]);
        }
    }
    ck_assert_uint_eq(place, counts.pairs->len);
    spate_disturber_counts_clear(&counts);
}
END_TEST

START_TEST(each_radio_has_its_own_outcomes)
{
    SpateDisturberCounts counts = counts_of_random_frames();
    for (uint32_t r = 0; r < N_RADIOS; r++) {
        uint64_t audible = 0;
        for (int k = 0; k < SPATE_N_OUTCOMES; k++)
            audible += outcomes[r][k];
        ck_assert_uint_eq(counts.audible[r], audible);
        ck_assert_uint_eq(counts.received[r], outcomes[r][SPATE_OUTCOME_RECEIVED]);
        ck_assert_uint_eq(counts.sending[r], outcomes[r][SPATE_OUTCOME_LOST_SENDING]);
        ck_assert_uint_eq(counts.asleep[r], outcomes[r][SPATE_OUTCOME_LOST_ASLEEP]);
    }
    spate_disturber_counts_clear(&counts);
}
END_TEST

CHECK_MAIN("disturber-watch", each_pair_is_blamed_for_its_own, each_radio_has_its_own_outcomes)
