/* report.c - a result as text */
#include "report/report.h"

void
spate_report_append(GString *text, const SpateResult *result, SpateFormat format,
                    const SpateTableStyle *style)
{
    switch (format) {
    case SPATE_FORMAT_TABLE:
        spate_report_table(text, result, style);
        return;
    case SPATE_FORMAT_JSON:
        spate_report_append_detailed(text, result, NULL);
        return;
    case SPATE_FORMAT_CSV:
        spate_report_csv(text, result);
        return;
    }
    g_assert_not_reached();
}
