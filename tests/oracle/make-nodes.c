/* make-nodes.c - random nodes, how loudly they hear each other, and who else is on the air */
#include "oracle/making.h"

#include <math.h>

/* Margins over the sensitivity: few, so that they are often equal, and such that no two differ by a
 * protection ratio, which would leave a frame's fate to the last digit. */
#define MARGIN_STEP_TENTHS  27
#define LEAST_MARGIN_TENTHS (-40)

/* Hata at 868 MHz over 2.5 km from a mast of 50 m, about. */
#define MIDDLING_HATA_DB 128.0

/* ---- nodes ----------------------------------------------------------------------------------- */

static void
say_antenna(Making *m, Outline *radio)
{
    Outline *antenna = outline_put(radio, "antenna", outline_new(OUTLINE_MAP));
    making_say_tenths(antenna, "gain", making_whole(m, 0, 60), "dBi");
    if (!making_chance(m, 50))
        return;
    outline_say(antenna, "azimuth", "%d deg", making_whole(m, -180, 359));
    outline_say(antenna, "beamwidth", "%d deg", making_whole(m, 30, 180));
    if (making_chance(m, 50))
        outline_say(antenna, "front-to-back", "%d dB", making_whole(m, 5, 30));
}

/* Windows that fall into preambles, and often between them. */
static void
say_listens(Making *m, Outline *radio, const MakingBearer *bearer)
{
    const SpateModulation *modulation = &bearer->modulation;
    int64_t preamble_ns = modulation->kind->header_ns(modulation);
    int64_t every_ns = preamble_ns * making_whole(m, 1, 40) / 8;
    every_ns = MAX(every_ns, 1000000);
    Outline *listens = outline_put(radio, "listens", outline_new(OUTLINE_MAP));
    making_say_time(listens, "every", every_ns);
    making_say_time(listens, "for", every_ns * making_whole(m, 1, 70) / 100);
    if (making_chance(m, 50))
        making_say_time(listens, "after-sending", bearer->airtime_ns * making_whole(m, 0, 6) / 2);
    if (making_chance(m, 50))
        outline_say(listens, "phase", "together");
}

static void
say_radio(Making *m, Outline *radio, const MakingBearer *bearer)
{
    outline_say(radio, "power", "%s",
                making_chance(m, 70) ? "14 dBm"
                                     : MAKING_ONE_OF(m, "11.7 dBm", "17.4 dBm", "80 mW"));
    if (making_chance(m, 15))
        say_antenna(m, radio);
    if (making_chance(m, 10))
        making_say_tenths(radio, "feeder-loss", making_whole(m, 1, 30), "dB");
    if (making_chance(m, 10))
        making_say_tenths(radio, "noise-rise", making_whole(m, 1, 60), "dB");
    if (making_chance(m, m->is_sleepy ? 60 : 3))
        say_listens(m, radio, bearer);
}

static void
say_radios(Making *m, Outline *node, int number)
{
    Outline *radios = outline_put(node, "radios", outline_new(OUTLINE_MAP));
    int surely = making_whole(m, 0, m->n_bearers - 1);
    for (int b = 0; b < m->n_bearers; b++) {
        if (b != surely && !making_chance(m, 65))
            continue;
        m->has_radio[number][b] = true;
        say_radio(m, outline_put(radios, m->bearers[b].name, outline_new(OUTLINE_MAP)),
                  &m->bearers[b]);
    }
}

static void
say_relay(Making *m, Outline *node, int number)
{
    g_autoptr(Outline) relay = outline_new(OUTLINE_LIST);
    for (int b = 0; b < m->n_bearers; b++)
        if (m->has_radio[number][b] && making_chance(m, 75))
            outline_append(relay, outline_new_word(m->bearers[b].name));
    m->relays[number] = relay->parts->len > 0;
    if (m->relays[number])
        outline_put(node, "relay", g_steal_pointer(&relay));
}

static void
say_queue(Making *m, Outline *node)
{
    Outline *queue = outline_put(node, "queue", outline_new(OUTLINE_MAP));
    if (making_chance(m, 70))
        outline_say(queue, "frames", "%d", making_whole(m, 1, 4));
    if (making_chance(m, 50))
        outline_say(queue, "order", "class");
    int64_t expire_ns = m->slowest_ns * making_whole(m, 1, 6) / 2;
    if (making_chance(m, 50))
        making_say_time(queue, "expire", MAX(expire_ns, 1000000));
}

void
making_say_spot(const Making *m, Outline *map, int x_m, int y_m)
{
    if (m->is_geographic) {
        double a_degree_m = 111195.0, radians = m->latitude_deg * G_PI / 180.0;
        double east_deg = m->longitude_deg + x_m / (a_degree_m * cos(radians));
        outline_say(map, "lat", "%.6f deg", m->latitude_deg + y_m / a_degree_m);
        outline_say(map, "lon", "%.6f deg", east_deg > 180.0 ? east_deg - 360.0 : east_deg);
    } else {
        outline_say(map, "x", "%d m", x_m);
        outline_say(map, "y", "%d m", y_m);
    }
}

static void
say_some_spot(Making *m, Outline *map)
{
    int x_m = making_whole(m, 0, m->side_m), y_m = making_whole(m, 0, m->side_m);
    making_say_spot(m, map, x_m, y_m);
}

static void
say_position(Making *m, Outline *owner)
{
    Outline *at = outline_put(owner, "at", outline_new(OUTLINE_MAP));
    say_some_spot(m, at);
    if (making_chance(m, 50))
        outline_say(at, "height", "%d m", making_whole(m, 1, 30));
}

/* Three corners of a side each: they never lie on one line. */
static void
add_triangle(Making *m, Outline *place)
{
    Outline *corners = outline_put(place, "polygon", outline_new(OUTLINE_LIST));
    for (int k = 0; k < 3; k++) {
        Outline *corner = outline_append(corners, outline_new(OUTLINE_MAP));
        int x_m = k == 1 ? m->side_m : making_whole(m, 0, m->side_m / 3);
        int y_m = k == 2 ? m->side_m : making_whole(m, 0, m->side_m / 3);
        making_say_spot(m, corner, x_m, y_m);
    }
}

/* At random, anew in each replication or once. */
static void
say_random_place(Making *m, Outline *node)
{
    Outline *place = outline_put(node, "place", outline_new(OUTLINE_MAP));
    const char *shape = MAKING_ONE_OF(m, "circle", "rectangle", "polygon");
    if (g_str_equal(shape, "polygon")) {
        add_triangle(m, place);
    } else {
        Outline *map = outline_put(place, shape, outline_new(OUTLINE_MAP));
        bool is_circle = g_str_equal(shape, "circle");
        say_some_spot(m, outline_put(map, is_circle ? "centre" : "from", outline_new(OUTLINE_MAP)));
        if (is_circle)
            outline_say(map, "radius", "%d m", making_whole(m, 1, m->side_m));
        else
            say_some_spot(m, outline_put(map, "to", outline_new(OUTLINE_MAP)));
    }
    if (making_chance(m, 50))
        outline_say(place, "height", "%d m", making_whole(m, 1, 30));
    if (making_chance(m, 60))
        outline_say(place, "redraw", "%s", MAKING_ONE_OF(m, "once", "each-replication"));
}

/* Within what Hata holds for: 1 to 20 km, bases of 30 to 200 m, mobiles of 1 to 10 m. */
static void
say_wide_position(Making *m, Outline *owner, bool is_tall)
{
    Outline *at = outline_put(owner, "at", outline_new(OUTLINE_MAP));
    int x_m = is_tall ? making_whole(m, 0, 200) : making_whole(m, 1500, m->side_m);
    making_say_spot(m, at, x_m, making_whole(m, 0, m->side_m));
    outline_say(at, "height", "%d m", is_tall ? making_whole(m, 30, 90) : making_whole(m, 1, 9));
}

static bool
is_tall(int node)
{
    return node % 2 == 0;
}

static void
say_node(Making *m, Outline *node, int number)
{
    bool is_random = !m->is_wide && making_chance(m, 30);
    if (is_random || making_chance(m, 5))
        outline_say(node, "count", is_random ? "1" : "2");
    if (is_random)
        say_random_place(m, node);
    else if (m->is_wide)
        say_wide_position(m, node, is_tall(number));
    else
        say_position(m, node);
    say_radios(m, node, number);
    say_relay(m, node, number);
    if (making_chance(m, 50))
        say_queue(m, node);
    if (making_chance(m, 60))
        making_say_tenths(node, "isolation", making_whole(m, 100, 900), "dB");
    if (making_chance(m, 15))
        making_say_tenths(node, "site-loss", making_whole(m, 0, 120), "dB");
}

/* ---- propagation ----------------------------------------------------------------------------- */

static double
middling_loss_db(const Making *m, const MakingBearer *bearer, double exponent)
{
    double wavelength_m = 299792458.0 / (double)bearer->modulation.centre_hz;
    return 20.0 * log10(4.0 * G_PI / wavelength_m) + 10.0 * exponent * log10(0.5 * m->side_m);
}

static void
say_log_distance(Making *m, Outline *map, const MakingBearer *bearer, double exponent)
{
    outline_say(map, "exponent", "%d.%d", (int)exponent, (int)round(10.0 * exponent) % 10);
    if (!making_chance(m, 20))
        return;
    Outline *intercept = outline_put(map, "intercept", outline_new(OUTLINE_MAP));
    double loss_db =
        middling_loss_db(m, bearer, exponent) - 10.0 * exponent * log10(0.05 * m->side_m);
    outline_say(intercept, "at", "10 m");
    making_say_tenths(intercept, "loss", (int)(10.0 * loss_db), "dB");
}

/* Such that a pair at half the side is heard with some decibels to spare. */
static void
say_extra_loss(Making *m, Outline *map, const MakingBearer *bearer, double loss_db)
{
    double margin_db = making_whole(m, 0, 25);
    double tenths = bearer->budget_tenths - 10.0 * (loss_db + margin_db);
    making_say_tenths(map, "extra-loss", (int)CLAMP(tenths, -999.0, 2999.0), "dB");
}

static void
say_shadowing(Making *m, Outline *map)
{
    if (!making_chance(m, 30))
        return;
    Outline *shadowing = outline_put(map, "shadowing", outline_new(OUTLINE_MAP));
    making_say_tenths(shadowing, "sigma", making_whole(m, 10, 90), "dB");
    if (making_chance(m, 50))
        outline_say(shadowing, "shared", "%d %%", making_whole(m, 0, 100));
    if (making_chance(m, 30))
        outline_say(shadowing, "redraw", "once");
}

static void
say_model(Making *m, Outline *map, const MakingBearer *bearer)
{
    const char *model = MAKING_ONE_OF(m, "free-space", "log-distance", "log-distance", "two-ray");
    double exponent = making_whole(m, 20, 40) / 10.0;
    outline_say(map, "model", "%s", model);
    if (g_str_equal(model, "log-distance"))
        say_log_distance(m, map, bearer, exponent);
    else
        exponent = 2.0;
    say_extra_loss(m, map, bearer, middling_loss_db(m, bearer, exponent));
    say_shadowing(m, map);
}

static void
say_pair_of_nodes(Making *m, Outline *pair)
{
    for (int k = 0; k < 2; k++)
        outline_append(pair, outline_new_word(m->has_group && making_chance(m, 30)
                                                  ? "folk"
                                                  : m->node[making_whole(m, 0, m->n_nodes - 1)]));
}

/* Hata fits no other pairs than those of a high and a low node. */
static void
say_hata(Making *m, Outline *between, const MakingBearer *bearer)
{
    Outline *entry = outline_append(between, outline_new(OUTLINE_MAP));
    Outline *pair = outline_put(entry, "groups", outline_new(OUTLINE_LIST));
    outline_append(pair, outline_new_word("tall"));
    outline_append(pair, outline_new_word("low"));
    outline_say(entry, "model", "hata");
    if (making_chance(m, 60))
        outline_say(entry, "area", "%s", MAKING_ONE_OF(m, "urban-medium", "urban-large", "open"));
    say_extra_loss(m, entry, bearer, MIDDLING_HATA_DB);
    say_shadowing(m, entry);
}

static void
add_tall_and_low(Making *m)
{
    if (outline_get(m->root, "groups") == NULL)
        outline_put(m->root, "groups", outline_new(OUTLINE_MAP));
    Outline *groups = outline_get(m->root, "groups");
    Outline *tall = outline_put(groups, "tall", outline_new(OUTLINE_LIST));
    Outline *low = outline_put(groups, "low", outline_new(OUTLINE_LIST));
    for (int i = 0; i < m->n_nodes; i++)
        outline_append(is_tall(i) ? tall : low, outline_new_word(m->node[i]));
}

static void
say_propagation(Making *m, const MakingBearer *bearer)
{
    Outline *map = outline_put(outline_get(outline_get(m->root, "bearers"), bearer->name),
                               "propagation", outline_new(OUTLINE_MAP));
    say_model(m, map, bearer);
    if (!m->is_wide && !making_chance(m, 25))
        return;
    Outline *between = outline_put(map, "between", outline_new(OUTLINE_LIST));
    if (m->is_wide)
        say_hata(m, between, bearer);
    for (int i = making_whole(m, m->is_wide ? 0 : 1, 2); i > 0; i--) {
        Outline *entry = outline_append(between, outline_new(OUTLINE_MAP));
        say_pair_of_nodes(m, outline_put(entry, "groups", outline_new(OUTLINE_LIST)));
        say_model(m, entry, bearer);
    }
}

void
making_add_nodes(Making *m)
{
    Outline *nodes = outline_put(m->root, "nodes", outline_new(OUTLINE_MAP));
    for (int i = 0; i < m->n_nodes; i++)
        say_node(m, outline_put(nodes, m->node[i], outline_new(OUTLINE_MAP)), i);
    if (m->is_wide)
        add_tall_and_low(m);
    for (int b = 0; b < m->n_bearers; b++)
        say_propagation(m, &m->bearers[b]);
}

/* ---- links ----------------------------------------------------------------------------------- */

static int
draw_margin_tenths(Making *m)
{
    int margin_tenths = LEAST_MARGIN_TENTHS + MARGIN_STEP_TENTHS * making_whole(m, 0, 12);
    return m->weakest_first ? margin_tenths + making_whole(m, 0, 25) : margin_tenths;
}

static void
say_link(Making *m, Outline *links, int a, int b, int margin_tenths)
{
    Outline *link = outline_append(links, outline_new(OUTLINE_MAP));
    if (making_chance(m, 85)) {
        Outline *pair = outline_put(link, "between", outline_new(OUTLINE_LIST));
        outline_append(pair, outline_new_word(m->node[a]));
        outline_append(pair, outline_new_word(m->node[b]));
    } else {
        outline_say(link, "from", "%s", m->node[a]);
        outline_say(link, "to", "%s", m->node[b]);
    }
    const MakingBearer *bearer = &m->bearers[making_whole(m, 0, m->n_bearers - 1)];
    if (making_chance(m, 50))
        outline_say(link, "bearer", "%s", bearer->name);
    making_say_tenths(link, "loss", MAX(bearer->budget_tenths - margin_tenths, 0), "dB");
}

/* For all pairs, for some, or for none; often all alike. */
void
making_add_links(Making *m)
{
    int percent = making_chance(m, 40) ? 95 : making_chance(m, 40) ? 30 : 0;
    if (percent == 0)
        return;
    Outline *links = outline_put(m->root, "links", outline_new(OUTLINE_LIST));
    int alike_percent = making_chance(m, 40) ? 80 : 20;
    int margin_tenths = draw_margin_tenths(m);
    for (int a = 0; a < m->n_nodes; a++)
        for (int b = a + 1; b < m->n_nodes; b++)
            for (int times = making_whole(m, 1, m->n_bearers); times > 0; times--)
                if (making_chance(m, percent))
                    say_link(m, links, a, b,
                             making_chance(m, m->weakest_first ? 0 : alike_percent)
                                 ? margin_tenths
                                 : draw_margin_tenths(m));
    if (links->parts->len == 0)
        g_ptr_array_remove(m->root->parts, links);
}

/* ---- ambient --------------------------------------------------------------------------------- */

void
making_add_ambient(Making *m)
{
    if (!making_chance(m, 25))
        return;
    Outline *ambient = outline_put(m->root, "ambient", outline_new(OUTLINE_LIST));
    for (int i = making_whole(m, 1, 3); i > 0; i--) {
        const MakingBearer *bearer = &m->bearers[making_whole(m, 0, m->n_bearers - 1)];
        Outline *source = outline_append(ambient, outline_new(OUTLINE_MAP));
        outline_say(source, "bearer", "%s", bearer->name);
        if (making_chance(m, 50)) {
            say_position(m, source);
            making_say_tenths(source, "power", making_whole(m, -100, 200), "dBm");
        } else {
            outline_say(source, "everywhere", "yes");
            making_say_tenths(source, "power",
                              140 - bearer->budget_tenths + making_whole(m, -100, 200), "dBm");
        }
        outline_say(source, "busy", "%d %%", making_whole(m, 1, 30));
        /* Long enough for a few hundred bursts in all; some shorter than a symbol. */
        int64_t least_ns = MAX(m->duration_ns / 1500, 10000);
        int64_t burst_ns = bearer->airtime_ns / making_whole(m, 1, 60);
        making_say_time(source, "burst", MAX(burst_ns, least_ns));
    }
}
