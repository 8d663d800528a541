/* read-bearer.c - `bearers:` but for their propagation */
#include "scenario/read/read-fields.h"
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
    {.key = "method",
     .read = spate_read_word,
     .at = offsetof(SpateAccess, method),
     .words = ACCESS_METHODS},
    {.key = "slots",
     .read = spate_read_whole,
     .at = offsetof(SpateAccess, cad_slots),
     .only = ACCESS_CAD,
     .dimension = SPATE_DIM_COUNT,
     .least = 1,
     .most = 1000},
    {.key = "tries",
     .read = spate_read_whole,
     .at = offsetof(SpateAccess, cad_tries),
     .only = ACCESS_CAD,
     .dimension = SPATE_DIM_COUNT,
     .least = 1,
     .most = 1000},
    {.key = "payload",
     .read = spate_read_flag,
     .at = offsetof(SpateAccess, cad_payload),
     .only = ACCESS_CAD},
    {.key = "detection",
     .read = spate_read_number,
     .at = offsetof(SpateAccess, cad_detection),
     .only = ACCESS_CAD,
     .dimension = SPATE_DIM_SHARE,
     .least = 0,
     .most = 1},
    {.key = "threshold",
     .read = spate_read_number,
     .at = offsetof(SpateAccess, csma_threshold_dbm),
     .only = ACCESS_CSMA,
     .dimension = SPATE_DIM_LEVEL,
     .least = -200,
     .most = 50},
};
static const SpateTable ACCESS = SPATE_TABLE("access", ACCESS_FIELDS, ACCESS_METHODS);

static const SpateField PROTECTION_FIELDS[] = {
    {.key = "same",
     .read = spate_read_number,
     .at = offsetof(SpateBearer, protection_same_db),
     .dimension = SPATE_DIM_RATIO_DB,
     .least = -60,
     .most = 60},
    {.key = "other",
     .read = spate_read_number,
     .at = offsetof(SpateBearer, protection_other_db),
     .dimension = SPATE_DIM_RATIO_DB,
     .least = -60,
     .most = 60},
};
static const SpateTable PROTECTION = SPATE_TABLE("protection", PROTECTION_FIELDS, NULL);

static const SpateWord FADINGS[] = {
    {"none", SPATE_FADING_NONE}, {"rayleigh", SPATE_FADING_RAYLEIGH}, {NULL}};

typedef struct {
    SpateFading fading;
    bool rayleigh;
} FadingDraft;

static const SpateField FADING_FIELDS[] = {
    {.key = "rayleigh", .read = spate_read_flag, .at = offsetof(FadingDraft, rayleigh)},
    {.key = "rician",
     .read = spate_read_number,
     .at = offsetof(FadingDraft, fading.rician_k_db),
     .dimension = SPATE_DIM_RATIO_DB,
     .least = -40,
     .most = 60},
    {.key = "nakagami",
     .read = spate_read_number,
     .at = offsetof(FadingDraft, fading.nakagami_m),
     .dimension = SPATE_DIM_NUMBER,
     .least = 0.5,
     .most = 100},
    {.key = "coherence",
     .read = spate_read_time,
     .at = offsetof(FadingDraft, fading.coherence_ns),
     .dimension = SPATE_DIM_TIME,
     .least = 1e3,
     .most = 3600e9},
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
    const SpateYamlPair *bandwidth, *access, *fading;
} Draft;

static void
read_int64(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair, void *into)
{
    if (spate_is_kind(reader, pair->value, SPATE_YAML_SCALAR, pair->key))
        spate_quantity_read_int(pair->value, field->dimension, (int64_t)field->least,
                                (int64_t)field->most, spate_member(field, into), reader->faults);
}

static void
read_bandwidth(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair, void *into)
{
    Draft *draft = into;
    draft->bandwidth = pair;
    spate_read_number(reader, field, pair, into);
}

static const SpateWord CODING_RATES[] = {{"4/5", 5}, {"4/6", 6}, {"4/7", 7}, {"4/8", 8}, {NULL}};
enum { HEADER_IMPLICIT, HEADER_EXPLICIT };
static const SpateWord LDRO[] = {
    {"auto", SPATE_LDRO_AUTO}, {"on", SPATE_LDRO_ON}, {"off", SPATE_LDRO_OFF}, {NULL}};

static void
read_header(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair, void *into)
{
    static const SpateWord headers[] = {
        {"explicit", HEADER_EXPLICIT}, {"implicit", HEADER_IMPLICIT}, {NULL}};
    Draft *draft = into;
    int header = HEADER_EXPLICIT;
    if (spate_is_kind(reader, pair->value, SPATE_YAML_SCALAR, pair->key) &&
        spate_find_word(reader, pair->value, headers, pair->key, &header))
        draft->bearer.radio.modulation.explicit_header = header == HEADER_EXPLICIT;
}

#define IN_RADIO(member)      offsetof(Draft, bearer.radio.member)
#define IN_MODULATION(member) offsetof(Draft, bearer.radio.modulation.member)

static const SpateField BEARER_FIELDS[] = {
    {.key = "kind",
     .read = spate_read_word,
     .at = offsetof(Draft, kind),
     .required = true,
     .words = KINDS},
    {.key = "frequency",
     .read = read_int64,
     .at = offsetof(Draft, frequency_hz),
     .required = true,
     .dimension = SPATE_DIM_FREQUENCY,
     .least = 30e6,
     .most = 6e9},
    {.key = "bandwidth",
     .read = read_bandwidth,
     .at = offsetof(Draft, bandwidth_hz),
     .required = true,
     .only = LORA,
     .dimension = SPATE_DIM_FREQUENCY,
     .least = 7e3,
     .most = 2e6},
    {.key = "spreading-factor",
     .read = spate_read_whole,
     .at = IN_MODULATION(spreading_factor),
     .required = true,
     .only = LORA,
     .dimension = SPATE_DIM_COUNT,
     .least = 5,
     .most = 12},
    {.key = "coding-rate",
     .read = spate_read_word,
     .at = IN_MODULATION(coding_rate_denominator),
     .only = LORA,
     .words = CODING_RATES},
    {.key = "preamble",
     .read = spate_read_whole,
     .at = IN_MODULATION(preamble_symbols),
     .only = LORA,
     .dimension = SPATE_DIM_SYMBOLS,
     .least = 6,
     .most = 65535},
    {.key = "preamble",
     .read = spate_read_time,
     .at = IN_MODULATION(preamble_ns),
     .only = DSSS,
     .dimension = SPATE_DIM_TIME,
     .least = 1e3,
     .most = 100e6},
    {.key = "header", .read = read_header, .only = LORA},
    {.key = "crc", .read = spate_read_flag, .at = IN_MODULATION(crc), .only = LORA},
    {.key = "low-data-rate-optimise",
     .read = spate_read_word,
     .at = IN_MODULATION(low_data_rate_optimise),
     .only = LORA,
     .words = LDRO},
    {.key = "lock",
     .read = spate_read_whole,
     .at = IN_MODULATION(lock_symbols),
     .only = LORA,
     .dimension = SPATE_DIM_SYMBOLS,
     .least = 1,
     .most = 65535},
    {.key = "rate",
     .read = read_int64,
     .at = offsetof(Draft, rate_bps),
     .only = DSSS,
     .dimension = SPATE_DIM_BITRATE,
     .least = 250e3,
     .most = 2e6},
    {.key = "overhead",
     .read = spate_read_whole,
     .at = offsetof(Draft, overhead_bytes),
     .dimension = SPATE_DIM_SIZE,
     .least = 0,
     .most = 2000},
    {.key = "largest-frame",
     .read = spate_read_whole,
     .at = offsetof(Draft, largest_frame_bytes),
     .dimension = SPATE_DIM_SIZE,
     .least = 1,
     .most = 4095},
    {.key = "noise-figure",
     .read = spate_read_number,
     .at = IN_RADIO(noise_figure_db),
     .dimension = SPATE_DIM_RATIO_DB,
     .least = 0,
     .most = 60},
    {.key = "sensitivity",
     .read = spate_read_number,
     .at = IN_RADIO(sensitivity_dbm),
     .dimension = SPATE_DIM_LEVEL,
     .least = -200,
     .most = 0},
    {.key = "access", .read = spate_read_pair, .at = offsetof(Draft, access)},
    {.key = "duty-cycle",
     .read = spate_read_number,
     .at = offsetof(Draft, duty),
     .dimension = SPATE_DIM_SHARE,
     .least = 0.00001,
     .most = 1,
     .word = "none",
     .word_value = NAN},
    {.key = "turnaround",
     .read = spate_read_time,
     .at = IN_RADIO(turnaround_ns),
     .dimension = SPATE_DIM_TIME,
     .least = 0,
     .most = 10e9},
    {.key = "protection",
     .read = spate_read_inner,
     .at = offsetof(Draft, bearer.radio),
     .table = &PROTECTION},
    {.key = "propagation", .read = spate_read_elsewhere},
    {.key = "fading", .read = spate_read_pair, .at = offsetof(Draft, fading)},
};
static const SpateTable BEARER = SPATE_TABLE("a bearer", BEARER_FIELDS, KINDS);

static void
read_access(SpateReader *reader, const SpateYamlPair *pair, int kind, SpateAccess *access)
{
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_MAP, pair->key))
        return;
    unsigned sort = spate_sort_of(pair->value, "method", ACCESS_METHODS, SPATE_ACCESS_NONE);
    spate_read_map(reader, &ACCESS, sort, pair->key_place, pair->value, access);

    const SpateYamlPair *method = spate_find_pair(pair->value, "method");
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
    const SpateYamlPair *pair = spate_find_pair(draft->map, key);
    return pair != NULL ? pair->value->place : draft->bearer.place;
}

/* The fields of another kind are left zero. */
static void
settle_lora(SpateReader *reader, Draft *draft)
{
    SpateModulation *modulation = &draft->bearer.radio.modulation;
    modulation->preamble_ns = 0;
    if (draft->bandwidth != NULL && draft->bandwidth_hz > 0 && draft->frequency_hz > 0 &&
        !spate_lora_bandwidth(draft->bandwidth_hz, draft->frequency_hz, &modulation->bandwidth_hz))
        spate_faults_note(reader->faults, draft->bandwidth->value->place,
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
    radio->modulation.centre_hz = draft->frequency_hz;
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

static int
compare_bearers(const void *a, const void *b)
{
    const SpateScenarioBearer *first = a, *second = b;
    return strcmp(first->name, second->name);
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
    qsort(scenario->bearers, n, sizeof *scenario->bearers, compare_bearers);
    for (uint32_t i = 0; i < n; i++)
        spate_names_add(&reader->bearers, scenario->bearers[i].name, i, true);
}
