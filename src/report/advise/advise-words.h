/* advise-words.h - what the reports of advice share */
#pragma once

#include "document/form.h"
#include "report/words/figures.h"
#include "study/advise/advise-trials.h"
#include "study/advise/advise.h"

/* "12.3 [11.0, 13.5]": in percent, with its interval; `sign`: a + before what is positive.  "-"
 * where there is nothing. Free with g_free(). */
char *spate_estimate_percent(const SpateEstimate *estimate, bool sign);
/* The same, with so many digits (more where the interval needs them). */
char *spate_estimate_text(const SpateEstimate *estimate, SpateShown shown);
/* With three digits; free with g_free(). */
char *spate_number_text(double value);

/* The head that all have. */
typedef struct {
    const char *kind; /* of advice: "bridges" */
    const SpateScenario *scenario;
    const char *variant;
    uint32_t n_replications;
    bool is_interrupted, one_layout;
} SpateAdviceHead;

extern const SpateForm SPATE_ADVICE_HEAD_FORM;
SpateAdviceHead spate_advice_head(const char *kind, const SpateScenario *scenario,
                                  const char *variant, uint32_t n_replications,
                                  bool is_interrupted);
/* For people: title, variant, replications, seed. */
void spate_advice_append_head(GString *text, const SpateAdviceHead *head);

/* Whose traffic counts, and how much of it arrives. */
typedef struct {
    const char **traffics; /* NULL: expectations name none */
    SpateEstimate delivery;
} SpatePeopleForm;

extern const SpateForm SPATE_PEOPLE_FORM;
/* Free the names with g_free(). */
SpatePeopleForm spate_people_form(const SpatePeople *people, const SpateEstimate *delivery);
void spate_people_append(GString *text, const SpatePeople *people, const SpateEstimate *delivery,
                         const char *otherwise);

/* A member of JSON: {"mean": ..., "ci95": [...] or null, "n": ...}. */
#define SPATE_ESTIMATE_MEMBER(name, type, member)                                                  \
    {                                                                                              \
        name, SPATE_CELL_OBJECT, offsetof(type, member), .form = &SPATE_ESTIMATE_FORM              \
    }

/* ---- effects that are judged together ------------------------------------------------------- */

/* The mean with the interval of the judgement, in percent; free with g_free(). */
char *spate_judged_text(const SpateJudgedEffect *effect);
/* Its p; free with g_free(). */
char *spate_judged_p_text(const SpateJudgedEffect *effect);
/* One of the words where it is told from 0; else "no difference" or how many replications would
 * tell.  Free with g_free(). */
char *spate_judged_verdict(const SpateJudgedEffect *effect, const char *above, const char *below);
/* "talk +21.6 [+4.7, +38.5]"; "" where none loses.  Free with g_free(). */
char *spate_loser_text(const SpateScenario *scenario, const SpateAdviseLoser *loser);
/* "not told apart from hill: about 12 more replications", or `apart` and the name.  Free with
 * g_free(). */
char *spate_behind_text(const SpateJudgedEffect *behind, const char *before, const char *apart);
/* "about 12 more replications", "no difference"; free with g_free(). */
char *spate_more_text(uint32_t more);

/* How an effect is written. */
typedef struct {
    SpateEstimate own;
    SpateInterval tested;
    double p;
    bool is_told;
    uint32_t more; /* SPATE_NO_THING: there is nothing to decide, or too much */
} SpateToldForm;

/* All members but the estimate, which is called differently each time. */
extern const SpateForm SPATE_TOLD_FORM;
/* {"difference", and the members above}. */
extern const SpateForm SPATE_BEHIND_FORM;
SpateToldForm spate_told_form(const SpateJudgedEffect *effect);

typedef struct {
    const char *traffic; /* NULL: none */
    SpateEstimate loss;
    bool is_given;
} SpateLoserForm;

/* {"traffic", "loss"}. */
extern const SpateForm SPATE_LOSER_FORM;
SpateLoserForm spate_loser_form(const SpateScenario *scenario, const SpateAdviseLoser *loser);

/* ---- which traffic a bridge should hold back (advise-report.c, advise-json.c) ---------------- */

/* Whether one of the streams that are held back is of this traffic. */
bool spate_advise_treats(const SpateAdvice *advice, uint32_t traffic);
void spate_advise_append_json(GString *text, const SpateAdvice *advice);
void spate_advise_append_csv(GString *text, const SpateAdvice *advice);
