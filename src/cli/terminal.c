/* terminal.c - what the terminal at standard output can show */
#include "cli/cli.h"

#include <langinfo.h>
#include <locale.h>
#include <sys/ioctl.h>
#include <unistd.h>

/* What a terminal has that does not tell; and more than any has. */
#define USUAL_COLUMNS 80
#define MOST_COLUMNS  10000

bool
cli_terminal_is_output(const char *output)
{
    bool is_standard = output == NULL || g_str_equal(output, "-");
    return is_standard && isatty(STDOUT_FILENO);
}

/* COLUMNS says it where the terminal cannot: POSIX.1-2017, Base Definitions, 8.3. */
static unsigned
columns(void)
{
    guint64 said = 0;
    struct winsize size;
    const char *text = g_getenv("COLUMNS");
    if (text != NULL && g_ascii_string_to_unsigned(text, 10, 1, MOST_COLUMNS, &said, NULL))
        return (unsigned)said;
    if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0)
        return size.ws_col;
    return USUAL_COLUMNS;
}

/* By the user's locale, which the program itself does not take on. */
static bool
shows_utf8(void)
{
    locale_t locale = newlocale(LC_CTYPE_MASK, "", (locale_t)0);
    if (locale == (locale_t)0)
        return false;
    bool is_utf8 = g_ascii_strcasecmp(nl_langinfo_l(CODESET, locale), "UTF-8") == 0;
    freelocale(locale);
    return is_utf8;
}

SpateTableStyle
cli_terminal_style(const char *output)
{
    if (!cli_terminal_is_output(output))
        return (SpateTableStyle){0};
    /* NO_COLOR is honoured: set, and not empty. */
    const char *no_colour = g_getenv("NO_COLOR");
    return (SpateTableStyle){.colour = no_colour == NULL || no_colour[0] == '\0',
                             .columns = columns(),
                             .is_ascii = !shows_utf8()};
}
