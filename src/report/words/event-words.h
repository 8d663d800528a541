/* event-words.h - what happens to frames and messages, in the words of docs/event-log.md */
#pragma once

#include "mesh/observer.h"
#include "study/advise/advise-disturbers.h"

const char *spate_decision_word(SpateDecision kind);
const char *spate_drop_word(SpateDropCause cause);
const char *spate_blame_word(SpateBlame blame);
