/* fuzz-result.c - any bytes as a result: what is taken is written again, and again the same; its
 * details are refused, or bear being hidden
 */
#include "fuzz.h"
#include "report/privacy/privacy.h"
#include "report/report.h"
#include "report/result/detail-form.h"
#include "report/result/result-reader.h"

#include <string.h>

/* Free with g_free(). */
static char *
written(const SpateResult *result, SpateFormat format)
{
    const SpateTableStyle style = {.colour = true};
    GString *text = g_string_new(NULL);
    spate_report_append(text, result, format, &style);
    return g_string_free(text, FALSE);
}

static void
hide(const char *text, size_t length)
{
    g_autoptr(JsonParser) parser = json_parser_new();
    if (!json_parser_load_from_data(parser, text, (gssize)length, NULL))
        return;
    JsonObject *root = json_node_get_object(json_parser_get_root(parser));
    g_autofree char *fault = spate_detail_fault(root);
    if (fault != NULL)
        return;
    spate_result_blur(root, 100.0, 1);
    spate_result_anonymise(root, 2);
    g_autofree char *again = spate_detail_fault(root);
    g_assert_cmpstr(again, ==, NULL);
}

int
LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateResult) result =
        spate_result_parse("old.json", (const char *)bytes, length, &error);
    g_assert((result == NULL) == (error != NULL));
    if (result == NULL) {
        g_assert(g_utf8_validate(error->message, -1, NULL));
        return 0;
    }
    hide((const char *)bytes, length);
    g_free(written(result, SPATE_FORMAT_CSV));
    g_free(written(result, SPATE_FORMAT_TABLE));
    g_autofree char *text = written(result, SPATE_FORMAT_JSON);
    g_autoptr(SpateResult) again = spate_result_parse("new.json", text, strlen(text), &error);
    g_assert_no_error(error);
    g_autofree char *twin = written(again, SPATE_FORMAT_JSON);
    g_assert_cmpstr(twin, ==, text);
    return 0;
}
