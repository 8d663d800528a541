/* history.c - what happened in one run, and how two tellings of it differ
 *
 * Each kind of event is told by a place (a radio, a node, a crossing) in the order of time.  The
 * two tellings are walked side by side, place by place; where they first part is a difference, and
 * of these the earliest is the one to look at: all that comes later may only follow from it.
 */
#include "oracle/history.h"

#include <math.h>

#define CHAIN(a, b)                                                                                \
    do {                                                                                           \
        if ((a) != (b))                                                                            \
            return (a) < (b) ? -1 : 1;                                                             \
    } while (0)

static void
clear_frame(gpointer frame)
{
    g_free(((HistoryFrame *)frame)->fates);
}

History *
history_new(uint32_t n_nodes, uint32_t n_bearers)
{
    History *history = g_new0(History, 1);
    history->n_nodes = n_nodes;
    history->n_bearers = n_bearers;
    history->frames = g_array_new(FALSE, TRUE, sizeof(HistoryFrame));
    g_array_set_clear_func(history->frames, clear_frame);
    history->deliveries = g_array_new(FALSE, TRUE, sizeof(HistoryDelivery));
    history->refusals = g_array_new(FALSE, TRUE, sizeof(HistoryRefusal));
    history->drops = g_array_new(FALSE, TRUE, sizeof(HistoryDrop));
    history->moves = g_array_new(FALSE, TRUE, sizeof(HistoryMove));
    history->closest = G_MAXDOUBLE;
    return history;
}

void
history_free(History *history)
{
    if (history == NULL)
        return;
    g_array_unref(history->frames);
    g_array_unref(history->deliveries);
    g_array_unref(history->refusals);
    g_array_unref(history->drops);
    g_array_unref(history->moves);
    g_free(history);
}

HistoryFrame *
history_add_frame(History *history)
{
    g_array_set_size(history->frames, history->frames->len + 1);
    HistoryFrame *frame = &g_array_index(history->frames, HistoryFrame, history->frames->len - 1);
    frame->fates = g_new0(HistoryFate, MAX(history->n_nodes, 1));
    for (uint32_t i = 0; i < history->n_nodes; i++)
        frame->fates[i] = (HistoryFate){HISTORY_INAUDIBLE, HISTORY_NOBODY, HISTORY_NOBODY};
    return frame;
}

/* ---- order ----------------------------------------------------------------------------------- */

static int
compare_messages(const HistoryMessage *a, const HistoryMessage *b)
{
    CHAIN(a->traffic, b->traffic);
    CHAIN(a->source, b->source);
    CHAIN(a->offered_ns, b->offered_ns);
    CHAIN(a->attempt, b->attempt);
    return 0;
}

static int
compare_frames(gconstpointer first, gconstpointer second)
{
    const HistoryFrame *a = first, *b = second;
    CHAIN(a->start_ns, b->start_ns);
    CHAIN(a->node, b->node);
    CHAIN(a->bearer, b->bearer);
    return 0;
}

static int
compare_deliveries(gconstpointer first, gconstpointer second)
{
    const HistoryDelivery *a = first, *b = second;
    CHAIN(a->at_ns, b->at_ns);
    CHAIN(a->node, b->node);
    return compare_messages(&a->message, &b->message);
}

static int
compare_refusals(gconstpointer first, gconstpointer second)
{
    const HistoryRefusal *a = first, *b = second;
    CHAIN(a->at_ns, b->at_ns);
    CHAIN(a->crossing, b->crossing);
    return compare_messages(&a->message, &b->message);
}

static int
compare_drops(gconstpointer first, gconstpointer second)
{
    const HistoryDrop *a = first, *b = second;
    CHAIN(a->at_ns, b->at_ns);
    CHAIN(a->node, b->node);
    CHAIN(a->bearer, b->bearer);
    CHAIN(a->cause, b->cause);
    return compare_messages(&a->message, &b->message);
}

static int
compare_moves(gconstpointer first, gconstpointer second)
{
    const HistoryMove *a = first, *b = second;
    CHAIN(a->at_ns, b->at_ns);
    CHAIN(a->node, b->node);
    return 0;
}

void
history_sort(History *history)
{
    g_array_sort(history->frames, compare_frames);
    g_array_sort(history->deliveries, compare_deliveries);
    g_array_sort(history->refusals, compare_refusals);
    g_array_sort(history->drops, compare_drops);
    g_array_sort(history->moves, compare_moves);
}

/* ---- words ----------------------------------------------------------------------------------- */

static const char *const OUTCOME_WORDS[] = {
    [HISTORY_INAUDIBLE] = "inaudible",           [HISTORY_RECEIVED] = "received",
    [HISTORY_LOST_COLLISION] = "lost-collision", [HISTORY_LOST_BUSY] = "lost-busy",
    [HISTORY_LOST_SENDING] = "lost-sending",     [HISTORY_LOST_BLOCKED] = "lost-blocked",
    [HISTORY_LOST_ASLEEP] = "lost-asleep",
};

static const char *const CAUSE_WORDS[] = {
    [HISTORY_DROPPED_QUEUE] = "for a full queue",
    [HISTORY_DROPPED_EXPIRED] = "as expired",
    [HISTORY_DROPPED_SIZE] = "for its size",
    [HISTORY_DROPPED_OUTAGE] = "for an outage",
};

const char *
history_outcome_word(HistoryOutcome outcome)
{
    return OUTCOME_WORDS[outcome];
}

static char *
message_words(const HistoryMessage *message)
{
    g_autofree char *which = message->attempt == 0 ? g_strdup(" (acknowledgement)")
                             : message->attempt == 1
                                 ? g_strdup("")
                                 : g_strdup_printf(" (try %u)", message->attempt);
    return g_strdup_printf("message %u/%u/%" G_GINT64_FORMAT "%s", message->traffic,
                           message->source, message->offered_ns, which);
}

static char *
fate_words(const HistoryFate *fate)
{
    if (fate->disturber_node == HISTORY_NOBODY)
        return g_strdup(OUTCOME_WORDS[fate->outcome]);
    return g_strdup_printf("%s by %u on bearer %u", OUTCOME_WORDS[fate->outcome],
                           fate->disturber_node, fate->disturber_bearer);
}

static char *
tell_frame(gconstpointer item)
{
    const HistoryFrame *frame = item;
    g_autofree char *message = message_words(&frame->message);
    return g_strdup_printf(
        "node %u sends %s on bearer %u at %" G_GINT64_FORMAT " to %" G_GINT64_FORMAT " (hop %u)",
        frame->node, message, frame->bearer, frame->start_ns, frame->end_ns, frame->hops);
}

static char *
tell_delivery(gconstpointer item)
{
    const HistoryDelivery *delivery = item;
    g_autofree char *message = message_words(&delivery->message);
    return g_strdup_printf("node %u gets %s at %" G_GINT64_FORMAT " (hop %u)", delivery->node,
                           message, delivery->at_ns, delivery->hops);
}

static char *
tell_refusal(gconstpointer item)
{
    const HistoryRefusal *refusal = item;
    g_autofree char *message = message_words(&refusal->message);
    return g_strdup_printf("crossing %u refuses %s at %" G_GINT64_FORMAT, refusal->crossing,
                           message, refusal->at_ns);
}

static char *
tell_drop(gconstpointer item)
{
    const HistoryDrop *drop = item;
    g_autofree char *message = message_words(&drop->message);
    return g_strdup_printf("node %u drops %s on bearer %u %s at %" G_GINT64_FORMAT, drop->node,
                           message, drop->bearer, CAUSE_WORDS[drop->cause], drop->at_ns);
}

static char *
tell_move(gconstpointer item)
{
    const HistoryMove *move = item;
    return g_strdup_printf("node %u moves to %.9g, %.9g at %" G_GINT64_FORMAT, move->node,
                           move->east, move->north, move->at_ns);
}

/* ---- differences ----------------------------------------------------------------------------- */

/* One kind of event. */
typedef struct {
    size_t list; /* of History: a GArray* */
    uint64_t (*place)(gconstpointer item);
    int64_t (*at_ns)(gconstpointer item);
    /* But for where and when. */
    bool (*is_same)(gconstpointer expected, gconstpointer got, int64_t slack_ns);
    char *(*tell)(gconstpointer item);
} EventKind;

static uint64_t
place_of_frame(gconstpointer item)
{
    const HistoryFrame *frame = item;
    return (uint64_t)frame->node << 32 | frame->bearer;
}

static uint64_t
place_of_delivery(gconstpointer item)
{
    return ((const HistoryDelivery *)item)->node;
}

static uint64_t
place_of_refusal(gconstpointer item)
{
    return ((const HistoryRefusal *)item)->crossing;
}

static uint64_t
place_of_drop(gconstpointer item)
{
    const HistoryDrop *drop = item;
    return (uint64_t)drop->node << 32 | drop->bearer;
}

static uint64_t
place_of_move(gconstpointer item)
{
    return ((const HistoryMove *)item)->node;
}

static int64_t
time_of_frame(gconstpointer item)
{
    return ((const HistoryFrame *)item)->start_ns;
}

static int64_t
time_of_delivery(gconstpointer item)
{
    return ((const HistoryDelivery *)item)->at_ns;
}

static int64_t
time_of_refusal(gconstpointer item)
{
    return ((const HistoryRefusal *)item)->at_ns;
}

static int64_t
time_of_drop(gconstpointer item)
{
    return ((const HistoryDrop *)item)->at_ns;
}

static int64_t
time_of_move(gconstpointer item)
{
    return ((const HistoryMove *)item)->at_ns;
}

static bool
differ_in_time(int64_t a_ns, int64_t b_ns, int64_t slack_ns)
{
    return ABS(a_ns - b_ns) > slack_ns;
}

static bool
are_same_messages(const HistoryMessage *a, const HistoryMessage *b, int64_t slack_ns)
{
    return a->traffic == b->traffic && a->source == b->source && a->attempt == b->attempt &&
           !differ_in_time(a->offered_ns, b->offered_ns, slack_ns);
}

static bool
is_same_frame(gconstpointer expected, gconstpointer got, int64_t slack_ns)
{
    const HistoryFrame *a = expected, *b = got;
    return are_same_messages(&a->message, &b->message, slack_ns) && a->hops == b->hops &&
           !differ_in_time(a->end_ns, b->end_ns, slack_ns);
}

static bool
is_same_delivery(gconstpointer expected, gconstpointer got, int64_t slack_ns)
{
    const HistoryDelivery *a = expected, *b = got;
    return are_same_messages(&a->message, &b->message, slack_ns) && a->hops == b->hops;
}

static bool
is_same_refusal(gconstpointer expected, gconstpointer got, int64_t slack_ns)
{
    const HistoryRefusal *a = expected, *b = got;
    return are_same_messages(&a->message, &b->message, slack_ns);
}

static bool
is_same_drop(gconstpointer expected, gconstpointer got, int64_t slack_ns)
{
    const HistoryDrop *a = expected, *b = got;
    return are_same_messages(&a->message, &b->message, slack_ns) && a->cause == b->cause;
}

/* To a hundredth of a millimetre, or so: places are sums of legs. */
static bool
is_same_move(gconstpointer expected, gconstpointer got, int64_t slack_ns)
{
    const HistoryMove *a = expected, *b = got;
    return hypot(a->east - b->east, a->north - b->north) < (a->in_degrees ? 1e-10 : 1e-5);
}

static const EventKind KINDS[] = {
    {offsetof(History, moves), place_of_move, time_of_move, is_same_move, tell_move},
    {offsetof(History, frames), place_of_frame, time_of_frame, is_same_frame, tell_frame},
    {offsetof(History, drops), place_of_drop, time_of_drop, is_same_drop, tell_drop},
    {offsetof(History, refusals), place_of_refusal, time_of_refusal, is_same_refusal, tell_refusal},
    {offsetof(History, deliveries), place_of_delivery, time_of_delivery, is_same_delivery,
     tell_delivery},
};

/* The earliest difference so far. */
typedef struct {
    uint32_t n_nodes;
    int64_t slack_ns;
    int64_t at_ns;
    char *words;
} Search;

/* Takes the words over. */
static void
note(Search *search, int64_t at_ns, char *words)
{
    if (search->words != NULL && search->at_ns <= at_ns) {
        g_free(words);
        return;
    }
    g_free(search->words);
    search->words = words;
    search->at_ns = at_ns;
}

static void
note_alone(Search *search, const EventKind *kind, gconstpointer expected, gconstpointer got)
{
    gconstpointer alone = expected != NULL ? expected : got;
    g_autofree char *told = kind->tell(alone);
    note(search, kind->at_ns(alone),
         g_strdup_printf("only %s: %s", expected != NULL ? "expected" : "got", told));
}

static void
note_unlike(Search *search, const EventKind *kind, gconstpointer expected, gconstpointer got)
{
    g_autofree char *a = kind->tell(expected), *b = kind->tell(got);
    note(search, MIN(kind->at_ns(expected), kind->at_ns(got)),
         g_strdup_printf("expected: %s; got: %s", a, b));
}

/* False: they differ. */
static bool
compare_fates(Search *search, const HistoryFrame *expected, const HistoryFrame *got)
{
    for (uint32_t i = 0; i < search->n_nodes; i++) {
        const HistoryFate *a = &expected->fates[i], *b = &got->fates[i];
        if (a->outcome == b->outcome && a->disturber_node == b->disturber_node &&
            a->disturber_bearer == b->disturber_bearer)
            continue;
        g_autofree char *frame = tell_frame(expected);
        g_autofree char *fate = fate_words(a), *other = fate_words(b);
        note(search, expected->start_ns,
             g_strdup_printf("%s; at node %u expected: %s, got: %s", frame, i, fate, other));
        return false;
    }
    return true;
}

/* False: from here on this place tells nothing more. */
static bool
compare_items(Search *search, const EventKind *kind, gconstpointer expected, gconstpointer got)
{
    int64_t a_ns = kind->at_ns(expected), b_ns = kind->at_ns(got);
    if (differ_in_time(a_ns, b_ns, search->slack_ns)) {
        note_alone(search, kind, a_ns < b_ns ? expected : NULL, a_ns < b_ns ? NULL : got);
        return false;
    }
    if (!kind->is_same(expected, got, search->slack_ns)) {
        note_unlike(search, kind, expected, got);
        return false;
    }
    return kind->tell != tell_frame || compare_fates(search, expected, got);
}

static gint
compare_numbers(gconstpointer a, gconstpointer b)
{
    CHAIN(*(const uint64_t *)a, *(const uint64_t *)b);
    return 0;
}

/* The items of one place, in the order of the list. */
static GPtrArray *
items_at(const EventKind *kind, const GArray *list, uint64_t place)
{
    GPtrArray *items = g_ptr_array_new();
    guint size = g_array_get_element_size((GArray *)list);
    for (guint i = 0; i < list->len; i++) {
        gpointer item = list->data + (size_t)i * size;
        if (kind->place(item) == place)
            g_ptr_array_add(items, item);
    }
    return items;
}

static void
compare_place(Search *search, const EventKind *kind, const GPtrArray *expected,
              const GPtrArray *got)
{
    for (guint i = 0; i < MAX(expected->len, got->len); i++) {
        gconstpointer a = i < expected->len ? g_ptr_array_index(expected, i) : NULL;
        gconstpointer b = i < got->len ? g_ptr_array_index(got, i) : NULL;
        if (a == NULL || b == NULL) {
            note_alone(search, kind, a, b);
            return;
        }
        if (!compare_items(search, kind, a, b))
            return;
    }
}

static void
add_places(const EventKind *kind, const GArray *list, GArray *places)
{
    guint size = g_array_get_element_size((GArray *)list);
    for (guint i = 0; i < list->len; i++) {
        uint64_t place = kind->place(list->data + (size_t)i * size);
        g_array_append_val(places, place);
    }
}

static void
compare_lists(Search *search, const EventKind *kind, const GArray *expected, const GArray *got)
{
    g_autoptr(GArray) places = g_array_new(FALSE, FALSE, sizeof(uint64_t));
    add_places(kind, expected, places);
    add_places(kind, got, places);
    g_array_sort(places, compare_numbers);
    for (guint i = 0; i < places->len; i++) {
        uint64_t place = g_array_index(places, uint64_t, i);
        if (i > 0 && place == g_array_index(places, uint64_t, i - 1))
            continue;
        g_autoptr(GPtrArray) a = items_at(kind, expected, place);
        g_autoptr(GPtrArray) b = items_at(kind, got, place);
        compare_place(search, kind, a, b);
    }
}

char *
history_difference(const History *expected, const History *got, int64_t slack_ns)
{
    g_assert(expected->n_nodes == got->n_nodes && expected->n_bearers == got->n_bearers);
    Search search = {.n_nodes = expected->n_nodes, .slack_ns = slack_ns};
    for (size_t i = 0; i < G_N_ELEMENTS(KINDS); i++)
        compare_lists(&search, &KINDS[i], G_STRUCT_MEMBER(GArray *, expected, KINDS[i].list),
                      G_STRUCT_MEMBER(GArray *, got, KINDS[i].list));
    return search.words;
}
