/* detail.h - what a report shows beside the measures: where nodes are, who hears whom, what each
 * node gets, when the air is busy, who breaks whose reception, and the way of some messages
 *
 * Summed up over the replications of a study that keeps it.  All is bounded, so that a
 * page stays small: the strongest links, the worst disturbers, a few messages.
 */
#pragma once

#include "measure/message-trace.h"
#include "study/advise/advise-disturbers.h"
#include "study/detail/detail-relief.h"
#include "study/study.h"

/* Of one variant: links, disturbers in all and of one receiver; and what a link needs at least. */
#define SPATE_DETAIL_LINKS             6000
#define SPATE_DETAIL_DISTURBERS        1500
#define SPATE_DETAIL_DISTURBERS_OF_ONE 5
#define SPATE_DETAIL_LEAST_MARGIN_DB   (-10.0)
/* Receptions of all messages that are followed. */
#define SPATE_DETAIL_RECEPTIONS 60000

/* A pair of radios on one bearer; without shadowing and fading.  NAN: not heard at all that way. */
typedef struct {
    uint32_t from, to; /* radios, from < to */
    double margin_db, margin_back_db;
} SpateDetailLink;

typedef struct {
    uint32_t receiver;
    uint32_t sender; /* radio; n_radios: ambient traffic */
    SpateBlame blame;
    double per_hour, share; /* share of what the receiver could hear */
    double collision, busy, blocked;
} SpateDetailDisturber;

/* A share of pairs over all replications; NAN without any. */
typedef struct {
    uint64_t n_pairs;
    double share;
    SpateInterval ci95;
} SpateDetailShare;

typedef struct {
    double sending; /* share of the time; its mean over replications */
    SpateInterval ci95;
    double audible_per_hour, transmissions_per_hour;
    /* of what was audible; NAN if nothing was */
    double received, lost_collision, lost_busy, lost_sending, lost_blocked, lost_asleep;
    double redundant; /* of what was received */
} SpateDetailRadio;

/* Airtime in each step, in erlang. */
typedef struct {
    double mean[SPATE_DETAIL_STEPS], low[SPATE_DETAIL_STEPS], high[SPATE_DETAIL_STEPS];
} SpateDetailTimeline;

typedef struct {
    const SpateWorld *shown; /* of the study */
    GArray *links;           /* SpateDetailLink, by from and to */
    uint64_t n_links_left;
    SpateDetailShare *to_node, *from_node; /* by node */
    SpateDetailRadio *radios;
    GArray *disturbers; /* SpateDetailDisturber, by receiver, the worst first */
    uint64_t n_disturbers_left;
    SpateDetailTimeline *timeline; /* by bearer */
    double *airtime;               /* [(bearer * n_traffics + traffic) * steps + step], means */
    uint64_t *latency;             /* as in the counts of a run, all together */
    SpateMessageTrace **replay;    /* by message, by numbers of what is shown; NULL: not offered */
} SpateDetailVariant;

/* A message that the replays follow, by names: in every variant the same. */
typedef struct {
    char *traffic, *origin;
    uint64_t offer; /* of that source, from 0 */
    int64_t offered_ns;
    SpateMessageWhy why; /* in the first variant */
} SpateDetailMessage;

typedef struct {
    uint32_t n_replications;
    int64_t step_ns;
    SpateDetailVariant *variants; /* by scenario of the study */
    size_t n_variants;
    GArray *messages;    /* SpateDetailMessage */
    SpateRelief *relief; /* NULL: there is none */
} SpateDetail;

/* Borrows the study, which has finished one replication at least. NULL without an error if it was
 * stopped. */
SpateDetail *spate_detail_new(const SpateStudy *study, size_t n_scenarios,
                              const SpateStudyOptions *options, GError **error);
void spate_detail_free(SpateDetail *detail);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateDetail, spate_detail_free)
