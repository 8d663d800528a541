/* plots.c - single pictures of a result, each into a file of its own */
#include "cli/cli.h"

#include <string.h>

void
cli_plots_clear(CliPlots *plots)
{
    for (size_t i = 0; i < plots->n; i++)
        g_free(plots->all[i].path);
    g_free(plots->all);
}

/* One that is there. */
static const char *
example_of(const char *const *known)
{
    return g_strv_contains(known, "latency") ? "latency" : known[0];
}

/* "latency=FILE.svg" */
static bool
read_plot(CliPlots *plots, const char *const *known, const char *text)
{
    const char *equals = strchr(text, '=');
    if (equals == NULL || equals[1] == '\0') {
        cli_complain(CLI_USAGE, "--plot: '%s' has no file name; write it as in --plot %s=FILE.svg",
                     text, example_of(known));
        return false;
    }
    g_autofree char *name = g_strndup(text, (gsize)(equals - text));
    size_t plot = 0;
    while (known[plot] != NULL && strcmp(known[plot], name) != 0)
        plot++;
    if (known[plot] == NULL) {
        g_autofree char *all = g_strjoinv(", ", (char **)(uintptr_t)known);
        g_autofree char *list = g_strconcat("; there are: ", all, NULL);
        cli_complain_unknown("--plot: there is no plot", name, known, list);
        return false;
    }
    plots->all[plots->n++] = (CliPlot){(int)plot, g_strdup(equals + 1)};
    return true;
}

bool
cli_plots_read(CliOptions *options, const CliCommand *command)
{
    const char *const *known = command->plots != NULL ? command->plots : spate_plot_names();
    char **texts = cli_option_texts(options, "plot");
    options->plots.all = g_new0(CliPlot, (texts != NULL ? g_strv_length(texts) : 0) + 1);
    for (size_t i = 0; texts != NULL && texts[i] != NULL; i++)
        if (!read_plot(&options->plots, known, texts[i]))
            return false;
    return true;
}

CliStatus
cli_plots_write(const CliOptions *options, const SpateResult *result)
{
    for (size_t i = 0; i < options->plots.n; i++) {
        const CliPlot *plot = &options->plots.all[i];
        g_autoptr(GString) svg = g_string_new(NULL);
        if (!spate_plot_append(svg, result, (SpatePlot)plot->plot))
            cli_complain(CLI_DONE, "--plot: nothing to show in %s; the picture says why",
                         plot->path);
        CliStatus status = cli_output_write(plot->path, CLI_EXACT, svg->str, svg->len);
        if (status != CLI_DONE)
            return status;
    }
    return CLI_DONE;
}

CliStatus
cli_plots_write_one(const CliOptions *options, const GString *svg)
{
    CliStatus status = CLI_DONE;
    for (size_t i = 0; status == CLI_DONE && i < options->plots.n; i++)
        status = cli_output_write(options->plots.all[i].path, CLI_EXACT, svg->str, svg->len);
    return status;
}
