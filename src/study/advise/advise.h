/* advise.h - which traffic a bridge should hold back
 *
 * A stream is what one crossing lets across of one traffic (where a few entries of `nodes:` send
 * it, of one of them; a traffic of people, study/run/people.h, is one stream).  Streams are held
 * back one at a time, on the same random numbers: what people's delivery gains is what holding it
 * back wins.  One that is sure to win next to nothing is tried in few replications only.
 * Then sets of streams are held back together and judged by the expectations as spate_check_new()
 * judges a file: all sets by size where there are four streams or fewer, else the first of those
 * that win most, from which every one is then left out that can be (so that none of the rest can).
 * Streams by which people's delivery loses for sure are in a set only if no set without them meets
 * all.  Gentler treatments of that set that still meet all are kept too.  What is judged is the
 * text of the rules, put into the file.
 *
 * A search over many sets finds some that were lucky.  So the answer is that of replications which
 * the search did not see (advise-confirm.c), and on these every traffic's price is measured.
 */
#pragma once

#include "study/advise/advise-price.h"
#include "study/advise/advise-wanted.h"
#include "study/run/people.h"
#include "study/watch/crossing-watch.h"

/* What is tried instead of holding back, from gentle to hard. */
typedef enum {
    SPATE_ADVISE_THIN,  /* one message in 2, 4, 8 of each source passes */
    SPATE_ADVISE_LIMIT, /* no more than 1/2, 1/4, 1/8 of what passes now */
    SPATE_ADVISE_HOLD   /* nothing */
} SpateAdviseGentle;

#define SPATE_ADVISE_ALL_SOURCES UINT32_MAX

/* A change of people's delivery that is worth a rule: half a percentage point.  Common practice, no
 * source. */
#define SPATE_ADVISE_WORTH 0.005

/* Why a stream is in none of the sets. */
typedef enum {
    SPATE_ADVISE_NOT_LEFT_OUT,
    SPATE_ADVISE_COSTS_LITTLE, /* all that are left out for that cost the far side next to nothing
                                */
    SPATE_ADVISE_OTHERS_COST_MORE, /* as many as are tried at most */
    SPATE_ADVISE_LOSES             /* people's delivery loses by it, and other streams are enough */
} SpateAdviseLeftOut;

typedef struct {
    uint32_t group; /* of the index */
    uint32_t traffic;
    uint32_t entry; /* of `nodes:`, or SPATE_ADVISE_ALL_SOURCES */
    char *source;   /* its name; NULL: all */
    uint32_t
        first_rule; /* the first one that lets it across now; SPATE_NO_RULE: `otherwise` does */
    bool is_peoples;
    bool is_tried; /* the gain is known */
    SpateAdviseLeftOut left_out;
    SpateEstimate per_hour, load_share, collision_share; /* of the far side */
    SpateEstimate gain;                                  /* of people's delivery */
    uint32_t n_gain;   /* replications that the gain is of; 0: none */
    bool is_hopeless;  /* tried no further than the first look: advise-gains.c */
    double gain_level; /* of the gain's interval: 0.95 or more; NAN: none */
} SpateAdviseStream;

typedef enum {
    SPATE_ADVISE_NOTHING_EXPECTED, /* there is nothing to meet */
    SPATE_ADVISE_MET_ALREADY,      /* nothing need be held back */
    SPATE_ADVISE_FOUND,
    SPATE_ADVISE_UNSURE,        /* the set leans to meet all, but it is not sure */
    SPATE_ADVISE_NOT_CONFIRMED, /* a set met all in the search, and not on fresh replications */
    SPATE_ADVISE_NONE,          /* no set meets all */
    SPATE_ADVISE_OPEN           /* interrupted */
} SpateAdviseAnswer;

typedef struct {
    const char *variant; /* from which it starts; borrowed; "base" too */
    SpateScenario *scenario;
    SpatePeople people;
    SpateCrossingIndex index;
    uint32_t n_replications; /* of costs, and of gains at most */
    SpateEstimate delivery;  /* people's, as it is (of all, where none are named) */
    GArray *streams;         /* SpateAdviseStream; of a crossing those that win most go first */

    SpateAdviseAnswer answer;
    SpateCheck *as_it_is; /* the expectations before anything is held back; NULL: none */
    GArray *chosen;       /* guint: streams that are held back, by what they win */
    GArray *treatments; /* uint32_t: one in so many passes (0: none) that met all in the search, the
                           gentlest first; NULL: none */
    bool is_smallest;   /* all smaller sets were tried; else none can be left out */
    uint32_t n_sets_tried;
    uint32_t n_searched; /* replications that the search has seen: 0 to this */

    /* On fresh replications. */
    SpateAdviseGentle gentle;
    uint32_t one_of;      /* one in so many passes; 0: none */
    char *rules;          /* a map of paths and lists; NULL: none */
    SpateCheck *verified; /* what the expectations become with them; NULL: none */
    uint32_t first_fresh; /* the first replication of `verified` */
    guint n_refuted; /* treatments, from the gentlest on, that fresh replications did not confirm */
    GArray *prices;  /* SpateAdvisePrice; NULL: none */
    bool interrupted;

    /* Private: the scenario as it is, run once for costs, gains and verdicts; and these, until they
     * are judged. */
    SpateStudy *study;
    SpateCheck *unjudged;
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

static inline const char *
spate_advise_bridge(const SpateAdvice *advice, const SpateCrossingGroup *crossing)
{
    return advice->scenario->bridge_names[crossing->bridge];
}

static inline bool
spate_advise_is_chosen(const SpateAdvice *advice, guint stream)
{
    for (guint i = 0; advice->chosen != NULL && i < advice->chosen->len; i++)
        if (g_array_index(advice->chosen, guint, i) == stream)
            return true;
    return false;
}

/* Whether anything of a traffic crosses there. */
static inline bool
spate_advise_crosses(const SpateAdvice *advice, guint group, uint32_t traffic)
{
    for (guint i = 0; i < advice->streams->len; i++) {
        const SpateAdviseStream *stream = spate_advise_stream(advice, i);
        if (stream->group == group && stream->traffic == traffic)
            return true;
    }
    return false;
}
