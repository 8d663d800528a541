/* event-words.h - what happens to frames and messages, in the words of docs/event-log.md */
#pragma once

#include "spate/event.h"

const char *spate_event_word(SpateEventKind kind);
const char *spate_decision_word(SpateDecision decision);
const char *spate_drop_word(SpateDropCause cause);
/* For people, after "drops its frame: ". */
const char *spate_drop_reason(SpateDropCause cause);
const char *spate_outcome_word(SpateOutcome outcome);
