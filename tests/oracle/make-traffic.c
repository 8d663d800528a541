/* make-traffic.c - random traffic, and what relays and bridges make of it */
#include "oracle/making.h"

/* Offers of one traffic, about: each may cost some dozen frames. */
#define MOST_OFFERS 40

#define USUAL_PAYLOAD_BYTES 16

/* ---- traffic --------------------------------------------------------------------------------- */

int64_t
making_offset_ns(Making *m)
{
    const MakingBearer *bearer = &m->bearers[making_whole(m, 0, m->n_bearers - 1)];
    const SpateModulation *modulation = &bearer->modulation;
    const SpateRadioKind *kind = modulation->kind;
    int64_t header_ns = kind->header_ns(modulation);
    int64_t look_ns = 2 * kind->symbol_ns(modulation);
    int64_t airtime_ns =
        kind->airtime_ns(modulation, (size_t)(USUAL_PAYLOAD_BYTES + bearer->overhead));
    switch (making_whole(m, 0, 6)) {
    case 0:
        return kind->critical_ns(modulation);
    case 1:
        return kind->symbol_ns(modulation);
    case 2:
        return airtime_ns;
    case 3:
        return airtime_ns - MIN(look_ns, airtime_ns);
    case 4:
        return header_ns - MIN(look_ns, header_ns);
    default:
        return header_ns;
    }
}

int64_t
making_instant_ns(Making *m)
{
    int64_t favourite_ns = m->favourites_ns[making_whole(m, 0, m->n_favourites - 1)];
    if (making_chance(m, 45))
        return favourite_ns;
    if (making_chance(m, 55))
        return favourite_ns + m->offset_ns;
    return (int64_t)(spate_random_unit(&m->random) * 0.9 * (double)m->duration_ns);
}

static char *
time_words(int64_t ns)
{
    return g_strdup_printf("%" G_GINT64_FORMAT " ns", ns);
}

static void
say_list_of_times(Making *m, Outline *traffic)
{
    Outline *list = outline_put(traffic, "at", outline_new(OUTLINE_LIST));
    for (int i = making_whole(m, 1, 6); i > 0; i--) {
        g_autofree char *words = time_words(making_instant_ns(m));
        outline_append(list, outline_new_word(words));
    }
}

static void
say_every(Making *m, Outline *traffic, int64_t interval_ns)
{
    making_say_time(traffic, "every", interval_ns);
    if (making_chance(m, 60))
        outline_say(traffic, "phase", "together");
    if (making_chance(m, 30))
        making_say_time(traffic, "spread", interval_ns / making_whole(m, 3, 30));
}

static void
say_times(Making *m, Outline *traffic, int number)
{
    int64_t interval_ns = m->duration_ns / making_whole(m, 2, MOST_OFFERS / m->n_nodes);
    /* Only what comes before it, so that there is no cycle. */
    if (number > 0 && making_chance(m, 25)) {
        Outline *follows = outline_put(traffic, "follows", outline_new(OUTLINE_MAP));
        outline_say(follows, "traffic", "%s", m->traffic[making_whole(m, 0, number - 1)]);
        if (making_chance(m, 50))
            outline_say(follows, "share", "%d %%", making_whole(m, 20, 90));
        if (making_chance(m, 60))
            making_say_time(follows, "within", m->slowest_ns * making_whole(m, 1, 10));
        return;
    }
    if (making_chance(m, 45))
        say_list_of_times(m, traffic);
    else if (making_chance(m, 60))
        say_every(m, traffic, interval_ns);
    else
        making_say_time(traffic, "mean-interval", interval_ns);
}

/* The reader refuses a source without a radio on any of these: it has one on all. */
static void
say_bearers(Making *m, Outline *traffic)
{
    Outline *list = outline_put(traffic, "on", outline_new(OUTLINE_LIST));
    int surely = making_whole(m, 0, m->n_bearers - 1);
    for (int b = 0; b < m->n_bearers; b++)
        if (b == surely || making_chance(m, 40))
            outline_append(list, outline_new_word(m->bearers[b].name));
}

static bool
all_have_all_radios(const Making *m)
{
    for (int i = 0; i < m->n_nodes; i++)
        for (int b = 0; b < m->n_bearers; b++)
            if (!m->has_radio[i][b])
                return false;
    return true;
}

static const char *
class_of(int traffic)
{
    static const char *const classes[] = {"first", "second", "first", "third", "second"};
    return classes[traffic];
}

static void
say_news(Making *m, Outline *traffic)
{
    making_say_nodes(m, traffic, "from", false);
    if (making_chance(m, 10))
        outline_say(traffic, "to", "nobody");
    else
        making_say_nodes(m, traffic, "to", true);
}

static bool
is_several(const Making *m, int node)
{
    const Outline *said = outline_get(outline_get(m->root, "nodes"), m->node[node]);
    const Outline *count = outline_get(said, "count");
    return count != NULL && g_str_equal(count->word, "2");
}

/* Some others, and the one whom they ask. */
static void
say_question(Making *m, Outline *traffic, int to)
{
    int surely = (to + making_whole(m, 1, m->n_nodes - 1)) % m->n_nodes;
    Outline *from = outline_put(traffic, "from", outline_new(OUTLINE_LIST));
    for (int i = 0; i < m->n_nodes; i++)
        if (i == surely || (i != to && making_chance(m, 30)))
            outline_append(from, outline_new_word(m->node[i]));
    outline_say(traffic, "to", "%s", m->node[to]);
    if (making_chance(m, 60))
        outline_say(traffic, "route", "%s",
                    MAKING_ONE_OF(m, "flood", "source", "source", "source"));
    Outline *acknowledge = outline_put(traffic, "acknowledge", outline_new(OUTLINE_MAP));
    int64_t within_ns =
        making_chance(m, 30) ? m->offset_ns : m->slowest_ns * making_whole(m, 1, 20);
    making_say_time(acknowledge, "within", MAX(within_ns, 1000));
    if (making_chance(m, 60))
        outline_say(acknowledge, "tries", "%d", making_whole(m, 1, 4));
    if (making_chance(m, 60))
        outline_say(acknowledge, "payload", "%d bytes",
                    making_chance(m, 40) ? USUAL_PAYLOAD_BYTES : making_whole(m, 0, 40));
}

static bool
has_one_in_common(const Making *m, int a, int b, int bearer)
{
    return m->has_radio[a][bearer] && m->has_radio[b][bearer];
}

/* A node that can be the next of a route, and a bearer to it; -1: the first that is drawn is not.
 */
static int
draw_next(Making *m, int from, int *bearer)
{
    int to = making_whole(m, 0, m->n_nodes - 1);
    *bearer = making_whole(m, 0, m->n_bearers - 1);
    return to != from && !is_several(m, to) && has_one_in_common(m, from, to, *bearer) ? to : -1;
}

/* False: no way was found. */
static bool
say_probe(Making *m, Outline *traffic, int from)
{
    g_autoptr(Outline) along = outline_new(OUTLINE_LIST);
    int at = from;
    for (int i = making_whole(m, 5, 30); i > 0; i--) {
        int bearer, next = draw_next(m, at, &bearer);
        if (next < 0 || (i == 1 && next == from))
            continue;
        at = next;
        if (making_chance(m, 50)) {
            Outline *entry = outline_append(along, outline_new(OUTLINE_MAP));
            outline_say(entry, "node", "%s", m->node[at]);
            outline_say(entry, "on", "%s", m->bearers[bearer].name);
        } else {
            outline_append(along, outline_new_word(m->node[at]));
        }
    }
    if (at == from || along->parts->len > 20)
        return false;
    outline_say(traffic, "from", "%s", m->node[from]);
    outline_say(traffic, "to", "%s", m->node[at]);
    Outline *route = outline_put(traffic, "route", outline_new(OUTLINE_MAP));
    outline_put(route, "along", g_steal_pointer(&along));
    if (making_chance(m, 60))
        outline_say(route, "back", "%s", MAKING_ONE_OF(m, "yes", "no"));
    return true;
}

static void
say_traffic(Making *m, Outline *traffic, int number)
{
    outline_say(traffic, "class", "%s", class_of(number));
    int asked = making_whole(m, 0, m->n_nodes - 1);
    if (m->n_nodes > 1 && !is_several(m, asked) && making_chance(m, 30))
        say_question(m, traffic, asked);
    else if (is_several(m, asked) || !making_chance(m, 20) || !say_probe(m, traffic, asked))
        say_news(m, traffic);
    outline_say(traffic, "payload", "%d bytes",
                making_chance(m, 60) ? USUAL_PAYLOAD_BYTES : making_whole(m, 0, 48));
    say_times(m, traffic, number);
    if (making_chance(m, 20))
        outline_say(traffic, "hop-limit", "%d", making_whole(m, 1, 5));
    if (making_chance(m, 30) && all_have_all_radios(m))
        say_bearers(m, traffic);
}

void
making_add_traffic(Making *m)
{
    Outline *traffic = outline_put(m->root, "traffic", outline_new(OUTLINE_MAP));
    m->offset_ns = making_offset_ns(m);
    for (int i = 0; i < m->n_traffics; i++)
        say_traffic(m, outline_put(traffic, m->traffic[i], outline_new(OUTLINE_MAP)), i);
    if (!making_chance(m, 60))
        return;
    Outline *priority = outline_put(m->root, "priority", outline_new(OUTLINE_LIST));
    if (m->n_traffics > 1)
        outline_append(priority, outline_new_word("second"));
    if (making_chance(m, 50))
        outline_append(priority, outline_new_word("first"));
    if (priority->parts->len == 0)
        g_ptr_array_remove(m->root->parts, priority);
}

/* ---- rules ----------------------------------------------------------------------------------- */

static Outline *
put_bounds(Making *m, Outline *when, const char *key, int least, int most, const char *unit)
{
    Outline *bounds = outline_put(when, key, outline_new(OUTLINE_MAP));
    int above = making_whole(m, least, most - 2);
    bool has_above = making_chance(m, 60);
    if (has_above)
        outline_say(bounds, "above", "%d%s", above, unit);
    if (!has_above || making_chance(m, 40))
        outline_say(bounds, "below", "%d%s", making_whole(m, above + 1, most), unit);
    return bounds;
}

static void
say_level(Making *m, Outline *when)
{
    int dbm_tenths = 140 - m->bearers[making_whole(m, 0, m->n_bearers - 1)].budget_tenths +
                     making_whole(m, 0, 250);
    Outline *bounds = outline_put(when, "received-power", outline_new(OUTLINE_MAP));
    making_say_tenths(bounds, making_chance(m, 50) ? "above" : "below", dbm_tenths, "dBm");
}

static void
say_condition(Making *m, Outline *when, const char *occupied)
{
    switch (making_whole(m, 0, 7)) {
    case 0:
        outline_say(when, "class", "%s", class_of(making_whole(m, 0, m->n_traffics - 1)));
        break;
    case 1:
        outline_say(when, "traffic", "%s", m->traffic[making_whole(m, 0, m->n_traffics - 1)]);
        break;
    case 2:
        making_say_nodes(m, when, "from", true);
        break;
    case 3:
        making_say_nodes(m, when, "to", true);
        break;
    case 4:
        put_bounds(m, when, "size", 0, 48, " bytes");
        break;
    case 5:
        put_bounds(m, when, "hops", 0, 5, "");
        break;
    case 6:
        say_level(m, when);
        break;
    default: {
        Outline *occupancy = outline_put(when, "occupancy", outline_new(OUTLINE_MAP));
        outline_say(occupancy, "bearer", "%s", occupied);
        outline_say(occupancy, "above", "%d.3 %%", making_whole(m, 0, 20));
    }
    }
}

static void
say_per(Making *m, Outline *action)
{
    if (making_chance(m, 60))
        outline_say(action, "per", "%s", MAKING_ONE_OF(m, "origin", "origin", "rule"));
}

static void
say_limit(Making *m, Outline *rule)
{
    Outline *action = outline_put(rule, "do", outline_new(OUTLINE_MAP));
    Outline *limit = outline_put(action, "limit", outline_new(OUTLINE_MAP));
    double per_hour = making_whole(m, 2, 20) * 3.6e12 / (double)m->duration_ns;
    if (per_hour < 3600.0)
        outline_say(limit, "rate", "%d per hour", (int)per_hour + 1);
    else
        outline_say(limit, "rate", "%d per s", (int)(per_hour / 3600.0) + 1);
    if (making_chance(m, 50))
        outline_say(limit, "burst", "%d", making_whole(m, 1, 4));
    say_per(m, limit);
}

static void
say_thin(Making *m, Outline *rule)
{
    Outline *action = outline_put(rule, "do", outline_new(OUTLINE_MAP));
    Outline *thin = outline_put(action, "thin", outline_new(OUTLINE_MAP));
    int of = making_whole(m, 1, 5);
    outline_say(thin, "keep", "%d", making_whole(m, 0, of));
    outline_say(thin, "of", "%d", of);
    say_per(m, thin);
}

static void
say_digest(Making *m, Outline *rule)
{
    Outline *action = outline_put(rule, "do", outline_new(OUTLINE_MAP));
    Outline *digest = outline_put(action, "digest", outline_new(OUTLINE_MAP));
    making_say_time(digest, "every", m->duration_ns / making_whole(m, 10, 50));
    if (making_chance(m, 60))
        outline_say(digest, "most", "%d", making_whole(m, 1, 4));
}

static void
say_delay(Making *m, Outline *rule)
{
    Outline *action = outline_put(rule, "do", outline_new(OUTLINE_MAP));
    Outline *delay = outline_put(action, "delay", outline_new(OUTLINE_MAP));
    if (making_chance(m, 50))
        outline_say(delay, "until-below", "0 %%");
    else
        outline_say(delay, "until-below", "%d.3 %%", making_whole(m, 0, 10));
    making_say_time(delay, "at-most", m->slowest_ns * making_whole(m, 1, 20));
}

static void
add_rules(Making *m, Outline *owner, const char *occupied)
{
    Outline *rules = outline_put(owner, "rules", outline_new(OUTLINE_LIST));
    for (int i = making_whole(m, 1, 3); i > 0; i--) {
        Outline *rule = outline_append(rules, outline_new(OUTLINE_MAP));
        if (making_chance(m, 65)) {
            Outline *when = outline_put(rule, "when", outline_new(OUTLINE_MAP));
            say_condition(m, when, occupied);
        }
        int what = making_whole(m, 0, 99);
        if (what < 25)
            outline_say(rule, "do", "hold-back");
        else if (what < 40)
            outline_say(rule, "do", "pass");
        else if (what < 60)
            say_limit(m, rule);
        else if (what < 80)
            say_thin(m, rule);
        else if (what < 90)
            say_digest(m, rule);
        else
            say_delay(m, rule);
    }
}

/* ---- flooding -------------------------------------------------------------------------------- */

static void
say_policy(Making *m, Outline *flooding)
{
    const char *policy =
        MAKING_ONE_OF(m, "classic", "counter", "counter", "counter", "probability", "none");
    outline_say(flooding, "policy", "%s", policy);
    if (g_str_equal(policy, "counter"))
        outline_say(flooding, "copies", "%d", making_whole(m, 1, 3));
    if (g_str_equal(policy, "probability"))
        outline_say(flooding, "p", "%d %%", making_whole(m, 20, 90));
}

/* No wait at all makes all relays begin at once. */
static void
say_jitter(Making *m, Outline *flooding)
{
    Outline *jitter = outline_put(flooding, "jitter", outline_new(OUTLINE_MAP));
    outline_say(jitter, "at-most", "%s airtimes", MAKING_ONE_OF(m, "0", "0.5", "2", "6", "10.25"));
    if (m->weakest_first && making_chance(m, 70))
        outline_say(jitter, "weakest-first", "yes");
}

static void
say_duplicates(Making *m, Outline *flooding)
{
    Outline *duplicates = outline_put(flooding, "duplicates", outline_new(OUTLINE_MAP));
    if (making_chance(m, 60))
        outline_say(duplicates, "entries", "%d", making_whole(m, 1, 3));
    int64_t for_ns = m->slowest_ns * making_whole(m, 1, 8);
    if (making_chance(m, 60))
        making_say_time(duplicates, "for", MAX(for_ns, 1000000));
}

/* A memory that forgets needs a limit on the hops, or a message goes on for ever. */
static void
say_flooding(Making *m, Outline *flooding)
{
    if (making_chance(m, 60))
        say_policy(m, flooding);
    if (making_chance(m, 70))
        say_jitter(m, flooding);
    bool forgets = making_chance(m, 20);
    if (forgets)
        say_duplicates(m, flooding);
    if (forgets || making_chance(m, 25))
        outline_say(flooding, "hop-limit", "%d", making_whole(m, 1, 4));
    if (making_chance(m, 20))
        outline_say(flooding, "route-record", "%d bytes", making_whole(m, 1, 6));
}

/* On one of the node's own bearers; NULL: it has none. */
static const char *
draw_own_bearer(Making *m, int node)
{
    int first = making_whole(m, 0, m->n_bearers - 1);
    for (int i = 0; i < m->n_bearers; i++)
        if (m->has_radio[node][(first + i) % m->n_bearers])
            return m->bearers[(first + i) % m->n_bearers].name;
    return NULL;
}

void
making_add_flooding(Making *m)
{
    if (making_chance(m, 75))
        say_flooding(m, outline_put(m->root, "flooding", outline_new(OUTLINE_MAP)));
    for (int i = 0; i < m->n_nodes; i++) {
        if (!m->relays[i] || !making_chance(m, 25))
            continue;
        Outline *node = outline_get(outline_get(m->root, "nodes"), m->node[i]);
        Outline *flooding = outline_put(node, "flooding", outline_new(OUTLINE_MAP));
        say_flooding(m, flooding);
        if (making_chance(m, 50))
            add_rules(m, flooding, draw_own_bearer(m, i));
    }
}

/* ---- bridges --------------------------------------------------------------------------------- */

static void
add_crossing(Making *m, Outline *bridge, int node, int from, int to)
{
    g_autofree char *name = g_strdup_printf("%s-to-%s", m->bearers[from].name, m->bearers[to].name);
    Outline *crossing = outline_put(bridge, name, outline_new(OUTLINE_MAP));
    outline_say(crossing, "from", "%s", m->bearers[from].name);
    outline_say(crossing, "to", "%s", m->bearers[to].name);
    if (making_chance(m, 60))
        add_rules(m, crossing, draw_own_bearer(m, node));
    if (making_chance(m, 25))
        outline_say(crossing, "otherwise", "hold-back");
}

static void
add_bridge(Making *m, int node)
{
    g_autoptr(Outline) bridge = outline_new(OUTLINE_MAP);
    for (int from = 0; from < m->n_bearers; from++)
        for (int to = 0; to < m->n_bearers; to++)
            if (from != to && m->has_radio[node][from] && m->has_radio[node][to] &&
                making_chance(m, 70))
                add_crossing(m, bridge, node, from, to);
    if (bridge->parts->len > 0)
        outline_put(outline_get(m->root, "bridges"), m->node[node], g_steal_pointer(&bridge));
}

void
making_add_bridges(Making *m)
{
    Outline *bridges = outline_put(m->root, "bridges", outline_new(OUTLINE_MAP));
    for (int i = 0; i < m->n_nodes; i++)
        if (making_chance(m, 60))
            add_bridge(m, i);
    if (bridges->parts->len == 0)
        g_ptr_array_remove(m->root->parts, bridges);
}
