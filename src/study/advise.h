/* advise.h - which traffic a bridge should hold back
 *
 * A stream is what one crossing lets across of one traffic (where a few entries of `nodes:` send
 * it, of one of them).  Streams of people's traffic (people.h) are not held back.  The others are
 * held back one at a time, on the same random numbers: what people's delivery gains is what holding
 * it back wins.  Then sets of streams are held back together and judged by the expectations as
 * spate_check_new() judges a file: all sets by size where there are four streams or fewer, else
 * the first of those that win most, from which every one is then left out that can be (so that
 * none of the rest can).  Last, the gentlest treatment of that set that still meets all is
 * looked for.  What is judged is the text of the rules, put into the file.
 */
#pragma once

#include "study/advise-wanted.h"
#include "study/crossing-watch.h"
#include "study/people.h"

/* What is tried instead of holding back, from gentle to hard. */
typedef enum {
    SPATE_ADVISE_THIN,  /* one message in 2, 4, 8 of each source passes */
    SPATE_ADVISE_LIMIT, /* no more than 1/2, 1/4, 1/8 of what passes now */
    SPATE_ADVISE_HOLD   /* nothing */
} SpateAdviseGentle;

#define SPATE_ADVISE_ALL_SOURCES UINT32_MAX

typedef struct {
    uint32_t group; /* of the index */
    uint32_t traffic;
    uint32_t entry; /* of `nodes:`, or SPATE_ADVISE_ALL_SOURCES */
    char *source;   /* its name; NULL: all */
    uint32_t
        first_rule;  /* the first one that lets it across now; SPATE_NO_RULE: `otherwise` does */
    bool is_peoples; /* never held back */
    bool is_tried;   /* the gain is known */
    SpateEstimate per_hour, load_share, collision_share; /* of the far side */
    SpateEstimate gain;                                  /* of people's delivery */
} SpateAdviseStream;

typedef enum {
    SPATE_ADVISE_NOTHING_EXPECTED, /* there is nothing to meet */
    SPATE_ADVISE_MET_ALREADY,      /* nothing need be held back */
    SPATE_ADVISE_FOUND,
    SPATE_ADVISE_UNSURE, /* the set leans to meet all, but it is not sure */
    SPATE_ADVISE_NONE,   /* no set meets all */
    SPATE_ADVISE_OPEN    /* interrupted */
} SpateAdviseAnswer;

typedef struct {
    const char *variant; /* from which it starts; borrowed; "base" too */
    SpateScenario *scenario;
    SpatePeople people;
    SpateCrossingIndex index;
    uint32_t n_replications; /* of costs and gains */
    SpateEstimate delivery;  /* people's, as it is (of all, where none are named) */
    GArray *streams;         /* SpateAdviseStream; of a crossing those that win most go first */

    SpateAdviseAnswer answer;
    SpateCheck *as_it_is; /* the expectations before anything is held back; NULL: none */
    GArray *chosen;       /* guint: streams that are held back, by what they win */
    uint32_t one_of;      /* one in so many passes; 0: none */
    SpateAdviseGentle gentle;
    char *rules;          /* a map of paths and lists; NULL: none */
    SpateCheck *verified; /* what the expectations become with them; NULL: none */
    bool is_smallest;     /* all smaller sets were tried; else none can be left out */
    uint32_t n_sets_tried;
    bool interrupted;
} SpateAdvice;

SpateAdvice *spate_advise(const SpateAdviseWanted *wanted, SpateAdviseGentle gentle,
                          const SpateStudyOptions *options, GError **error);
void spate_advice_free(SpateAdvice *advice);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateAdvice, spate_advice_free)

static inline const SpateAdviseStream *
spate_advise_stream(const SpateAdvice *advice, guint number)
{
    return &g_array_index(advice->streams, SpateAdviseStream, number);
}

static inline const SpateCrossingGroup *
spate_advise_crossing(const SpateAdvice *advice, const SpateAdviseStream *stream)
{
    return &g_array_index(advice->index.groups, SpateCrossingGroup, stream->group);
}
