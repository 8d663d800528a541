/* test-observers.c - who is told of what */
#include "mesh/observers.h"

#include "support/check-main.h"

static void
count(void *self, const SpateEvent *event)
{
    (void)event;
    ++*(unsigned *)self;
}

static void
tell_two_decisions(const SpateObservers *observers)
{
    SpateEvent event = {.kind = SPATE_EVENT_DECIDED, .crossing = SPATE_NO_CROSSING};
    spate_observers_tell(observers, &event);
    event.crossing = 0;
    spate_observers_tell(observers, &event);
}

START_TEST(who_wishes_for_crossings_is_not_told_of_relays)
{
    unsigned n_of_crossings = 0, n_of_all = 0, n_of_neither = 0;
    const SpateObserver crossings = {SPATE_DECIDED_AT_CROSSINGS, count, &n_of_crossings};
    const SpateObserver all = {SPATE_EVENT_DECIDED, count, &n_of_all};
    const SpateObserver neither = {SPATE_EVENT_ARRIVED, count, &n_of_neither};
    SpateObservers observers;
    spate_observers_init(&observers);
    spate_observers_add(&observers, &neither);
    spate_observers_add(&observers, &crossings);
    spate_observers_add(&observers, &all);

    tell_two_decisions(&observers);

    ck_assert_uint_eq(n_of_crossings, 1);
    ck_assert_uint_eq(n_of_all, 2);
    ck_assert_uint_eq(n_of_neither, 0);
    spate_observers_clear(&observers);
}
END_TEST

START_TEST(decisions_are_put_together_where_anyone_wants_them)
{
    SpateObservers observers;
    spate_observers_init(&observers);
    spate_observers_add(&observers, &(SpateObserver){.kinds = SPATE_EVENT_ARRIVED});
    ck_assert(!spate_observers_want_decision(&observers, true));
    spate_observers_add(&observers, &(SpateObserver){.kinds = SPATE_DECIDED_AT_CROSSINGS});
    ck_assert(spate_observers_want_decision(&observers, true));
    ck_assert(!spate_observers_want_decision(&observers, false));
    spate_observers_add(&observers, &(SpateObserver){.kinds = SPATE_EVENT_DECIDED});
    ck_assert(spate_observers_want_decision(&observers, false));
    spate_observers_clear(&observers);
}
END_TEST

int
main(void)
{
    TCase *wishes = tcase_create("wishes");
    tcase_add_test(wishes, who_wishes_for_crossings_is_not_told_of_relays);
    tcase_add_test(wishes, decisions_are_put_together_where_anyone_wants_them);
    Suite *suite = suite_create("observers");
    suite_add_tcase(suite, wishes);
    return run_suite(suite);
}
