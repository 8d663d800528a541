/* formats.h - the formats of a report, one file each */
#pragma once

#include "report/report.h"

void spate_report_table(GString *text, const SpateResult *result, const SpateTableStyle *style);
/* detail: NULL without. */
void spate_report_json(GString *text, const SpateResult *result, const SpateDetailReport *detail);
void spate_report_csv(GString *text, const SpateResult *result);
