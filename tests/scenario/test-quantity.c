/* test-quantity.c - numbers with units: what they mean, and what is said of wrong ones */
#include "scenario/text/quantity.h"
#include "support/check-main.h"

#include <math.h>
#include <string.h>

static const SpateRange ANY = {-INFINITY, INFINITY};

static SpateYaml *
scalar(const char *text)
{
    SpateYaml *node = spate_yaml_new(SPATE_YAML_SCALAR, (SpatePlace){0, 1, 1});
    node->text = g_strdup(text);
    return node;
}

typedef struct {
    const char *text;
    SpateDimension dimension;
    double value;
} Right;

/* Units by the SI prefixes; dBm = 10 log10(P / 1 mW): 20 dBm are 100 mW, by definition. */
static const Right RIGHT[] = {
    {"22 dBm", SPATE_DIM_LEVEL, 22},
    {"22dBm", SPATE_DIM_LEVEL, 22},
    {"-137.5 dBm", SPATE_DIM_LEVEL, -137.5},
    {"+22 dBm", SPATE_DIM_LEVEL, 22},
    {"100 mW", SPATE_DIM_LEVEL, 20},
    {"1 W", SPATE_DIM_LEVEL, 30},
    {"100 mW", SPATE_DIM_POWER, 0.1},
    {"869.5 MHz", SPATE_DIM_FREQUENCY, 869.5e6},
    {"868.1 MHz", SPATE_DIM_FREQUENCY, 868.1e6},
    {"2.437 GHz", SPATE_DIM_FREQUENCY, 2.437e9},
    {"62.5 kHz", SPATE_DIM_FREQUENCY, 62500},
    {"3 km", SPATE_DIM_LENGTH, 3000},
    {"-0.5 m", SPATE_DIM_LENGTH, -0.5},
    {"1.4 m/s", SPATE_DIM_SPEED, 1.4},
    {"5.4 km/h", SPATE_DIM_SPEED, 1.5},
    {"6 dB", SPATE_DIM_RATIO_DB, 6},
    {"2.15 dBi", SPATE_DIM_GAIN, 2.15},
    {"24 bytes", SPATE_DIM_SIZE, 24},
    {"1 byte", SPATE_DIM_SIZE, 1},
    {"250 kbit/s", SPATE_DIM_BITRATE, 250000},
    {"2 Mbit/s", SPATE_DIM_BITRATE, 2e6},
    {"8 symbols", SPATE_DIM_SYMBOLS, 8},
    {"6.5 airtimes", SPATE_DIM_AIRTIMES, 6.5},
    {"10 %", SPATE_DIM_SHARE, 0.1},
    {"10%", SPATE_DIM_SHARE, 0.1},
    {"0.1", SPATE_DIM_SHARE, 0.1},
    {"0.1 %", SPATE_DIM_SHARE, 0.001},
    {"1.0", SPATE_DIM_SHARE, 1},
    {"0.95", SPATE_DIM_SHARE, 0.95},
    {"0", SPATE_DIM_SHARE, 0},
    {"-0.5", SPATE_DIM_SHARE, -0.5},
    {"1 %", SPATE_DIM_SHARE, 0.01},
    {"-40 %", SPATE_DIM_SHARE, -0.4},
    {"10.02", SPATE_DIM_DEGREES, 10.02},
    {"-20 deg", SPATE_DIM_DEGREES, -20},
    {"4 per hour", SPATE_DIM_RATE, 4.0 / 3600},
    {"4  per  day", SPATE_DIM_RATE, 4.0 / 86400},
    {"1 per min", SPATE_DIM_RATE, 1.0 / 60},
    {"2 per s", SPATE_DIM_RATE, 2},
    {"120 deg", SPATE_DIM_ANGLE, 120},
    {"0.25", SPATE_DIM_NUMBER, 0.25},
    {"60", SPATE_DIM_COUNT, 60},
    {"60.0", SPATE_DIM_COUNT, 60},
    {"0", SPATE_DIM_COUNT, 0},
    {"1.5 min", SPATE_DIM_TIME, 90e9},
};

START_TEST(a_quantity_means_what_it_says)
{
    for (size_t i = 0; i < G_N_ELEMENTS(RIGHT); i++) {
        g_autoptr(SpateFaults) faults = spate_faults_new();
        g_autoptr(SpateYaml) node = scalar(RIGHT[i].text);
        double value = NAN;
        ck_assert_msg(spate_quantity_read(node, RIGHT[i].dimension, ANY, &value, faults) &&
                          fabs(value - RIGHT[i].value) <= 1e-15 * fabs(RIGHT[i].value),
                      "%s reads as %.17g", RIGHT[i].text, value);
        ck_assert_uint_eq(spate_faults_count(faults), 0);
    }
}
END_TEST

static double
parse(const char *text, SpateDimension dimension)
{
    double value = NAN;
    g_autofree char *wrong = spate_quantity_parse(text, dimension, ANY, &value);
    ck_assert_msg(wrong == NULL, "%s", wrong);
    return value;
}

/* To the last bit, for any number of decimals. */
START_TEST(a_unit_only_moves_the_point)
{
    for (int khz = 1; khz < 2000; khz++) {
        g_autofree char *in_khz = g_strdup_printf("%d kHz", 860000 + khz);
        g_autofree char *in_mhz = g_strdup_printf("%d.%03d MHz", 860 + khz / 1000, khz % 1000);
        ck_assert_double_eq(parse(in_mhz, SPATE_DIM_FREQUENCY), parse(in_khz, SPATE_DIM_FREQUENCY));
        g_autofree char *share = g_strdup_printf("0.%04d", khz);
        g_autofree char *percent = g_strdup_printf("%d.%02d %%", khz / 100, khz % 100);
        ck_assert_double_eq(parse(percent, SPATE_DIM_SHARE), parse(share, SPATE_DIM_SHARE));
    }
}
END_TEST

typedef struct {
    const char *text;
    SpateDimension dimension;
    double least, most;
    const char *what, *hint;
} Wrong;

#define WIDE   -INFINITY, INFINITY
#define A_TIME "ns, us, ms, s, min, h or day"
#define PLAIN  "digits only, as in 12"

static const Wrong WRONG[] = {
    /* units */
    {"15", SPATE_DIM_TIME, WIDE, "'15' has no unit", "a time needs a unit: " A_TIME},
    {"22", SPATE_DIM_LEVEL, WIDE, "'22' has no unit", "a level needs a unit: dBm, W or mW"},
    {"24", SPATE_DIM_SIZE, WIDE, "'24' has no unit", "a size needs a unit: bytes"},
    {"3 km", SPATE_DIM_TIME, WIDE, "'km' is not a unit of a time", "the unit of a time is " A_TIME},
    {"10 percent", SPATE_DIM_SHARE, WIDE, "'percent' is not a unit of a share",
     "the unit of a share is %"},
    {"869 Mhz", SPATE_DIM_FREQUENCY, WIDE, "'Mhz' is not a unit", "did you mean 'MHz'?"},
    {"22 dbm", SPATE_DIM_LEVEL, WIDE, "'dbm' is not a unit of a level", "did you mean 'dBm'?"},
    {"5 \xC2\xB5s", SPATE_DIM_TIME, WIDE, "is not a unit of a time", "did you mean 'us'?"},
    {"5\xC2\xA0s", SPATE_DIM_TIME, WIDE, "is not a unit of a time", "an ordinary space"},
    {"4/hour", SPATE_DIM_RATE, WIDE, "'/hour' is not a unit of a rate",
     "per s, per min, per hour or per day"},
    {"60 nodes", SPATE_DIM_COUNT, WIDE, "'60 nodes' is not a whole number", PLAIN},
    {"5 dB", SPATE_DIM_NUMBER, WIDE, "'5 dB' is not a number", "as in 12 or 0.5"},
    /* numbers that would be something else elsewhere */
    {"1e3 s", SPATE_DIM_TIME, WIDE, "'1e3 s' is not a time", "without an exponent"},
    {"1.5E+3", SPATE_DIM_NUMBER, WIDE, "'1.5E+3' is not a number", "without an exponent"},
    {"0x10", SPATE_DIM_COUNT, WIDE, "'0x10' is not a whole number", "plain decimal digits"},
    {"0o17", SPATE_DIM_COUNT, WIDE, "'0o17' is not a whole number", "plain decimal digits"},
    {"0b11", SPATE_DIM_COUNT, WIDE, "'0b11' is not a whole number", "plain decimal digits"},
    {"010", SPATE_DIM_COUNT, WIDE, "'010' is not a whole number", "drop the leading zero"},
    {"-010 dB", SPATE_DIM_RATIO_DB, WIDE, "'-010 dB' is not a ratio", "drop the leading zero"},
    {"1:30", SPATE_DIM_TIME, WIDE, "'1:30' is not a time", "as in 90 s"},
    {"1_000", SPATE_DIM_COUNT, WIDE, "'1_000' is not a whole number", "only digits and one point"},
    {"1,5 dB", SPATE_DIM_RATIO_DB, WIDE, "'1,5 dB' is not a ratio", "one point"},
    {"1 000 m", SPATE_DIM_LENGTH, WIDE, "'1 000 m' is not a length", "no space within"},
    {"1.2.3 s", SPATE_DIM_TIME, WIDE, "'1.2.3 s' is not a time", "one point at most"},
    {".5 s", SPATE_DIM_TIME, WIDE, "'.5 s' is not a time", "both sides of the point"},
    {"5. s", SPATE_DIM_TIME, WIDE, "'5. s' is not a time", "both sides of the point"},
    {".inf", SPATE_DIM_NUMBER, WIDE, "'.inf' is not a number", "a finite number"},
    {"-inf dB", SPATE_DIM_RATIO_DB, WIDE, "'-inf dB' is not a ratio", "a finite number"},
    {"NaN", SPATE_DIM_NUMBER, WIDE, "'NaN' is not a number", "a finite number"},
    {"\xE2\x88\x92"
     "5 dB",
     SPATE_DIM_RATIO_DB, WIDE, "is not a ratio", "write -"},
    {"--5 dB", SPATE_DIM_RATIO_DB, WIDE, "'--5 dB' is not a ratio", "as in 6 dB"},
    {"no", SPATE_DIM_COUNT, WIDE, "'no' is not a whole number", PLAIN},
    {"~", SPATE_DIM_TIME, WIDE, "'~' is not a time", "a time, as in 90 s"},
    {"", SPATE_DIM_TIME, WIDE, "a time is missing here", "as in 90 s"},
    {"dBm", SPATE_DIM_LEVEL, WIDE, "'dBm' is not a level", "as in 14 dBm"},
    /* shares and counts that may mean something else */
    {"1", SPATE_DIM_SHARE, 0, 1, "'1' has no unit", "1 % or 100 %?"},
    {"-1", SPATE_DIM_SHARE, -1, 1, "'-1' has no unit", "-1 % or -100 %?"},
    {"95", SPATE_DIM_SHARE, 0, 1, "'95' has no unit", "did you mean 95 %?"},
    {"1.5", SPATE_DIM_SHARE, 0, 1, "'1.5' has no unit", "did you mean 1.5 %?"},
    {"-0", SPATE_DIM_COUNT, WIDE, "'-0' is not a plain whole number", PLAIN},
    {"+5", SPATE_DIM_COUNT, WIDE, "'+5' is not a plain whole number", PLAIN},
    {"1,000", SPATE_DIM_COUNT, WIDE, "'1,000' is not a whole number", "only digits and one point"},
    {"46.1 m", SPATE_DIM_DEGREES, WIDE, "'m' is not a unit of a latitude", "is deg"},
    /* size */
    {"1234567890123456789", SPATE_DIM_COUNT, WIDE, "this number is too long", "at most 18 digits"},
    {"4.5", SPATE_DIM_COUNT, WIDE, "'4.5' is not a whole number", "without a fraction"},
    {"0.5 bytes", SPATE_DIM_SIZE, WIDE, "'0.5 bytes' is not a whole number", "without a fraction"},
    {"40 dBm", SPATE_DIM_LEVEL, -50, 36, "'40 dBm' is out of range", "-50 dBm to 36 dBm"},
    {"10 W", SPATE_DIM_LEVEL, -50, 36, "'10 W' is out of range", "-50 dBm to 36 dBm"},
    {"0 W", SPATE_DIM_LEVEL, -50, 36, "'0 W' is out of range", "-50 dBm to 36 dBm"},
    {"-1 W", SPATE_DIM_LEVEL, WIDE, "'-1 W' is out of range", NULL},
    {"110 %", SPATE_DIM_SHARE, 0, 1, "'110 %' is out of range", "0 % to 100 %"},
    {"-1 m", SPATE_DIM_LENGTH, 0, 100000, "'-1 m' is out of range", "0 m to 100 km"},
    {"-1 m", SPATE_DIM_LENGTH, 0, INFINITY, "'-1 m' is out of range", "at least 0 m"},
    {"9 h", SPATE_DIM_TIME, -INFINITY, 3600e9, "'9 h' is out of range", "at most 1 h"},
    {"0.0001", SPATE_DIM_NUMBER, 0.001, 1, "'0.0001' is out of range", "0.001 to 1"},
};

static void
check_wrong(const Wrong *wrong, const SpateYaml *node)
{
    g_autoptr(SpateFaults) faults = spate_faults_new();
    g_autoptr(GError) error = NULL;
    spate_faults_add_text(faults, "f", node->text);
    double value = 42;
    SpateRange range = {wrong->least, wrong->most};
    ck_assert_msg(!spate_quantity_read(node, wrong->dimension, range, &value, faults),
                  "'%s' reads well", wrong->text);
    ck_assert_double_eq(value, 42);
    ck_assert_uint_eq(spate_faults_count(faults), 1);
    ck_assert(spate_faults_raise(faults, &error));
    ck_assert_msg(strstr(error->message, wrong->what) != NULL, "no '%s' in:\n%s", wrong->what,
                  error->message);
    ck_assert_msg(wrong->hint == NULL || strstr(error->message, wrong->hint) != NULL,
                  "no '%s' in:\n%s", wrong->hint, error->message);
}

START_TEST(a_wrong_quantity_is_told_from_a_right_one)
{
    for (size_t i = 0; i < G_N_ELEMENTS(WRONG); i++) {
        g_autoptr(SpateYaml) node = scalar(WRONG[i].text);
        check_wrong(&WRONG[i], node);
    }
}
END_TEST

START_TEST(a_list_is_no_quantity)
{
    g_autoptr(SpateFaults) faults = spate_faults_new();
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateYaml) list = spate_yaml_new(SPATE_YAML_LIST, (SpatePlace){0, 3, 5});
    double value = 42;

    ck_assert(!spate_quantity_read(list, SPATE_DIM_GAIN, ANY, &value, faults));
    ck_assert(spate_faults_raise(faults, &error));
    ck_assert_str_eq(error->message, "?:3:5: a gain is expected here\n    a gain, as in 2 dBi\n");
}
END_TEST

static bool
read_ns(const char *text, int64_t least_ns, int64_t most_ns, int64_t *ns, char **said)
{
    g_autoptr(SpateFaults) faults = spate_faults_new();
    g_autoptr(SpateYaml) node = scalar(text);
    g_autoptr(GError) error = NULL;
    bool reads = spate_quantity_read_ns(node, least_ns, most_ns, ns, faults);
    ck_assert(spate_faults_raise(faults, &error) == !reads);
    *said = error != NULL ? g_strdup(error->message) : NULL;
    return reads;
}

START_TEST(times_are_exact_to_the_nanosecond)
{
    static const struct {
        const char *text;
        int64_t ns;
    } times[] = {
        {"1 ns", 1},
        {"0.001 us", 1},
        {"0.1 ms", 100000},
        /* 0.1 and 1.1 are no sums of powers of two */
        {"1.1 s", INT64_C(1100000000)},
        {"123456.789012345 s", INT64_C(123456789012345)},
        {"1.5 min", INT64_C(90000000000)},
        {"0.3 h", INT64_C(1080000000000)},
        {"1 day", INT64_C(86400000000000)},
        {"99999.999999999 day", INT64_C(8639999999999913600)},
        {"-2 s", INT64_C(-2000000000)},
        {"0 s", 0},
        /* finer than a nanosecond: rounded, a half away from zero */
        {"0.4 ns", 0},
        {"0.5 ns", 1},
        {"1.4999999999 ns", 1},
        {"-0.5 ns", -1},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(times); i++) {
        g_autofree char *said = NULL;
        int64_t ns = -42;
        ck_assert_msg(read_ns(times[i].text, INT64_MIN, INT64_MAX, &ns, &said), "%s", said);
        ck_assert_msg(ns == times[i].ns, "%s reads as %" G_GINT64_FORMAT, times[i].text, ns);
    }
}
END_TEST

START_TEST(a_time_that_overflows_is_out_of_range)
{
    static const char *const texts[] = {"106752 day", "999999999999999999 day", "-1 ns", "2 h"};
    for (size_t i = 0; i < G_N_ELEMENTS(texts); i++) {
        g_autofree char *said = NULL;
        int64_t ns = -42;
        ck_assert(!read_ns(texts[i], 0, INT64_C(3600000000000), &ns, &said));
        ck_assert_int_eq(ns, -42);
        ck_assert_msg(strstr(said, "is out of range") != NULL, "%s", said);
        ck_assert_msg(strstr(said, "0 s to 1 h") != NULL, "%s", said);
    }
    g_autofree char *said = NULL;
    int64_t ns = -42;
    ck_assert(!read_ns("106752 day", INT64_MIN, INT64_MAX, &ns, &said));
}
END_TEST

START_TEST(whole_numbers_are_exact)
{
    static const struct {
        const char *text;
        SpateDimension dimension;
        int64_t value;
    } wholes[] = {
        {"9007199254740993", SPATE_DIM_COUNT, INT64_C(9007199254740993)}, /* 2^53 + 1 */
        {"-3", SPATE_DIM_COUNT, -3},
        {"2437.000001 MHz", SPATE_DIM_FREQUENCY, INT64_C(2437000001)},
        {"31.25 kHz", SPATE_DIM_FREQUENCY, 31250},
        {"0.25 Mbit/s", SPATE_DIM_BITRATE, 250000},
        {"24 bytes", SPATE_DIM_SIZE, 24},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(wholes); i++) {
        g_autoptr(SpateFaults) faults = spate_faults_new();
        g_autoptr(SpateYaml) node = scalar(wholes[i].text);
        int64_t value = -42;
        ck_assert(spate_quantity_read_int(node, wholes[i].dimension, INT64_MIN, INT64_MAX, &value,
                                          faults));
        ck_assert_int_eq(value, wholes[i].value);
    }
}
END_TEST

START_TEST(whole_numbers_have_no_fraction_and_a_range)
{
    static const struct {
        const char *text;
        SpateDimension dimension;
        const char *what, *hint;
    } wrong[] = {
        {"31.2501 Hz", SPATE_DIM_FREQUENCY, "is not a whole number", "without a fraction"},
        {"4.5", SPATE_DIM_COUNT, "'4.5' is not a whole number", "without a fraction"},
        {"13", SPATE_DIM_COUNT, "'13' is out of range", "5 to 12"},
        {"-7", SPATE_DIM_COUNT, "'-7' is out of range", "5 to 12"},
        {"999999999999999999", SPATE_DIM_COUNT, "is out of range", "5 to 12"},
        {"8o", SPATE_DIM_COUNT, "'8o' is not a whole number", PLAIN},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(wrong); i++) {
        g_autoptr(SpateFaults) faults = spate_faults_new();
        g_autoptr(SpateYaml) node = scalar(wrong[i].text);
        g_autoptr(GError) error = NULL;
        int64_t value = -42;
        ck_assert(!spate_quantity_read_int(node, wrong[i].dimension, 5, 12, &value, faults));
        ck_assert_int_eq(value, -42);
        ck_assert(spate_faults_raise(faults, &error));
        ck_assert_msg(strstr(error->message, wrong[i].what) != NULL, "%s", error->message);
        ck_assert_msg(strstr(error->message, wrong[i].hint) != NULL, "%s", error->message);
    }
}
END_TEST

START_TEST(a_bare_text_says_what_is_wrong_in_one_line)
{
    double value = 42;
    g_autofree char *unit = spate_quantity_parse("15", SPATE_DIM_TIME, ANY, &value);
    ck_assert_str_eq(unit, "'15' has no unit: a time needs a unit: " A_TIME);
    g_autofree char *range =
        spate_quantity_parse("13", SPATE_DIM_COUNT, (SpateRange){5, 12}, &value);
    ck_assert_str_eq(range, "'13' is out of range: 5 to 12");
    g_autofree char *nothing = spate_quantity_parse("", SPATE_DIM_COUNT, ANY, &value);
    ck_assert_str_eq(nothing, "a value is missing: " PLAIN);
    ck_assert_double_eq(value, 42);
}
END_TEST

START_TEST(values_are_shown_as_a_user_would_write_them)
{
    static const struct {
        double value;
        SpateDimension dimension;
        const char *text;
    } shown[] = {
        {90e9, SPATE_DIM_TIME, "1.5 min"},
        {86400e9, SPATE_DIM_TIME, "1 day"},
        {192e3, SPATE_DIM_TIME, "192 us"},
        {0, SPATE_DIM_TIME, "0 s"},
        {869.5e6, SPATE_DIM_FREQUENCY, "869.5 MHz"},
        {125e3, SPATE_DIM_FREQUENCY, "125 kHz"},
        {-22.5, SPATE_DIM_LEVEL, "-22.5 dBm"},
        {0.1, SPATE_DIM_SHARE, "10 %"},
        {0.1, SPATE_DIM_NUMBER, "0.1"},
        {1e-7, SPATE_DIM_NUMBER, "0.0000001"},
        {9007199254740992.0, SPATE_DIM_COUNT, "9007199254740992"},
        {4.0 / 3600, SPATE_DIM_RATE, "4 per hour"},
        {250e3, SPATE_DIM_BITRATE, "250 kbit/s"},
        {0.1, SPATE_DIM_POWER, "100 mW"},
        {2500, SPATE_DIM_LENGTH, "2.5 km"},
        {1, SPATE_DIM_SIZE, "1 bytes"},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(shown); i++) {
        g_autofree char *text = spate_quantity_text(shown[i].value, shown[i].dimension);
        ck_assert_str_eq(text, shown[i].text);
    }
}
END_TEST

/* Hints give values as the text above: what they say must read. */
START_TEST(what_is_shown_reads_back)
{
    for (int dimension = 0; dimension <= SPATE_DIM_COUNT; dimension++) {
        for (double value = 1; value < 1e12; value *= 10) {
            g_autofree char *text = spate_quantity_text(value, (SpateDimension)dimension);
            ck_assert_double_eq_tol(parse(text, (SpateDimension)dimension), value, 1e-9 * value);
        }
    }
}
END_TEST

CHECK_MAIN("quantity", a_quantity_means_what_it_says, a_unit_only_moves_the_point,
           a_wrong_quantity_is_told_from_a_right_one, a_list_is_no_quantity,
           times_are_exact_to_the_nanosecond, a_time_that_overflows_is_out_of_range,
           whole_numbers_are_exact, whole_numbers_have_no_fraction_and_a_range,
           a_bare_text_says_what_is_wrong_in_one_line, values_are_shown_as_a_user_would_write_them,
           what_is_shown_reads_back)
