/* lint-places.c - places, heights, and tables without rows */
#include "scenario/lint/lint.h"
#include "scenario/text/quantity.h"

#include <math.h>
#include <stdlib.h>

/* Antennas stand on roofs and masts: few are higher than 60 m, hardly any than 150 m above the
 * ground.  Of the lowest node of a mesh it would be odd to be above 60 m.  Common practice, no
 * source; Hata's measurements end at 200 m. */
#define HIGH_M        150.0
#define HIGH_LOWEST_M 60.0
/* Two antennas 150 m above a smooth earth see each other over 4.12 (sqrt(150) + sqrt(150)) = 101 km
 * (effective radius 4/3: Rec. ITU-R P.310, P.834). */
#define FAR_M 100e3
/* A long chain of nodes is no outlier. */
#define FAR_SPREADS 5.0

/* "151 m", "20 km"; free with g_free(). */
static char *
height_text(double height_m)
{
    return spate_quantity_text(rint(height_m * 10.0) / 10.0, SPATE_DIM_LENGTH);
}

static void
check_heights(SpateLint *lint, const SpatePosition *places)
{
    const SpateScenario *scenario = lint->scenario;
    static const char HINT[] = "'height' is above ground, not above sea level";
    uint32_t n_high = 0, first = 0;
    double lowest_m = INFINITY;
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        lowest_m = fmin(lowest_m, places[i].height_m);
        if (places[i].height_m > HIGH_M && n_high++ == 0)
            first = i;
    }
    if (n_high > 0) {
        g_autofree char *others = n_high > 1
                                      ? g_strdup_printf(" (and %u more node%s that high)",
                                                        n_high - 1, n_high == 2 ? " is" : "s are")
                                      : g_strdup("");
        g_autofree char *height = height_text(places[first].height_m);
        spate_faults_warn(lint->faults, scenario->nodes[first].place, HINT,
                          "'%s' is %s above the ground%s", scenario->nodes[first].name, height,
                          others);
    } else if (scenario->n_nodes > 1 && lowest_m > HIGH_LOWEST_M) {
        g_autofree char *height = height_text(lowest_m);
        spate_faults_warn(lint->faults, scenario->nodes[0].place, HINT,
                          "no node is lower than %s above the ground", height);
    }
}

static int
compare_numbers(const void *a, const void *b)
{
    double first = *(const double *)a, second = *(const double *)b;
    return (first > second) - (first < second);
}

static double
median(double *values, uint32_t n)
{
    qsort(values, n, sizeof *values, compare_numbers);
    return values[n / 2];
}

/* Longitudes are counted from the first place: those near 180 degrees are near each other. */
static double
east_of(SpatePosition first, SpatePosition at)
{
    return at.is_geographic ? remainder(at.longitude_deg - first.longitude_deg, 360.0)
                            : at.x_m - first.x_m;
}

/* The middle of all, which a few that are mistyped do not move. */
static SpatePosition
middle_of(const SpatePosition *places, uint32_t n, double *values)
{
    SpatePosition middle = places[0];
    for (uint32_t i = 0; i < n; i++)
        values[i] = east_of(places[0], places[i]);
    middle.east += median(values, n);
    for (uint32_t i = 0; i < n; i++)
        values[i] = places[i].north;
    middle.north = median(values, n);
    return middle;
}

static void
check_distances(SpateLint *lint, const SpatePosition *places)
{
    const SpateScenario *scenario = lint->scenario;
    uint32_t n = scenario->n_nodes, n_far = 0, first = 0;
    if (n < 2)
        return;
    g_autofree double *values = g_new(double, n);
    SpatePosition middle = middle_of(places, n, values);
    for (uint32_t i = 0; i < n; i++)
        values[i] = spate_ground_distance_m(places[i], middle);
    double spread_m = n > 2 ? median(values, n) : 0;
    for (uint32_t i = 0; i < n; i++)
        if (spate_ground_distance_m(places[i], middle) > FAR_M + FAR_SPREADS * spread_m &&
            n_far++ == 0)
            first = i;
    if (n_far == 0)
        return;
    double distance_m = spate_ground_distance_m(places[first], middle);
    g_autofree char *others =
        n_far > 1 ? g_strdup_printf(" (and so are %u more)", n_far - 1) : g_strdup("");
    spate_faults_warn(lint->faults, scenario->nodes[first].place,
                      "check its place: the model's earth is flat, and no mast reaches that far",
                      "'%s' is %.0f km from the middle of the other nodes%s",
                      scenario->nodes[first].name, distance_m / 1e3, others);
}

void
spate_lint_places(SpateLint *lint)
{
    const SpateScenario *scenario = lint->scenario;
    g_autofree SpatePosition *places = g_new(SpatePosition, MAX(scenario->n_nodes, 1));
    for (uint32_t i = 0; i < scenario->n_nodes; i++)
        places[i] = spate_world_position(lint->world, i, 0);
    check_heights(lint, places);
    check_distances(lint, places);
    for (guint i = 0; i < scenario->empty_tables->len; i++)
        spate_faults_warn(lint->faults, g_array_index(scenario->empty_tables, SpatePlace, i),
                          "a row for each node or link, below the names of the columns",
                          "this table has no rows");
}
