/* escapes.h - how a terminal is told to change its writing: ECMA-48, 8.3.117 (SGR) */
#pragma once

#define SPATE_BOLD  "\033[1m"
#define SPATE_CYAN  "\033[36m"
#define SPATE_PLAIN "\033[0m"
