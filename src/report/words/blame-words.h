/* blame-words.h - who is to blame for what is lost, in the words of docs/advise.md */
#pragma once

#include "study/advise/advise-disturbers.h"

const char *spate_blame_word(SpateBlame blame);
