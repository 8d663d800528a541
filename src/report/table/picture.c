/* picture.c - intervals and histograms in the characters of a terminal
 *
 * A bar ends at half a character: box-drawing characters have a left and a right half.
 */
#include "report/table/picture.h"

#include "document/numbers.h"
#include <math.h>
#include <string.h>

/* By which halves of the character the bar covers: neither, the left, the right, both. */
static const char *const BAR[] = {" ", "╴", "╶", "─"}, *const BAR_AT_ZERO[] = {"│", "┤", "├", "┼"};
static const char *const ASCII_BAR[] = {" ", "-", "-", "-"}, *const ASCII_BAR_AT_ZERO[] = {
                                                                 "|", "+", "+", "+"};
static const char MARK[] = "●", ASCII_MARK[] = "o";

static void
drop_blanks_at_the_end(GString *text, gsize start)
{
    while (text->len > start && text->str[text->len - 1] == ' ')
        g_string_truncate(text, text->len - 1);
}

/* In halves of characters. */
static unsigned
half_of(const SpateScale *scale, double value, unsigned width)
{
    return (unsigned)lround(spate_scale_place(scale, value) * (2.0 * width - 1.0));
}

void
spate_picture_append_interval(GString *text, double mean, SpateInterval ci95,
                              const SpateScale *scale, bool zero_line, SpatePictureStyle style)
{
    if (isnan(mean))
        return;
    gsize start = text->len;
    bool has_bar = !isnan(ci95.low);
    unsigned low = has_bar ? half_of(scale, ci95.low, style.width) : 0;
    unsigned high = has_bar ? half_of(scale, ci95.high, style.width) : 0;
    unsigned mark = half_of(scale, mean, style.width) / 2;
    unsigned zero = half_of(scale, 0.0, style.width) / 2;
    for (unsigned i = 0; i < style.width; i++) {
        size_t left = has_bar && low <= 2 * i && 2 * i <= high;
        size_t right = has_bar && low <= 2 * i + 1 && 2 * i + 1 <= high;
        bool at_zero = zero_line && i == zero;
        const char *const *bar = style.is_ascii ? (at_zero ? ASCII_BAR_AT_ZERO : ASCII_BAR)
                                                : (at_zero ? BAR_AT_ZERO : BAR);
        const char *sign = style.is_ascii ? ASCII_MARK : MARK;
        g_string_append(text, i == mark ? sign : bar[left + 2 * right]);
    }
    drop_blanks_at_the_end(text, start);
}

void
spate_picture_append_ends(GString *text, const SpateScale *scale, SpatePictureStyle style)
{
    g_autoptr(GString) low = g_string_new(NULL);
    g_autoptr(GString) high = g_string_new(NULL);
    spate_scale_append_tick(low, scale, 0);
    spate_scale_append_tick(high, scale, scale->n_ticks - 1);
    if (low->len + 1 + high->len <= style.width)
        g_string_append_printf(text, "%s%*s", low->str, (int)(style.width - low->len), high->str);
}

void
spate_picture_append_heights(GString *text, const uint64_t *counts, double most,
                             SpatePictureStyle style)
{
    static const char *const BLOCKS[] = {" ", "▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"};
    static const char *const ASCII_BLOCKS[] = {" ", ".", ":", "-", "=", "+", "*", "#", "@"};
    gsize start = text->len;
    for (unsigned i = 0; i < style.width; i++) {
        size_t height = (size_t)ceil((double)counts[i] / most * 8.0);
        g_string_append(text, (style.is_ascii ? ASCII_BLOCKS : BLOCKS)[MIN(height, 8)]);
    }
    drop_blanks_at_the_end(text, start);
}
