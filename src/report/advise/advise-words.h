/* advise-words.h - what the reports of advice share */
#pragma once

#include "report/report.h"
#include "study/run/people.h"

/* "12.3 [11.0, 13.5]": in percent, with its interval; `sign`: a + before what is positive.  "-"
 * where there is nothing. Free with g_free(). */
char *spate_estimate_percent(const SpateEstimate *estimate, gboolean sign);
/* The same, times `factor`, with so many digits (more where the interval needs them). */
char *spate_estimate_text(const SpateEstimate *estimate, double factor, int decimals,
                          gboolean sign);
char *spate_number_fixed(double value, int decimals);

/* {"mean": ..., "ci95": [...] or null, "n": ...} */
void spate_estimate_append_json(GString *text, const SpateEstimate *estimate);
/* ", \"key\": \"value\""; null for NULL. */
void spate_append_json_member(GString *text, const char *key, const char *value);
/* The head that all have: format, what kind of advice, version, scenario, seed, variant. */
void spate_advise_append_json_head(GString *text, const char *kind, const SpateScenario *scenario,
                                   const char *variant, uint32_t n_replications,
                                   bool is_interrupted);
/* The same for people: title, variant, replications, seed. */
void spate_advise_append_head(GString *text, const SpateScenario *scenario, const char *variant,
                              uint32_t n_replications, bool is_interrupted);
/* Whose traffic counts, and how much of it arrives. */
void spate_people_append(GString *text, const SpatePeople *people, const SpateEstimate *delivery,
                         const char *otherwise);
void spate_people_append_json(GString *text, const SpatePeople *people,
                              const SpateEstimate *delivery);

/* CSV: ",mean,low,high". */
void spate_append_csv_estimate(GString *text, const SpateEstimate *estimate);
