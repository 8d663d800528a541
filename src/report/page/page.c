/* page.c - a result as one page that anybody opens */
#include "report/page/page.h"

#include "document/json-text.h"
#include "page-resources.h"
#include "report/coverage/coverage-report.h"
#include "report/page/page-places.h"
#include "report/privacy/privacy.h"
#include "report/result/detail-form.h"
#include "report/result/result-reader.h"
#include "report/words/left-out.h"
#include "study/judge/expect.h"
#include <gio/gio.h>
#include <string.h>

/* ---- what the program holds ------------------------------------------------------------------ */

/* Free with g_free(). */
static char *
resource(const char *name)
{
    gsize length = 0;
    g_autofree char *path = g_strdup_printf("/spate/page/%s", name);
    g_autoptr(GBytes) bytes =
        g_resource_lookup_data(spate_page_get_resource(), path, G_RESOURCE_LOOKUP_FLAGS_NONE, NULL);
    g_assert(bytes != NULL);
    const char *data = g_bytes_get_data(bytes, &length);
    return g_strndup(data, length);
}

/* The page's own scripts, in the order of the list. */
static char *
own_scripts(void)
{
    g_autofree char *list = resource("scripts.list");
    g_auto(GStrv) names = g_strsplit(g_strstrip(list), "\n", -1);
    GString *all = g_string_new("'use strict';\n");
    for (size_t i = 0; names[i] != NULL; i++) {
        g_autofree char *script = resource(names[i]);
        g_string_append(all, script);
    }
    return g_string_free(all, FALSE);
}

/* ---- what the page says beside the result ---------------------------------------------------- */

/* The steps of coverage, by number: how they look, and what they are called. */
static void
append_steps(GString *text)
{
    for (size_t i = 0; i < SPATE_N_STEPS; i++) {
        const SpateCoverageLook *look = &SPATE_COVERAGE_LOOKS[i];
        const uint8_t *colour = look->colour;
        g_string_append_printf(text,
                               "%s{\"colour\": [%u, %u, %u, %u], \"words\": ", i > 0 ? ", " : "",
                               colour[0], colour[1], colour[2], colour[3]);
        spate_append_json_string(text, look->words);
        g_string_append_c(text, '}');
    }
}

/* {"left_out": ..., "more_most": ..., "more": [...], "steps": [...], "places": ..., "layers": ...}.
 * `more`: how many more replications would likely tell a difference from 0; null if it is told
 * already, or if none would; a number above the most is "more than that".  In the order of the
 * differences, which hiding names does not change.  The last two only of details.  `shown` is the
 * result with what is hidden taken out.  Free with g_free(). */
static char *
additions(const SpateResult *result, JsonObject *shown)
{
    const SpateExpectBound zero = {.is_given = true}, none = {0};
    GString *text = g_string_new("{\"left_out\": ");
    g_autoptr(GString) left_out = g_string_new(NULL);
    spate_append_left_out(left_out);
    spate_append_json_string(text, left_out->str);
    g_string_append_printf(text, ", \"more_most\": %d, \"more\": [", SPATE_MORE_MOST);
    for (size_t i = 0; i < result->n_differences; i++) {
        const SpateDifference *difference = &result->differences[i];
        const SpateResultVariant *versus = result->variants;
        while (strcmp(versus->name, difference->versus) != 0)
            versus++;
        SpateJudgement judgement =
            spate_judge_change(difference->row, spate_result_find_row(versus, difference->row),
                               result->n_replications, zero, none, spate_look_later(1, false));
        g_string_append(text, i > 0 ? ", " : "");
        if (judgement.kind != SPATE_VERDICT_UNDECIDED || judgement.more == SPATE_MORE_NEVER)
            g_string_append(text, "null");
        else
            g_string_append_printf(text, "%u", MIN(judgement.more, SPATE_MORE_MOST + 1));
    }
    g_string_append(text, "], \"steps\": [");
    append_steps(text);
    g_string_append_c(text, ']');
    if (json_object_has_member(shown, "detail")) {
        JsonObject *detail = json_object_get_object_member(shown, "detail");
        g_string_append(text, ", \"places\": ");
        spate_page_append_places(text, detail);
        g_string_append(text, ", \"layers\": ");
        spate_page_append_layers(text, detail);
    }
    g_string_append_c(text, '}');
    return g_string_free(text, FALSE);
}

/* ---- putting it together --------------------------------------------------------------------- */

/* " 'sha256-...'" of an inline text. */
static void
append_hash(GString *policy, const char *text)
{
    guint8 digest[32];
    gsize length = sizeof digest;
    g_autoptr(GChecksum) sum = g_checksum_new(G_CHECKSUM_SHA256);
    g_checksum_update(sum, (const guchar *)text, (gssize)strlen(text));
    g_checksum_get_digest(sum, digest, &length);
    g_autofree char *base64 = g_base64_encode(digest, length);
    g_string_append_printf(policy, " 'sha256-%s'", base64);
}

static char *
policy_of(const char *style, const char *library, const char *scripts)
{
    GString *policy = g_string_new("<meta http-equiv=\"Content-Security-Policy\" content=\""
                                   "default-src 'none'; base-uri 'none'; form-action 'none'; "
                                   "img-src data:; style-src");
    append_hash(policy, style);
    g_string_append(policy, "; script-src");
    append_hash(policy, library);
    append_hash(policy, scripts);
    g_string_append(policy, "\">");
    return g_string_free(policy, FALSE);
}

static void
fill(GString *page, const char *mark, const char *before, const char *text, const char *after)
{
    const char *at = strstr(page->str, mark);
    g_assert(at != NULL);
    gssize offset = at - page->str;
    g_string_erase(page, offset, (gssize)strlen(mark));
    g_string_insert(page, offset, after);
    g_string_insert(page, offset, text);
    g_string_insert(page, offset, before);
}

/* The result goes in last: no mark is looked for within it. */
static char *
assemble(const char *json, const SpateResult *result, JsonObject *shown)
{
    g_autofree char *html = resource("page.html");
    g_autofree char *style = resource("page.css");
    g_autofree char *library = resource("d3.min.js");
    g_autofree char *licence = resource("d3-licence.txt");
    g_autofree char *scripts = own_scripts();
    g_autofree char *policy = policy_of(style, library, scripts);
    g_autofree char *escaped = g_markup_escape_text(licence, -1);
    g_autofree char *added = additions(result, shown);
    /* No text can end the element that contains it, nor a line of a script. */
    g_autoptr(GString) embedded = g_string_new(json);
    g_string_replace(embedded, "<", "\\u003c", 0);
    g_string_replace(embedded, "\xE2\x80\xA8", "\\u2028", 0);
    g_string_replace(embedded, "\xE2\x80\xA9", "\\u2029", 0);
    GString *page = g_string_new(html);
    fill(page, "<!-- spate:policy -->", "", policy, "");
    fill(page, "<!-- spate:style -->", "<style>", style, "</style>");
    fill(page, "<!-- spate:licence -->", "", escaped, "");
    fill(page, "<!-- spate:library -->", "<script>", library, "</script>");
    fill(page, "<!-- spate:scripts -->", "<script>", scripts, "</script>");
    fill(page, "<!-- spate:additions -->", "<script type=\"application/json\" id=\"additions\">",
         added, "</script>");
    fill(page, "<!-- spate:result -->", "<script type=\"application/json\" id=\"result\">",
         embedded->str, "</script>");
    return g_string_free(page, FALSE);
}

char *
spate_page_new(const char *name, const char *json, size_t length, const SpatePagePrivacy *privacy,
               bool *has_detail, GError **error)
{
    g_autoptr(JsonNode) root = NULL;
    g_autoptr(SpateResult) result = spate_result_parse_whole(name, json, length, &root, error);
    if (result == NULL)
        return NULL;
    g_autofree char *fault = spate_detail_fault(json_node_get_object(root));
    if (fault != NULL) {
        g_set_error(error, SPATE_RESULT_ERROR, SPATE_RESULT_ERROR_BAD, "%s: %s", name, fault);
        return NULL;
    }
    *has_detail = json_object_has_member(json_node_get_object(root), "detail");
    /* What nobody wants hidden stays as it is, to the last digit. */
    if (privacy->blur_m <= 0.0 && !privacy->is_anonymous) {
        g_autofree char *whole = g_strndup(json, length);
        return assemble(whole, result, json_node_get_object(root));
    }
    if (privacy->blur_m > 0.0)
        spate_result_blur(json_node_get_object(root), privacy->blur_m, privacy->seed);
    if (privacy->is_anonymous)
        spate_result_anonymise(json_node_get_object(root), privacy->seed);
    g_autoptr(JsonGenerator) generator = json_generator_new();
    json_generator_set_root(generator, root);
    g_autofree char *text = json_generator_to_data(generator, NULL);
    return assemble(text, result, json_node_get_object(root));
}
