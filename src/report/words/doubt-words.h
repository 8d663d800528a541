/* doubt-words.h - uncertain inputs, as text */
#pragma once

#include "study/judge/doubt-verdict.h"

/* Lines, each after `indent`: in how many draws it holds, what it follows, where it flips.
 * Nothing for NULL. */
void spate_doubt_append(GString *text, const SpateDoubtVerdict *verdict, const char *indent);
/* "falls as nodes.soil.count rises (rank correlation -0.84)" */
void spate_doubt_append_effect(GString *text, const SpateDoubtEffect *effect);

/* For people, after the table of a result: what was drawn, and what follows it.  Nothing if
 * nothing was drawn. */
void spate_doubt_append_result(GString *text, const SpateResult *result);
