/* radio-kinds.c - the list of kinds */
#include "radio/modulation.h"

#include <string.h>

static const SpateRadioKind *const KINDS[] = {&spate_radio_lora, &spate_radio_dsss, NULL};

const SpateRadioKind *const *
spate_radio_kinds(void)
{
    return KINDS;
}

const SpateRadioKind *
spate_radio_kind_find(const char *name)
{
    for (size_t i = 0; KINDS[i] != NULL; i++)
        if (strcmp(KINDS[i]->name, name) == 0)
            return KINDS[i];
    return NULL;
}
