/* crossing-watch.c - what bridges let across in one run, and what it costs the far side */
#include "study/watch/crossing-watch.h"

#include <string.h>

/* ---- how things are distinguished ------------------------------------------------------------ */

static int
compare_groups(gconstpointer a, gconstpointer b)
{
    const SpateScenarioCrossing *first = *(const SpateScenarioCrossing *const *)a;
    const SpateScenarioCrossing *second = *(const SpateScenarioCrossing *const *)b;
    if (first->bridge != second->bridge)
        return first->bridge < second->bridge ? -1 : 1;
    if (first->order != second->order)
        return first->order < second->order ? -1 : 1;
    return (first->node > second->node) - (first->node < second->node);
}

void
spate_crossing_index_init(SpateCrossingIndex *index, const SpateScenario *scenario)
{
    uint32_t n = scenario->n_crossings;
    *index = (SpateCrossingIndex){.groups = g_array_new(FALSE, FALSE, sizeof(SpateCrossingGroup)),
                                  .group_of = g_new0(uint32_t, n + 1u),
                                  .n_traffics = scenario->n_traffics,
                                  .scenario = scenario};
    for (uint32_t i = 0; i < scenario->n_nodes; i++)
        index->n_entries = MAX(index->n_entries, scenario->nodes[i].entry + 1);
    g_autofree const SpateScenarioCrossing **sorted = g_new(const SpateScenarioCrossing *, n + 1u);
    for (uint32_t i = 0; i < n; i++)
        sorted[i] = &scenario->crossings[i];
    qsort(sorted, n, sizeof sorted[0], compare_groups);
    for (uint32_t i = 0; i < n; i++) {
        guint n_groups = index->groups->len;
        const SpateCrossingGroup *last =
            n_groups > 0 ? &g_array_index(index->groups, SpateCrossingGroup, n_groups - 1) : NULL;
        if (last == NULL || last->bridge != sorted[i]->bridge ||
            strcmp(last->name, sorted[i]->name) != 0) {
            const SpateCrossingGroup group = {sorted[i]->bridge, sorted[i]->name,
                                              sorted[i]->from_bearer, sorted[i]->to_bearer};
            g_array_append_val(index->groups, group);
        }
        index->group_of[sorted[i] - scenario->crossings] = index->groups->len - 1;
    }
}

void
spate_crossing_index_clear(SpateCrossingIndex *index)
{
    g_clear_pointer(&index->groups, g_array_unref);
    g_clear_pointer(&index->group_of, g_free);
}

size_t
spate_crossing_cell(const SpateCrossingIndex *index, uint32_t group, uint32_t traffic,
                    uint32_t entry)
{
    return ((size_t)group * index->n_traffics + traffic) * index->n_entries + entry;
}

void
spate_crossing_counts_clear(SpateCrossingCounts *counts)
{
    g_clear_pointer(&counts->cells, g_free);
    g_clear_pointer(&counts->airtime_ns, g_free);
    g_clear_pointer(&counts->n_collisions, g_free);
}

/* ---- the watch ------------------------------------------------------------------------------- */

#define NO_CELL UINT32_MAX
/* Messages that are remembered. */
#define SLOTS 4096

/* Through which cell a message came to each radio. */
typedef struct {
    uint32_t number;
    uint32_t *cells; /* by radio; NULL: the slot was never used */
} Slot;

/* A frame of a radio: the one on the air, or one that was. */
typedef struct {
    int64_t start_ns, end_ns;
    uint32_t cell;
} Sent;

/* A frame that broke another may be over, and the radio sending again, when the other ends. */
#define REMEMBERED 4

/* On which radio, and of which cell. */
typedef struct {
    uint32_t radio, cell;
} Came;

struct SpateCrossingWatch {
    SpateCrossingIndex index;
    const SpatePlan *plan;
    int64_t warm_up_ns;
    SpateCrossingCounts counts;
    Slot slots[SLOTS];
    Sent (*sent)[REMEMBERED]; /* by radio, the newest first */
    Came *came;               /* by node: what arrived there last */
};

SpateCrossingWatch *
spate_crossing_watch_new(const SpateWorld *world)
{
    const SpatePlan *plan = spate_world_plan(world);
    SpateCrossingWatch *watch = g_new0(SpateCrossingWatch, 1);
    const SpateCrossingIndex *index = &watch->index;
    spate_crossing_index_init(&watch->index, spate_world_scenario(world));
    watch->plan = plan;
    watch->warm_up_ns = index->scenario->warm_up_ns;
    size_t n = (size_t)index->groups->len * index->n_traffics * index->n_entries;
    watch->counts.cells = g_new0(SpateCrossingCell, n + 1);
    for (size_t i = 0; i < n; i++)
        watch->counts.cells[i].first_rule = SPATE_NO_RULE;
    watch->counts.airtime_ns = g_new0(int64_t, plan->n_bearers);
    watch->counts.n_collisions = g_new0(uint64_t, plan->n_bearers);
    watch->sent = g_malloc0_n(plan->n_radios, sizeof *watch->sent);
    watch->came = g_new(Came, plan->n_nodes + 1u);
    for (uint32_t i = 0; i < plan->n_nodes; i++)
        watch->came[i] = (Came){0, NO_CELL};
    return watch;
}

void
spate_crossing_watch_free(SpateCrossingWatch *watch)
{
    if (watch == NULL)
        return;
    for (size_t i = 0; i < SLOTS; i++)
        g_free(watch->slots[i].cells);
    spate_crossing_counts_clear(&watch->counts);
    spate_crossing_index_clear(&watch->index);
    g_free(watch->sent);
    g_free(watch->came);
    g_free(watch);
}

SpateCrossingCounts
spate_crossing_watch_counts(SpateCrossingWatch *watch)
{
    SpateCrossingCounts counts = watch->counts;
    watch->counts = (SpateCrossingCounts){0};
    return counts;
}

/* NULL if the message is not remembered: then nothing of it has crossed. */
static uint32_t *
marks_of(SpateCrossingWatch *watch, uint32_t number)
{
    Slot *slot = &watch->slots[number % SLOTS];
    return slot->cells != NULL && slot->number == number ? slot->cells : NULL;
}

/* A slot that is used anew knows nothing of its message. */
static uint32_t *
begin_marks(SpateCrossingWatch *watch, uint32_t number)
{
    Slot *slot = &watch->slots[number % SLOTS];
    if (slot->cells != NULL && slot->number == number)
        return slot->cells;
    if (slot->cells == NULL)
        slot->cells = g_new(uint32_t, watch->plan->n_radios);
    slot->number = number;
    memset(slot->cells, 0xff, watch->plan->n_radios * sizeof(uint32_t));
    return slot->cells;
}

static uint32_t
cell_of(SpateCrossingWatch *watch, uint32_t number, uint32_t radio)
{
    const uint32_t *marks = marks_of(watch, number);
    return marks != NULL ? marks[radio] : NO_CELL;
}

/* ---- listening ------------------------------------------------------------------------------- */

static void
note_arrived(SpateCrossingWatch *watch, const SpateEvent *event)
{
    uint32_t message = event->message->number;
    uint32_t cell = cell_of(watch, message, event->frame->radio);
    watch->came[event->node] = (Came){event->radio, cell};
    if (cell != NO_CELL)
        marks_of(watch, message)[event->radio] = cell;
}

/* What arrived last is the try that it answers. */
static void
note_answered(SpateCrossingWatch *watch, const SpateEvent *event)
{
    const Came *came = &watch->came[event->node];
    if (came->cell != NO_CELL)
        begin_marks(watch, event->message->number)[came->radio] = came->cell;
}

static void
note_decided(SpateCrossingWatch *watch, const SpateEvent *event)
{
    bool passes = event->decision == SPATE_DECISION_SEND ||
                  event->decision == SPATE_DECISION_DELAY ||
                  event->decision == SPATE_DECISION_COLLECT;
    if (!passes || event->crossing == SPATE_NO_CROSSING)
        return;
    const SpateMessageFacts *message = event->message;
    uint32_t group = watch->index.group_of[event->crossing];
    uint32_t entry = watch->index.scenario->nodes[message->origin].entry;
    size_t number = spate_crossing_cell(&watch->index, group, message->traffic, entry);
    SpateCrossingCell *cell = &watch->counts.cells[number];
    cell->first_rule = MIN(cell->first_rule, event->rule);
    cell->n_messages += event->at_ns >= watch->warm_up_ns;
    begin_marks(watch, message->number)[event->radio] = (uint32_t)number;
}

static void
note_digested(SpateCrossingWatch *watch, const SpateEvent *event)
{
    const uint32_t *marks = event->n_carried > 0 ? marks_of(watch, event->carried[0]) : NULL;
    if (marks == NULL)
        return;
    const SpateNode *node = &watch->plan->nodes[event->node];
    g_autofree uint32_t *own =
        g_memdup2(marks + node->first_radio, node->n_radios * sizeof(uint32_t));
    memcpy(begin_marks(watch, event->message->number) + node->first_radio, own,
           node->n_radios * sizeof(uint32_t));
}

static void
note_started(SpateCrossingWatch *watch, const SpateFrameFacts *frame)
{
    Sent *sent = watch->sent[frame->radio];
    uint32_t cell = cell_of(watch, frame->message.number, frame->radio);
    memmove(sent + 1, sent, (REMEMBERED - 1) * sizeof *sent);
    sent[0] = (Sent){frame->started_ns, frame->started_ns + frame->airtime_ns, cell};
    if (frame->started_ns < watch->warm_up_ns)
        return;
    watch->counts.airtime_ns[watch->plan->radios[frame->radio].bearer] += frame->airtime_ns;
    if (cell != NO_CELL)
        watch->counts.cells[cell].airtime_ns += frame->airtime_ns;
}

/* The cell of the newest frame of a radio that overlaps those instants. */
static uint32_t
cell_on_air(const SpateCrossingWatch *watch, uint32_t radio, int64_t from_ns, int64_t to_ns)
{
    const Sent *sent = watch->sent[radio];
    for (size_t i = 0; i < REMEMBERED; i++)
        if (sent[i].end_ns > from_ns && sent[i].start_ns < to_ns)
            return sent[i].cell;
    return NO_CELL;
}

static void
note_ended(const SpateCrossingWatch *watch, const SpateEvent *event)
{
    if (event->frame->started_ns < watch->warm_up_ns)
        return;
    uint32_t bearer = watch->plan->radios[event->radio].bearer;
    for (size_t i = 0; i < event->n_receptions; i++) {
        uint32_t disturber = event->receptions[i].disturber;
        if (event->receptions[i].outcome != SPATE_OUTCOME_LOST_COLLISION)
            continue;
        watch->counts.n_collisions[bearer]++;
        if (disturber >= watch->plan->n_radios || watch->plan->radios[disturber].bearer != bearer)
            continue;
        uint32_t cell = cell_on_air(watch, disturber, event->frame->started_ns, event->at_ns);
        if (cell != NO_CELL)
            watch->counts.cells[cell].n_collisions++;
    }
}

static void
see(gpointer self, const SpateEvent *event)
{
    SpateCrossingWatch *watch = self;
    if (event->kind == SPATE_EVENT_ARRIVED)
        note_arrived(watch, event);
    else if (event->kind == SPATE_EVENT_ANSWERED)
        note_answered(watch, event);
    else if (event->kind == SPATE_EVENT_DECIDED)
        note_decided(watch, event);
    else if (event->kind == SPATE_EVENT_DIGESTED)
        note_digested(watch, event);
    else if (event->kind == SPATE_EVENT_STARTED)
        note_started(watch, event->frame);
    else
        note_ended(watch, event);
}

SpateObserver
spate_crossing_watch_observer(SpateCrossingWatch *watch)
{
    return (SpateObserver){SPATE_EVENT_ARRIVED | SPATE_EVENT_ANSWERED | SPATE_EVENT_DECIDED |
                               SPATE_EVENT_DIGESTED | SPATE_EVENT_STARTED | SPATE_EVENT_ENDED,
                           see, watch};
}
