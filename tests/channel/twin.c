/* twin.c - a slow, plain second reading of docs/model.md */
#include "channel/twin.h"

#include "core/units.h"
#include <math.h>
#include <string.h>

#define NONE UINT32_MAX

/* What has become of one frame at one radio so far. */
typedef struct {
    bool was_locked, captured, failed, failed_despite_mates, settled;
    SpateOutcome unlocked; /* by what the radio did when the critical part began */
    uint32_t disturber;
    bool has_disturber;
} Story;

typedef struct {
    const TwinScript *script;
    TwinResult *result;
    bool on_air[TWIN_MOST_FRAMES];
    uint32_t lock[TWIN_MOST_RADIOS]; /* frame, or NONE */
    bool sending[TWIN_MOST_RADIOS];
    int64_t stays_until_ns[TWIN_MOST_RADIOS]; /* awake after its last sending */
    Story stories[TWIN_MOST_FRAMES][TWIN_MOST_RADIOS];
} Twin;

static const SpateModulation *
modulation_of(const Twin *twin, uint32_t radio)
{
    return &twin->script->bearers[twin->script->bearer[radio]].modulation;
}

static int64_t
end_of(const Twin *twin, uint32_t f)
{
    return twin->script->frames[f].start_ns + twin->script->frames[f].airtime_ns;
}

static int64_t
critical_of(const Twin *twin, uint32_t f)
{
    const SpateModulation *m = modulation_of(twin, twin->script->frames[f].radio);
    return twin->script->frames[f].start_ns + m->kind->critical_ns(m);
}

static int64_t
header_of(const Twin *twin, uint32_t f)
{
    const SpateModulation *m = modulation_of(twin, twin->script->frames[f].radio);
    return twin->script->frames[f].start_ns + m->kind->header_ns(m);
}

static int64_t
horizon_of(const Twin *twin)
{
    int64_t horizon_ns = 0;
    for (uint32_t f = 0; f < twin->script->n_frames; f++)
        horizon_ns = MAX(horizon_ns, end_of(twin, f));
    return horizon_ns;
}

/* ---- sleep ----------------------------------------------------------------------------------- */

static bool
is_awake(const Twin *twin, uint32_t radio, int64_t now_ns)
{
    const SpateListening *listening = &twin->script->listening[radio];
    if (listening->every_ns == 0 || twin->sending[radio] || twin->lock[radio] != NONE ||
        now_ns < twin->stays_until_ns[radio])
        return true;
    for (int64_t begin_ns = twin->script->phase_ns[radio]; begin_ns <= now_ns;
         begin_ns += listening->every_ns)
        if (now_ns < begin_ns + listening->for_ns)
            return true;
    return false;
}

/* When it next falls asleep or wakes by itself, if that is before `next_ns`. */
static int64_t
next_of_sleeper(const Twin *twin, uint32_t radio, int64_t after_ns, int64_t next_ns)
{
    const SpateListening *listening = &twin->script->listening[radio];
    if (listening->every_ns == 0)
        return next_ns;
    if (twin->stays_until_ns[radio] > after_ns)
        next_ns = MIN(next_ns, twin->stays_until_ns[radio]);
    for (int64_t begin_ns = twin->script->phase_ns[radio]; begin_ns < next_ns;
         begin_ns += listening->every_ns) {
        if (begin_ns > after_ns)
            next_ns = MIN(next_ns, begin_ns);
        if (begin_ns + listening->for_ns > after_ns)
            next_ns = MIN(next_ns, begin_ns + listening->for_ns);
    }
    return next_ns;
}

/* ---- levels ---------------------------------------------------------------------------------- */

/* Received power before any filter. */
static double
power_mw(const Twin *twin, uint32_t sender, uint32_t receiver)
{
    const TwinScript *s = twin->script;
    double loss_db = s->node[sender] == s->node[receiver] ? s->isolation_db[s->node[sender]]
                                                          : s->loss_db[sender][s->node[receiver]];
    return spate_db_to_linear(-loss_db);
}

static double
sensitivity_mw(const Twin *twin, uint32_t radio)
{
    return spate_db_to_linear(
        spate_bearer_sensitivity_dbm(&twin->script->bearers[twin->script->bearer[radio]]));
}

static bool
is_audible(const Twin *twin, uint32_t f, uint32_t radio)
{
    uint32_t sender = twin->script->frames[f].radio;
    return twin->script->bearer[sender] == twin->script->bearer[radio] &&
           twin->script->node[sender] != twin->script->node[radio] &&
           power_mw(twin, sender, radio) >= sensitivity_mw(twin, radio);
}

/* I * theta of a frame at a radio, with the share of a symbol that it lasts. */
static double
share_of(const Twin *twin, uint32_t f, uint32_t radio)
{
    const TwinScript *s = twin->script;
    uint32_t sender = s->frames[f].radio;
    if (sender == radio)
        return 0.0;
    SpateInterference i =
        spate_bearer_interference(&s->bearers[s->bearer[radio]], &s->bearers[s->bearer[sender]]);
    const SpateModulation *m = modulation_of(twin, radio);
    double lasts = (double)s->frames[f].airtime_ns / (double)m->kind->symbol_ns(m);
    return power_mw(twin, sender, radio) * i.share * i.protection * fmin(1.0, lasts);
}

static bool
survives(Twin *twin, uint32_t f, uint32_t radio, bool with_mates)
{
    const TwinScript *s = twin->script;
    double sum = sensitivity_mw(twin, radio); /* N theta0 */
    for (uint32_t k = 0; k < s->n_frames; k++) {
        if (k == f || !twin->on_air[k])
            continue;
        if (!with_mates && s->node[s->frames[k].radio] == s->node[radio])
            continue;
        sum += share_of(twin, k, radio);
    }
    double wanted = power_mw(twin, s->frames[f].radio, radio);
    twin->result->closest = fmin(twin->result->closest, fabs(sum / wanted - 1.0));
    return sum <= wanted;
}

static uint32_t
largest_share(Twin *twin, uint32_t f, uint32_t radio)
{
    double largest = 0.0, second = 0.0;
    uint32_t sender = SPATE_NO_DISTURBER;
    for (uint32_t k = 0; k < twin->script->n_frames; k++) {
        if (k == f || !twin->on_air[k])
            continue;
        double share = share_of(twin, k, radio);
        if (share > largest) {
            second = largest;
            largest = share;
            sender = twin->script->frames[k].radio;
        } else {
            second = fmax(second, share);
        }
    }
    if (largest > 0.0)
        twin->result->closest = fmin(twin->result->closest, 1.0 - second / largest);
    return sender;
}

static void
blame(Twin *twin, uint32_t f, uint32_t radio, uint32_t sender)
{
    Story *story = &twin->stories[f][radio];
    if (!story->has_disturber)
        story->disturber = sender;
    story->has_disturber = true;
}

/* A test that the locked frame must pass now. */
static void
test_locked(Twin *twin, uint32_t radio)
{
    uint32_t f = twin->lock[radio];
    if (survives(twin, f, radio, true))
        return;
    Story *story = &twin->stories[f][radio];
    if (!story->failed)
        blame(twin, f, radio, largest_share(twin, f, radio));
    story->failed = true;
    if (!survives(twin, f, radio, false))
        story->failed_despite_mates = true;
}

static void
take(Twin *twin, uint32_t f, uint32_t radio)
{
    twin->lock[radio] = f;
    twin->stories[f][radio].was_locked = true;
}

/* The strongest frame that can be locked on now; `since` limits to frames that start then or later.
 */
static uint32_t
best_candidate(Twin *twin, uint32_t radio, int64_t now_ns, int64_t since_ns)
{
    uint32_t best = NONE;
    double best_mw = 0.0;
    for (uint32_t f = 0; f < twin->script->n_frames; f++) {
        const TwinFrame *frame = &twin->script->frames[f];
        if (!twin->on_air[f] || frame->start_ns < since_ns || !is_audible(twin, f, radio) ||
            critical_of(twin, f) < now_ns || twin->stories[f][radio].captured ||
            !survives(twin, f, radio, true))
            continue;
        double mw = power_mw(twin, frame->radio, radio);
        bool is_better = best == NONE || mw > best_mw ||
                         (mw == best_mw && frame->start_ns < twin->script->frames[best].start_ns);
        if (is_better) {
            best = f;
            best_mw = mw;
        }
    }
    return best;
}

/* The critical part of the frame begins at the radio. */
static void
settle(Twin *twin, uint32_t f, uint32_t radio, int64_t now_ns)
{
    Story *story = &twin->stories[f][radio];
    story->settled = true;
    if (twin->lock[radio] == f) {
        test_locked(twin, radio);
        return;
    }
    if (story->captured)
        return;
    if (twin->sending[radio]) {
        story->unlocked = SPATE_OUTCOME_LOST_SENDING;
    } else if (twin->lock[radio] != NONE) {
        story->unlocked = SPATE_OUTCOME_LOST_BUSY;
        blame(twin, f, radio, twin->script->frames[twin->lock[radio]].radio);
    } else if (!is_awake(twin, radio, now_ns)) {
        story->unlocked = SPATE_OUTCOME_LOST_ASLEEP;
    } else {
        story->unlocked = survives(twin, f, radio, false) ? SPATE_OUTCOME_LOST_BLOCKED
                                                          : SPATE_OUTCOME_LOST_COLLISION;
        blame(twin, f, radio, largest_share(twin, f, radio));
    }
}

static SpateOutcome
outcome_of(const Twin *twin, uint32_t f, uint32_t radio)
{
    const Story *story = &twin->stories[f][radio];
    if (story->captured)
        return SPATE_OUTCOME_LOST_COLLISION;
    if (!story->was_locked)
        return story->unlocked;
    if (!story->failed)
        return SPATE_OUTCOME_RECEIVED;
    return story->failed_despite_mates ? SPATE_OUTCOME_LOST_COLLISION : SPATE_OUTCOME_LOST_BLOCKED;
}

static void
end_frames(Twin *twin, int64_t now_ns)
{
    const TwinScript *s = twin->script;
    for (uint32_t f = 0; f < s->n_frames; f++) {
        if (!twin->on_air[f] || end_of(twin, f) != now_ns)
            continue;
        twin->on_air[f] = false;
        twin->sending[s->frames[f].radio] = false;
        twin->stays_until_ns[s->frames[f].radio] =
            now_ns + s->listening[s->frames[f].radio].after_sending_ns;
        for (uint32_t r = 0; r < s->n_radios; r++) {
            if (!is_audible(twin, f, r))
                continue;
            SpateOutcome outcome = outcome_of(twin, f, r);
            bool has = twin->stories[f][r].has_disturber && outcome != SPATE_OUTCOME_RECEIVED &&
                       outcome != SPATE_OUTCOME_LOST_SENDING &&
                       outcome != SPATE_OUTCOME_LOST_ASLEEP;
            twin->result->fates[f][r] =
                (TwinFate){true, outcome, has ? twin->stories[f][r].disturber : SPATE_NO_DISTURBER};
            if (twin->lock[r] == f)
                twin->lock[r] = NONE;
        }
    }
    for (uint32_t r = 0; r < s->n_radios; r++) {
        if (twin->sending[r] || twin->lock[r] != NONE || !is_awake(twin, r, now_ns))
            continue;
        uint32_t found = best_candidate(twin, r, now_ns, INT64_MIN);
        if (found != NONE)
            take(twin, found, r);
    }
}

static void
begin_critical_parts(Twin *twin, int64_t now_ns, bool of_frames_that_start_now)
{
    const TwinScript *s = twin->script;
    for (uint32_t f = 0; f < s->n_frames; f++) {
        if (!twin->on_air[f] || critical_of(twin, f) != now_ns ||
            (s->frames[f].start_ns == now_ns) != of_frames_that_start_now)
            continue;
        for (uint32_t r = 0; r < s->n_radios; r++)
            if (is_audible(twin, f, r))
                settle(twin, f, r, now_ns);
    }
}

/* With all that begin on the air: locked radios are tested, a later frame may take the lock, and
 * listening radios take the strongest that survives. */
static void
look_at_starts(Twin *twin, uint32_t radio, int64_t now_ns)
{
    uint32_t held = twin->lock[radio];
    if (twin->sending[radio] || !is_awake(twin, radio, now_ns))
        return;
    if (held == NONE) {
        uint32_t found = best_candidate(twin, radio, now_ns, INT64_MIN);
        if (found != NONE)
            take(twin, found, radio);
        return;
    }
    if (now_ns >= critical_of(twin, held))
        test_locked(twin, radio);
    uint32_t later =
        now_ns < header_of(twin, held) ? best_candidate(twin, radio, now_ns, now_ns) : NONE;
    if (later != NONE) {
        twin->stories[held][radio].captured = true;
        twin->stories[held][radio].has_disturber = false;
        blame(twin, held, radio, twin->script->frames[later].radio);
        take(twin, later, radio);
    }
}

static void
start_frames(Twin *twin, int64_t now_ns)
{
    const TwinScript *s = twin->script;
    bool any = false;
    for (uint32_t f = 0; f < s->n_frames; f++) {
        if (s->frames[f].start_ns != now_ns)
            continue;
        uint32_t radio = s->frames[f].radio;
        if (twin->lock[radio] != NONE || twin->sending[radio]) {
            twin->result->skipped[f] = true;
            continue;
        }
        twin->on_air[f] = true;
        any = true;
    }
    for (uint32_t f = 0; f < s->n_frames; f++)
        if (twin->on_air[f] && s->frames[f].start_ns == now_ns)
            twin->sending[s->frames[f].radio] = true;
    for (uint32_t r = 0; any && r < s->n_radios; r++)
        look_at_starts(twin, r, now_ns);
    begin_critical_parts(twin, now_ns, true);
}

/* The first instant after `after_ns` at which anything happens, up to the end of the last frame;
 * INT64_MAX if nothing does. */
static int64_t
next_instant(const Twin *twin, int64_t after_ns)
{
    int64_t next_ns = INT64_MAX;
    for (uint32_t f = 0; f < twin->script->n_frames; f++) {
        const int64_t instants[] = {twin->script->frames[f].start_ns, critical_of(twin, f),
                                    end_of(twin, f)};
        for (size_t i = 0; i < 3; i++)
            if (instants[i] > after_ns && instants[i] < next_ns)
                next_ns = instants[i];
    }
    for (uint32_t r = 0; r < twin->script->n_radios && next_ns != INT64_MAX; r++)
        next_ns = next_of_sleeper(twin, r, after_ns, next_ns);
    return next_ns <= horizon_of(twin) ? next_ns : INT64_MAX;
}

static bool
is_busy(const Twin *twin, uint32_t radio)
{
    for (uint32_t f = 0; f < twin->script->n_frames; f++)
        if (twin->on_air[f] &&
            (twin->script->frames[f].radio == radio || is_audible(twin, f, radio)))
            return true;
    return false;
}

void
twin_run(const TwinScript *script, TwinResult *result)
{
    static Twin twin;
    memset(&twin, 0, sizeof twin);
    memset(result, 0, sizeof *result);
    result->closest = INFINITY;
    twin.script = script;
    twin.result = result;
    for (uint32_t r = 0; r < TWIN_MOST_RADIOS; r++)
        twin.lock[r] = NONE;
    int64_t now_ns = 0;
    while (now_ns != INT64_MAX) {
        end_frames(&twin, now_ns);
        begin_critical_parts(&twin, now_ns, false);
        start_frames(&twin, now_ns);
        int64_t next_ns = next_instant(&twin, now_ns);
        for (uint32_t r = 0; r < script->n_radios && next_ns != INT64_MAX; r++) {
            if (is_awake(&twin, r, now_ns)) {
                result->awake_ns[r] += next_ns - now_ns;
                if (is_busy(&twin, r))
                    result->busy_ns[r] += next_ns - now_ns;
            }
        }
        now_ns = next_ns;
    }
}
