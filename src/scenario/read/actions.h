/* actions.h - `do:` of a rule: what each action reads, and what lint says of its figures */
#pragma once

#include "rules/rules.h"
#include "scenario/read/read-fields.h"

/* Faults are noted. */
void spate_read_action(SpateReader *reader, const SpateYamlPair *pair, SpateRule *rule);

typedef struct {
    const char *what, *hint; /* NULL: nothing to say */
} SpateRemark;

/* Of figures that do nothing, or take another action's place. */
SpateRemark spate_remark_on_action(const SpateRule *rule);
