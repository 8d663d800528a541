/* quantity.c - numbers that bear their units */
#include "scenario/text/quantity-units.h"

#include "core/units.h"
#include <math.h>
#include <string.h>

/* More digits than that are not a measurement; they also keep the arithmetic within 128 bits. */
#define MOST_DIGITS 18

/* A number as written: mantissa / 10^decimals, and what follows it. */
typedef struct {
    bool negative;
    int64_t mantissa;
    int decimals;
    const SpateUnit *unit; /* NULL: bare */
} Reading;

/* What is wrong, and what would be right. */
typedef struct {
    bool is_cell; /* of a table: a bare number is meant in the unit of its column */
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

/* "a length, as in 250 m" */
static char *
example(const SpateDimensionForm *dimension)
{
    if (dimension->units == NULL)
        return g_strdup_printf("%s, as in %s", dimension->whole ? "digits only" : "a plain number",
                               dimension->example);
    return g_strdup_printf("%s, as in %s", dimension->noun, dimension->example);
}

static bool
is_not_finite(const char *text)
{
    static const char *const words[] = {"inf", ".inf", "infinity", "nan", ".nan"};
    for (size_t i = 0; i < G_N_ELEMENTS(words); i++)
        if (strcspn(text, " ") == strlen(words[i]) &&
            g_ascii_strncasecmp(text, words[i], strlen(words[i])) == 0)
            return true;
    return false;
}

/* Numbers that other readers of YAML would take for something else, or that only look like one. */
static char *
trap_hint(const char *text)
{
    if (g_str_has_prefix(text, "\xE2\x88\x92"))
        return g_strdup("this minus is not the ASCII one: write -");
    const char *digits = text + strspn(text, "+-");
    if (digits[0] == '0' && digits[1] != '\0' && strchr("xXoObB", digits[1]) != NULL)
        return g_strdup("write the number in plain decimal digits");
    if (digits[0] == '0' && g_ascii_isdigit(digits[1]))
        return g_strdup("drop the leading zero: some programs would read it as octal");
    if (is_not_finite(digits))
        return g_strdup("write a finite number");
    size_t n = strspn(digits, "0123456789.");
    size_t n_before = strcspn(digits, ".");
    if (n > 0 && (n_before == 0 || (n_before == n - 1 && digits[n_before] == '.')))
        return g_strdup("digits on both sides of the point, as in 0.5");
    if (n > n_before && memchr(digits + n_before + 1, '.', n - n_before - 1) != NULL)
        return g_strdup("one point at most");
    if (n > 0 && (digits[n] == 'e' || digits[n] == 'E') &&
        (g_ascii_isdigit(digits[n + 1]) || digits[n + 1] == '+' || digits[n + 1] == '-'))
        return g_strdup("write the number out, without an exponent");
    if (n > 0 && digits[n] == ':')
        return g_strdup("write a time as a number and its unit, as in 90 s");
    if (n > 0 && (digits[n] == '_' || digits[n] == ',' || digits[n] == '\''))
        return g_strdup("write only digits and one point");
    if (n > 0 && digits[n] == ' ' && g_ascii_isdigit(digits[n + 1 + strspn(digits + n + 1, " ")]))
        return g_strdup("no space within the number");
    return NULL;
}

/* The digits at the start of the text; *end is what follows. */
static bool
read_number(const char *text, const SpateDimensionForm *dimension, Reading *reading,
            const char **end, Complaint *complaint)
{
    char *hint = trap_hint(text);
    if (hint != NULL)
        return complain(complaint, hint, "'%s' is not %s", text, dimension->noun);
    const char *c = text;
    reading->negative = *c == '-';
    if (*c == '-' || *c == '+')
        c++;
    int n_digits = 0;
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
    }
    if (n_digits == 0)
        return complain(complaint, example(dimension), "'%s' is not %s", text, dimension->noun);
    *end = c;
    return true;
}

/* The unit that the text names, single spaces inside; NULL if it is none. */
static const SpateUnit *
find_unit(const SpateDimensionForm *dimension, const char *name, bool any_case)
{
    for (size_t i = 0; dimension->units != NULL && dimension->units[i].name != NULL; i++) {
        const char *unit = dimension->units[i].name;
        if (any_case ? g_ascii_strcasecmp(unit, name) == 0 : strcmp(unit, name) == 0)
            return &dimension->units[i];
    }
    return NULL;
}

static char *
unit_hint(const SpateDimensionForm *dimension, const char *name)
{
    const SpateUnit *like = find_unit(dimension, name, true);
    if (like != NULL)
        return g_strdup_printf("did you mean '%s'?", like->name);
    /* The micro sign, the Greek letter. */
    if (dimension == spate_dimension_form(SPATE_DIM_TIME) &&
        (strcmp(name, "\xC2\xB5s") == 0 || strcmp(name, "\xCE\xBCs") == 0))
        return g_strdup("did you mean 'us'?");
    if (g_str_has_prefix(name, "\xC2\xA0"))
        return g_strdup("use an ordinary space before the unit");
    return g_strdup_printf("the unit of %s is %s", dimension->noun, dimension->units_text);
}

static bool
read_unit(const char *text, const char *name, const SpateDimensionForm *dimension, Reading *reading,
          Complaint *complaint)
{
    if (name[0] == '\0') {
        if (complaint->is_cell && dimension->in_tables != NULL)
            reading->unit = find_unit(dimension, dimension->in_tables, false);
        if (dimension->bare || reading->unit != NULL)
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
    char *hint = unit_hint(dimension, name);
    return complain(complaint, hint, "'%s' is not a unit of %s", name, dimension->noun);
}

/* A share that is bare: none but 0 says by itself whether percent are meant. */
static bool
is_clear_share(const char *text, const Reading *reading, Complaint *complaint)
{
    bool is_beyond_one = reading->mantissa > spate_power_of_ten(reading->decimals);
    if (reading->unit != NULL || reading->mantissa == 0 ||
        (reading->decimals > 0 && !is_beyond_one))
        return true;
    char *hint = is_beyond_one
                     ? g_strdup_printf("did you mean %s %%?", text)
                     : g_strdup_printf("%s %% or %s00 %%? a share needs a %% or a point, as in "
                                       "10 %% or 0.1",
                                       text, text);
    return complain(complaint, hint, "'%s' has no unit", text);
}

static bool
read_text(const char *text, SpateDimension dimension, Reading *reading, Complaint *complaint)
{
    const SpateDimensionForm *of = spate_dimension_form(dimension);
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
    if (!read_unit(text, name->str, of, reading, complaint))
        return false;
    if (dimension == SPATE_DIM_SHARE)
        return is_clear_share(text, reading, complaint);
    /* 5, and not +5 or -0, which someone may have meant for a change. */
    bool is_signed = text[0] == '+' || (reading->negative && reading->mantissa == 0);
    if (dimension == SPATE_DIM_COUNT && is_signed)
        return complain(complaint, example(of), "'%s' is not a plain whole number", text);
    return true;
}

/* The double nearest to the number with its point moved to the right. */
static double
shifted(const Reading *reading, int places)
{
    g_autofree char *text =
        g_strdup_printf("%" G_GINT64_FORMAT "e%d", reading->mantissa, places - reading->decimals);
    double number = g_ascii_strtod(text, NULL);
    /* Zero has no sign. */
    return reading->negative && reading->mantissa != 0 ? -number : number;
}

static double
value_of(const Reading *reading, SpateDimension dimension)
{
    const SpateUnit *unit = reading->unit;
    if (unit == NULL)
        return shifted(reading, 0);
    double value = shifted(reading, unit->tens);
    if (dimension == SPATE_DIM_LEVEL && unit->name[0] != 'd')
        return spate_linear_to_db(value);
    if (unit->ns != 0)
        return value * (double)unit->ns;
    return unit->per != 0 ? value / unit->per : value;
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
read_double(const char *text, SpateDimension dimension, SpateRange range, double *value,
            Complaint *complaint)
{
    Reading reading;
    if (!read_text(text, dimension, &reading, complaint))
        return false;
    if (spate_dimension_form(dimension)->whole &&
        reading.mantissa % spate_power_of_ten(reading.decimals) != 0)
        return complain(complaint, g_strdup("without a fraction"), "'%s' is not a whole number",
                        text);
    double read = value_of(&reading, dimension);
    /* The level of a negative power is not a number. */
    if (!(read >= range.least && read <= range.most))
        return complain(complaint, range_hint(dimension, range.least, range.most),
                        "'%s' is out of range", text);
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
    const SpateDimensionForm *of = spate_dimension_form(dimension);
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
    Complaint complaint = {.is_cell = scalar->is_cell};
    const char *text = scalar_text(scalar, dimension, faults);
    if (text == NULL)
        return false;
    return read_double(text, dimension, range, value, &complaint) ||
           note_complaint(scalar, &complaint, faults);
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
    /* Rounds half up where the text is finer than a nanosecond. */
    spate_int128 divisor = spate_power_of_ten(reading.decimals);
    spate_int128 exact = (spate_int128)reading.mantissa * reading.unit->ns;
    spate_int128 ns = (2 * exact + divisor) / (2 * divisor) * (reading.negative ? -1 : 1);
    if (ns >= least_ns && ns <= most_ns) {
        *value_ns = (int64_t)ns;
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
    Complaint complaint = {.is_cell = scalar->is_cell};
    Reading reading;
    g_assert(dimension == SPATE_DIM_COUNT || dimension == SPATE_DIM_SIZE ||
             dimension == SPATE_DIM_SYMBOLS || dimension == SPATE_DIM_FREQUENCY ||
             dimension == SPATE_DIM_BITRATE || dimension == SPATE_DIM_LENGTH);
    const char *text = scalar_text(scalar, dimension, faults);
    if (text == NULL)
        return false;
    if (!read_text(text, dimension, &reading, &complaint))
        return note_complaint(scalar, &complaint, faults);
    int64_t factor = reading.unit != NULL ? spate_power_of_ten(reading.unit->tens) : 1;
    spate_int128 scaled = (spate_int128)reading.mantissa * factor;
    int64_t divisor = spate_power_of_ten(reading.decimals);
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
        complain(&complaint, example(spate_dimension_form(dimension)), "a value is missing");
    else if (read_double(text, dimension, range, value, &complaint))
        return NULL;
    if (complaint.hint == NULL)
        return complaint.what;
    char *whole = g_strdup_printf("%s: %s", complaint.what, complaint.hint);
    g_free(complaint.what);
    g_free(complaint.hint);
    return whole;
}
