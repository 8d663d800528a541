/* listening.c - windows of a radio that sleeps */
#include "radio/listening.h"

#include <glib.h>
#include <math.h>

int64_t
spate_listening_since_ns(const SpateListening *listening, int64_t phase_ns, int64_t at_ns)
{
    return at_ns < phase_ns ? -1 : (at_ns - phase_ns) % listening->every_ns;
}

int64_t
spate_listening_next_ns(const SpateListening *listening, int64_t phase_ns, int64_t after_ns)
{
    int64_t since_ns = spate_listening_since_ns(listening, phase_ns, after_ns);
    return since_ns < 0 ? phase_ns : after_ns - since_ns + listening->every_ns;
}

int64_t
spate_listening_open_ns(const SpateListening *listening, int64_t phase_ns, int64_t until_ns)
{
    if (until_ns <= phase_ns)
        return 0;
    int64_t n_begun = (until_ns - phase_ns) / listening->every_ns;
    int64_t since_ns = (until_ns - phase_ns) % listening->every_ns;
    return n_begun * listening->for_ns + MIN(since_ns, listening->for_ns);
}

double
spate_listening_share(const SpateListening *listening, int64_t critical_ns)
{
    return fmin(1.0, (double)(listening->for_ns + critical_ns) / (double)listening->every_ns);
}
