/* read-bearer.c - `bearers:` but for their propagation */
#include "scenario/read/read-names.h"
#include "scenario/read/read-sections.h"

#include "core/time.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The longest frame of LoRa radios: their length register has eight bits (SX1276 data sheet, table
 * 41; SX1261/2 data sheet, 13.4.6). */
#define LORA_LARGEST_FRAME_BYTES 255

enum { KIND_LORA, KIND_DSSS };
enum { LORA = 1u << KIND_LORA, DSSS = 1u << KIND_DSSS };

static const SpateWord KINDS[] = {{"lora", KIND_LORA}, {"dsss", KIND_DSSS}, {NULL}};

enum { ACCESS_CAD = 1u << SPATE_ACCESS_CAD, ACCESS_CSMA = 1u << SPATE_ACCESS_CSMA };

static const SpateWord ACCESS_METHODS[] = {
    {"none", SPATE_ACCESS_NONE}, {"cad", SPATE_ACCESS_CAD}, {"csma", SPATE_ACCESS_CSMA}, {NULL}};

static const SpateField ACCESS_FIELDS[] = {
    {SPATE_WORD("method", SpateAccess, method, ACCESS_METHODS)},
    {SPATE_WHOLE("slots", SpateAccess, cad_slots, COUNT, 1, 1000), .only = ACCESS_CAD},
    {SPATE_WHOLE("tries", SpateAccess, cad_tries, COUNT, 1, 1000), .only = ACCESS_CAD},
    {SPATE_FLAG("payload", SpateAccess, cad_payload), .only = ACCESS_CAD},
    {SPATE_NUMBER("detection", SpateAccess, cad_detection, SHARE, 0, 1), .only = ACCESS_CAD},
    {SPATE_NUMBER("threshold", SpateAccess, csma_threshold_dbm, LEVEL, -200, 50),
     .only = ACCESS_CSMA},
};
static const SpateTable ACCESS = SPATE_TABLE("access", ACCESS_FIELDS, ACCESS_METHODS);

static const SpateField PROTECTION_FIELDS[] = {
    {SPATE_NUMBER("same", SpateBearer, protection_same_db, RATIO_DB, -60, 60)},
    {SPATE_NUMBER("other", SpateBearer, protection_other_db, RATIO_DB, -60, 60)},
};
static const SpateTable PROTECTION = SPATE_TABLE("protection", PROTECTION_FIELDS, NULL);

static const SpateWord FADINGS[] = {
    {"none", SPATE_FADING_NONE}, {"rayleigh", SPATE_FADING_RAYLEIGH}, {NULL}};

typedef struct {
    SpateFading fading;
    bool rayleigh;
} FadingDraft;

static const SpateField FADING_FIELDS[] = {
    {SPATE_FLAG("rayleigh", FadingDraft, rayleigh)},
    {SPATE_NUMBER("rician", FadingDraft, fading.rician_k_db, RATIO_DB, -40, 60)},
    {SPATE_NUMBER("nakagami", FadingDraft, fading.nakagami_m, NUMBER, 0.5, 100)},
    {SPATE_TIME("coherence", FadingDraft, fading.coherence_ns, 1e3, 3600e9)},
};
static const SpateTable FADING = SPATE_TABLE("fading", FADING_FIELDS, NULL);

/* A bearer on the way: what is worked out once all its keys are read. */
typedef struct {
    SpateScenarioBearer bearer;
    int kind;
    int64_t frequency_hz, rate_bps;
    double bandwidth_hz;
    double duty;                                  /* share; NAN: no limit */
    uint32_t overhead_bytes, largest_frame_bytes; /* UINT32_MAX: by kind */
    const SpateYaml *map;
    const SpateYamlPair *access, *fading;
} Draft;

static void
read_int64(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair, void *into)
{
    if (spate_is_kind(reader, pair->value, SPATE_YAML_SCALAR, pair->key))
        spate_quantity_read_int(pair->value, field->dimension, (int64_t)field->least,
                                (int64_t)field->most, spate_member(field, into), reader->faults);
}

static const SpateWord CODING_RATES[] = {{"4/5", 5}, {"4/6", 6}, {"4/7", 7}, {"4/8", 8}, {NULL}};
static const SpateWord HEADERS[] = {{"explicit", true}, {"implicit", false}, {NULL}};
static const SpateWord LDRO[] = {
    {"auto", SPATE_LDRO_AUTO}, {"on", SPATE_LDRO_ON}, {"off", SPATE_LDRO_OFF}, {NULL}};

static const SpateField BEARER_FIELDS[] = {
    {SPATE_WORD("kind", Draft, kind, KINDS), .required = true},
    {SPATE_KEY("frequency", read_int64, Draft, frequency_hz), SPATE_WITHIN(FREQUENCY, 30e6, 6e9),
     .required = true},
    {SPATE_NUMBER("bandwidth", Draft, bandwidth_hz, FREQUENCY, 7e3, 2e6), .required = true,
     .only = LORA},
    {SPATE_WHOLE("spreading-factor", Draft, bearer.radio.modulation.spreading_factor, COUNT, 5, 12),
     .required = true, .only = LORA},
    {SPATE_WORD("coding-rate", Draft, bearer.radio.modulation.coding_rate_denominator,
                CODING_RATES),
     .only = LORA},
    {SPATE_WHOLE("preamble", Draft, bearer.radio.modulation.preamble_symbols, SYMBOLS, 6, 65535),
     .only = LORA},
    {SPATE_TIME("preamble", Draft, bearer.radio.modulation.preamble_ns, 1e3, 100e6), .only = DSSS},
    {SPATE_EITHER("header", Draft, bearer.radio.modulation.explicit_header, HEADERS), .only = LORA},
    {SPATE_FLAG("crc", Draft, bearer.radio.modulation.crc), .only = LORA},
    {SPATE_WORD("low-data-rate-optimise", Draft, bearer.radio.modulation.low_data_rate_optimise,
                LDRO),
     .only = LORA},
    {SPATE_WHOLE("lock", Draft, bearer.radio.modulation.lock_symbols, SYMBOLS, 1, 65535),
     .only = LORA},
    {SPATE_KEY("rate", read_int64, Draft, rate_bps), SPATE_WITHIN(BITRATE, 250e3, 2e6),
     .only = DSSS},
    {SPATE_WHOLE("overhead", Draft, overhead_bytes, SIZE, 0, 2000)},
    {SPATE_WHOLE("largest-frame", Draft, largest_frame_bytes, SIZE, 1, 4095)},
    {SPATE_NUMBER("noise-figure", Draft, bearer.radio.noise_figure_db, RATIO_DB, 0, 60)},
    {SPATE_NUMBER("sensitivity", Draft, bearer.radio.sensitivity_dbm, LEVEL, -200, 0)},
    {SPATE_PAIR("access", Draft, access)},
    {SPATE_NUMBER("duty-cycle", Draft, duty, SHARE, 0.00001, 1), .word = "none", .word_value = NAN},
    {SPATE_TIME("turnaround", Draft, bearer.radio.turnaround_ns, 0, 10e9)},
    {SPATE_INNER("protection", Draft, bearer.radio, &PROTECTION)},
    {.key = "propagation", .read = spate_read_elsewhere},
    {SPATE_PAIR("fading", Draft, fading)},
};
static const SpateTable BEARER = SPATE_TABLE("a bearer", BEARER_FIELDS, KINDS);

static void
read_access(SpateReader *reader, const SpateYamlPair *pair, int kind, SpateAccess *access)
{
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_MAP, pair->key))
        return;
    unsigned sort = spate_sort_of(pair->value, "method", ACCESS_METHODS, SPATE_ACCESS_NONE);
    spate_read_map(reader, &ACCESS, sort, pair->key_place, pair->value, access);

    const SpateYamlPair *method = spate_yaml_pair(pair->value, "method");
    if (kind == KIND_LORA && access->method == SPATE_ACCESS_CSMA)
        spate_faults_note(reader->faults, method->value->place, "lora allows none or cad",
                          "'csma' is for dsss bearers");
    if (kind == KIND_DSSS && access->method == SPATE_ACCESS_CAD)
        spate_faults_note(reader->faults, method->value->place, "dsss allows none or csma",
                          "'cad' is for lora bearers");
}

static void
read_fading(SpateReader *reader, const SpateYamlPair *pair, SpateFading *fading)
{
    static const char *const kinds[] = {"rayleigh", "rician", "nakagami", NULL};
    if (pair->value->kind == SPATE_YAML_SCALAR) {
        int kind;
        if (spate_find_word(reader, pair->value, FADINGS, pair->key, &kind))
            fading->kind = (SpateFadingKind)kind;
        return;
    }
    FadingDraft draft = {.rayleigh = true};
    if (!spate_read_map(reader, &FADING, 0, pair->key_place, pair->value, &draft))
        return;
    const SpateYamlPair *given = spate_only_one(reader, pair->value, kinds);
    *fading = draft.fading;
    if (given == NULL)
        spate_faults_note(reader->faults, pair->key_place,
                          "rayleigh: yes, rician: K dB or nakagami: m",
                          "'fading' does not say which kind");
    else if (strcmp(given->key, "rician") == 0)
        fading->kind = SPATE_FADING_RICIAN;
    else if (strcmp(given->key, "nakagami") == 0)
        fading->kind = SPATE_FADING_NAKAGAMI;
    else
        fading->kind = draft.rayleigh ? SPATE_FADING_RAYLEIGH : SPATE_FADING_NONE;
}

static void
init_draft(Draft *draft)
{
    *draft = (Draft){.kind = -1,
                     .duty = NAN,
                     .rate_bps = 250000,
                     .overhead_bytes = UINT32_MAX,
                     .largest_frame_bytes = UINT32_MAX};
    SpateBearer *radio = &draft->bearer.radio;
    radio->noise_figure_db = 6;
    radio->sensitivity_dbm = NAN;
    radio->protection_same_db = NAN;
    radio->protection_other_db = NAN;
    radio->access = (SpateAccess){.method = SPATE_ACCESS_NONE,
                                  .cad_slots = 6,
                                  .cad_tries = 4,
                                  .cad_payload = true,
                                  .cad_detection = 1,
                                  .csma_threshold_dbm = NAN};
    radio->modulation = (SpateModulation){.coding_rate_denominator = 5,
                                          .preamble_symbols = 8,
                                          .explicit_header = true,
                                          .crc = true,
                                          .low_data_rate_optimise = SPATE_LDRO_AUTO,
                                          .lock_symbols = 5,
                                          .preamble_ns = 192 * SPATE_NS_PER_US};
}

/* Of the value that is at fault, else of the bearer. */
static SpatePlace
place_of_value(const Draft *draft, const char *key)
{
    const SpateYamlPair *pair = spate_yaml_pair(draft->map, key);
    return pair != NULL ? pair->value->place : draft->bearer.place;
}

/* The fields of another kind are left zero. */
static void
settle_lora(SpateReader *reader, Draft *draft)
{
    SpateModulation *modulation = &draft->bearer.radio.modulation;
    modulation->preamble_ns = 0;
    if (draft->bandwidth_hz > 0 && draft->frequency_hz > 0 &&
        !spate_lora_bandwidth(draft->bandwidth_hz, draft->frequency_hz, &modulation->bandwidth_hz))
        spate_faults_note(reader->faults, place_of_value(draft, "bandwidth"),
                          "7.8, 10.4, 15.6, 20.8, 31.25, 41.7, 62.5, 125, 250 or 500 kHz below "
                          "1 GHz; 203, 406, 812 or 1625 kHz at 2.4 GHz",
                          "no LoRa radio has that bandwidth at that frequency");
    if (modulation->lock_symbols > modulation->preamble_symbols)
        spate_faults_note(
            reader->faults, place_of_value(draft, "lock"), "a receiver locks within the preamble",
            "'lock' is longer than the preamble of %d symbols", modulation->preamble_symbols);
}

static void
settle_dsss(SpateReader *reader, Draft *draft)
{
    SpateModulation *modulation = &draft->bearer.radio.modulation;
    *modulation = (SpateModulation){.kind = modulation->kind,
                                    .rate_bps = draft->rate_bps,
                                    .preamble_ns = modulation->preamble_ns};
    const char *why = NULL;
    if (!modulation->kind->check(modulation, &why))
        spate_faults_note(reader->faults, place_of_value(draft, "rate"), why,
                          "no dsss radio has that rate");
}

static void
settle_sizes(SpateReader *reader, Draft *draft)
{
    SpateBearer *radio = &draft->bearer.radio;
    const SpateRadioKind *kind = radio->modulation.kind;
    uint32_t overhead = draft->overhead_bytes, largest = draft->largest_frame_bytes;
    if (overhead == UINT32_MAX)
        overhead = (uint32_t)kind->default_overhead_bytes;
    if (largest == UINT32_MAX)
        largest = draft->kind == KIND_LORA
                      ? LORA_LARGEST_FRAME_BYTES
                      : (uint32_t)kind->default_largest_payload_bytes + overhead;
    if (draft->kind == KIND_LORA && largest > LORA_LARGEST_FRAME_BYTES)
        spate_faults_note(reader->faults, place_of_value(draft, "largest-frame"),
                          "at most 255 bytes", "no LoRa radio sends frames of %u bytes", largest);
    radio->overhead_bytes = (int)overhead;
    radio->largest_frame_bytes = (int)largest;
}

static void
settle(SpateReader *reader, Draft *draft)
{
    SpateBearer *radio = &draft->bearer.radio;
    if (draft->access != NULL)
        read_access(reader, draft->access, draft->kind, &radio->access);
    if (draft->fading != NULL)
        read_fading(reader, draft->fading, &draft->bearer.fading);
    if (!isnan(draft->duty))
        radio->duty_limit_ns = llround(draft->duty * (double)SPATE_NS_PER_HOUR);
    if (draft->kind < 0)
        return;
    radio->modulation.kind = spate_radio_kind_find(KINDS[draft->kind].word);
    if (draft->kind == KIND_LORA)
        settle_lora(reader, draft);
    else
        settle_dsss(reader, draft);
    radio->modulation.centre_hz = draft->frequency_hz;
    settle_sizes(reader, draft);
}

static void
read_bearer(SpateReader *reader, const SpateYamlPair *pair, SpateScenarioBearer *bearer)
{
    Draft draft;
    init_draft(&draft);
    draft.bearer.name = g_strdup(pair->key);
    draft.bearer.place = pair->key_place;
    draft.map = pair->value;
    spate_is_name(reader, pair->key, pair->key_place);
    unsigned sort = spate_sort_of(pair->value, "kind", KINDS, -1);
    if (spate_read_map(reader, &BEARER, sort, pair->key_place, pair->value, &draft))
        settle(reader, &draft);
    *bearer = draft.bearer;
}

/* More than any mesh has, and few enough for tables of pairs of bearers. */
#define MAX_BEARERS 100

void
spate_read_bearers(SpateReader *reader, const SpateYamlPair *pair)
{
    SpateScenario *scenario = reader->scenario;
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_MAP, pair->key))
        return;
    guint n = pair->value->pairs->len;
    if (n == 0 || n > MAX_BEARERS) {
        reader->bearers.is_partial = true;
        spate_faults_note(reader->faults, pair->key_place, "1 to 100", "there are %u bearers", n);
        return;
    }
    scenario->bearers = g_new0(SpateScenarioBearer, n);
    scenario->n_bearers = n;
    for (guint i = 0; i < n; i++)
        read_bearer(reader, &g_array_index(pair->value->pairs, SpateYamlPair, i),
                    &scenario->bearers[i]);
    qsort(scenario->bearers, n, sizeof *scenario->bearers, spate_compare_names);
    for (uint32_t i = 0; i < n; i++)
        spate_names_add(&reader->bearers, scenario->bearers[i].name, i, true);
}
