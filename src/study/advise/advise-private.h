/* advise-private.h - what the files of advise.h share, in the order in which they work */
#pragma once

#include "study/advise/advise.h"

/* ---- advise-streams.c: what bridges let across, and what it costs ---- */

/* Fills in the streams and what they cost; runs the scenario as it is.  False with an error. */
bool spate_advise_find_streams(SpateAdvice *advice, const SpateAdviseWanted *wanted,
                               const SpateStudyOptions *options, GError **error);

/* ---- advise-gains.c: what holding back each stream wins ---- */

/* The risk that any stream is given up which wins or loses that much or more. */
#define SPATE_ADVISE_GIVE_UP_RISK 0.05

/* The replications after which streams may be given up, a quarter; all where it would spare few. */
uint32_t spate_advise_first_look(uint32_t n_replications);
/* The interval of a gain there, one of so many streams: Student's, not narrower than what so many
 * (message, recipient) pairs can tell, as they may agree by chance; none of fewer than two values.
 */
SpateInterval spate_advise_look_interval(const SpateRunning *gain, double n_offered, guint n_tried);
bool spate_advise_is_hopeless(SpateInterval gain);

/* What holding back each one wins, and the order that follows.  Needs the streams and one
 * replication of the scenario as it is. */
bool spate_advise_find_gains(SpateAdvice *advice, const SpateAdviseWanted *wanted,
                             const SpateStudyOptions *options, GError **error);

/* ---- advise-rules.c: streams that are held back, as rules, and how they are judged ---- */

/* For each crossing that has a stream, the whole list that shall stand there: the rules that it
 * has, in their order, and before the first of them that lets a stream across, the new one.  So
 * what earlier rules hold back stays as it is.  A map of paths (bridges.NAME.CROSSING.rules) and
 * lists; "" for none.  `one_of` 0: nothing passes.  Free with g_free(). */
char *spate_advise_rules(const SpateAdvice *advice, const SpateAdviseWanted *wanted,
                         const guint *streams, size_t n_streams, uint32_t one_of);

/* The expectations of the file with these rules (NULL: as it is), from that replication on; not yet
 * run. */
SpateCheck *spate_advise_check(const SpateAdvice *advice, const SpateAdviseWanted *wanted,
                               const char *rules, uint32_t first, GError **error);
/* The same of one candidate among others, which is given up as soon as it fails. */
SpateCheck *spate_advise_candidate(const SpateAdvice *advice, const SpateAdviseWanted *wanted,
                                   const char *rules, GError **error);

typedef enum { SPATE_ADVISE_MEETS, SPATE_ADVISE_LEANS, SPATE_ADVISE_MISSES } SpateAdviseMeets;

/* All expectations of a check that was run. */
SpateAdviseMeets spate_advise_meets(const SpateCheck *check);

/* ---- advise-search.c: the smallest set of streams whose holding back meets the expectations ----
 */

/* Needs the gains.  Fills in the answer; false with an error. */
bool spate_advise_search(SpateAdvice *advice, const SpateAdviseWanted *wanted,
                         const SpateStudyOptions *options, GError **error);

/* ---- advise-confirm.c: whether fresh replications say what the search found ---- */

/* The set that the search kept is judged anew on replications that the search did not see, the
 * gentlest of its treatments first.  One that these do not confirm gives way to the next harder
 * one, on replications that are new again.  On the last ones of these every traffic's price is
 * worked out, against the scenario as it is.  Needs a set and its treatments.  Fills in the rest;
 * false with an error. */
bool spate_advise_confirm(SpateAdvice *advice, const SpateAdviseWanted *wanted,
                          const SpateStudyOptions *options, GError **error);
