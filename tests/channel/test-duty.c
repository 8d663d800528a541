/* test-duty.c - the duty cycle of one radio against every hour by brute force */
#include "channel/duty.h"
#include "core/random.h"
#include "support/check-main.h"

#include <glib.h>

#define N_FRAMES 400
#define LIMIT_NS (36 * SPATE_NS_PER_S)

typedef struct {
    int64_t start_ns, end_ns;
} Sent;

static int64_t
sent_within(const Sent *sent, int n, int64_t begin_ns, int64_t end_ns)
{
    int64_t sum_ns = 0;
    for (int i = 0; i < n; i++)
        sum_ns += MAX(0, MIN(sent[i].end_ns, end_ns) - MAX(sent[i].start_ns, begin_ns));
    return sum_ns;
}

/* The sum over a window is piecewise linear in its place, with corners where the window begins or
 * ends with a frame: the fullest is one of these. */
static int64_t
fullest_hour(const Sent *sent, int n)
{
    int64_t most_ns = 0;
    for (int i = 0; i < n; i++) {
        const int64_t begins_ns[] = {sent[i].start_ns, sent[i].end_ns,
                                     sent[i].start_ns - SPATE_NS_PER_HOUR,
                                     sent[i].end_ns - SPATE_NS_PER_HOUR};
        for (size_t k = 0; k < G_N_ELEMENTS(begins_ns); k++)
            most_ns =
                MAX(most_ns, sent_within(sent, n, begins_ns[k], begins_ns[k] + SPATE_NS_PER_HOUR));
    }
    return most_ns;
}

START_TEST(no_hour_is_too_full_and_none_could_have_been_fuller)
{
    SpateRandom random = spate_random_stream(1, SPATE_FOR_TEST);
    SpateDutyLog log = {0};
    Sent sent[N_FRAMES];
    int64_t now_ns = 0;
    int n_waited = 0;
    for (int n = 0; n < N_FRAMES; n++) {
        int64_t airtime_ns = 1 + (int64_t)spate_random_below(&random, 5 * SPATE_NS_PER_S);
        now_ns += (int64_t)spate_random_below(&random, 500 * SPATE_NS_PER_S);
        int64_t start_ns = spate_duty_log_earliest_ns(&log, now_ns, airtime_ns, LIMIT_NS);
        ck_assert_int_ge(start_ns, now_ns);
        if (start_ns > now_ns) {
            sent[n] = (Sent){start_ns - 1, start_ns - 1 + airtime_ns};
            ck_assert_int_gt(fullest_hour(sent, n + 1), LIMIT_NS);
            n_waited++;
        }
        sent[n] = (Sent){start_ns, start_ns + airtime_ns};
        ck_assert_int_le(fullest_hour(sent, n + 1), LIMIT_NS);
        spate_duty_log_note(&log, start_ns, start_ns + airtime_ns);
        now_ns = start_ns + airtime_ns;
    }
    spate_duty_log_clear(&log);
    ck_assert_int_gt(n_waited, N_FRAMES / 10);
    ck_assert_int_lt(n_waited, N_FRAMES * 9 / 10);
}
END_TEST

CHECK_MAIN("duty", no_hour_is_too_full_and_none_could_have_been_fuller)
