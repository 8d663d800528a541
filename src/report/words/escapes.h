/* escapes.h - how a terminal is made to change its writing: ECMA-48, 8.3.117 (SGR) */
#pragma once

#define SPATE_BOLD   "\033[1m"
#define SPATE_RED    "\033[31m"
#define SPATE_GREEN  "\033[32m"
#define SPATE_YELLOW "\033[33m"
#define SPATE_CYAN   "\033[36m"
#define SPATE_PLAIN  "\033[0m"
