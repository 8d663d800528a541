/* quantity.c - numbers that bear their units */
#include "scenario/quantity.h"

#include "core/time.h"
#include "core/units.h"
#include <math.h>
#include <string.h>

/* More digits than that are not a measurement; they also keep the arithmetic within 128 bits. */
#define MOST_DIGITS 18

typedef struct {
    const char *name;
    double factor; /* to the unit in which values are handed out */
    int64_t ns;    /* times: exactly */
} Unit;

typedef struct {
    const char *noun;
    const char *units_text; /* for hints */
    const Unit *units;      /* NULL name at the end; NULL: bare numbers only */
    bool bare;              /* a number without a unit will do */
    bool whole;
} Dimension;

static const Unit TIMES[] = {{"ns", 1, 1},
                             {"us", 1e3, 1000},
                             {"ms", 1e6, SPATE_NS_PER_MS},
                             {"s", 1e9, SPATE_NS_PER_S},
                             {"min", 60e9, SPATE_NS_PER_MIN},
                             {"h", 3600e9, SPATE_NS_PER_HOUR},
                             {"day", 86400e9, 24 * SPATE_NS_PER_HOUR},
                             {0}};
static const Unit FREQUENCIES[] = {
    {"Hz", 1, 0}, {"kHz", 1e3, 0}, {"MHz", 1e6, 0}, {"GHz", 1e9, 0}, {0}};
static const Unit LENGTHS[] = {{"m", 1, 0}, {"km", 1e3, 0}, {0}};
static const Unit DECIBELS[] = {{"dB", 1, 0}, {0}};
static const Unit LEVELS[] = {{"dBm", 1, 0}, {"W", 1e3, 0}, {"mW", 1, 0}, {0}};
static const Unit GAINS[] = {{"dBi", 1, 0}, {0}};
static const Unit POWERS[] = {{"W", 1, 0}, {"mW", 1e-3, 0}, {0}};
static const Unit SIZES[] = {{"bytes", 1, 0}, {"byte", 1, 0}, {0}};
static const Unit BIT_RATES[] = {{"bit/s", 1, 0}, {"kbit/s", 1e3, 0}, {"Mbit/s", 1e6, 0}, {0}};
static const Unit SYMBOLS[] = {{"symbols", 1, 0}, {"symbol", 1, 0}, {0}};
static const Unit AIRTIMES[] = {{"airtimes", 1, 0}, {"airtime", 1, 0}, {0}};
static const Unit SHARES[] = {{"%", 0.01, 0}, {0}};
static const Unit RATES[] = {{"per s", 1, 0},
                             {"per min", 1.0 / 60, 0},
                             {"per hour", 1.0 / 3600, 0},
                             {"per day", 1.0 / 86400, 0},
                             {0}};
static const Unit ANGLES[] = {{"deg", 1, 0}, {0}};

static const Dimension DIMENSIONS[] = {
    [SPATE_DIM_TIME] = {"a time", "ns, us, ms, s, min, h or day", TIMES, false, false},
    [SPATE_DIM_FREQUENCY] = {"a frequency", "Hz, kHz, MHz or GHz", FREQUENCIES, false, false},
    [SPATE_DIM_LENGTH] = {"a length", "m or km", LENGTHS, false, false},
    [SPATE_DIM_RATIO_DB] = {"a ratio", "dB", DECIBELS, false, false},
    [SPATE_DIM_LEVEL] = {"a level", "dBm, W or mW", LEVELS, false, false},
    [SPATE_DIM_GAIN] = {"a gain", "dBi", GAINS, false, false},
    [SPATE_DIM_POWER] = {"a power", "W or mW", POWERS, false, false},
    [SPATE_DIM_SIZE] = {"a size", "bytes", SIZES, false, true},
    [SPATE_DIM_BITRATE] = {"a bit rate", "bit/s, kbit/s or Mbit/s", BIT_RATES, false, false},
    [SPATE_DIM_SYMBOLS] = {"a number of symbols", "symbols", SYMBOLS, false, true},
    [SPATE_DIM_AIRTIMES] = {"a number of airtimes", "airtimes", AIRTIMES, false, false},
    [SPATE_DIM_SHARE] = {"a share", "%", SHARES, true, false},
    [SPATE_DIM_RATE] = {"a rate", "per s, per min, per hour or per day", RATES, false, false},
    [SPATE_DIM_ANGLE] = {"an angle", "deg", ANGLES, false, false},
    [SPATE_DIM_NUMBER] = {"a number", "", NULL, true, false},
    [SPATE_DIM_COUNT] = {"a whole number", "", NULL, true, true},
};

const char *
spate_dimension_units(SpateDimension dimension)
{
    return DIMENSIONS[dimension].units_text;
}

/* A number as written: mantissa / 10^decimals, and what stands behind it. */
typedef struct {
    bool negative;
    int64_t mantissa;
    int decimals;
    double number;
    const Unit *unit; /* NULL: bare */
} Reading;

/* What is wrong, and what would be right. */
typedef struct {
    char *what, *hint;
} Complaint;

G_GNUC_PRINTF(3, 4)
static bool
complain(Complaint *complaint, char *hint, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    complaint->what = g_strdup_vprintf(format, arguments);
    va_end(arguments);
    complaint->hint = hint;
    return false;
}

/* "10 m", "3 bytes", "5" : what such a quantity looks like */
static char *
example(const Dimension *dimension)
{
    if (dimension->units == NULL)
        return g_strdup(dimension->whole ? "digits only, as in 12" : "as in 12 or 0.5");
    return g_strdup_printf("%s, as in %s %s", dimension->noun,
                           dimension->units == SHARES ? "10" : "12", dimension->units[0].name);
}

/* Numbers that other readers of YAML would take for something else. */
static char *
trap_hint(const char *text)
{
    const char *digits = text + strspn(text, "+-");
    if (digits[0] == '0' && (digits[1] == 'x' || digits[1] == 'o' || digits[1] == 'b'))
        return g_strdup("write the number in plain decimal digits");
    if (digits[0] == '0' && g_ascii_isdigit(digits[1]))
        return g_strdup("leave out the leading zero: it would mean an octal number elsewhere");
    size_t n = strspn(digits, "0123456789.");
    if (n > 0 && (digits[n] == 'e' || digits[n] == 'E') &&
        (g_ascii_isdigit(digits[n + 1]) || digits[n + 1] == '+' || digits[n + 1] == '-'))
        return g_strdup("write the number out, without an exponent");
    if (n > 0 && digits[n] == ':')
        return g_strdup("write a time as a number and its unit, as in 90 s");
    if (n > 0 && (digits[n] == '_' || digits[n] == ','))
        return g_strdup("digits and one point, nothing between them");
    return NULL;
}

/* The digits at the start of the text; *end is what follows. */
static bool
read_number(const char *text, const Dimension *dimension, Reading *reading, const char **end,
            Complaint *complaint)
{
    char *hint = trap_hint(text);
    if (hint != NULL)
        return complain(complaint, hint, "'%s' is not %s", text, dimension->noun);
    const char *c = text;
    reading->negative = *c == '-';
    if (*c == '-' || *c == '+')
        c++;
    int n_digits = 0, n_before = 0;
    bool point = false;
    for (; g_ascii_isdigit(*c) || (*c == '.' && !point); c++) {
        if (*c == '.') {
            point = true;
            continue;
        }
        if (++n_digits > MOST_DIGITS)
            return complain(complaint, g_strdup("at most 18 digits"), "this number is too long");
        reading->mantissa = reading->mantissa * 10 + (*c - '0');
        reading->decimals += point;
        n_before += !point;
    }
    if (n_before == 0 || (point && reading->decimals == 0))
        return complain(complaint, example(dimension), "'%s' is not %s", text, dimension->noun);
    g_autofree char *number = g_strndup(text, (gsize)(c - text));
    reading->number = g_ascii_strtod(number, NULL);
    *end = c;
    return true;
}

/* The unit that the text names, single spaces inside; NULL if it is none. */
static const Unit *
find_unit(const Dimension *dimension, const char *name, bool any_case)
{
    for (size_t i = 0; dimension->units != NULL && dimension->units[i].name != NULL; i++) {
        const char *unit = dimension->units[i].name;
        if (any_case ? g_ascii_strcasecmp(unit, name) == 0 : strcmp(unit, name) == 0)
            return &dimension->units[i];
    }
    return NULL;
}

static bool
read_unit(const char *text, const char *name, const Dimension *dimension, Reading *reading,
          Complaint *complaint)
{
    if (name[0] == '\0') {
        if (dimension->bare)
            return true;
        return complain(
            complaint,
            g_strdup_printf("%s needs a unit: %s", dimension->noun, dimension->units_text),
            "'%s' has no unit", text);
    }
    reading->unit = find_unit(dimension, name, false);
    if (reading->unit != NULL)
        return true;
    if (dimension->units == NULL)
        return complain(complaint, example(dimension), "'%s' is not %s", text, dimension->noun);
    const Unit *like = find_unit(dimension, name, true);
    char *hint = like != NULL ? g_strdup_printf("did you mean '%s'?", like->name)
                              : g_strdup_printf("the unit of %s is %s", dimension->noun,
                                                dimension->units_text);
    return complain(complaint, hint, "'%s' is not a unit of %s", name, dimension->noun);
}

static bool
read_text(const char *text, SpateDimension dimension, Reading *reading, Complaint *complaint)
{
    const Dimension *of = &DIMENSIONS[dimension];
    const char *end = text;
    *reading = (Reading){0};
    if (!read_number(text, of, reading, &end, complaint))
        return false;
    g_autoptr(GString) name = g_string_new(NULL);
    for (const char *c = end; *c != '\0'; c++) {
        bool space = g_ascii_isspace(*c);
        if (!space || (name->len > 0 && name->str[name->len - 1] != ' '))
            g_string_append_c(name, space ? ' ' : *c);
    }
    while (name->len > 0 && name->str[name->len - 1] == ' ')
        g_string_truncate(name, name->len - 1);
    return read_unit(text, name->str, of, reading, complaint);
}

static double
value_of(const Reading *reading, SpateDimension dimension)
{
    if (dimension == SPATE_DIM_LEVEL && reading->unit->name[0] != 'd')
        return spate_linear_to_db(reading->number * reading->unit->factor);
    /* 10 % is 0.1, not 10 x 0.01. */
    if (dimension == SPATE_DIM_SHARE && reading->unit != NULL)
        return reading->number / 100.0;
    return reading->unit != NULL ? reading->number * reading->unit->factor : reading->number;
}

static int64_t
power_of_ten(int exponent)
{
    int64_t power = 1;
    while (exponent-- > 0)
        power *= 10;
    return power;
}

static char *
range_hint(SpateDimension dimension, double least, double most)
{
    g_autofree char *low = spate_quantity_text(least, dimension);
    g_autofree char *high = spate_quantity_text(most, dimension);
    if (isinf(least) && isinf(most))
        return NULL;
    if (isinf(most))
        return g_strdup_printf("at least %s", low);
    if (isinf(least))
        return g_strdup_printf("at most %s", high);
    return g_strdup_printf("%s to %s", low, high);
}

static bool
check_range(const char *text, SpateDimension dimension, double value, double least, double most,
            Complaint *complaint)
{
    if (value >= least && value <= most)
        return true;
    return complain(complaint, range_hint(dimension, least, most), "'%s' is out of range", text);
}

static bool
read_double(const char *text, SpateDimension dimension, SpateRange range, double *value,
            Complaint *complaint)
{
    Reading reading;
    if (!read_text(text, dimension, &reading, complaint))
        return false;
    if (DIMENSIONS[dimension].whole && reading.mantissa % power_of_ten(reading.decimals) != 0)
        return complain(complaint, g_strdup("without a fraction"), "'%s' is not a whole number",
                        text);
    double read = value_of(&reading, dimension);
    if (!check_range(text, dimension, read, range.least, range.most, complaint))
        return false;
    *value = read;
    return true;
}

/* False, with the fault noted at the scalar. */
static bool
note_complaint(const SpateYaml *scalar, Complaint *complaint, SpateFaults *faults)
{
    spate_faults_note(faults, scalar->place, complaint->hint, "%s", complaint->what);
    g_free(complaint->what);
    g_free(complaint->hint);
    return false;
}

/* The text of a scalar; a fault for a list or a map. */
static const char *
scalar_text(const SpateYaml *scalar, SpateDimension dimension, SpateFaults *faults)
{
    const Dimension *of = &DIMENSIONS[dimension];
    if (scalar->kind == SPATE_YAML_SCALAR && scalar->text[0] != '\0')
        return scalar->text;
    g_autofree char *hint = example(of);
    spate_faults_note(
        faults, scalar->place, hint,
        scalar->kind == SPATE_YAML_SCALAR ? "%s is missing here" : "%s is expected here", of->noun);
    return NULL;
}

bool
spate_quantity_read(const SpateYaml *scalar, SpateDimension dimension, SpateRange range,
                    double *value, SpateFaults *faults)
{
    Complaint complaint = {0};
    const char *text = scalar_text(scalar, dimension, faults);
    if (text == NULL)
        return false;
    return read_double(text, dimension, range, value, &complaint) ||
           note_complaint(scalar, &complaint, faults);
}

/* Rounds half up where the text is finer than a nanosecond. */
static bool
exact_ns(const Reading *reading, int64_t *ns)
{
    spate_int128 divisor = power_of_ten(reading->decimals);
    spate_int128 exact = (spate_int128)reading->mantissa * reading->unit->ns;
    spate_int128 rounded = (2 * exact + divisor) / (2 * divisor);
    if (rounded > INT64_MAX)
        return false;
    *ns = reading->negative ? -(int64_t)rounded : (int64_t)rounded;
    return true;
}

bool
spate_quantity_read_ns(const SpateYaml *scalar, int64_t least_ns, int64_t most_ns,
                       int64_t *value_ns, SpateFaults *faults)
{
    Complaint complaint = {0};
    Reading reading;
    const char *text = scalar_text(scalar, SPATE_DIM_TIME, faults);
    if (text == NULL)
        return false;
    if (!read_text(text, SPATE_DIM_TIME, &reading, &complaint))
        return note_complaint(scalar, &complaint, faults);
    int64_t ns = 0;
    if (exact_ns(&reading, &ns) && ns >= least_ns && ns <= most_ns) {
        *value_ns = ns;
        return true;
    }
    complain(&complaint, range_hint(SPATE_DIM_TIME, (double)least_ns, (double)most_ns),
             "'%s' is out of range", text);
    return note_complaint(scalar, &complaint, faults);
}

bool
spate_quantity_read_int(const SpateYaml *scalar, SpateDimension dimension, int64_t least,
                        int64_t most, int64_t *value, SpateFaults *faults)
{
    Complaint complaint = {0};
    Reading reading;
    const char *text = scalar_text(scalar, dimension, faults);
    if (text == NULL)
        return false;
    if (!read_text(text, dimension, &reading, &complaint))
        return note_complaint(scalar, &complaint, faults);
    int64_t factor = reading.unit != NULL ? (int64_t)llround(reading.unit->factor) : 1;
    spate_int128 scaled = (spate_int128)reading.mantissa * factor;
    int64_t divisor = power_of_ten(reading.decimals);
    if (scaled % divisor != 0) {
        complain(&complaint, g_strdup("without a fraction"), "'%s' is not a whole number", text);
        return note_complaint(scalar, &complaint, faults);
    }
    spate_int128 whole = reading.negative ? -(scaled / divisor) : scaled / divisor;
    if (whole >= least && whole <= most) {
        *value = (int64_t)whole;
        return true;
    }
    complain(&complaint, range_hint(dimension, (double)least, (double)most), "'%s' is out of range",
             text);
    return note_complaint(scalar, &complaint, faults);
}

char *
spate_quantity_parse(const char *text, SpateDimension dimension, SpateRange range, double *value)
{
    Complaint complaint = {0};
    if (text[0] == '\0')
        complain(&complaint, example(&DIMENSIONS[dimension]), "a value is missing");
    else if (read_double(text, dimension, range, value, &complaint))
        return NULL;
    if (complaint.hint == NULL)
        return complaint.what;
    char *whole = g_strdup_printf("%s: %s", complaint.what, complaint.hint);
    g_free(complaint.what);
    g_free(complaint.hint);
    return whole;
}

/* The unit in which the value has the shortest number of at least 1; the smallest for others. */
static const Unit *
fitting_unit(const Dimension *dimension, double value)
{
    const Unit *fitting = NULL;
    for (size_t i = 0; dimension->units != NULL && dimension->units[i].name != NULL; i++) {
        const Unit *unit = &dimension->units[i];
        double number = value / unit->factor;
        bool is_short = fabs(number * 1000.0 - rint(number * 1000.0)) < 1e-6;
        if (fitting == NULL || (fabs(number) >= 1.0 && is_short && unit->factor > fitting->factor))
            fitting = unit;
    }
    return fitting;
}

char *
spate_quantity_text(double value, SpateDimension dimension)
{
    const Dimension *of = &DIMENSIONS[dimension];
    /* Levels are in dBm, sizes in bytes: the first unit of the list. */
    const Unit *unit = dimension == SPATE_DIM_TIME || dimension == SPATE_DIM_FREQUENCY ||
                               dimension == SPATE_DIM_LENGTH || dimension == SPATE_DIM_BITRATE ||
                               dimension == SPATE_DIM_POWER || dimension == SPATE_DIM_RATE
                           ? fitting_unit(of, value)
                           : (of->units != NULL ? &of->units[0] : NULL);
    char number[G_ASCII_DTOSTR_BUF_SIZE];
    double shown = unit != NULL ? value / unit->factor : value;
    if (dimension == SPATE_DIM_SHARE)
        shown = value * 100.0;
    g_ascii_formatd(number, sizeof number, fabs(shown) < 1e15 ? "%.10g" : "%.0f", shown);
    if (unit == NULL)
        return g_strdup(number);
    return g_strdup_printf("%s %s", number, unit->name);
}
