/* fuzz.h - what every target of the fuzzer is
 *
 * A target takes any bytes and must come back: no crash, no leak, no endless work, no gigabytes.
 * It is linked with libFuzzer to search, or with replay.c to take the files of a folder again.
 */
#pragma once

#include <stddef.h>
#include <stdint.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);
/* Before the first input; the same for all targets. */
int LLVMFuzzerInitialize(int *argc, char ***argv);
