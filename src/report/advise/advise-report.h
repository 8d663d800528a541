/* advise-report.h - advice as text
 *
 * Tables begin with what was asked: costs and gains and then the rules, ready to paste, with what
 * the expectations become.  JSON: spate-advice/1, docs/result-format.md.
 */
#pragma once

#include "report/report.h"
#include "study/advise/advise-disturbers.h"
#include "study/advise/advise-relays.h"
#include "study/advise/advise-sites.h"
#include "study/advise/advise.h"

/* Each text ends with a newline. */
void spate_advise_report_append(GString *text, const SpateAdvice *advice, SpateFormat format);
void spate_relays_report_append(GString *text, const SpateRelayRanking *ranking,
                                SpateFormat format);
void spate_disturbers_report_append(GString *text, const SpateDisturberRanking *ranking,
                                    SpateFormat format);
void spate_sites_report_append(GString *text, const SpateSiteRanking *ranking, SpateFormat format);
