/* airtime.c - spate airtime */
#include "cli/cli.h"

#include "core/time.h"
#include "core/units.h"
#include "document/numbers.h"
#include "radio/bearer.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
    SpateBearer bearer;
    int64_t payload_bytes;
    double duty;
} Question;

/* A quantity option; a bare number will do where the option says its unit. */
static bool
read_option(const CliOptions *options, const char *option, SpateDimension dimension, double least,
            double most, double *value)
{
    const char *text = cli_option_text(options, option);
    if (text == NULL)
        return true;
    bool has_bare_unit = dimension == SPATE_DIM_SIZE || dimension == SPATE_DIM_SYMBOLS;
    bool is_bare = text[0] != '\0' && strspn(text, "0123456789") == strlen(text);
    return cli_option_quantity(options, option,
                               has_bare_unit && is_bare ? SPATE_DIM_COUNT : dimension, least, most,
                               value);
}

static bool
read_lora(SpateModulation *modulation, const CliOptions *options)
{
    double sf = 10, preamble = 8, bandwidth_hz = 125e3;
    int rate = 0, header = 0, crc = 0, ldro = 0;
    if (!read_option(options, "spreading-factor", SPATE_DIM_COUNT, 5, 12, &sf) ||
        !read_option(options, "preamble", SPATE_DIM_SYMBOLS, 6, 65535, &preamble) ||
        !read_option(options, "bandwidth", SPATE_DIM_FREQUENCY, 1e3, 1e7, &bandwidth_hz) ||
        !cli_option_word(options, "coding-rate", &rate) ||
        !cli_option_word(options, "header", &header) || !cli_option_word(options, "crc", &crc) ||
        !cli_option_word(options, "low-data-rate-optimise", &ldro))
        return false;
    modulation->spreading_factor = (int)sf;
    modulation->preamble_symbols = (int)preamble;
    modulation->coding_rate_denominator = 5 + rate;
    modulation->explicit_header = header == 0;
    modulation->crc = crc == 0;
    modulation->low_data_rate_optimise = (SpateLdro)ldro;
    modulation->lock_symbols = 5;
    /* A bandwidth of the 2.4 GHz family says its band by itself. */
    if (cli_option_text(options, "frequency") == NULL &&
        !spate_lora_bandwidth(bandwidth_hz, modulation->centre_hz, &modulation->bandwidth_hz))
        modulation->centre_hz = 2450000000;
    if (!spate_lora_bandwidth(bandwidth_hz, modulation->centre_hz, &modulation->bandwidth_hz)) {
        cli_complain(CLI_USAGE,
                     "--bandwidth: LoRa below 1 GHz has 7.8, 10.4, 15.6, 20.8, 31.25, 41.7, 62.5, "
                     "125, 250 and 500 kHz, at 2.4 GHz 203, 406, 812 and 1625 kHz");
        return false;
    }
    return true;
}

static bool
read_dsss(SpateModulation *modulation, const CliOptions *options)
{
    double rate_bps = 250e3, preamble_ns = 192e3;
    if (!read_option(options, "rate", SPATE_DIM_BITRATE, 1, 1e9, &rate_bps) ||
        !read_option(options, "preamble", SPATE_DIM_TIME, 0, 1e9, &preamble_ns))
        return false;
    modulation->rate_bps = (int64_t)llround(rate_bps);
    modulation->preamble_ns = (int64_t)llround(preamble_ns);
    return true;
}

/* An option that the kind does not have would be ignored, which is not what its user meant. */
static bool
refuse_other_kind(bool is_lora, const CliOptions *options)
{
    static const char *const OF_LORA[] = {
        "spreading-factor", "bandwidth", "coding-rate", "header", "crc", "low-data-rate-optimise"};
    const char *other = !is_lora || cli_option_text(options, "rate") == NULL ? NULL : "rate";
    for (size_t i = 0; !is_lora && other == NULL && i < G_N_ELEMENTS(OF_LORA); i++)
        if (cli_option_text(options, OF_LORA[i]) != NULL)
            other = OF_LORA[i];
    if (other != NULL)
        cli_complain(CLI_USAGE, "--%s needs --kind %s", other, is_lora ? "dsss" : "lora");
    return other == NULL;
}

static bool
read_question(Question *question, const CliOptions *options)
{
    static const char *const KINDS[] = {"lora", "dsss", NULL};
    int kind = 0;
    double payload = 32, overhead = 0, noise_figure_db = 6, duty = 1;
    if (!cli_option_word(options, "kind", &kind) || !refuse_other_kind(kind == 0, options))
        return false;
    double frequency_hz = kind == 0 ? 869.5e6 : 2437e6;
    if (!read_option(options, "payload", SPATE_DIM_SIZE, 0, 65535, &payload) ||
        !read_option(options, "overhead", SPATE_DIM_SIZE, 0, 65535, &overhead) ||
        !read_option(options, "frequency", SPATE_DIM_FREQUENCY, 1e6, 1e11, &frequency_hz) ||
        !read_option(options, "noise-figure", SPATE_DIM_RATIO_DB, 0, 50, &noise_figure_db) ||
        !read_option(options, "duty-cycle", SPATE_DIM_SHARE, 1e-6, 1, &duty))
        return false;

    SpateBearer *bearer = &question->bearer;
    bearer->modulation.kind = spate_radio_kind_find(KINDS[kind]);
    bearer->modulation.centre_hz = (int64_t)llround(frequency_hz);
    question->duty = duty;
    bearer->overhead_bytes = (int)overhead;
    bearer->noise_figure_db = noise_figure_db;
    bearer->sensitivity_dbm = NAN;
    question->payload_bytes = (int64_t)payload;
    if (!(kind == 0 ? read_lora(&bearer->modulation, options)
                    : read_dsss(&bearer->modulation, options)))
        return false;
    const char *why;
    if (!bearer->modulation.kind->check(&bearer->modulation, &why)) {
        cli_complain(CLI_USAGE, "%s", why);
        return false;
    }
    int64_t largest =
        bearer->modulation.kind->default_largest_payload_bytes + bearer->overhead_bytes;
    if (question->payload_bytes + bearer->overhead_bytes > largest) {
        cli_complain(CLI_USAGE, "--payload: a frame of this kind carries at most %d bytes",
                     bearer->modulation.kind->default_largest_payload_bytes);
        return false;
    }
    return true;
}

typedef struct {
    const char *key, *label, *unit;
    double value;
} Answer;

#define MOST_ANSWERS 12

static size_t
answer(const Question *question, Answer answers[MOST_ANSWERS])
{
    const SpateModulation *modulation = &question->bearer.modulation;
    const SpateRadioKind *kind = modulation->kind;
    size_t bytes = (size_t)(question->payload_bytes + question->bearer.overhead_bytes);
    int64_t airtime_ns = kind->airtime_ns(modulation, bytes);
    size_t n = 0;
    answers[n++] = (Answer){"airtime_us", "time on air", "us", (double)airtime_ns / 1e3};
    answers[n++] = (Answer){"symbols", "payload symbols", "",
                            (double)kind->payload_symbols(modulation, bytes)};
    answers[n++] = (Answer){"symbol_us", "symbol", "us", (double)kind->symbol_ns(modulation) / 1e3};
    answers[n++] = (Answer){"sensitivity_dbm", "sensitivity", "dBm",
                            spate_bearer_sensitivity_dbm(&question->bearer)};
    answers[n++] =
        (Answer){"preamble_us", "preamble", "us", (double)kind->header_ns(modulation) / 1e3};
    answers[n++] = (Answer){"noise_dbm", "noise", "dBm", spate_bearer_noise_dbm(&question->bearer)};
    answers[n++] = (Answer){"required_snr_db", "required SNR", "dB",
                            spate_bearer_required_snr_db(&question->bearer)};
    answers[n++] = (Answer){"frame_bytes", "bytes on the air", "", (double)bytes};
    answers[n++] = (Answer){"duty_cycle", "duty cycle", "%", question->duty};
    int64_t budget_ns = llround(question->duty * (double)SPATE_NS_PER_HOUR);
    int64_t whole_frames = budget_ns / airtime_ns;
    answers[n++] = (Answer){"frames_per_hour", "frames per hour", "", (double)whole_frames};
    return n;
}

static void
append_json(GString *text, const Question *question, const Answer *answers, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        g_string_append_printf(text, "%s\"%s\": ", i == 0 ? "{" : ", ", answers[i].key);
        spate_append_number(text, answers[i].value);
    }
    const SpateModulation *modulation = &question->bearer.modulation;
    if (modulation->kind == &spate_radio_lora)
        g_string_append_printf(text, ", \"low_data_rate_optimise\": %s",
                               spate_lora_ldro_is_on(modulation) ? "true" : "false");
    g_string_append(text, "}\n");
}

static void
append_csv(GString *text, const Answer *answers, size_t n)
{
    for (size_t i = 0; i < n; i++)
        g_string_append_printf(text, "%s%s", i == 0 ? "" : ",", answers[i].key);
    for (size_t i = 0; i < n; i++) {
        g_string_append(text, i == 0 ? "\n" : ",");
        spate_append_number(text, answers[i].value);
    }
    g_string_append_c(text, '\n');
}

static void
append_table(GString *text, const Question *question, const Answer *answers, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        const Answer *a = &answers[i];
        double shown = a->value;
        const char *unit = a->unit;
        if (strcmp(unit, "us") == 0 && shown >= 1000.0) {
            shown /= 1000.0;
            unit = "ms";
        }
        g_string_append_printf(text, "%-18s ", a->label);
        if (strcmp(unit, "%") == 0)
            shown *= 100.0;
        /* Times are exact; decibels to a hundredth. */
        bool is_level = strncmp(unit, "dB", 2) == 0;
        if (is_level)
            spate_append_fixed(text, shown, 2, false);
        else
            spate_append_number(text, shown);
        g_string_append_printf(text, "%s%s\n", unit[0] != '\0' ? " " : "", unit);
    }
    const SpateModulation *modulation = &question->bearer.modulation;
    if (modulation->kind == &spate_radio_lora)
        g_string_append_printf(text, "%-18s low data rate optimisation is %s\n", "",
                               spate_lora_ldro_is_on(modulation) ? "on" : "off");
}

static CliStatus
cli_airtime(CliOptions *options)
{
    Question question = {0};
    if (options->n_arguments > 0)
        return cli_complain(CLI_USAGE, "airtime takes options only; see spate airtime --help");
    if (!read_question(&question, options))
        return CLI_USAGE;
    CliStatus status = cli_places_note(options, "scenario");
    if (status != CLI_DONE)
        return status;
    Answer answers[MOST_ANSWERS];
    size_t n = answer(&question, answers);
    g_autoptr(GString) text = g_string_new(NULL);
    switch (options->format) {
    case SPATE_FORMAT_JSON:
        append_json(text, &question, answers, n);
        break;
    case SPATE_FORMAT_CSV:
        append_csv(text, answers, n);
        break;
    case SPATE_FORMAT_TABLE:
        append_table(text, &question, answers, n);
        break;
    }
    return cli_output_result(options, text);
}

static const CliOption OPTIONS[] = {
    {"kind", CLI_WORD, "lora|dsss", "[lora]"},
    {"payload", CLI_TEXT, "BYTES", "[32]"},
    {"overhead", CLI_TEXT, "BYTES", "added to the payload [0]; action frames of dsss: 43"},
    {"frequency", CLI_TEXT, "FREQUENCY",
     "[lora: 869.5 MHz, or 2450 MHz for a bandwidth of that band; dsss: 2437 MHz]"},
    {"duty-cycle", CLI_TEXT, "SHARE", "share of each hour for sending, such as \"1 %\" [100 %]"},
    {"noise-figure", CLI_TEXT, "RATIO", "of the receiver [6 dB]"},
    {"preamble", CLI_TEXT, "SYMBOLS|TIME",
     "lora: symbols as programmed [8]; dsss: a time [192 us]"},
    {"spreading-factor", CLI_TEXT, "N", "lora: 5 to 12 [10]"},
    {"bandwidth", CLI_TEXT, "BANDWIDTH",
     "lora: 7.8 to 500 kHz, at 2.4 GHz 203 to 1625 kHz [125 kHz]"},
    {"coding-rate", CLI_WORD, "4/5|4/6|4/7|4/8", "lora [4/5]"},
    {"header", CLI_WORD, "explicit|implicit", "lora [explicit]"},
    {"crc", CLI_WORD, "on|off", "lora [on]"},
    {"low-data-rate-optimise", CLI_WORD, "auto|on|off",
     "lora [auto: on for symbols over 16 ms; at 2.4 GHz for SF11 and SF12]"},
    {"rate", CLI_TEXT, "RATE", "dsss: 250 kbit/s, 500 kbit/s, 1 Mbit/s or 2 Mbit/s [250 kbit/s]"},
};

const CliCommand CLI_AIRTIME = {
    .name = "airtime",
    .run = cli_airtime,
    .summary = "time on air, symbols, sensitivity, frames per hour",
    .usage = "[OPTION...]",
    .about = "Time on air, symbols and sensitivity of one frame, and how many fit in an hour. "
             "Defaults are in brackets.",
    .arguments = CLI_NO_VALUE,
    .takes = CLI_TAKES_FORMAT,
    .options = OPTIONS,
    .n_options = G_N_ELEMENTS(OPTIONS),
    .status = "0 done, 2 bad usage, 3 could not write.",
    .example = "spate airtime --spreading-factor 9 --payload 13 --duty-cycle \"1 %\"",
};
