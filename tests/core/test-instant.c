/* test-instant.c - instants against clocks worked out by hand */
#include "core/instant.h"
#include "support/check-main.h"

#include "core/time.h"

START_TEST(an_instant_reads_like_a_clock)
{
    static const struct {
        int64_t ns;
        const char *clock;
    } EXAMPLES[] = {
        {0, "0:00:00.000"},
        {INT64_C(999999), "0:00:00.000"},
        {INT64_C(1000000), "0:00:00.001"},
        {30 * SPATE_NS_PER_S, "0:00:30.000"},
        {INT64_C(4710994600000), "1:18:30.994"}, /* 4710 s = 3600 s + 18 * 60 s + 30 s */
        {SPATE_NS_PER_HOUR - 1, "0:59:59.999"},
        {100 * SPATE_NS_PER_HOUR + SPATE_NS_PER_MIN, "100:01:00.000"},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(EXAMPLES); i++) {
        g_autoptr(GString) text = g_string_new("at ");
        spate_append_instant(text, EXAMPLES[i].ns);
        ck_assert_str_eq(text->str + 3, EXAMPLES[i].clock);
    }
}
END_TEST

CHECK_MAIN("instant", an_instant_reads_like_a_clock)
