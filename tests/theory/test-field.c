/* test-field.c - capture among senders that lie about at random
 *
 * Senders over a disc about the receiver, placed anew in each replication, all send at once; each
 * frame fades.  The closed form is that of an endless plane with a Poisson number of senders.  For
 * N of them in a disc of radius R it is
 *
 *     P = ( 2/R^2 integral_0^R d / (1 + z (r/d)^n) dd )^N,
 *
 * which tends to the closed form with R (checked against the rows first); the small disc is what
 * the program is judged by.
 */
#include "rows.h"

#include "support/check-main.h"
#include <math.h>

typedef struct {
    double density_m2, link_m, threshold, exponent; /* threshold as a ratio */
} Field;

/* Probability that one sender in the disc does harm, 1 less the mean above, by Simpson's rule over
 * ln d: the integrand changes over decades. */
static double
harm(const Field *field, double radius_m)
{
    const int steps = 20000;
    double low = log(field->link_m * 1e-6), step = (log(radius_m) - low) / steps, sum = 0.0;
    for (int k = 0; k <= steps; k++) {
        double distance_m = exp(low + k * step);
        double ratio = field->threshold * pow(field->link_m / distance_m, field->exponent);
        double value = distance_m * distance_m * ratio / (1.0 + ratio);
        sum += value * (k == 0 || k == steps ? 1.0 : k % 2 == 1 ? 4.0 : 2.0);
    }
    return sum * step / 3.0 * 2.0 / (radius_m * radius_m);
}

static double
success(const Field *field, double radius_m, double n)
{
    return exp(n * log1p(-harm(field, radius_m)));
}

static double
senders_within(const Field *field, double radius_m)
{
    return field->density_m2 * G_PI * radius_m * radius_m;
}

static Field
field_of_row(const Reference *rows, guint i)
{
    return (Field){.density_m2 = reference_input(rows, i, "interferers_per_m2"),
                   .link_m = reference_input(rows, i, "link_m"),
                   .threshold = pow(10.0, reference_input(rows, i, "threshold_db") / 10.0),
                   .exponent = reference_input(rows, i, "exponent")};
}

/* Six messages of the wanted sender in each field; senders hear the receiver only. */
static SpateResult *
run_field(const Field *field, double radius_m, int n_senders)
{
    g_autofree char *text = g_strdup_printf(
        "spate: 1\n"
        "run: {duration: 7 s, cool-down: 1 s}\n"
        "bearers:\n"
        "  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7,\n"
        "    protection: {same: %.6f dB}, fading: rayleigh, propagation: {model: log-distance,\n"
        "      exponent: %.6f, intercept: {at: 100 m, loss: 20 dB}, between:\n"
        "        [{groups: [others, others], model: free-space, extra-loss: 300 dB}]}}\n"
        "nodes:\n"
        "  mast: {at: {x: 0 m, y: 0 m}, radios: {air: {power: 0 dBm}}}\n"
        "  own: {at: {x: %.6f m, y: 0 m}, radios: {air: {power: 0 dBm}}}\n"
        "  others: {count: %d, place: {circle: {centre: {x: 0 m, y: 0 m}, radius: %.6f m},"
        " redraw: each-replication},\n"
        "    radios: {air: {power: 0 dBm}}}\n"
        "traffic:\n"
        "  wanted: {from: own, to: mast, payload: 10 bytes, every: 1 s, phase: together}\n"
        "  rest: {from: others, to: nobody, payload: 10 bytes, every: 1 s, phase: together}\n",
        10.0 * log10(field->threshold), field->exponent, field->link_m, n_senders, radius_m);
    return judge_run(text, 500);
}

START_TEST(in_a_field_of_senders_success_falls_with_their_density)
{
    g_autoptr(Reference) rows = reference_read("queueing-and-access.csv");
    int n = 0;
    FOR_ROWS(rows, i, "capture-poisson-field")
    {
        Field field = field_of_row(rows, i);
        double wide_m = 1e6 * field.link_m;
        ck_assert_double_eq_tol(success(&field, wide_m, senders_within(&field, wide_m)),
                                reference_number(rows, i, "value"), 2e-4);

        const int n_senders = 100;
        double radius_m = sqrt(n_senders / (G_PI * field.density_m2));
        g_autoptr(SpateResult) result = run_field(&field, radius_m, n_senders);
        JudgeClaim claim = claim_of_row(
            rows, i, "capture in a field of 100 senders, Rayleigh-faded", "share received", 0.06);
        claim.expected = success(&field, radius_m, n_senders);
        judge_mean(&claim, judge_row(result, "delivery", "wanted", NULL));
        n++;
    }
    ck_assert_int_eq(n, 4);
}
END_TEST

CHECK_MAIN("theory of fields", in_a_field_of_senders_success_falls_with_their_density)
