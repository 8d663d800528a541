/* read-listening.c - `listens:` of a radio that sleeps */
#include "scenario/read/read-sections.h"
#include "scenario/text/quantity.h"

static const SpateWord PHASES[] = {
    {"random", SPATE_PHASE_RANDOM}, {"together", SPATE_PHASE_TOGETHER}, {NULL}};

static const SpateField LISTENING_FIELDS[] = {
    {SPATE_TIME("every", SpateListening, every_ns, 1e6, 1e18), .required = true},
    {SPATE_TIME("for", SpateListening, for_ns, 1e3, 1e18), .required = true},
    {SPATE_TIME("after-sending", SpateListening, after_sending_ns, 0, 1e18)},
    {SPATE_WORD("phase", SpateListening, phase, PHASES)},
};
static const SpateTable LISTENING = SPATE_TABLE("'listens'", LISTENING_FIELDS, NULL);

void
spate_read_listening(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair,
                     void *into)
{
    SpateListening *listening = spate_member(field, into);
    if (!spate_read_map(reader, &LISTENING, 0, pair->key_place, pair->value, listening))
        return;
    bool are_read = listening->every_ns > 0 && listening->for_ns > 0;
    if (!are_read || listening->for_ns < listening->every_ns)
        return;
    g_autofree char *every = spate_quantity_text((double)listening->every_ns, SPATE_DIM_TIME);
    g_autofree char *window = spate_quantity_text((double)listening->for_ns, SPATE_DIM_TIME);
    spate_faults_note(reader->faults, spate_yaml_get(pair->value, "for")->place,
                      "without 'listens' a radio is always awake",
                      "'for' (%s) must be shorter than 'every' (%s)", window, every);
}
