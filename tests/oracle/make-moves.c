/* make-moves.c - random nodes that move, often at instants at which something else happens too */
#include "oracle/making.h"

/* Of a node in a run, about. */
#define MOST_STEPS 30

/* What steps of several nodes have in common, so that some fall together. */
typedef struct {
    int step_tenths; /* of a metre */
    int64_t step_ns; /* one step takes that long */
    int64_t from_ns;
} Pace;

/* Metres per second, in as many digits as a quantity may have: steps take whole nanoseconds. */
static void
say_speed(Outline *moves, const Pace *pace)
{
    double speed_m_per_s = pace->step_tenths * 1e8 / (double)pace->step_ns;
    outline_say(moves, "speed", "%.15f m/s", CLAMP(speed_m_per_s, 0.001, 999.0));
}

/* One of the first steps is at an instant at which something else may happen. */
static Pace
draw_pace(Making *m, int step_tenths)
{
    Pace pace = {.step_tenths = step_tenths};
    int64_t least_ns = step_tenths * INT64_C(100200); /* a little below 1000 m/s */
    int64_t step_ns = m->duration_ns / making_whole(m, 2, MOST_STEPS);
    pace.step_ns = MAX(step_ns, least_ns);
    int64_t at_ns = making_instant_ns(m);
    if (making_chance(m, 40))
        at_ns += making_offset_ns(m);
    int64_t n_before = making_whole(m, 1, 6);
    pace.from_ns = MAX(at_ns - MIN(n_before, at_ns / pace.step_ns) * pace.step_ns, 0);
    return pace;
}

/* Where a node may be: for Hata the high stay apart from the low (make-nodes.c). */
static void
say_point(Making *m, Outline *along, int node, const Outline *before)
{
    bool is_tall = node % 2 == 0;
    int least_m = m->is_wide && !is_tall ? 1500 : 0;
    int most_m = m->is_wide && is_tall ? 200 : m->side_m;
    Outline *point = outline_append(along, outline_new(OUTLINE_MAP));
    int x_m = 10 * making_whole(m, least_m / 10, most_m / 10);
    making_say_spot(m, point, x_m, 10 * making_whole(m, 0, m->side_m / 10));
    const char *const keys[] = {m->is_geographic ? "lon" : "x", m->is_geographic ? "lat" : "y"};
    for (size_t i = 0; i < G_N_ELEMENTS(keys) && before != NULL; i++) {
        if (!making_chance(m, 30))
            continue;
        Outline *part = outline_get(point, keys[i]);
        g_free(part->word);
        part->word = g_strdup(outline_get(before, keys[i])->word);
    }
}

static void
say_moves(Making *m, Outline *node, int number, const Pace *pace)
{
    Outline *moves = outline_put(node, "moves", outline_new(OUTLINE_MAP));
    Outline *along = outline_put(moves, "along", outline_new(OUTLINE_LIST));
    const Outline *before = outline_get(node, "at");
    for (int i = making_whole(m, 1, 3); i > 0; i--) {
        say_point(m, along, number, before);
        before = g_ptr_array_index(along->parts, along->parts->len - 1);
    }
    say_speed(moves, pace);
    if (pace->from_ns > 0)
        outline_say(moves, "from", "%" G_GINT64_FORMAT " ns", pace->from_ns);
    if (making_chance(m, 50))
        outline_say(moves, "back", "yes");
}

static void
say_decorrelation(Making *m, Outline *model)
{
    Outline *shadowing = outline_get(model, "shadowing");
    if (shadowing != NULL && making_chance(m, 60))
        outline_say(shadowing, "decorrelation", "%d m", making_whole(m, 1, 300));
}

static void
say_decorrelations(Making *m)
{
    for (int b = 0; b < m->n_bearers; b++) {
        Outline *bearer = outline_get(outline_get(m->root, "bearers"), m->bearers[b].name);
        Outline *propagation = outline_get(bearer, "propagation");
        say_decorrelation(m, propagation);
        const Outline *between = outline_get(propagation, "between");
        for (guint i = 0; between != NULL && i < between->parts->len; i++)
            say_decorrelation(m, g_ptr_array_index(between->parts, i));
    }
}

void
making_add_moves(Making *m)
{
    if (!making_chance(m, 40))
        return;
    int step_tenths = 100;
    if (making_chance(m, 70)) {
        step_tenths = making_chance(m, 70) ? 10 * making_whole(m, 1, 60) : making_whole(m, 5, 500);
        making_say_tenths(outline_get(m->root, "run"), "move-step", step_tenths, "m");
    }
    Pace common = draw_pace(m, step_tenths);
    int surely = making_whole(m, 0, m->n_nodes - 1);
    for (int i = 0; i < m->n_nodes; i++) {
        if (i != surely && !making_chance(m, 40))
            continue;
        Pace own = draw_pace(m, step_tenths);
        say_moves(m, outline_get(outline_get(m->root, "nodes"), m->node[i]), i,
                  making_chance(m, 40) ? &common : &own);
    }
    say_decorrelations(m);
}
