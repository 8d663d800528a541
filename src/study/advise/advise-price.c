/* advise-price.c - what every traffic loses or gains by a change */
#include "study/advise/advise-price.h"

#include "study/run/summary.h"

/* Latency is that of what arrives: what no longer does drops out of it. */
static const SpateMeasure TOLD[] = {
    SPATE_MEASURE_DELIVERY,
    SPATE_MEASURE_DELIVERY_IN_TIME,
    SPATE_MEASURE_LATENCY_MEAN,
    SPATE_MEASURE_LATENCY_P95,
};

static void
add_price(GArray *prices, const SpateScenario *scenario, SpateAdvisePrice price,
          const SpateResultVariant *before, const SpateResultVariant *after, uint32_t n)
{
    const char *traffic = scenario->traffics[price.traffic].name;
    const SpateResultRow *was = spate_result_find_of_traffic(before, price.measure, traffic);
    const SpateResultRow *is = spate_result_find_of_traffic(after, price.measure, traffic);
    if (was == NULL || is == NULL || (was->n == 0 && is->n == 0))
        return;
    SpateDifference difference = spate_summary_of_pair(is, was, n);
    price.before = (SpateEstimate){was->mean, was->ci95, was->n};
    price.after = (SpateEstimate){is->mean, is->ci95, is->n};
    price.change = (SpateEstimate){difference.mean, difference.ci95, difference.n};
    g_array_append_val(prices, price);
}

GArray *
spate_advise_prices(const SpateScenario *scenario, const bool *is_treated,
                    const SpateResultVariant *before, const SpateResultVariant *after,
                    uint32_t n_replications)
{
    GArray *prices = g_array_new(FALSE, FALSE, sizeof(SpateAdvisePrice));
    for (int turn = 0; turn < 2; turn++)
        for (uint32_t traffic = 0; traffic < scenario->n_traffics; traffic++)
            for (size_t i = 0; is_treated[traffic] == (turn == 0) && i < G_N_ELEMENTS(TOLD); i++)
                add_price(prices, scenario,
                          (SpateAdvisePrice){.traffic = traffic, .measure = TOLD[i]}, before, after,
                          n_replications);
    return prices;
}
