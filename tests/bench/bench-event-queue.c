/* bench-event-queue.c - the price of taking an event and putting another
 *
 * The hold model (D. W. Jones, "An empirical comparison of priority-queue and event-set
 * implementations", CACM 29(4), 1986): the number that waits stays the same, and each event that
 * is taken puts another some time ahead.  Our queue stands beside a plain binary heap and GLib's
 * balanced tree, which know neither ids nor ranks.
 *
 *     bench-event-queue [HOLDS]      at most 40 ns for each hold are asked of our queue
 */
#include "core/event-queue.h"
#include "core/random.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#define N_WAITS (1u << 12)
#define N_RUNS  3 /* the best counts */

/* Times ahead, drawn beforehand: what is measured is the queue. */
typedef struct {
    const char *name;
    double (*draw_ns)(SpateRandom *random);
} Spread;

typedef struct {
    int64_t waits_ns[N_WAITS];
    uint32_t n_drawn;
    SpateEventQueue *queue;
} Bench;

static double
exponential_ns(SpateRandom *random)
{
    return 1e9 * spate_random_exponential(random);
}

static double
microseconds_and_hours_ns(SpateRandom *random)
{
    double mean_ns = spate_random_unit(random) < 0.5 ? 1e4 : 3.6e12;
    return mean_ns * spate_random_exponential(random);
}

static double
whole_seconds_ns(SpateRandom *random)
{
    return 1e9 * ceil(10.0 * spate_random_unit(random));
}

static const Spread SPREADS[] = {
    {"exponential", exponential_ns},
    {"microseconds and hours", microseconds_and_hours_ns},
    {"whole seconds, 1 to 10", whole_seconds_ns},
};

static double
cpu_seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

/* Walks the table with an odd stride that changes each time around. */
static inline int64_t
next_wait_ns(Bench *bench)
{
    uint32_t n = bench->n_drawn++;
    return bench->waits_ns[(n * (2 * (n / N_WAITS) + 1)) % N_WAITS];
}

static void
hold(gpointer subject, uint32_t item)
{
    Bench *bench = subject;
    spate_event_queue_schedule(bench->queue,
                               spate_event_queue_now_ns(bench->queue) + next_wait_ns(bench),
                               SPATE_RANK_TIMER, hold, bench, item);
}

static double
time_our_queue(Bench *bench, uint32_t n_waiting, uint32_t n_holds)
{
    g_autoptr(SpateEventQueue) queue = spate_event_queue_new();
    bench->queue = queue;
    for (uint32_t i = 0; i < n_waiting; i++)
        hold(bench, i);
    for (uint32_t i = 0; i < 4 * n_waiting; i++)
        spate_event_queue_run_next(queue);
    double began = cpu_seconds();
    for (uint32_t i = 0; i < n_holds; i++)
        spate_event_queue_run_next(queue);
    return (cpu_seconds() - began) / n_holds;
}

typedef struct {
    int64_t at_ns;
    uint64_t sequence;
} Key;

static inline bool
precedes(const Key *a, const Key *b)
{
    return a->at_ns != b->at_ns ? a->at_ns < b->at_ns : a->sequence < b->sequence;
}

static void
sift_down(Key *heap, uint32_t n, Key key)
{
    uint32_t hole = 0;
    for (uint32_t child = 1; child < n; child = 2 * hole + 1) {
        if (child + 1 < n && precedes(&heap[child + 1], &heap[child]))
            child++;
        if (!precedes(&heap[child], &key))
            break;
        heap[hole] = heap[child];
        hole = child;
    }
    heap[hole] = key;
}

static void
sift_up(Key *heap, uint32_t hole, Key key)
{
    for (; hole > 0 && precedes(&key, &heap[(hole - 1) / 2]); hole = (hole - 1) / 2)
        heap[hole] = heap[(hole - 1) / 2];
    heap[hole] = key;
}

static double
time_binary_heap(Bench *bench, uint32_t n_waiting, uint32_t n_holds)
{
    g_autofree Key *heap = g_new(Key, n_waiting);
    uint64_t sequence = 0;
    for (; sequence < n_waiting; sequence++)
        sift_up(heap, (uint32_t)sequence, (Key){next_wait_ns(bench), sequence});
    double began = cpu_seconds();
    for (uint32_t i = 0; i < n_holds; i++) {
        int64_t now_ns = heap[0].at_ns;
        sift_down(heap, n_waiting - 1, heap[n_waiting - 1]);
        sift_up(heap, n_waiting - 1, (Key){now_ns + next_wait_ns(bench), sequence++});
    }
    return (cpu_seconds() - began) / n_holds;
}

static int
compare_keys(gconstpointer a, gconstpointer b, gpointer unused G_GNUC_UNUSED)
{
    return precedes(a, b) ? -1 : (int)precedes(b, a);
}

static double
time_tree(Bench *bench, uint32_t n_waiting, uint32_t n_holds)
{
    g_autoptr(GTree) tree = g_tree_new_full(compare_keys, NULL, NULL, NULL);
    g_autofree Key *keys = g_new(Key, n_waiting);
    uint64_t sequence = 0;
    for (; sequence < n_waiting; sequence++) {
        keys[sequence] = (Key){next_wait_ns(bench), sequence};
        g_tree_insert_node(tree, &keys[sequence], &keys[sequence]);
    }
    double began = cpu_seconds();
    for (uint32_t i = 0; i < n_holds; i++) {
        Key *key = g_tree_node_value(g_tree_node_first(tree));
        g_tree_remove(tree, key);
        *key = (Key){key->at_ns + next_wait_ns(bench), sequence++};
        g_tree_insert_node(tree, key, key);
    }
    return (cpu_seconds() - began) / n_holds;
}

typedef double (*Timing)(Bench *bench, uint32_t n_waiting, uint32_t n_holds);

static double
best_ns(Timing timing, Bench *bench, uint32_t n_waiting, uint32_t n_holds)
{
    double best = INFINITY;
    for (int i = 0; i < N_RUNS; i++) {
        bench->n_drawn = 0;
        best = fmin(best, timing(bench, n_waiting, n_holds));
    }
    return 1e9 * best;
}

int
main(int argc, char **argv)
{
    uint32_t n_holds = argc > 1 ? (uint32_t)atoi(argv[1]) : 2000000;
    g_autofree Bench *bench = g_new0(Bench, 1);
    printf("%-24s %8s %10s %12s %8s   ns for each hold\n", "spread", "waiting", "our queue",
           "binary heap", "tree");
    for (size_t s = 0; s < G_N_ELEMENTS(SPREADS); s++) {
        SpateRandom random = spate_random_stream(1, s);
        for (uint32_t i = 0; i < N_WAITS; i++)
            bench->waits_ns[i] = (int64_t)SPREADS[s].draw_ns(&random);
        for (uint32_t n = 100; n <= 100000; n *= 10)
            printf("%-24s %8u %10.1f %12.1f %8.1f\n", SPREADS[s].name, n,
                   best_ns(time_our_queue, bench, n, n_holds),
                   best_ns(time_binary_heap, bench, n, n_holds),
                   best_ns(time_tree, bench, n, n_holds / 4));
    }
    return EXIT_SUCCESS;
}
