/* form-private.h - what writing JSON and CSV share */
#pragma once

#include "document/form.h"

static inline const void *
spate_member_at(const SpateMember *member, const void *data)
{
    return (const char *)data + member->at;
}

/* The struct whose members stand among those of another. */
static inline const void *
spate_member_parts(const SpateMember *member, const void *data)
{
    const void *at = spate_member_at(member, data);
    return member->cell == SPATE_CELL_JOINED ? *(const void *const *)at : at;
}

/* The number as it is written: rounded, in seconds; NAN for none. */
double spate_member_number(const SpateMember *member, const void *data);
const char *spate_member_word(const SpateMember *member, int value);
/* The text of a text, or of what is written as one; NULL: none. */
const char *spate_member_text(const SpateMember *member, const void *data);
