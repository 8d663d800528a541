/* fading.c - a random factor of mean 1 on the received power */
#include "propagation/links.h"

#include "core/random.h"
#include "core/units.h"
#include <gsl/gsl_cdf.h>
#include <math.h>

/* A factor that matters less often than this is cut off. */
#define RARE 1e-12

double
spate_fading_gain(const SpateFading *fading, uint64_t key, uint64_t entity)
{
    SpateRandom random = spate_random_stream(key, entity);
    switch (fading->kind) {
    case SPATE_FADING_NONE:
        return 1.0;
    case SPATE_FADING_RAYLEIGH:
        return spate_random_exponential(&random);
    case SPATE_FADING_RICIAN: {
        /* A steady part of power K / (K + 1) and a scattered one, complex normal, of 1 / (K + 1).
         */
        double k = spate_db_to_linear(fading->rician_k_db);
        double steady = sqrt(k / (k + 1.0)), spread = sqrt(0.5 / (k + 1.0));
        double in_phase = steady + spread * spate_random_normal(&random);
        double quadrature = spread * spate_random_normal(&random);
        return in_phase * in_phase + quadrature * quadrature;
    }
    case SPATE_FADING_NAKAGAMI:
        return spate_random_gamma(&random, fading->nakagami_m);
    }
    g_assert_not_reached();
}

double
spate_fading_highest_gain(const SpateFading *fading)
{
    switch (fading->kind) {
    case SPATE_FADING_NONE:
        return 1.0;
    case SPATE_FADING_RAYLEIGH:
        return -log(RARE);
    case SPATE_FADING_RICIAN: {
        /* The amplitude is at most the steady part plus a Rayleigh-distributed one. */
        double k = spate_db_to_linear(fading->rician_k_db);
        double amplitude = sqrt(k / (k + 1.0)) + sqrt(-log(RARE) / (k + 1.0));
        return amplitude * amplitude;
    }
    case SPATE_FADING_NAKAGAMI:
        return gsl_cdf_gamma_Qinv(RARE, fading->nakagami_m, 1.0 / fading->nakagami_m);
    }
    g_assert_not_reached();
}
