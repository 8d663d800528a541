/* read-traffic.c - `traffic:` and `priority:` */
#include "core/time.h"
#include "scenario/read/read-fields.h"
#include "scenario/read/read-names.h"
#include "scenario/read/read-sections.h"

#include <stdlib.h>
#include <string.h>

#define MAX_TRAFFICS 10000
#define MAX_TRIES    1000
#define LONGEST_NS   1e18
#define SHORTEST_NS  1e3

/* A traffic on the way. */
typedef struct {
    SpateScenarioTraffic traffic;
    const SpateYamlPair *from, *to, *at, *on, *class_pair, *route, *follows;
} Draft;

static const SpateWord PHASES[] = {{"random", false}, {"together", true}, {NULL}};

/* What `follows` holds, before its traffic is looked up. */
typedef struct {
    const SpateYamlPair *traffic;
    double share;
    int64_t within_ns;
} FollowsDraft;

static const SpateField FOLLOWS_FIELDS[] = {
    {SPATE_PAIR("traffic", FollowsDraft, traffic), .required = true},
    {SPATE_NUMBER("share", FollowsDraft, share, SHARE, 0, 1)},
    {SPATE_TIME("within", FollowsDraft, within_ns, 0, LONGEST_NS)},
};
static const SpateTable FOLLOWS = SPATE_TABLE("follows", FOLLOWS_FIELDS, NULL);

static const SpateField ACKNOWLEDGE_FIELDS[] = {
    {SPATE_TIME("within", SpateAcknowledgement, within_ns, SHORTEST_NS, LONGEST_NS),
     .required = true},
    {SPATE_WHOLE("tries", SpateAcknowledgement, tries, COUNT, 1, MAX_TRIES)},
    {SPATE_WHOLE("payload", SpateAcknowledgement, payload_bytes, SIZE, 0, 65535)},
};
static const SpateTable ACKNOWLEDGE = SPATE_TABLE("acknowledge", ACKNOWLEDGE_FIELDS, NULL);

/* Its defaults hold where the key is given; without it no answer is wanted. */
static void
read_acknowledge(SpateReader *reader, const SpateField *field, const SpateYamlPair *pair,
                 void *into)
{
    SpateAcknowledgement *acknowledgement = spate_member(field, into);
    *acknowledgement = (SpateAcknowledgement){.tries = 3, .payload_bytes = 8};
    spate_read_inner(reader, field, pair, into);
}

static const SpateField TRAFFIC_FIELDS[] = {
    {SPATE_PAIR("class", Draft, class_pair)},
    {SPATE_PAIR("from", Draft, from), .required = true},
    {SPATE_PAIR("to", Draft, to), .required = true},
    {SPATE_WHOLE("payload", Draft, traffic.payload_bytes, SIZE, 0, 65535), .required = true},
    {SPATE_TIME("every", Draft, traffic.every_ns, SHORTEST_NS, LONGEST_NS)},
    {SPATE_TIME("mean-interval", Draft, traffic.mean_interval_ns, SHORTEST_NS, LONGEST_NS)},
    {SPATE_PAIR("at", Draft, at)},
    {SPATE_PAIR("follows", Draft, follows)},
    {SPATE_EITHER("phase", Draft, traffic.together, PHASES)},
    {SPATE_TIME("spread", Draft, traffic.spread_ns, 0, LONGEST_NS)},
    {SPATE_PAIR("on", Draft, on)},
    {SPATE_WHOLE("hop-limit", Draft, traffic.hop_limit, COUNT, 1, 65535)},
    {SPATE_TIME("deadline", Draft, traffic.deadline_ns, SHORTEST_NS, LONGEST_NS)},
    {.key = "acknowledge",
     .read = read_acknowledge,
     .at = offsetof(Draft, traffic.acknowledgement),
     .table = &ACKNOWLEDGE},
    {SPATE_PAIR("route", Draft, route)},
};
static const SpateTable TRAFFIC = SPATE_TABLE("a traffic", TRAFFIC_FIELDS, NULL);

static bool
add_time(SpateReader *reader, const SpateYaml *scalar, gpointer user)
{
    GArray *times = user;
    int64_t at_ns;
    if (!spate_quantity_read_ns(scalar, 0, (int64_t)LONGEST_NS, &at_ns, reader->faults))
        return false;
    g_array_append_val(times, at_ns);
    return true;
}

static int
compare_times(gconstpointer a, gconstpointer b)
{
    int64_t first = *(const int64_t *)a, second = *(const int64_t *)b;
    return (first > second) - (first < second);
}

/* Which traffic that is, is known when all were read. */
static void
read_follows(SpateReader *reader, const SpateYamlPair *pair, SpateScenarioTraffic *traffic)
{
    FollowsDraft draft = {.share = 1.0};
    if (!spate_is_kind(reader, pair->value, SPATE_YAML_MAP, pair->key) ||
        !spate_read_map(reader, &FOLLOWS, 0, pair->key_place, pair->value, &draft) ||
        draft.traffic == NULL ||
        !spate_is_kind(reader, draft.traffic->value, SPATE_YAML_SCALAR, "traffic"))
        return;
    traffic->follows = g_strdup(draft.traffic->value->text);
    traffic->follows_place = draft.traffic->value->place;
    traffic->share = draft.share;
    traffic->within_ns = draft.within_ns;
}

/* Exactly one key says when; phase and spread belong to `every`. */
static void
read_when(SpateReader *reader, const SpateYamlPair *pair, Draft *draft)
{
    static const char *const keys[] = {"every", "mean-interval", "at", "follows", NULL};
    SpateScenarioTraffic *traffic = &draft->traffic;
    const SpateYamlPair *phase = spate_yaml_pair(pair->value, "phase");
    const SpateYamlPair *spread = spate_yaml_pair(pair->value, "spread");
    const SpateYamlPair *when = spate_only_one(reader, pair->value, keys);
    if (when == NULL) {
        spate_faults_note(reader->faults, pair->key_place, "every, mean-interval, at or follows",
                          "'%s' does not say when it is sent", pair->key);
        return;
    }
    bool is_every = strcmp(when->key, "every") == 0;
    traffic->times = is_every                            ? SPATE_OFFERS_EVERY
                     : strcmp(when->key, "at") == 0      ? SPATE_OFFERS_AT
                     : strcmp(when->key, "follows") == 0 ? SPATE_OFFERS_FOLLOWING
                                                         : SPATE_OFFERS_POISSON;
    if (draft->follows != NULL)
        read_follows(reader, draft->follows, traffic);
    if (draft->at != NULL) {
        GArray *times = g_array_new(FALSE, FALSE, sizeof(int64_t));
        spate_each_scalar(reader, draft->at->value, draft->at->key, add_time, times);
        g_array_sort(times, compare_times);
        traffic->n_at = times->len;
        traffic->at_ns = (int64_t *)(void *)g_array_free(times, FALSE);
    }
    if (!is_every && phase != NULL)
        spate_faults_note(reader->faults, phase->key_place, "it needs 'every'",
                          "'phase' does not apply here");
    if (!is_every && spread != NULL)
        spate_faults_note(reader->faults, spread->key_place, "it needs 'every'",
                          "'spread' does not apply here");
    if (is_every && spread != NULL && traffic->every_ns > 0 &&
        traffic->spread_ns > traffic->every_ns / 2)
        spate_faults_note(reader->faults, spread->value->place, "at most half of 'every'",
                          "a larger 'spread' would reorder messages");
}

static void
read_class(SpateReader *reader, const SpateYamlPair *pair, SpateScenarioTraffic *traffic)
{
    if (pair == NULL)
        traffic->class_name = g_strdup(traffic->name);
    else if (spate_is_kind(reader, pair->value, SPATE_YAML_SCALAR, pair->key) &&
             spate_is_name(reader, pair->value->text, pair->value->place))
        traffic->class_name = g_strdup(pair->value->text);
    else
        traffic->class_name = g_strdup("");
}

static void
take_members(GArray *members, uint32_t **into, uint32_t *n)
{
    if (members == NULL)
        return;
    const uint32_t end = UINT32_MAX;
    *n = members->len;
    g_array_append_val(members, end); /* nobody is a list too, and NULL one that has a fault */
    *into = (uint32_t *)(void *)g_array_free(members, FALSE);
}

static bool
check_end(SpateReader *reader, const SpateYaml *scalar, gpointer user)
{
    return spate_is_built(reader, scalar);
}

/* Each sends at its own times: who sends is to be chosen. */
static bool
check_source(SpateReader *reader, const SpateYaml *scalar, gpointer user)
{
    if (!spate_is_word(scalar, "everyone"))
        return check_end(reader, scalar, user);
    spate_faults_note(reader->faults, scalar->place, "name a group, or nodes",
                      "'everyone' can only be a recipient");
    return false;
}

static void
read_ends(SpateReader *reader, Draft *draft)
{
    SpateScenarioTraffic *traffic = &draft->traffic;
    if (draft->from != NULL &&
        spate_each_scalar(reader, draft->from->value, "from", check_source, NULL))
        take_members(spate_read_members(reader, draft->from->value, "from", SPATE_MEMBERS_NAMED),
                     &traffic->sources, &traffic->n_sources);
    if (draft->to != NULL && spate_each_scalar(reader, draft->to->value, "to", check_end, NULL))
        take_members(spate_read_members(reader, draft->to->value, "to",
                                        SPATE_MEMBERS_OR_EVERYONE | SPATE_MEMBERS_OR_NOBODY),
                     &traffic->recipients, &traffic->n_recipients);
    if (draft->on == NULL)
        return;
    g_autoptr(GArray) bearers =
        spate_read_numbers(reader, &reader->bearers, draft->on->value, "on");
    traffic->on_bearers = g_new0(bool, reader->scenario->n_bearers + 1u);
    for (guint i = 0; bearers != NULL && i < bearers->len; i++)
        traffic->on_bearers[g_array_index(bearers, uint32_t, i)] = true;
}

/* Who would be to answer a message to several? */
static void
check_one_recipient(SpateReader *reader, const SpateScenarioTraffic *traffic,
                    const SpateYamlPair *to)
{
    for (uint32_t i = 0; i < traffic->n_sources; i++) {
        uint32_t n = traffic->n_recipients;
        n -= spate_ascending_find(traffic->recipients, n, traffic->sources[i]) < n;
        if (n == 1)
            continue;
        spate_faults_note(reader->faults, to->value->place,
                          n == 0 && traffic->n_recipients > 0 ? "leave it out of 'from'"
                                                              : "name one node",
                          "'acknowledge' needs one recipient for each message: '%s' from '%s' has "
                          "%u",
                          traffic->name, reader->scenario->nodes[traffic->sources[i]].name, n);
        return;
    }
}

static void
read_traffic(SpateReader *reader, const SpateYamlPair *pair, SpateScenarioTraffic *into)
{
    Draft draft = {0};
    draft.traffic.name = g_strdup(pair->key);
    draft.traffic.place = pair->key_place;
    spate_is_name(reader, pair->key, pair->key_place);
    if (spate_read_map(reader, &TRAFFIC, 0, pair->key_place, pair->value, &draft)) {
        read_ends(reader, &draft);
        read_when(reader, pair, &draft);
        if (draft.traffic.acknowledgement.tries > 0 && draft.traffic.recipients != NULL)
            check_one_recipient(reader, &draft.traffic, draft.to);
        if (draft.route != NULL)
            spate_read_route(reader, draft.route, draft.to, &draft.traffic);
    }
    read_class(reader, draft.class_pair, &draft.traffic);
    *into = draft.traffic;
}

/* ---- classes --------------------------------------------------------------------------------- */

static bool
add_rank(SpateReader *reader, const SpateYaml *scalar, gpointer user)
{
    uint32_t *n_ranks = user;
    if (!spate_is_name(reader, scalar->text, scalar->place))
        return false;
    if (spate_names_has(&reader->classes, scalar->text, NULL)) {
        spate_faults_note(reader->faults, scalar->place, "each class once",
                          "'priority' lists class '%s' twice", scalar->text);
        return false;
    }
    spate_names_add(&reader->classes, scalar->text, (*n_ranks)++, true);
    return true;
}

/* Classes of traffics: all of them, and those that `priority` does not list. */
typedef struct {
    GHashTable *all;
    GPtrArray *unranked; /* ends with NULL */
} Classes;

/* Shared policies list classes that a scenario does not have; one that is near a class without a
 * rank is likely a slip. */
static bool
warn_of_slip(SpateReader *reader, const SpateYaml *scalar, gpointer user)
{
    const Classes *classes = user;
    if (g_hash_table_contains(classes->all, scalar->text))
        return true;
    g_autofree char *hint = spate_hint_nearest(reader, scalar->text,
                                               (const char *const *)classes->unranked->pdata, NULL);
    if (hint != NULL)
        spate_faults_warn(reader->faults, scalar->place, hint, "no traffic has the class '%s'",
                          scalar->text);
    return true;
}

/* The first class goes first; those that `priority` does not list share the last rank. */
static void
rank_classes(SpateReader *reader, const SpateYamlPair *priority)
{
    SpateScenario *scenario = reader->scenario;
    g_autoptr(GHashTable) all = g_hash_table_new(g_str_hash, g_str_equal);
    g_autoptr(GPtrArray) unranked = g_ptr_array_new_null_terminated(4, NULL, TRUE);
    Classes classes = {all, unranked};
    uint32_t n_ranks = 0;
    bool is_good = priority == NULL ||
                   spate_each_scalar(reader, priority->value, priority->key, add_rank, &n_ranks);
    for (uint32_t i = 0; i < scenario->n_traffics; i++) {
        SpateScenarioTraffic *traffic = &scenario->traffics[i];
        g_hash_table_add(all, traffic->class_name);
        if (!spate_names_has(&reader->classes, traffic->class_name, &traffic->class_rank)) {
            traffic->class_rank = n_ranks;
            spate_names_add(&reader->classes, traffic->class_name, n_ranks, true);
            g_ptr_array_add(unranked, traffic->class_name);
        }
    }
    if (!is_good)
        reader->classes.is_partial = true;
    else if (priority != NULL)
        spate_each_scalar(reader, priority->value, priority->key, warn_of_slip, &classes);
}

/* ---- what follows what ----------------------------------------------------------------------- */

/* Each message of the cycle begets one more, or more: it would never end. */
static void
check_cycle(SpateReader *reader, uint32_t number)
{
    const SpateScenarioTraffic *traffics = reader->scenario->traffics;
    double share = 1.0;
    uint32_t at = number;
    for (uint32_t i = 0; i < reader->scenario->n_traffics && traffics[at].followed != UINT32_MAX;
         i++) {
        share *= traffics[at].share;
        at = traffics[at].followed;
        if (at <= number)
            break; /* of a cycle, the first by name is to blame */
    }
    if (at == number && traffics[number].followed != UINT32_MAX && share >= 1.0)
        spate_faults_note(reader->faults, traffics[number].follows_place,
                          "a smaller 'share' somewhere", "'%s' follows itself without end",
                          traffics[number].name);
}

static void
check_followed(SpateReader *reader)
{
    const SpateScenario *scenario = reader->scenario;
    for (uint32_t i = 0; i < scenario->n_traffics; i++) {
        SpateScenarioTraffic *traffic = &scenario->traffics[i];
        traffic->followed = UINT32_MAX;
        if (traffic->follows == NULL ||
            spate_names_has(&reader->traffics, traffic->follows, &traffic->followed))
            continue;
        g_autofree char *hint = spate_hint_nearest(
            reader, traffic->follows, (const char *const *)reader->traffics.words->pdata, NULL);
        spate_faults_note(reader->faults, traffic->follows_place, hint, "there is no traffic '%s'",
                          traffic->follows);
    }
    for (uint32_t i = 0; i < scenario->n_traffics; i++)
        check_cycle(reader, i);
}

void
spate_read_traffics(SpateReader *reader, const SpateYamlPair *pair, const SpateYamlPair *priority)
{
    SpateScenario *scenario = reader->scenario;
    if (pair != NULL && spate_is_kind(reader, pair->value, SPATE_YAML_MAP, pair->key)) {
        guint n = pair->value->pairs->len;
        if (n > MAX_TRAFFICS)
            spate_faults_note(reader->faults, pair->key_place, "at most 10000",
                              "there are %u kinds of traffic", n);
        n = MIN(n, MAX_TRAFFICS);
        scenario->traffics = g_new0(SpateScenarioTraffic, n + 1u);
        scenario->n_traffics = n;
        for (guint i = 0; i < n; i++)
            read_traffic(reader, &g_array_index(pair->value->pairs, SpateYamlPair, i),
                         &scenario->traffics[i]);
        qsort(scenario->traffics, n, sizeof *scenario->traffics, spate_compare_names);
        for (uint32_t i = 0; i < n; i++)
            spate_names_add(&reader->traffics, scenario->traffics[i].name, i, true);
        check_followed(reader);
    }
    rank_classes(reader, priority);
}
