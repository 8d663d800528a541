/* scenario-maker.c - random small scenarios: who there is, and how it is put together */
#include "oracle/scenario-maker.h"

#include "oracle/making.h"

#include <math.h>
#include <string.h>

#define AN_HOUR_AND_MORE_NS INT64_C(5000000000000)

/* ---- draws ----------------------------------------------------------------------------------- */

bool
making_chance(Making *m, int percent)
{
    return (int)spate_random_below(&m->random, 100) < percent;
}

int
making_whole(Making *m, int least, int most)
{
    return least + (int)spate_random_below(&m->random, (uint64_t)(most - least + 1));
}

const char *
making_word(Making *m, const char *const *words, size_t n)
{
    return words[spate_random_below(&m->random, n)];
}

/* ---- words ----------------------------------------------------------------------------------- */

void
making_say_tenths(Outline *map, const char *key, int tenths, const char *unit)
{
    outline_say(map, key, "%s%d.%d %s", tenths < 0 ? "-" : "", ABS(tenths) / 10, ABS(tenths) % 10,
                unit);
}

void
making_say_time(Outline *map, const char *key, int64_t ns)
{
    if (ns >= INT64_C(10000000))
        outline_say(map, key, "%" G_GINT64_FORMAT " ms", ns / 1000000);
    else
        outline_say(map, key, "%" G_GINT64_FORMAT " us", MAX(ns / 1000, 1));
}

/* The file's order is not that of the alphabet. */
static void
shuffle(Making *m, const char **names, int n)
{
    for (int i = n - 1; i > 0; i--) {
        int k = making_whole(m, 0, i);
        const char *held = names[i];
        names[i] = names[k];
        names[k] = held;
    }
}

static void
name_all(Making *m)
{
    const char *nodes[] = {"ash", "birch", "cedar", "elm", "fir", "hazel", "larch"};
    const char *bearers[] = {"east", "mill", "north", "weir"};
    const char *traffics[] = {"chat", "flow", "gauge", "news", "tide"};
    G_STATIC_ASSERT(G_N_ELEMENTS(nodes) == MOST_NODES);
    G_STATIC_ASSERT(G_N_ELEMENTS(bearers) == MOST_BEARERS);
    G_STATIC_ASSERT(G_N_ELEMENTS(traffics) == MOST_TRAFFICS);
    shuffle(m, nodes, MOST_NODES);
    shuffle(m, bearers, MOST_BEARERS);
    shuffle(m, traffics, MOST_TRAFFICS);
    memcpy(m->node, nodes, sizeof nodes);
    for (int i = 0; i < MOST_BEARERS; i++)
        m->bearers[i].name = bearers[i];
    memcpy(m->traffic, traffics, sizeof traffics);
}

/* One node, some of them as a list, or everyone. */
void
making_say_nodes(Making *m, Outline *map, const char *key, bool may_be_everyone)
{
    if (may_be_everyone && making_chance(m, 40)) {
        outline_say(map, key, "everyone");
    } else if (m->has_group && making_chance(m, 20)) {
        outline_say(map, key, "folk");
    } else if (making_chance(m, 40)) {
        outline_say(map, key, "%s", m->node[making_whole(m, 0, m->n_nodes - 1)]);
    } else {
        Outline *list = outline_put(map, key, outline_new(OUTLINE_LIST));
        int first = making_whole(m, 0, m->n_nodes - 1);
        for (int i = first; i < m->n_nodes; i++)
            if (i == first || making_chance(m, 60))
                outline_append(list, outline_new_word(m->node[i]));
    }
}

/* ---- the whole ------------------------------------------------------------------------------- */

static void
add_groups(Making *m)
{
    if (!making_chance(m, 30))
        return;
    Outline *groups = outline_put(m->root, "groups", outline_new(OUTLINE_MAP));
    making_say_nodes(m, groups, "folk", false);
    if (outline_get(groups, "folk")->kind == OUTLINE_WORD) {
        Outline *list = outline_new(OUTLINE_LIST);
        outline_append(list, outline_new_word(outline_get(groups, "folk")->word));
        g_ptr_array_set_size(groups->parts, 0);
        outline_put(groups, "folk", list);
    }
    m->has_group = true;
}

/* The pace of a scenario is that of its slowest bearer; short queues and waits fill from there.
 * Some last longer than the hour of a duty cycle, so that frames that waited for it go at last. */
static void
choose_duration(Making *m)
{
    m->slowest_ns = 0;
    for (int i = 0; i < m->n_bearers; i++)
        m->slowest_ns = MAX(m->slowest_ns, m->bearers[i].airtime_ns);
    m->duration_ns = m->slowest_ns * making_whole(m, 40, 160);
    if (making_chance(m, 12))
        m->duration_ns = MAX(m->duration_ns, AN_HOUR_AND_MORE_NS);
    m->n_favourites = making_whole(m, 1, MOST_FAVOURITES);
    for (int i = 0; i < m->n_favourites; i++)
        m->favourites_ns[i] =
            (int64_t)(spate_random_unit(&m->random) * 0.8 * (double)m->duration_ns);
}

/* Hata ends at 1500 MHz. */
static void
choose_place(Making *m)
{
    m->is_wide = making_chance(m, 15);
    for (int i = 0; i < m->n_bearers; i++)
        m->is_wide = m->is_wide && m->bearers[i].modulation.centre_hz < INT64_C(1500000000);
    m->side_m = m->is_wide ? 5000 : 900;
    m->is_geographic = making_chance(m, 25);
    m->latitude_deg = making_whole(m, -80, 80);
    m->longitude_deg = making_chance(m, 50) ? 179.997 : making_whole(m, -180, 179);
}

static void
add_run(Making *m)
{
    Outline *run = outline_get(m->root, "run");
    making_say_time(run, "duration", MAX(m->duration_ns, 20000000));
    making_say_time(run, "cool-down", making_chance(m, 50) ? 1000 : m->duration_ns / 10);
    if (making_chance(m, 15))
        making_say_time(run, "warm-up", m->duration_ns / 10);
}

Outline *
scenario_make(uint64_t number)
{
    Making m = {
        .random = spate_random_stream(spate_random_key(number, 0, SPATE_FOR_TEST), number),
        .root = outline_new(OUTLINE_MAP),
    };
    name_all(&m);
    outline_say(m.root, "spate", "1");
    outline_say(m.root, "seed", "%" G_GUINT64_FORMAT, number % 1000000);
    outline_put(m.root, "run", outline_new(OUTLINE_MAP));
    m.n_nodes = making_whole(&m, 2, making_chance(&m, 50) ? 4 : MOST_NODES);
    m.n_bearers = making_chance(&m, 30) ? 1 : making_whole(&m, 2, MOST_BEARERS);
    m.n_traffics = making_whole(&m, 1, MOST_TRAFFICS);
    m.weakest_first = making_chance(&m, 15);
    m.is_sleepy = making_chance(&m, 20);

    add_groups(&m);
    making_add_bearers(&m);
    choose_place(&m);
    choose_duration(&m);
    add_run(&m);
    making_add_nodes(&m);
    making_add_links(&m);
    making_add_traffic(&m);
    making_add_flooding(&m);
    making_add_bridges(&m);
    making_add_ambient(&m);
    making_add_outages(&m);
    making_add_moves(&m);
    return m.root;
}

SpateScenario *
scenario_read(const Outline *outline, GError **error)
{
    g_autofree char *yaml = outline_to_yaml(outline);
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("case.yaml", yaml, strlen(yaml), NULL, 0, error);
    return file != NULL ? spate_scenario_new(file, NULL, error) : NULL;
}
