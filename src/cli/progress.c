/* progress.c - how far a long study is, for a person at a terminal */
#include "cli/cli.h"

#include <stdio.h>
#include <unistd.h>

#define QUIET_FOR_US (1 * G_USEC_PER_SEC)
/* More often than a person can read would only hold up the work. */
#define SHOWN_EACH_US (G_USEC_PER_SEC / 5)

void
cli_progress_init(CliProgress *progress, bool quiet)
{
    *progress = (CliProgress){
        .wanted = !quiet && isatty(STDERR_FILENO),
        .things = "runs",
        .began_us = g_get_monotonic_time(),
    };
    cli_progress_resume(progress, 0);
}

void
cli_progress_resume(CliProgress *progress, uint32_t done)
{
    cli_time_left_init(&progress->left, (double)g_get_monotonic_time() / 1e6, done);
}

SpateStudyOptions
cli_progress_study(CliProgress *progress, const CliOptions *options)
{
    cli_progress_init(progress, options->quiet);
    return (SpateStudyOptions){
        .jobs = options->jobs,
        .stop = cli_interrupt_flag(),
        .progress = cli_progress_show,
        .user = progress,
    };
}

static void
append_left(GString *text, double left_s)
{
    if (left_s < 90.0)
        g_string_append_printf(text, "about %.0f s left", left_s);
    else if (left_s < 5400.0)
        g_string_append_printf(text, "about %.0f min left", left_s / 60.0);
    else
        g_string_append_printf(text, "about %.1f h left", left_s / 3600.0);
}

void
cli_progress_show(gpointer user, uint32_t done, uint32_t total)
{
    CliProgress *progress = user;
    if (done > 0 && !progress->is_before)
        cli_interrupt_keep_results();
    gint64 now_us = g_get_monotonic_time();
    cli_time_left_note(&progress->left, (double)now_us / 1e6, done);
    bool is_early = now_us - progress->began_us < QUIET_FOR_US ||
                    (now_us - progress->shown_us < SHOWN_EACH_US && done < total);
    if (!progress->wanted || is_early)
        return;
    progress->shown_us = now_us;
    g_autoptr(GString) text = g_string_new(NULL);
    g_string_append_printf(text, "%u of %u %s", done, total, progress->things);
    double left_s = cli_time_left_s(&progress->left, total);
    if (left_s >= 0.0 && done < total) {
        g_string_append(text, ", ");
        append_left(text, left_s);
    }
    fprintf(stderr, "\r\033[K%s", text->str);
    fflush(stderr);
    progress->shown = true;
}

void
cli_progress_clear(CliProgress *progress)
{
    if (progress->shown)
        fputs("\r\033[K", stderr);
    progress->shown = false;
}
