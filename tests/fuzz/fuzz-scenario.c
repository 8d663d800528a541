/* fuzz-scenario.c - any text as a scenario */
#include "fuzz.h"
#include "try-scenario.h"

int
LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    g_autofree char *text = g_strndup((const char *)bytes, length);
    try_scenario("f.yaml", text, length, NULL, 0);
    return 0;
}
