/* lint-regulations.c - power, duty and frames against common limits
 *
 * Every region whose rows cover the bearer's spectrum is checked, since the file does not
 * say where the mesh is.  Of the rows of a region one that allows the bearer's duty cycle is
 * enough, and of these the one that allows most power counts.
 */

#include "scenario/lint/lint.h"
#include "scenario/read/regulations.h"

#include <math.h>
#include <string.h>

/* What a radio has of the power that a row limits. */
static double
level_dbm(const SpateScenarioRadio *radio, SpateLimitKind kind)
{
    double eirp_dbm = radio->power_dbm + radio->antenna.gain_dbi - radio->feeder_loss_db;
    switch (kind) {
    case SPATE_LIMIT_ERP:
        return eirp_dbm - SPATE_DIPOLE_GAIN_DBI;
    case SPATE_LIMIT_EIRP:
        return eirp_dbm;
    case SPATE_LIMIT_CONDUCTED:
        return radio->power_dbm;
    }
    g_assert_not_reached();
}

static char *
advice(const SpateRegulation *row)
{
    return g_strdup_printf("%s%splanning aid, not legal advice: check your local rules (this row: "
                           "%s)",
                           row->conditions != NULL ? row->conditions : "",
                           row->conditions != NULL ? "; " : "", row->confirmation);
}

static void
warn_of_power(SpateLint *lint, uint32_t bearer, const SpateRegulation *row)
{
    const SpateScenario *scenario = lint->scenario;
    for (uint32_t i = 0; i < scenario->n_nodes; i++) {
        const SpateScenarioRadio *radio = spate_scenario_radio(&scenario->nodes[i], bearer);
        if (!lint->is_first[i] || radio == NULL)
            continue;
        /* A hundredth of a dB: limits in mW are rounded in dBm. */
        double level = level_dbm(radio, row->kind);
        if (level <= row->limit_dbm + 0.01)
            continue;
        g_autofree char *hint = advice(row);
        spate_faults_warn(lint->faults, radio->place, hint,
                          "'%s' has %.1f dBm %s on '%s', more than the %.4g dBm of %s, %s, %s %s",
                          scenario->nodes[i].name, level, spate_limit_kind_name(row->kind),
                          scenario->bearers[bearer].name, row->limit_dbm, row->region, row->band,
                          row->source, row->edition);
    }
}

static void
warn_of_duty(SpateLint *lint, const SpateScenarioBearer *bearer, const SpateRegulation *row)
{
    double duty = spate_lint_duty(&bearer->radio);
    if (duty <= row->duty_cycle + 1e-9)
        return;
    g_autofree char *hint = advice(row);
    g_autofree char *given = bearer->radio.duty_limit_ns == 0
                                 ? g_strdup("no duty cycle")
                                 : g_strdup_printf("a duty cycle of %.4g %%", 100 * duty);
    spate_faults_warn(lint->faults, bearer->place, hint,
                      "'%s' has %s; %.4g %% is the limit of %s, band %s, %s %s", bearer->name,
                      given, 100 * row->duty_cycle, row->region, row->band, row->source,
                      row->edition);
}

static void
warn_of_long_frames(SpateLint *lint, uint32_t bearer, const SpateRegulation *row)
{
    const SpateScenario *scenario = lint->scenario;
    for (uint32_t i = 0; row->longest_frame_ns > 0 && i < scenario->n_traffics; i++) {
        const SpateScenarioTraffic *traffic = &scenario->traffics[i];
        int64_t airtime_ns = spate_lint_airtime_ns(scenario, bearer, traffic);
        if (!spate_lint_is_sent_on(scenario, traffic, bearer) ||
            airtime_ns <= row->longest_frame_ns)
            continue;
        g_autofree char *hint = advice(row);
        spate_faults_warn(lint->faults, traffic->place, hint,
                          "a frame of '%s' is on the air for %.0f ms on '%s'; %.0f ms is the limit "
                          "of %s, %s, %s %s",
                          traffic->name, (double)airtime_ns / 1e6, scenario->bearers[bearer].name,
                          (double)row->longest_frame_ns / 1e6, row->region, row->band, row->source,
                          row->edition);
    }
}

/* Whether a row suits a bearer better than another: duty allowed, longer frames allowed, then
 * power. */
static bool
is_better(const SpateRegulation *row, const SpateRegulation *best, double duty)
{
    if (best == NULL)
        return true;
    bool allows = row->duty_cycle + 1e-9 >= duty, best_allows = best->duty_cycle + 1e-9 >= duty;
    if (allows != best_allows)
        return allows;
    if ((row->longest_frame_ns == 0) != (best->longest_frame_ns == 0))
        return row->longest_frame_ns == 0;
    return row->limit_dbm > best->limit_dbm;
}

/* One region's rows from `first` on; returns the number of rows. */
static size_t
check_region(SpateLint *lint, uint32_t bearer, const SpateRegulation *rows, size_t n, bool *known)
{
    const SpateBearer *radio = &lint->scenario->bearers[bearer].radio;
    double centre_hz = (double)radio->modulation.centre_hz;
    double bandwidth_hz = radio->modulation.kind->bandwidth_hz(&radio->modulation);
    const SpateRegulation *best = NULL, *also = NULL;
    size_t i = 0;
    for (; i < n && strcmp(rows[i].region, rows[0].region) == 0; i++) {
        if (!spate_regulation_covers(&rows[i], centre_hz, bandwidth_hz))
            continue;
        if (rows[i].is_additional)
            also = &rows[i];
        else if (is_better(&rows[i], best, spate_lint_duty(radio)))
            best = &rows[i];
    }
    if (best == NULL)
        return i;
    *known = true;
    if (best->is_for_alarms) {
        g_autofree char *hint = advice(best);
        spate_faults_warn(lint->faults, lint->scenario->bearers[bearer].place, hint,
                          "'%s' lies in a band for alarms of %s, %s %s",
                          lint->scenario->bearers[bearer].name, best->region, best->source,
                          best->edition);
        return i;
    }
    warn_of_duty(lint, &lint->scenario->bearers[bearer], best);
    warn_of_power(lint, bearer, best);
    warn_of_long_frames(lint, bearer, best);
    if (also != NULL)
        warn_of_power(lint, bearer, also);
    return i;
}

void
spate_lint_regulations(SpateLint *lint)
{
    size_t n_rows;
    const SpateRegulation *rows = spate_regulations(&n_rows);
    for (uint32_t i = 0; i < lint->scenario->n_bearers; i++) {
        bool known = false;
        for (size_t row = 0; row < n_rows;)
            row += check_region(lint, i, &rows[row], n_rows - row, &known);
        if (!known)
            spate_faults_warn(
                lint->faults, lint->scenario->bearers[i].place,
                "planning aid, not legal advice: check your local rules",
                "'%s' is outside all bands whose limits are known here (EU/CEPT, US/FCC)",
                lint->scenario->bearers[i].name);
    }
}
